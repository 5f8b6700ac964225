"""The page of a boat on the radio: from four figures to a stay with her tie-up, and what goes wrong on the way."""

import re
from datetime import UTC, datetime
from decimal import Decimal
from http.client import HTTPConnection
from threading import Barrier, Thread
from urllib.parse import urlencode
from uuid import uuid4

import pytest

from berths.models import FlagAccepted, Stay, TieUp
from berths.services import placing, tieups
from marina.base import house
from tests.cast import NOON, TWO_DAYS_ON, hours, make_berth, make_stay, make_vessel, make_water
from vessels.models import Vessel

pytestmark = pytest.mark.django_db
PLACE = "/place/"
FOUR = {"units": "m", "loa": "10.4", "beam": "3.5", "draft": "1.6", "nights": "2"}


@pytest.fixture(autouse=True)
def noon(clock_at):
    house.set_rule(key="zone", value="Europe/London", by=None)
    return clock_at(NOON)


@pytest.fixture
def office(client, cast):
    client.force_login(cast.harbourmaster)
    return client


def dock(**fields):
    """A floating berth of 12 m that every boat of these tests fits, and that is quickly worked out."""
    return make_berth(**{"kind": "floating"} | fields)


def text(answer):
    return " ".join(answer.content.decode().split())


def give(client, berth, **told):
    return client.post(PLACE, FOUR | {"berth": berth.code, "page": str(uuid4())} | told)


# --- what is listed ---


def test_four_figures_list_the_berths_that_fit(office):
    fits, short, taken = dock(), dock(length=Decimal(6)), dock()
    make_stay(berth=taken, vessel=make_vessel(name="Tin Whistle"))
    page = text(office.get(PLACE, FOUR))
    assert f"Give her {fits.code}</button>" in page
    assert f"Give her {short.code} all the same" in page and "too long: 10.95 m over everything" in page
    assert f"Give her {taken.code}" not in page and "Tin Whistle lies there until Sat 13:00." in page
    assert "1 berth fits, best first" in page


def test_a_length_from_the_radio_gets_the_doubt_of_the_house_and_says_so(office):
    dock()
    page = text(office.get(PLACE, FOUR))
    assert (
        "<strong>10.95 m</strong> over everything (declared + 5 %; if it was measured, say so above)" in page
    ), "10.4 x 1.05 is 10.92, rounded up"
    measured = text(office.get(PLACE, FOUR | {"measured": "on"}))
    assert "<strong>10.40 m</strong> over everything (measured)" in measured


def test_nights_end_at_noon_of_the_harbour(office):
    """NOON is 13:00 in London in October; two nights on it is Saturday there."""
    dock()
    page = text(office.get(PLACE, FOUR))
    assert "<strong>13:00</strong> until <strong>Sat 12:00</strong>" in page


@pytest.mark.parametrize(
    "figures",
    [
        {"loa": "10,4", "beam": "3.5 m", "draft": "160 cm"},
        {"loa": "34 ft 1.449 in", "beam": "11'5.8\"", "draft": "5 ft 3 in"},
        {"units": "ft", "loa": "34.12", "beam": "11.48", "draft": "5.25"},
        {"units": "ft", "loa": "10.4 m", "beam": "3.5m", "draft": "1.6 m"},
    ],
)
def test_any_way_of_saying_a_length_is_understood(office, figures):
    berth = dock()
    answer = office.get(PLACE, FOUR | figures)
    assert answer.context["found"].at(berth.code).fit.length_left == pytest.approx(
        12.6 - 10.4 * 1.05, abs=0.01
    )


def test_feet_are_answered_in_feet_and_stored_to_the_tenth_of_a_millimetre(office):
    berth = dock()
    feet = {"units": "ft", "loa": "34 ft 6 in", "beam": "11 6", "draft": "5 ft"}
    assert office.get(PLACE, FOUR | feet).status_code == 200, "'11 6' is no length; it is said, not refused"
    feet["beam"] = "11 ft 6"
    page = text(office.get(PLACE, FOUR | feet))
    assert "36 ft 3 in" in page, "34.5 ft x 1.05 is 36.2 ft, up to the inch"
    give(office, berth, **feet)
    boat = Vessel.objects.get()
    assert (boat.loa_declared, boat.beam_declared) == (Decimal("10.5156"), Decimal("3.5052"))


