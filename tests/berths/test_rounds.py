"""Rounds: one look a berth, nothing counted that nobody saw, and looks in a calendar behind an address."""

from datetime import UTC, datetime
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from icalendar import Calendar

from berths.models import CalendarFeed, Look, Recheck, Round, Sighting
from berths.services import rounds as deeds
from marina.base import house
from tests.cast import NOON, hours, make_berth, make_line, make_pier, make_stay, make_vessel
from vessels.models import Owner

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def noon(clock_at):
    house.set_rule(key="zone", value="Europe/London", by=None)
    return clock_at(NOON)


@pytest.fixture
def hand(client, cast):
    client.force_login(cast.hand)
    return client


@pytest.fixture
def pier():
    """Three berths; in the first lies a boat."""
    row = make_pier()
    berths = [make_berth(pier=row, kind="floating", walking_order=n) for n in (3, 1, 2)]
    make_stay(berth=berths[1], vessel=make_vessel(name="Tin Whistle"), state="fast")
    row.in_order = sorted(berths, key=lambda berth: berth.walking_order)
    return row


@pytest.fixture
def walk(cast, pier):
    return deeds.begin(name="Evening round", berths=pier.in_order, by=cast.hand)


def text(answer):
    return " ".join(answer.content.decode().split())


def at(walk, berth):
    return f"/rounds/{walk.pk}/{berth.code}/"


def tell(mark="as_planned", **more):
    return {"client_id": str(uuid4()), "mark": mark} | more


def test_a_round_is_begun_over_a_pier_and_leads_to_the_first_berth(hand, pier):
    answer = hand.post("/rounds/", {"name": "Evening round", "where": f"pier{pier.pk}"}, follow=True)
    first = pier.in_order[0]
    assert f"Next: {first.code} Tin Whistle" in text(answer)
    assert "0 of 3 looked at, 3 not: " in text(answer)


def test_after_a_look_comes_the_next_berth_in_walking_order(hand, walk, pier):
    answer = hand.post(at(walk, pier.in_order[0]), tell())
    assert answer.url == at(walk, pier.in_order[1])
    assert Look.objects.get().stay.vessel.name == "Tin Whistle"


def test_no_mark_is_chosen_beforehand_and_none_is_asked_for(hand, walk, pier):
    berth = pier.in_order[0]
    assert "checked" not in text(hand.get(at(walk, berth)))
    answer = hand.post(at(walk, berth), {"client_id": str(uuid4())})
    assert answer.status_code == 422 and "Say how it is, or that nobody could look." in text(answer)


def test_otherwise_needs_a_word_and_what_was_typed_is_kept(hand, walk, pier):
    answer = hand.post(at(walk, pier.in_order[0]), tell("not_as_planned", tag="WH-7"))
    assert answer.status_code == 422
    assert "Say what is not as planned" in text(answer) and 'value="WH-7"' in text(answer)


def test_a_line_that_was_found_is_a_sighting_of_the_one_with_that_tag(hand, walk, pier):
    line = make_line(tag="WH-321")
    told = tell("not_as_planned", words="an old line", tag="wh-321", diameter_mm="14.1", length="8.5")
    hand.post(at(walk, pier.in_order[0]), told)
    seen = Sighting.objects.get()
    assert (seen.line, seen.look, seen.berth) == (line, Look.objects.get(), pier.in_order[0])
    assert (str(seen.diameter_found_mm), str(seen.length_found)) == ("14.1", "8.5000")


def test_could_not_look_is_not_looked_at(hand, walk, pier, cast):
    hand.post(at(walk, pier.in_order[0]), tell("could_not_look", words="gate locked"))
    answer = hand.post(f"/rounds/{walk.pk}/close/", follow=True)
    codes = ", ".join(berth.code for berth in pier.in_order)
    assert f"Closed: 0 of 3 looked at, 3 not: {codes}." in text(answer)
    assert f"what the last round did not look at: {codes}" in text(answer)


def test_the_next_round_takes_what_the_last_one_missed(hand, walk, pier):
    hand.post(at(walk, pier.in_order[0]), tell())
    hand.post(f"/rounds/{walk.pk}/close/")
    hand.post("/rounds/", {"name": "Night round", "where": "missed"})
    assert list(Round.objects.get(name="Night round").berths.order_by("walking_order")) == pier.in_order[1:]


def test_a_closed_round_takes_no_look(walk, pier, cast):
    deeds.close(round_=walk, by=cast.hand)
    with pytest.raises(ValidationError, match="This round is closed"):
        deeds.look_at(round_=walk, berth=pier.in_order[0], by=cast.hand, mark="as_planned")


def test_a_berth_that_is_not_on_it_has_no_page(hand, walk):
    assert hand.get(at(walk, make_berth(kind="floating"))).status_code == 404


def test_sent_twice_is_one_look_with_the_time_of_the_deed(hand, walk, pier):
    told = tell(late="5400")
    for _ in range(2):
        assert hand.post(at(walk, pier.in_order[0]), told).status_code == 302
    assert Look.objects.get().at == datetime(
        2027, 10, 14, 10, 30, tzinfo=UTC
    )  # an hour and a half before noon


def test_two_hands_share_a_round_and_each_look_has_its_name(client, walk, pier, cast):
    for person, berth in ((cast.hand, pier.in_order[0]), (cast.harbourmaster, pier.in_order[1])):
        client.force_login(person)
        client.post(at(walk, berth), tell())
    assert set(Look.objects.values_list("by", flat=True)) == {cast.hand.pk, cast.harbourmaster.pk}


