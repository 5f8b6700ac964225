"""The page of a stay: what it says first, what it never says, and what each role may see and do."""

import re
from decimal import Decimal
from uuid import uuid4

import pytest

from berths.cards.facts import reader_of
from berths.cards.words import Reader
from berths.models import Reading, Stay
from berths.selectors.history import history
from berths.services import tieups
from berths.services.stays import make_fast
from berths.telling import slack_at, stands_in_words
from berths.tieup.verdict import Verdict
from marina.base import house
from tests.berths import waters
from tests.cast import NOON, days, make_berth, make_pier, make_stay, make_tie_up, make_user, make_vessel

pytestmark = pytest.mark.django_db
WORKSHOP = ("verdict", "scenario", "governing", "excursion", "elevation", "superseded", "derated", "residual")


@pytest.fixture(autouse=True)
def noon(clock_at):
    return clock_at(NOON)


@pytest.fixture
def office(client, cast):
    client.force_login(cast.harbourmaster)
    return client


def worked_out(**fields):
    """A stay at a fixed dock or another berth, with its tie-up."""
    berth = fields.pop("berth", None) or make_berth(kind="floating")
    stay = make_stay(berth=berth, **fields)
    tieups.work_out(stay)
    return stay


def words_of(answer):
    """The page as it is read: no markup, one space between words."""
    html = re.sub(r"<(script|style|svg).*?</\1>", " ", answer.content.decode(), flags=re.DOTALL)
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


# --- what it says ---


def test_first_where_then_which_side_then_what_is_read_back(office):
    stay = worked_out(vessel=make_vessel(name="Paper Comet"))
    page = words_of(office.get(f"/stays/{stay.pk}/"))
    order = [page.index(w) for w in (f"{stay.berth.code} Paper Comet", "STARBOARD side to pontoon", "“")]
    assert order == sorted(order)
    assert re.search(r"“[A-Z][^“”]* running (forward|aft|straight across)[^“”]*\.”", page)
    assert "Judge by eye before leaving her" in page


def test_the_answer_never_says_more_than_the_stated_cases(office):
    stay = worked_out()
    page = words_of(office.get(f"/stays/{stay.pk}/"))
    assert "Holds in the stated cases." in page
    assert not re.search(r"\bsafe\b", page, re.IGNORECASE)


def test_words_of_the_workshop_stay_in_the_workshop(office):
    stay = worked_out(berth=make_berth(kind="slip"))
    page = words_of(office.get(f"/stays/{stay.pk}/")).lower()
    assert not [word for word in WORKSHOP if re.search(rf"\b{word}\b", page)]
    coded = re.findall(r".{0,40}\b\w+_(?:port|starboard)\b.{0,20}", page)
    assert not coded, "fittings go by their words, not their codes"


def test_what_does_not_hold_says_what_is_wrong_and_what_to_do(office):
    stay = worked_out(berth=make_berth(kind="floating", bed_z=Decimal("-1")))
    page = words_of(office.get(f"/stays/{stay.pk}/"))
    assert "DOES NOT HOLD Does not hold: may touch" in page or "Does not hold: touches" in page
    assert "STOP" in page and "Do: Another berth" in page
    assert page.index("Move her") < page.index("Her card"), "the way out comes first"


def test_what_is_not_known_is_not_held(office):
    page = words_of(office.get(f"/stays/{worked_out(berth=make_berth(kind='floating', bed_z=None)).pk}/"))
    assert "Not known: depth at this berth not known" in page and "HOLDS" not in page


def test_without_a_tie_up_nothing_is_claimed(office):
    page = words_of(office.get(f"/stays/{make_stay().pk}/"))
    assert "Tie-up not known yet: it has not been worked out." in page
    assert "made fast by the judgement of those who tie her" in page and "HOLDS" not in page


def test_each_line_tells_its_lengths_its_level_and_why(office):
    berth = make_berth(kind="slip")
    Reading.objects.create(water=berth.water, level=Decimal("1.2"), at=NOON)
    stay = worked_out(berth=berth)
    answer = office.get(f"/stays/{stay.pk}/")
    page = words_of(answer)
    for told in (
        "Length on the card",
        "Slack to leave now",
        "Snug when the water is at",
        "Length to cut",
    ):
        assert page.count(told) == len(answer.context["lines"]) >= 4, told
    assert answer.context["drawing"] and answer.context["side"]