def test_a_boat_told_in_feet_is_read_back_in_feet_and_does_not_drift(office):
    """The reader has metres; the page after the booking is the one that is read back to her skipper."""
    berth = dock()
    answer = give(
        office, berth, units="ft", loa="34 ft 6 in", beam="11 ft 6", draft="5 ft 1/2 in", measured="on"
    )
    boat, stay = Vessel.objects.get(), Stay.objects.get()
    assert answer.url == f"/stays/{stay.pk}/?units=ft"
    page = text(office.get(answer.url))
    assert re.search(r"\d+ ft \d+ in", page) and not re.search(r"\d\.\d\d m\b", page)
    told = text(office.get(f"/boats/{boat.pk}/?units=ft"))
    assert "34 ft 6 in" in told and "11 ft 6 in" in told
    assert (boat.loa_measured, boat.draft_declared) == (Decimal("10.5156"), Decimal("1.5367"))
    assert re.search(r"\d\.\d\d m\b", text(office.get(f"/stays/{stay.pk}/"))), (
        "elsewhere as the reader has chosen"
    )


def test_a_boat_told_in_the_readers_own_units_needs_no_word_about_it(office):
    assert "units" not in give(office, dock()).url


def test_a_bare_38_in_metres_is_asked_about(office):
    dock()
    assert "If feet were meant" in text(office.get(PLACE, FOUR | {"loa": "38", "beam": "12", "draft": "6"}))


def test_half_typed_is_no_mistake(office):
    answer = office.get(PLACE, {"loa": "10.4"}, headers={"HX-Request": "true"})
    assert answer.status_code == 200
    assert "then the berths stand here" in text(answer) and "errorlist" not in text(answer)
    wrong = office.get(PLACE, {"loa": "ten"}, headers={"HX-Request": "true"})
    assert "Length over everything: " in text(wrong)
    assert "is no length; write for instance 10.4 m" in text(wrong)


def test_a_fault_stands_once_on_the_page_beside_its_figure(office):
    page = text(office.get(PLACE, FOUR | {"draft": "deep"}))
    assert page.count("is no length") == 1 and "Look at what is marked above." in page


def test_htmx_gets_the_list_alone_and_the_address_for_it(office):
    dock()
    answer = office.get(PLACE, FOUR | {"name": ""}, headers={"HX-Request": "true"})
    assert "<html" not in text(answer) and "best first" in text(answer)
    assert (
        answer.headers["HX-Replace-Url"]
        == "/place/?loa=10.4&beam=3.5".replace("?", "?units=m&nights=2&") + "&draft=1.6"
    )


def test_without_javascript_the_button_leads_to_the_list(office):
    answer = office.post(PLACE, FOUR | {"page": str(uuid4())})
    assert answer.status_code == 302 and "loa=10.4" in answer.url
    assert "page=" not in answer.url and "csrf" not in answer.url
    assert Stay.objects.count() == 0


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ({"beam": "11"}, "Broader than she is long"),
        ({"draft": "12"}, "Deeper than she is long"),
        ({"loa": "0"}, "A boat has more than nothing of that"),
        ({"loa": "10 400"}, "is no length"),
        ({"loa": "900"}, "look at the decimal point"),
        ({"nights": "0"}, "Nights: from 1 to 366."),
        ({"nights": "400"}, "Nights: from 1 to 366."),
        ({"displacement": "0"}, "Weight, tonnes: from 0.05 to 20000."),
        ({"arrive": "2026-01-01T10:00"}, "more than a day ago"),
        ({"arrive": "2037-01-01T10:00"}, "more than two years ahead"),
    ],
)
def test_what_cannot_be_is_said_beside_what_was_typed(office, told, says):
    answer = give(office, dock(), **told)
    assert answer.status_code == 422
    page = text(answer)
    value = next(iter(told.values()))
    assert says in page and f'value="{value}"' in page
    assert Stay.objects.count() == 0 and Vessel.objects.count() == 0


# --- the deed ---


def test_a_berth_is_given_and_her_tie_up_is_there(office, cast):
    berth = dock()
    answer = give(office, berth)
    stay = Stay.objects.get()
    assert answer.status_code == 302 and answer.url == f"/stays/{stay.pk}/"
    assert (stay.berth, stay.state, stay.purpose, stay.side_to) == (berth, "booked", "visit", "starboard")
    assert stay.arrive == NOON and stay.depart == datetime(2027, 10, 16, 11, 0, tzinfo=UTC)
    tie_up = TieUp.objects.get()
    assert tie_up.stay == stay and tie_up.by == cast.harbourmaster and tie_up.verdict is not None
    assert not tie_up.stale


