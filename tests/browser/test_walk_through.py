"""A walk through the invented harbour in one story: what is wrong this evening is found, and put right, by those who would.

Everything is loaded as the command `demo` does it; the clock stands at 17:45 and is put on by hand. On every page
that is gone to, no rule of accessibility may be broken, nothing be wider than the screen, and the browser hear of
no error.
"""

import re
from io import BytesIO

from pypdf import PdfReader

from berths.models import Stay
from berths.services import tieups
from marina.base.house import set_rule
from marina.base.models import User
from marina.desk.demo import load
from tests.browser.conftest import DESK
from tests.browser.harbour import PASSWORD, sign_in_with_password
from tests.demo_harbour import at

PEOPLE = ("harbourmaster", "hand1", "hand2", "ottoline")


def test_what_is_wrong_this_evening_is_found_and_put_right(transactional_db, visit):
    load()
    the_time_is("17:45")
    tieups.work_out_all(Stay.objects.filter(state__in=("booked", "fast")))
    sign_in_with_password(*User.objects.filter(username__in=PEOPLE))
    for act in ACTS.values():
        act(visit)


# --- what every act needs ---


def the_time_is(clock):
    rule = {"at": at(f"2027-10-14T{clock}").isoformat()}
    set_rule(key="demo_clock", value=rule, by=None, reason="the demonstration")


def signed_in(visit, name, **window):
    person = visit(**window)
    person.sign_in(User.objects.get(username=name), PASSWORD)
    person.check()
    return person


def go(person, link):
    """Press a link and look at the page it leads to; its words."""
    with person.page.expect_navigation():
        person.page.get_by_role("link", name=link).first.click()
    person.check()
    return words(person)


def press(person, button):
    with person.page.expect_navigation():
        person.page.get_by_role("button", name=button).first.click()
    person.check()
    return words(person)


def words(person):
    return " ".join(person.page.locator("main").inner_text().split())


def needs(person):
    """{berth: its row} of what needs somebody next, on the day."""
    person.page.goto("/")
    person.check()
    rows = person.page.locator("#next + ul > li").all_inner_texts()
    return {row.split()[0]: " ".join(row.split()) for row in rows}


def back_to(person, boat):
    """The page of a boat's stay, by its address."""
    person.page.goto(f"/stays/{stay_of(boat).pk}/")


def stay_of(boat):
    return Stay.objects.filter(vessel__name=boat, state__in=("booked", "fast")).latest("arrive")


def printed_card(person):
    """Press 'Print a card' as the page does, without Chromium's own viewer in the way; the words on the paper."""
    kind = person.page.evaluate(
        """async () => {
            const form = document.querySelector("form[action$='card.pdf']")
            const answer = await fetch(form.action, {method: "POST", body: new FormData(form)})
            return answer.headers.get("content-type")
        }"""
    )
    assert kind == "application/pdf"
    paper = person.context.request.get(person.page.url.replace("/card/", "/card.pdf")).body()
    return " ".join(PdfReader(BytesIO(paper)).pages[0].extract_text().split())


# --- 1: a berth given by telephone, where she would take the ground ---


def paper_comet_gets_another_berth(visit):
    office = signed_in(visit, "harbourmaster", size=DESK)
    rows = needs(office)
    assert {code for code, row in rows.items() if "STOP" in row} == {"B3", "B8", "C2", "Q3"}
    assert {code for code, row in rows.items() if "FIX" in row} == {"C6"}

    told = go(office, re.compile("Q3 Paper Comet"))
    assert "Touches at Fri 04:04" in told and "DOES NOT HOLD" in told
    told = go(office, "Depth and step at Q3 at any time")
    assert "05:40" in office.page.get_by_role("heading", level=1).inner_text()
    assert "0.41 m" in told and "1.60 m; could be 1.30 m" in told  # 1.609 m: depths are rounded down
    back_to(office, "Paper Comet")
    go(office, "Her card")
    assert "Q3" in printed_card(office)

    back_to(office, "Paper Comet")
    told = go(office, "Move her")
    assert "Under her keel" in told
    told = press(office, "Give her C3")
    assert "Paper Comet goes to C3. Her old card counts no more." in told and "HOLDS" in told
    told = go(office, "Her card")
    assert "old card, destroy it" in told
    paper = printed_card(office)
    assert "C3" in paper and "Paper Comet" in paper and "2nd card for this stay" in paper

    told = go(office, "Print many cards")
    assert re.search(r"DESTROY card Q3/1, Paper Comet", told)
    assert set(needs(office)) & {"Q3", "C3"} == set()


# --- 2: she comes, and a hand makes her fast ---