HERS_NOT_KNOWN = dict.fromkeys(
    ("fender_number", "fender_diameter", "fender_low", "fender_high", "fender_board")
)


def test_a_boat_whose_fenders_nobody_recorded_is_told_what_to_hang(office):
    """As it tells what lines to put on; it keeps nobody from saying that she is held."""
    stay = worked_out(vessel=make_vessel(loa="10.4", **HERS_NOT_KNOWN))
    page = words_of(office.get(f"/stays/{stay.pk}/"))
    assert re.search(r"Fenders to hang 4 of 0\.2\d m; tops (at|\d\.\d\d m under) the rail, feet \d", page)
    assert "Hers are not recorded." in page and "Holds in the stated cases." in page
    card = words_of(office.get(f"/stays/{stay.pk}/card/"))
    assert re.search(r"Fenders: 4 of 0\.2\d m;", card) and "Fenders: not known" not in card


def test_recorded_fenders_are_not_asked_for_again(office):
    assert "Fenders to hang" not in words_of(office.get(f"/stays/{worked_out().pk}/"))


def test_slack_is_told_for_the_water_of_the_hour_not_of_the_working():
    rows = [
        {"level": z, "moves": 0, "lines": [{"id": "L1", "slack_calm": s, "tension_max": 0}]}
        for z, s in ((0.0, -0.10), (1.0, 0.20), (2.0, 0.30))
    ]
    verdict = Verdict(sort="planned", summary={"answer": "holds"}, levels=rows)
    assert slack_at(verdict, "L1", 0.5) == pytest.approx(0.05)
    assert slack_at(verdict, "L1", 2.0) == pytest.approx(0.30)
    assert slack_at(verdict, "L1", 2.5) is None, "beyond what was worked out nothing is guessed"
    assert slack_at(verdict, "L1", None) is None


def test_what_gives_first_is_told_with_its_wind_and_line():
    line = {
        "id": "L2",
        "order": 3,
        "role": "bow",
        "boat_fitting": "b",
        "shore_fitting": "P1",
        "leads": "aft",
        "stops": "",
    }
    ends = [{"level": 0.07, "beyond": True}, {"level": 3.1, "limit": "calm", "line": "L2"}]
    wind = [{"from_deg": 250, "speed": 17.5, "level": 1.0, "limit": "fitting", "line": "L2"}]
    told = stands_in_words(
        Verdict(
            sort="planned", summary={"answer": "holds"}, lines=[line], stands={"water": ends, "wind": wind}
        ),
        Reader(),
    )
    assert told == [
        ("Stands water down to", "0.07 m, or beyond"),
        ("Stands water up to", "3.10 m, then line 3 comes hard tight"),
        ("Gives first", "in gusts above 34 kn from 250: a fitting of line 3 takes more than it may"),
    ]


def test_feet_for_those_who_read_feet(client):
    reader = make_user("us", "harbourmaster", units="ft", words="us")
    client.force_login(reader)
    page = words_of(client.get(f"/stays/{worked_out().pk}/"))
    assert re.search(r"\d+ ft \d+ in", page) and "STARBOARD side to dock" in page
    assert reader_of(reader).units == "ft"


def test_the_quarter_is_explained_once(office):
    page = words_of(office.get(f"/stays/{worked_out(berth=make_berth(kind='slip')).pk}/"))
    assert page.count("back corner (quarter)") == 1
    lines = page[page.index("Her lines, in the order") :]
    assert lines.index("back corner (quarter)") == lines.index("quarter") - len("back corner (")


def test_out_of_date_is_said_and_worked_out_again_only_when_asked(office):
    stay = worked_out()
    stay.vessel.displacement = Decimal(9000)
    stay.vessel.save()
    page = words_of(office.get(f"/stays/{stay.pk}/"))
    assert "Out of date" in page and "displacement" in page and "HOLDS" not in page
    assert stay.tie_ups.count() == 1, "looking at it works nothing out"
    answer = office.post(f"/stays/{stay.pk}/work-out/")
    assert answer.url == f"/stays/{stay.pk}/" and stay.tie_ups.count() == 2
    assert "Holds in the stated cases." in words_of(office.get(answer.url))