def test_what_nobody_measured_of_her_is_laid_out_and_said_to_be_an_estimate(office):
    give(office, dock(), hull_class="sail_fin_keel")
    boat = Vessel.objects.get()
    assert boat.loa_declared == Decimal("10.4") and boat.loa_measured is None
    assert boat.loa_declared_on == NOON.date() and "told to harbourmaster" in boat.loa_declared_by
    assert set(boat.estimated) == {"displacement", "fittings", "heights", "outline", "windage"}
    assert boat.fittings.count() == 6 and boat.freeboard_estimated
    page = text(office.get(f"/stays/{Stay.objects.get().pk}/"))
    assert "Nobody has measured these of her; they are estimates." in page and "BoatUS" in page


def test_details_are_kept(office):
    give(
        office,
        dock(),
        name="Paper Comet",
        mark="red hull",
        displacement="7.3",
        propellers="right",
        takes_ground="no",
        air_draft="15",
        arrive="2027-10-14T20:30",
        measured="on",
    )
    boat, stay = Vessel.objects.get(), Stay.objects.get()
    assert (boat.name, boat.mark, boat.displacement, boat.takes_ground) == (
        "Paper Comet",
        "red hull",
        7300,
        False,
    )
    assert (boat.propellers, boat.propeller_turn, boat.air_draft) == ("single", "right", 15)
    assert boat.loa_measured == Decimal("10.4") and boat.loa_declared is None
    assert stay.arrive == datetime(2027, 10, 14, 19, 30, tzinfo=UTC), "20:30 as typed is London's"
    assert stay.side_to == "port", "her right-handed propeller pulls the stern in to port"
    assert "displacement" not in boat.estimated


def test_a_boat_that_told_no_name_can_be_told_apart(office):
    give(office, dock())
    assert Vessel.objects.get().name == "Not named yet, called 14 Oct 13:00"


def test_one_who_was_here_before_is_found_by_name(office):
    known, berth = make_vessel(name="Fern and Daughters", loa="9.0", beam="3.1", draft="0.9"), dock()
    listed = text(office.get(PLACE, FOUR | {"name": "fern"}))
    assert "It is Fern and Daughters" in listed
    page = text(office.get(PLACE, {"vessel": known.pk, "nights": "2", "units": "m"}))
    assert 'name="loa"' not in page and "9.00 m over everything (measured)" in page
    give(office, berth, vessel=known.pk, loa="99", name="Other")
    stay = Stay.objects.get()
    known.refresh_from_db()
    assert stay.vessel == known and Vessel.objects.count() == 1
    assert (known.name, known.loa_measured) == ("Fern and Daughters", 9)


def test_a_name_that_has_a_berth_already_says_where(office):
    """The same boat called twice, or gone back to: she is in one berth, and a second is seen before it is given."""
    berth = dock()
    give(office, berth, name="Fern and Daughters")
    stay = Stay.objects.get()
    listed = text(office.get(PLACE, FOUR | {"name": "Fern and Daughters"}))
    assert f'booked at <a href="/stays/{stay.pk}/">{berth.code}</a>' in listed and "last here" not in listed


def test_only_what_is_not_recorded_is_asked_of_a_known_boat(office):
    known = make_vessel(name="Tin Whistle", draft=None)
    answer = office.get(PLACE, {"vessel": known.pk})
    assert [field.name for field in answer.context["form"].asked] == ["draft"]
    give(office, dock(), vessel=known.pk, draft="1.75")
    known.refresh_from_db()
    assert known.draft_declared == Decimal("1.75") and known.draft_measured is None


def test_a_boat_that_lies_elsewhere_is_not_given_a_second_berth(office):
    stay = make_stay(vessel=make_vessel(name="Tin Whistle"))
    answer = give(office, dock(), vessel=stay.vessel.pk)
    assert answer.status_code == 422
    assert "This boat lies at another berth then. End or move that stay first." in text(answer)


# --- where she does not fit ---


def test_a_berth_that_does_not_fit_needs_a_reason_in_writing(office, cast):
    short = dock(length=Decimal(10))  # 10 + 0.6 for 10.92 m
    refused = give(office, short)
    assert refused.status_code == 422 and "To give her that berth all the same, write why." in text(refused)
    assert Stay.objects.count() == 0
    given = give(office, short, reason="one night, the fairway is closed")
    stay = Stay.objects.get()
    assert given.status_code == 302
    assert (
        "0.35 m too long" in stay.note and "by harbourmaster: one night, the fairway is closed" in stay.note
    )
    signed = FlagAccepted.objects.get()
    assert (signed.code, signed.reason, signed.by) == (
        "too_long",
        "one night, the fairway is closed",
        cast.harbourmaster,
    )
    assert TieUp.objects.get().answer == "does_not_hold", "a reason does not make it hold"