def a_hand_makes_her_fast(visit):
    hand = signed_in(visit, "hand1")
    the_time_is("20:40")
    hand.page.goto("/")  # the next job stands first, and leads to its card
    go(hand, re.compile("C3 Paper Comet"))
    first = hand.page.get_by_role("region", name="First line")
    assert first.bounding_box()["y"] < 844 and "“" in first.inner_text()
    back_to(hand, "Paper Comet")
    go(hand, "She is made fast")
    for line in hand.page.locator("fieldset.line", has=hand.page.get_by_text("as asked", exact=False)).all():
        if line.get_by_role("radio").count():
            line.get_by_role("radio").first.check()
    hand.page.get_by_label("The gauge reads").fill("1.38")
    told = press(hand, re.compile("She is made fast"))
    assert "Paper Comet is recorded as made fast" in told, told[:900]
    back_to(hand, "Paper Comet")
    hand.check()
    told = words(hand)
    assert "20:40, hand1: made fast" in told
    assert "1.38 m" in told and "0.13 m below prediction" in told and "Nothing was changed by that" in told
    stay = stay_of("Paper Comet")
    assert (stay.state, stay.surge_down) == ("fast", None)


# --- 3: an owner who tied her own way ---


def slow_biscuits_owner_reads_what_is_wrong(visit):
    owner = signed_in(visit, "ottoline")
    told = words(owner)
    assert re.search(r"Slow Biscuit .*STOP Below 1\.\d\d m from Fri 06:00 she hangs on her lines", told)
    assert owner.page.locator("figure.drawing svg").first.is_visible()
    boat = stay_of("Slow Biscuit").vessel_id
    owner.page.locator(f'a[href^="/boats/{boat}/"]', has_text="I will come").click()
    owner.page.get_by_label("When you will come").fill("Friday before 05:30, to put her lines right")
    told = press(owner, "Tell the office")
    assert "before 05:30" in told and "Not answered yet" in told

    office = signed_in(visit, "harbourmaster")
    assert "Owners have told B3 Slow Biscuit: will come" in words(office)


# --- 4: a line that was retired and is still at work ---


def grandmother_figs_line_is_changed(visit):
    hand = signed_in(visit, "hand2")
    hand.page.goto("/lines/")
    hand.check()
    hand.page.get_by_label("Tag, as read on the line").fill("086")
    told = press(hand, "Find it")  # only one line has it: straight to its page
    assert told.startswith("RETIRED") and "By the records it holds a boat now" in told
    assert "C2, Grandmother Fig" in told
    hand.page.goto("/lines/WH-112/")
    hand.check()
    told = words(hand)
    assert "TWO PLACES Recorded at C2, but seen at rope store" in told

    hand.page.goto("/")
    told = go(hand, re.compile("C2 Grandmother Fig"))
    assert "WH-086 is RETIRED" in told
    go(hand, "Tell how she is tied now")
    for line in hand.page.locator("fieldset.line").filter(has=hand.page.get_by_role("radio")).all():
        old = "WH-086" in line.locator("legend").inner_text()
        line.get_by_role("radio", name="Otherwise" if old else "As asked").check()
        if old:
            line.locator("summary").click()
            line.get_by_label("Its tag").fill("WH-112")
            line.get_by_label("Length as it is").fill("10.65")  # to the face of the pile, as the old one was
    hand.page.get_by_label("Why she was made fast all the same").fill("the bad line is off, 112 is on")
    told = press(hand, re.compile("She is made fast"))
    assert "Grandmother Fig is recorded as made fast" in told and "WH-112" in told
    assert "RETIRED" not in told and "STOP" not in told
    hand.page.goto("/lines/WH-112/")
    assert "TWO PLACES" not in words(hand)
    hand.page.goto("/lines/WH-086/")
    hand.check()
    assert "By the records it holds a boat now" not in words(hand)


# --- 5: a line that somebody swapped ---


def borrowed_trumpets_line_is_found(visit):
    office = signed_in(visit, "harbourmaster")
    office.page.goto("/")
    told = go(office, re.compile("C6 Borrowed Trumpet"))
    assert "Line 3 is not the one of the set (12 mm instead of 20" in told


# --- 6: longer than she was said to be ---


def loud_umbrella_is_measured_and_moved(visit):
    hand = signed_in(visit, "hand1")
    hand.page.goto("/")
    go(hand, re.compile("B8 Loud Umbrella"))
    go(hand, "Loud Umbrella")
    go(hand, "Enter what you measured")
    hand.page.get_by_label("Length over everything").fill("14.1")
    told = press(hand, "Keep these figures")
    assert "14.10 m" in told

    office = signed_in(visit, "harbourmaster", size=DESK)
    office.page.goto("/")
    told = go(office, re.compile("B8 Loud Umbrella"))
    assert "sticks 0.50 m too far" in told
    told = go(office, "Move her")
    told = press(office, "Give her C7")
    assert "Loud Umbrella goes to C7" in told
    assert "B8" not in needs(office)


ACTS = {
    "1": paper_comet_gets_another_berth,
    "2": a_hand_makes_her_fast,
    "3": slow_biscuits_owner_reads_what_is_wrong,
    "4": grandmother_figs_line_is_changed,
    "5": borrowed_trumpets_line_is_found,
    "6": loud_umbrella_is_measured_and_moved,
}