def test_the_neighbours_that_she_made_out_of_date_are_worked_out_in_one_press(office):
    pier = make_pier()
    one = worked_out(berth=make_berth(kind="floating", pier=pier, east=Decimal(1000), north=Decimal(500)))
    beside = make_berth(kind="floating", pier=pier, east=Decimal(1014), north=Decimal(500))
    other = worked_out(berth=beside)
    assert one.tie_ups.get().stale
    page = words_of(office.get(f"/stays/{other.pk}/"))
    assert f"Out of date on this pier: {one.berth.code}" in page
    office.post(f"/stays/{other.pk}/work-out-beside/")
    assert not one.tie_ups.first().stale


def test_what_was_really_done_and_the_history_are_told(office, cast):
    stay = worked_out()
    make_fast(stay=stay, by=cast.hand, level=Decimal("1.38"), differed="bow line to the next cleat")
    page = words_of(office.get(f"/stays/{stay.pk}/"))
    assert "made fast; bow line to the next cleat" in page and "Gauge read 1.38 m" in page
    assert f"booked at {stay.berth.code}" in page and "tie-up worked out: holds in the stated cases" in page


def test_the_history_has_one_clock_and_the_last_deed_first(office, cast, clock_at):
    """The trail is written by the database's clock, the rest by the harbour's: a demonstration's reads as one."""
    clock_at(NOON)
    stay = worked_out()
    stay.state, stay.state_why = "cancelled", "went elsewhere"
    stay.save()
    told = [(event.at, event.words) for event in history(stay)]
    assert {at for at, _ in told} == {NOON}
    assert told[-1][1] == f"booked at {stay.berth.code}"
    assert "cancelled (went elsewhere)" in [words for _, words in told]


def test_it_is_found_by_number_and_by_its_code(office):
    stay = make_stay()
    assert office.get(f"/stays/{stay.pk}/").status_code == 200
    assert office.get(f"/stays/{stay.client_id}/").status_code == 200
    for nobody in ("987654", str(uuid4()), "nonsense", "9" * 40):
        assert office.get(f"/stays/{nobody}/").status_code == 404


@pytest.mark.parametrize("kind", ["slip", "fixed", "quay", "box", "drying", "stern_to", "other"])
def test_every_kind_of_berth_has_a_page(office, kind):
    stay = worked_out(berth=make_berth(kind=kind))
    assert office.get(f"/stays/{stay.pk}/").status_code == 200


def test_a_stay_that_is_over_shows_what_was_known_and_offers_nothing(office):
    stay = worked_out()
    stay.state, stay.state_why = "cancelled", "engine"
    stay.save()
    page = words_of(office.get(f"/stays/{stay.pk}/"))
    assert "This stay is over" in page
    assert "Move her" not in page and "Cancel her stay" not in page and "Work it out" not in page


def test_a_result_in_a_form_nobody_reads_any_more_is_not_known(office):
    stay = make_stay()
    make_tie_up(stay=stay, scenario={"version": 0}, verdict={"version": 0})
    answer = office.get(f"/stays/{stay.pk}/")
    assert answer.status_code == 200 and "HOLDS" not in words_of(answer)


# --- deeds ---


def test_the_other_side_to_is_one_press(office):
    stay = worked_out()
    assert "Port side to instead" in words_of(office.get(f"/stays/{stay.pk}/"))
    office.post(f"/stays/{stay.pk}/turn/")
    stay.refresh_from_db()
    newest = stay.tie_ups.first()
    assert stay.side_to == "port" and not newest.stale and newest.scenario["boat"]["heading_deg"] == 180


def test_the_other_end_in_is_one_press(office):
    stay = worked_out(berth=make_berth(kind="slip"), side_to="stern", end_in="stern")
    office.post(f"/stays/{stay.pk}/turn/")
    stay.refresh_from_db()
    assert (stay.end_in, stay.side_to) == ("bow", "bow")
    assert stay.tie_ups.first().scenario["boat"]["heading_deg"] == 180


def test_a_boat_made_fast_is_not_turned_by_a_button(office):
    stay = worked_out(state="fast")
    assert "instead: work it out" not in words_of(office.get(f"/stays/{stay.pk}/"))
    answer = office.post(f"/stays/{stay.pk}/turn/")
    assert answer.status_code == 422 and "She is made fast" in words_of(answer)


def test_a_booking_is_taken_back_with_a_reason(office):
    stay = worked_out()
    refused = office.post(f"/stays/{stay.pk}/cancel/", {"reason": " "})
    assert refused.status_code == 422 and "Write why" in words_of(refused)
    assert Stay.objects.get().state == "booked"
    answer = office.post(f"/stays/{stay.pk}/cancel/", {"reason": "engine trouble"})
    assert answer.status_code == 302
    gone = Stay.objects.get()
    assert (gone.state, gone.state_why) == ("cancelled", "engine trouble")
    assert "cancelled (engine trouble)" in words_of(office.get(answer.url))