def test_a_depth_nobody_sounded_is_never_among_those_that_fit(office):
    berth = dock(bed_z=None)
    page = text(office.get(PLACE, FOUR))
    assert "No berth fits her and is free" in page and "Not known whether she fits: 1" in page
    assert give(office, berth).status_code == 302, "the harbourmaster may decide it"
    assert TieUp.objects.get().answer == "not_known"


# --- two at once, twice the same, and engines that stop ---


def test_who_was_slower_keeps_what_was_typed_and_gets_the_list_as_it_is_now(office, cast, client):
    berth, other = dock(), dock()
    both_see = [text(office.get(PLACE, FOUR)) for _ in range(2)]
    assert all(f"Give her {berth.code}</button>" in page for page in both_see)
    first = give(office, berth, name="Tin Whistle")
    second = give(office, berth, name="Paper Comet", beam="3.45")
    assert (first.status_code, second.status_code) == (302, 422)
    page = text(second)
    assert f"Nothing was booked at {berth.code}. What you typed is still here" in page
    assert "Tin Whistle" in page and 'value="Paper Comet"' in page and 'value="3.45"' in page
    assert f"Give her {other.code}</button>" in page and f"Give her {berth.code}</button>" not in page
    assert Vessel.objects.count() == 1, "the boat that got no berth leaves no row behind"


def test_the_database_has_the_last_word(office, monkeypatch):
    """Somebody books between the look and the write: refused in the words of the rule, nothing half written."""
    berth = dock()
    seen = placing._check_reason

    def meanwhile(option, reason):
        make_stay(berth=berth)
        return seen(option, reason)

    monkeypatch.setattr(placing, "_check_reason", meanwhile)
    answer = give(office, berth, name="Paper Comet")
    assert answer.status_code == 422 and "This berth is taken then." in text(answer)
    assert not Vessel.objects.filter(name="Paper Comet").exists()