def test_no_control_marks_several_at_once(hand, walk):
    page = text(hand.get(f"/rounds/{walk.pk}/"))
    assert page.count("<form") == 2 and "checkbox" not in page  # close, and sign out


def test_who_looks_has_done_what_was_due_there(hand, walk, pier):
    stay = pier.in_order[0].stays.get()
    due = Recheck.objects.create(stay=stay, why="first_low", due=NOON - hours(1))
    later = Recheck.objects.create(stay=stay, why="other", due=NOON + hours(5))
    assert "Look at this" in text(hand.get(at(walk, pier.in_order[0])))
    hand.post(at(walk, pier.in_order[0]), tell())
    due.refresh_from_db()
    later.refresh_from_db()
    assert due.done_at == NOON and due.found == "as planned" and later.done_at is None


def test_a_walk_asks_a_bounded_number_of_questions(hand, walk, django_assert_max_num_queries):
    with django_assert_max_num_queries(16):
        hand.get(f"/rounds/{walk.pk}/")


# --- looks that are due, and the calendar ---


@pytest.fixture
def due(pier):
    stay = pier.in_order[0].stays.get()
    Recheck.objects.create(stay=stay, why="first_low", due=NOON - hours(2), words="Her first low water here")
    return Recheck.objects.create(stay=stay, why="tend", due=NOON + hours(3), words="Ease her lines", level=1)


def test_missed_first_and_each_is_closed_with_what_was_found(hand, due):
    page = text(hand.get("/looks/"))
    assert page.index("Her first low water here") < page.index("Ease her lines") and "MISSED" in page
    assert "Say what you found" in text(hand.post(f"/looks/{due.pk}/done/", {"found": " "}, follow=True))
    hand.post(f"/looks/{due.pk}/done/", {"found": "eased 0.4 m"})
    due.refresh_from_db()
    assert (due.found, due.done_at) == ("eased 0.4 m", NOON)


def test_the_calendar_has_an_address_that_is_shown_once_and_kept_hashed(hand, client, due):
    page = hand.post("/looks/calendar/").content.decode()
    address = page.split('readonly value="')[1].split('"')[0]
    token = address.rsplit("/", 1)[1].removesuffix(".ics")
    assert len(token) > 40 and token not in CalendarFeed.objects.get().token_hash
    client.logout()
    feed = client.get(address)
    assert feed["Content-Type"].startswith("text/calendar")
    events = list(Calendar.from_ical(feed.content).walk("VEVENT"))
    assert [str(event["summary"]).split(": ")[1] for event in events] == [
        "Her first low water here",
        "Ease her lines",
    ]
    assert events[1].decoded("dtstart") == due.due
    assert client.get(address.replace(token, "x" * 43)).status_code == 404


def test_a_new_address_ends_the_old_one(hand, due):
    old, _ = (
        hand.post("/looks/calendar/").content.decode().split('readonly value="')[1].split('"')[0]
        for _ in "ab"
    )
    assert hand.get(old).status_code == 404


def test_who_may_not_sign_in_any_more_has_no_calendar(hand, client, cast, due):
    address = hand.post("/looks/calendar/").content.decode().split('readonly value="')[1].split('"')[0]
    cast.hand.is_active = False
    cast.hand.save()
    client.logout()
    assert client.get(address).status_code == 404


def test_a_person_asks_for_a_look_and_a_time_that_is_over_is_told(hand, pier):
    stay = pier.in_order[0].stays.get()
    page = f"/stays/{stay.pk}/looks/new/"
    refused = hand.post(page, {"due": "2027-10-14T10:00", "words": "spring chafes"})
    assert "That time is over" in text(refused) and "spring chafes" in text(refused)
    assert hand.post(page, {"due": "2027-10-14T20:00", "words": "spring chafes"}).status_code == 302
    assert Recheck.objects.get(stay=stay, words="spring chafes")


def test_the_night_watch_gets_what_is_due_and_what_nobody_saw(hand, due, walk, pier):
    hand.post(at(walk, pier.in_order[0]), tell())
    hand.post(f"/rounds/{walk.pk}/close/")
    page = text(hand.get("/hand-over/"))
    assert "Ease her lines" in page and "2 not looked at" in page
    assert "NOT KNOWN" in page and "Tin Whistle" in page  # no tie-up has been worked out for her


def test_each_weak_boat_says_whom_to_call(hand, pier):
    vessel = pier.in_order[0].stays.get().vessel
    assert "not known (" not in text(hand.get("/hand-over/"))
    vessel.owner = Owner.objects.create(name="Wren Scuppernong", telephone="+00 0000 17")
    vessel.save()
    assert "Call: Wren Scuppernong, +00 0000 17" in text(hand.get("/hand-over/"))


def test_the_sheet_asks_a_bounded_number_of_questions(hand, pier, django_assert_max_num_queries):
    for _ in range(3):
        make_stay(berth=make_berth(pier=pier, kind="floating"), state="fast")
    with django_assert_max_num_queries(24):
        hand.get("/hand-over/")


@pytest.mark.parametrize("page", ["/rounds/", "/looks/", "/hand-over/"])
def test_a_berth_holder_has_none_of_these(client, cast, page):
    client.force_login(cast.holder)
    assert client.get(page).status_code == 403