def test_a_name_told_late_is_entered_on_her_page_by_a_hand_too(client, cast):
    stay = worked_out(vessel=make_vessel(name="Not named yet, called 14 Oct 13:00"))
    client.force_login(cast.hand)
    assert 'name="name"' in client.get(f"/stays/{stay.pk}/").content.decode()
    refused = client.post(f"/stays/{stay.pk}/name/", {"name": "", "mark": "red hull"})
    assert refused.status_code == 422
    client.post(f"/stays/{stay.pk}/name/", {"name": "Paper Comet", "mark": "red hull"})
    stay.vessel.refresh_from_db()
    assert (stay.vessel.name, stay.vessel.mark) == ("Paper Comet", "red hull")
    assert not stay.tie_ups.get().stale, "no line rests on her name"


# --- who sees what ---


def test_a_hand_sees_it_and_changes_nothing(client, cast):
    stay = worked_out()
    client.force_login(cast.hand)
    page = words_of(client.get(f"/stays/{stay.pk}/"))
    assert "“" in page and "Her card" in page
    for deed in ("Move her", "instead: work it out", "Take this booking back", "Work it out again"):
        assert deed not in page
    for deed in ("turn", "work-out", "work-out-beside", "cancel"):
        assert client.post(f"/stays/{stay.pk}/{deed}/", {"reason": "x"}).status_code == 403
    assert Stay.objects.get().state == "booked"


def test_a_holder_sees_the_own_stay_and_no_other(client, cast):
    own = worked_out(vessel=make_vessel(owner=cast.holder.owner), purpose="permanent", depart=None)
    foreign = worked_out(berth=make_berth(kind="floating"))
    client.force_login(cast.holder)
    assert client.get(f"/stays/{own.pk}/").status_code == 200
    assert client.get(f"/stays/{foreign.pk}/").status_code == 404
    assert client.get(f"/stays/{foreign.client_id}/").status_code == 404
    client.force_login(cast.stranger)
    assert client.get(f"/stays/{own.pk}/").status_code == 404
    client.logout()
    assert client.get(f"/stays/{own.pk}/").url.startswith("/sign-in/")


def test_a_holder_is_told_of_no_neighbour(client, cast):
    """A boat moors beside her: staff see her drawn and named, the holder neither, not even in what is out of date."""
    pier = make_pier()
    mine = make_berth(kind="floating", pier=pier, east=Decimal(2000), north=Decimal(900))
    next_one = make_berth(kind="floating", pier=pier, east=Decimal("2011.5"), north=Decimal(900))
    make_stay(berth=next_one, vessel=make_vessel(name="Loud Umbrella"))
    stay = worked_out(berth=mine, vessel=make_vessel(owner=cast.holder.owner), note="behind with the fees")
    shown = {}
    make_stay(
        berth=next_one,
        vessel=make_vessel(name="Second Umbrella"),
        arrive=NOON + days(3),
        depart=NOON + days(4),
    )
    stay.vessel.displacement = Decimal(9000)
    stay.vessel.save()
    for who in (cast.harbourmaster, cast.holder):
        client.force_login(who)
        shown[who.role] = client.get(f"/stays/{stay.pk}/").content.decode()
    assert f"The boat at {next_one.code} lies beside her" in shown["harbourmaster"]
    for told in (next_one.code, "Umbrella", "fees"):
        assert told not in shown["holder"], told
    assert shown["holder"].count("<path") < shown["harbourmaster"].count("<path")


def test_reading_the_page_asks_a_bounded_number_of_questions(office, django_assert_max_num_queries):
    house.rules()
    stay = worked_out()
    with django_assert_max_num_queries(40):
        office.get(f"/stays/{stay.pk}/")


def test_the_side_view_has_the_water_now_until_she_has_left(office):
    sea = waters.sea()
    sea.save()
    stay = worked_out(berth=make_berth(kind="fixed", water=sea))
    assert "The water now, wavy" in words_of(office.get(f"/stays/{stay.pk}/"))
    stay.state = "cancelled"
    stay.save()
    assert "The water now, wavy" not in words_of(office.get(f"/stays/{stay.pk}/"))