def test_eight_at_once_over_http_one_gets_it_and_nobody_an_error(live_server, cast, clock_at, client):
    """Eight browsers press the same berth in the same moment; the site is a real server with threads."""
    clock_at(NOON)  # the live server's database was emptied since the fixture set it
    berth = dock()
    client.force_login(cast.harbourmaster)
    token = "a" * 32
    cookies = f"csrftoken={token}; sessionid={client.cookies['sessionid'].value}"
    headers = {"Cookie": cookies, "Content-Type": "application/x-www-form-urlencoded", "Connection": "close"}
    gate, answers = Barrier(8), []

    def press(n):
        told = FOUR | {
            "berth": berth.code,
            "page": str(uuid4()),
            "name": f"Boat {n}",
            "csrfmiddlewaretoken": token,
        }
        line = HTTPConnection(*live_server.url.removeprefix("http://").split(":"), timeout=60)
        gate.wait()
        line.request("POST", PLACE, urlencode(told), headers)
        answers.append(line.getresponse().status)

    threads = [Thread(target=press, args=(n,)) for n in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(answers) == [302] + 7 * [422]
    assert Stay.objects.count() == 1 and Vessel.objects.count() == 1 and TieUp.objects.count() == 1


def test_the_same_page_pressed_twice_is_one_deed(office):
    berth, page = dock(), str(uuid4())
    first, second = (give(office, berth, page=page) for _ in range(2))
    assert first.url == second.url and Stay.objects.count() == 1 and Vessel.objects.count() == 1


def test_going_back_for_another_boat_is_another_deed(office):
    berth, other, page = dock(), dock(), str(uuid4())
    first = give(office, berth, page=page)
    second = give(office, other, page=page, loa="9.8")
    assert first.url != second.url and Stay.objects.count() == 2


def test_if_the_working_stops_the_stay_stands_and_says_so(office, monkeypatch):
    def stops(scenario):
        raise ArithmeticError("no balance")

    monkeypatch.setattr(tieups, "tie_up", stops)
    answer = give(office, dock())
    stay = Stay.objects.get()
    assert answer.status_code == 302
    page = text(office.get(answer.url))
    assert "Tie-up not known yet: the working stopped" in page and "Work it out</button>" in page
    assert "HOLDS" not in page and stay.state == "booked"


def test_nothing_is_locked_while_it_is_worked_out(office, monkeypatch, transactional_db):
    from django.db import connection  # noqa: PLC0415

    seen = []
    real = tieups.tie_up
    monkeypatch.setattr(
        tieups, "tie_up", lambda s, **k: (seen.append(connection.in_atomic_block), real(s, **k))[1]
    )
    give(office, dock())
    assert seen == [False]


# --- who may ---


@pytest.mark.parametrize("who", ["hand", "holder"])
def test_only_the_harbourmaster_places(client, cast, who):
    client.force_login(getattr(cast, who))
    berth = dock()
    assert client.get(PLACE).status_code == 403
    assert give(client, berth).status_code == 403
    stay = make_stay()
    assert client.post(f"/stays/{stay.pk}/move/", {"berth": berth.code}).status_code == 403
    assert Stay.objects.count() == 1


# --- moving her ---


def test_a_booked_stay_moves_as_a_whole(office):
    stay, berth = make_stay(berth=dock()), dock()
    tieups.work_out(stay)
    page = text(office.get(f"/stays/{stay.pk}/move/"))
    assert f"Give her {berth.code}</button>" in page and f"Give her {stay.berth.code}</button>" not in page
    answer = office.post(f"/stays/{stay.pk}/move/", {"berth": berth.code, "side": "port"})
    moved = Stay.objects.get()
    assert answer.url == f"/stays/{stay.pk}/" and (moved.berth, moved.side_to) == (berth, "port")
    newest = moved.tie_ups.first()
    assert not newest.stale and newest.scenario["boat"]["heading_deg"] == 180


def test_a_boat_that_is_moved_keeps_the_side_she_was_told_unless_another_is_wished(office):
    stay, berth = make_stay(berth=dock(), side_to="starboard", side_told="starboard"), dock()
    assert '<option value="starboard" selected>' in text(office.get(f"/stays/{stay.pk}/move/"))
    assert '<option value="" selected>' in text(office.get(f"/stays/{stay.pk}/move/?side="))
    office.post(f"/stays/{stay.pk}/move/", {"berth": berth.code})
    assert Stay.objects.get().side_to == "starboard"


def test_a_boat_made_fast_leaves_the_old_berth_now(office):
    stay = make_stay(berth=dock(), arrive=NOON - hours(20), state="fast")
    berth = dock()
    office.post(f"/stays/{stay.pk}/move/", {"berth": berth.code})
    stay.refresh_from_db()
    new = Stay.objects.exclude(pk=stay.pk).get()
    assert (stay.state, stay.depart, new.berth, new.arrive) == ("left", NOON, berth, NOON)


def test_moving_into_a_berth_that_was_taken_meanwhile_is_refused(office):
    stay, berth = make_stay(berth=dock()), dock()
    make_stay(berth=berth)
    answer = office.post(f"/stays/{stay.pk}/move/", {"berth": berth.code})
    assert answer.status_code == 422 and "cannot be given" in text(answer)
    stay.refresh_from_db()
    assert stay.berth != berth


def test_a_boat_without_measures_is_measured_before_she_is_moved(office):
    stay = make_stay(vessel=make_vessel(beam=None, fitted=False))
    answer = office.get(f"/stays/{stay.pk}/move/")
    assert answer.status_code == 422 and "Measure her first" in text(answer)


def test_a_raft_place_is_given_with_its_place(office):
    quay = make_berth(kind="quay", raft_depth=2, water=make_water())
    make_stay(berth=quay, vessel=make_vessel(name="Blue Ledger", beam="3.9"), depart=TWO_DAYS_ON)
    give(office, quay)
    stay = Stay.objects.exclude(vessel__name="Blue Ledger").get()
    assert stay.raft_place == 1
    assert "boats in a raft" in stay.tie_ups.get().trouble


def test_the_boat_beside_is_worked_out_again_when_a_boat_comes_to_lie_next_to_her(office, cast):
    """Else every boat given a berth would leave its neighbours 'not known' on the day."""
    here = dock()
    beside = dock(pier=here.pier, water=here.water, east=here.east + 13)
    give(office, here)
    first = Stay.objects.get()
    before = tieups.newest(first)
    give(office, beside, loa="9.8")
    after = tieups.newest(first)
    assert TieUp.objects.get(pk=before.pk).stale and after.pk != before.pk and not after.stale
