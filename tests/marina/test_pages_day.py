"""The day: worst first, nothing unknown left out, the same few queries however large the harbour is."""

import re
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from berths.models import FlagAccepted, LineUse, Notice, Recheck
from berths.selectors.board import day
from berths.selectors.standing import Mark, mark_of, without_neighbours
from berths.selectors.weak import codes_in_words
from berths.templatetags.stays import bites
from marina.base import house
from tests.cast import (
    NOON,
    days,
    fix_clock,
    hours,
    make_berth,
    make_line,
    make_pier,
    make_stay,
    make_tie_up,
    make_vessel,
    make_water,
)

pytestmark = pytest.mark.django_db


def flag(code, severity="stop", *, state="raised", starts=None, **fields):
    return {
        "code": code,
        "severity": severity,
        "state": state,
        "from": starts and starts.isoformat(),
        "message": f"It is {code}.",
    } | fields


def lying(name, flags, *, berth=None, **fields):
    """A boat that is made fast, with the flags of her newest tie-up."""
    berth = berth or make_berth(fitted=False, bed_z=-3)
    stay = make_stay(vessel=make_vessel(name=name, fitted=False), berth=berth, state="fast", depart=None)
    make_tie_up(stay=stay, answer="not_known", flags=flags, **fields)
    return stay


@pytest.fixture
def noon(cast):
    fix_clock(NOON)
    return cast


def needs(user):
    return [(need.stay.vessel.name, need.mark.kind, need.standing.words) for need in day(user)["needs"]]


def test_when_a_flag_bites_is_not_said_twice(noon):
    told = Mark("hangs_her", "stop", "Below 1.73 m from Fri 06:00 she hangs.", starts=NOON + hours(18))
    assert bites(told) == "", "noon of the harbour, and 18 h on is Fri 06:00: her own words say it"
    assert bites(replace(told, message="She hangs.")) == "from Fri 06:00"
    a_minute_before = replace(told, starts=told.starts - timedelta(seconds=40))
    assert bites(a_minute_before) == "", "rounded here, cut off there: the same minute"
    assert bites(replace(told, starts=NOON - hours(1))) == "now"


def test_a_flag_is_told_in_words_of_the_deck():
    told = mark_of(
        flag("line_weak", "fix", message="line 3 (mid port to D2) may part", rests_on="house size (R-RULE-1)")
    )
    assert told.message == "line 3 (port midships cleat to D2) may part" and told.rests_on == "house size"


def test_no_flag_tells_a_holder_where_another_boat_lies():
    told = without_neighbours(
        Mark("one_line_lost", "fix", "Without it she comes 0.4 m into the boat at C3 (boat 2).")
    )
    assert told.message == "Without it she comes 0.4 m into a boat beside her."


class TestWhatNeedsSomebodyNext:
    def test_stop_then_fix_then_not_known_and_the_earliest_first(self, noon):
        lying("Unknown", [flag("line_weak", "fix", state="not_known")])
        lying("Fix", [flag("no_spring", "fix"), flag("length_differs", "note")])
        lying("Later", [flag("grounds_at_low", starts=NOON + hours(30))])
        lying("Sooner", [flag("no_spring", "fix"), flag("hangs_her", starts=NOON + hours(17))])
        lying("Always", [flag("too_long")])
        lying("Note only", [flag("length_differs", "note")])
        lying("Nothing", [])
        assert needs(noon.hand) == [
            ("Always", "stop", "1 stop"),
            ("Sooner", "stop", "1 stop, 1 fix"),
            ("Later", "stop", "1 stop"),
            ("Fix", "fix", "1 fix, 1 note"),
            ("Unknown", "not_known", "1 not known"),
        ]

    def test_not_known_is_always_counted_beside_the_rest(self, noon):
        unknown = [flag(f"u{n}", "fix", state="not_known") for n in range(3)]
        lying("Slow Biscuit", [flag("no_spring", "fix"), *unknown, flag("few_lines", "fix")])
        assert needs(noon.hand) == [("Slow Biscuit", "fix", "2 fix, 3 not known")]

    def test_a_note_that_is_not_known_is_counted_and_calls_nobody_by_itself(self, noon):
        """A visitor whom nobody has measured is no reason to go and look; beside a fault she is told of."""
        lying("Fern and Daughters", [flag("line_thin", "note", state="not_known")])
        lying("Slow Biscuit", [flag("no_spring", "fix"), flag("line_thin", "note", state="not_known")])
        assert needs(noon.hand) == [("Slow Biscuit", "fix", "1 fix, 1 not known")]

    def test_a_boat_without_a_tie_up_is_not_fine(self, noon):
        make_stay(vessel=make_vessel(name="Wide Wednesday"), state="fast")
        assert needs(noon.hand) == [("Wide Wednesday", "not_known", "1 not known")]

    def test_what_does_not_hold_is_a_stop_even_where_no_flag_says_so(self, noon):
        """Her reach past the berth's end has no flag of its own; the answer alone must bring her here."""
        stay = make_stay(vessel=make_vessel(name="Paper Comet"), state="fast")
        why, said = (f"she reaches {far} past the end of the berth" for far in ("0.09 m", "0.10 m"))
        result = {"version": 1, "summary": {"why": why}}
        unknown = flag("length_differs", "note", state="not_known")
        make_tie_up(stay=stay, answer="does_not_hold", verdict=result, flags=[unknown])
        (need,) = day(noon.hand)["needs"]
        assert (need.mark.kind, need.mark.message) == ("stop", said)

    def test_no_verdict_says_why(self, noon, client):
        lying("Copper Thimble", [], scenario=None, verdict=None, trouble="no tie-up worked out for this kind")
        client.force_login(noon.hand)
        assert "No tie-up worked out for this kind." in client.get("/").content.decode()
        assert needs(noon.hand) == [("Copper Thimble", "not_known", "1 not known")]

    def test_out_of_date_is_not_known_again(self, noon):
        lying("Tin Whistle", [], stale=True, stale_why="surge was changed", stale_since=NOON)
        assert needs(noon.hand) == [("Tin Whistle", "not_known", "1 not known")]

    def test_what_was_found_goes_before_what_was_planned(self, noon):
        stay = lying("Slow Biscuit", [flag("hangs_her")], sort="found", made_at=NOON - days(2))
        make_tie_up(stay=stay, sort="planned", made_at=NOON, flags=[])
        assert needs(noon.hand) == [("Slow Biscuit", "stop", "1 stop")]

    def test_the_newest_of_a_sort_counts(self, noon):
        stay = lying("Slow Biscuit", [flag("hangs_her")], made_at=NOON - days(2))
        make_tie_up(stay=stay, made_at=NOON, flags=[flag("no_spring", "fix")])
        assert needs(noon.hand) == [("Slow Biscuit", "fix", "1 fix")]

    def test_an_accepted_flag_stays_visible_but_asks_nobody(self, noon, client):
        stay = lying("Slow Biscuit", [flag("hangs_her", line="L1"), flag("no_spring", "fix")])
        FlagAccepted.objects.create(
            tie_up=stay.tie_ups.get(),
            code="hangs_her",
            place="L1",
            reason="tended",
            by=noon.harbourmaster,
            at=NOON,
        )
        assert needs(noon.hand) == [("Slow Biscuit", "fix", "1 stop, 1 fix")]
        client.force_login(noon.hand)
        page = client.get(f"/berths/{stay.berth.code}/").content.decode()
        assert "Accepted by harbourmaster" in page
        assert "tended" in page

    def test_who_has_left_or_comes_in_a_month_is_not_the_days_business(self, noon):
        lying("Gone", [flag("hangs_her")])
        gone = make_stay(state="left", arrive=NOON - days(3), depart=NOON - days(1))
        make_tie_up(stay=gone, flags=[flag("hangs_her")])
        make_tie_up(stay=make_stay(arrive=NOON + days(30), depart=NOON + days(31)), flags=[flag("hangs_her")])
        make_tie_up(stay=make_stay(state="cancelled"), flags=[flag("hangs_her")])
        assert [name for name, *_ in needs(noon.hand)] == ["Gone"]

    def test_the_page_says_from_and_until_when(self, noon, client):
        starts = NOON + hours(15)
        lying("Paper Comet", [flag("grounds_at_low", starts=starts, until=(starts + hours(3)).isoformat())])
        client.force_login(noon.hand)
        assert "from Fri 03:00 until Fri 06:00" in _text(client.get("/"))


def _text(answer):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def test_the_hand_reads_the_same_day_but_does_not_place(noon, client):
    stay = lying("Slow Biscuit", [flag("hangs_her")])
    pages = {}
    for user in (noon.harbourmaster, noon.hand):
        client.force_login(user)
        pages[user.role] = _text(client.get("/"))
        assert f'href="/stays/{stay.pk}/"' in client.get("/").content.decode()
    assert "A boat on the radio: place her" in pages["harbourmaster"]
    assert "place her" not in pages["hand"]
    assert "It is hangs_her." in pages["hand"]


class TestComingAndGoing:
    def test_in_walking_order_not_by_alphabet_or_time(self, noon):
        first, second, third = make_pier(), make_pier(), make_pier()
        for code, pier, at in (("A10", third, 1), ("A2", second, 2), ("Q8", first, 3)):
            number = {"Q8": 9001, "A2": 9002, "A10": 9003}[code]
            berth = make_berth(fitted=False, code=code, pier=pier, walking_order=number)
            make_stay(berth=berth, arrive=NOON + hours(at), vessel=make_vessel(fitted=False))
        assert [stay.berth.code for stay in day(noon.hand)["arrivals"]] == ["Q8", "A2", "A10"]

    def test_today_is_the_harbours_day(self, noon):
        house.set_rule(key="zone", value="Pacific/Auckland", by=noon.harbourmaster)  # 15 October, 01:00
        tonight = make_stay(arrive=NOON + hours(20), depart=NOON + days(3))  # 21:00 the same day there
        make_stay(arrive=NOON + hours(24), depart=NOON + days(3))  # 01:00 the day after
        assert day(noon.hand)["arrivals"] == [tonight]

    def test_who_should_have_come_or_gone_is_still_there(self, noon):
        late = make_stay(arrive=NOON - days(1), depart=NOON + days(1))
        over = make_stay(arrive=NOON - days(3), depart=NOON - days(1), state="fast")
        page = day(noon.hand)
        assert page["arrivals"] == [late]
        assert page["departures"] == [over]

    def test_our_lines_out_to_who_leaves_are_told(self, noon, client):
        stay = make_stay(arrive=NOON - days(1), depart=NOON + hours(4), state="fast")
        for back, closed in ((None, ""), (None, ""), (NOON - hours(3), "returned")):
            LineUse.objects.create(
                line=make_line(), stay=stay, at=NOON - hours(20), back=back, closed_as=closed
            )
        client.force_login(noon.hand)
        assert "2 lines of ours out to her" in _text(client.get("/"))


class TestWater:
    def test_level_and_turns_and_a_surge_nobody_set(self, noon, client):
        make_water(name="Basin", low="1.6", tide_range="1.2")
        Notice.objects.create(
            water=make_water(name="Upper", low="2.0"),
            low=2,
            high=2,
            starts=NOON - days(1),
            reason="Kept at 2 m",
        )
        client.force_login(noon.hand)
        text = _text(client.get("/"))
        assert "Basin not known now No tide here. Limits 1.60 m to 2.80 m." in text

    def test_what_was_announced_stands_on_the_day(self, noon, client):
        water = make_water(name="Basin", low="1.6", tide_range="1.2")
        for hours_ahead, reason in ((17, "Work on the sill"), (24 * 20, "Next month")):
            starts = NOON + hours(hours_ahead)
            Notice.objects.create(
                water=water, low=Decimal("1.6"), high=Decimal("1.6"), starts=starts, reason=reason
            )
        client.force_login(noon.hand)
        text = _text(client.get("/"))
        assert "Notice: kept at 1.60 m from Fri 05:00. Work on the sill." in text
        assert "Next month" not in text


class TestWeakSpots:
    def test_a_dock_that_rises_over_its_piles(self, noon):
        # By hand: 2.77 + 0.60 + 0.50 = 3.87 m is where the hoop stands at the highest water with surge.
        sea = make_water(low="0.05", tide_range="2.72")
        pier = make_pier(name="Gull Pier")
        for n, top in ((1, "3.86"), (2, "3.90"), (3, "4.37"), (4, None)):
            make_berth(
                kind="floating", fitted=False, water=sea, pier=pier, code=f"A{n}", guide_pile_top_z=top
            )
        found = [(w.place, w.fault.kind, w.fault.message) for w in day(noon.hand)["weak"]]
        assert found == [
            (
                "Gull Pier, A1",
                "stop",
                "At the highest water with surge the pontoon stands 0.01 m over its pile tops.",
            ),
            (
                "Gull Pier, A4",
                "not_known",
                "How high the pontoon may rise on its piles is not known: do not count on it in a surge.",
            ),
            ("Gull Pier, A2", "note", "Pile tops 0.03 m above the hoop at the highest water with surge."),
        ]

    def test_surge_not_set_is_not_known(self, noon):
        still = make_water(surge_up=None, surge_down=None, surge_reason="")
        make_berth(kind="floating", fitted=False, water=still)
        assert [w.fault.kind for w in day(noon.hand)["weak"]] == ["not_known"]

    def test_fastenings_and_beds(self, noon):
        berth = make_berth(code="C4", bed_z=None)
        loose, unknown = (berth.fastenings.get(code=code).fastening for code in ("D1", "D2"))
        loose.condition, unknown.strength = "loose", None
        loose.save()
        unknown.save()
        kinds = [(w.fault.kind, w.fault.message) for w in day(noon.hand)["weak"]]
        assert kinds == [
            ("fix", "C4/D1 is loose."),
            ("not_known", "Depth not known."),
            ("not_known", "Strength of fastenings not known."),
        ]

    def test_codes_are_said_short(self):
        assert codes_in_words(["B1", "B2", "B2", "B5"]) == "B1, B2, B5"
        assert codes_in_words(["Q8", "Q7", "Q6"]) == "Q8 to Q6"
        assert codes_in_words([f"A{n}" for n in range(1, 30, 2)]) == "A1 and 14 more"


class TestLookAgain:
    def test_missed_and_due_ones_not_done_ones(self, noon, client):
        stay = lying("Tin Whistle", [])
        for due, done in (
            (NOON - hours(2), None),
            (NOON + hours(5), None),
            (NOON, NOON),
            (NOON + days(2), None),
        ):
            Recheck.objects.create(stay=stay, why="first_low", due=due, done_at=done)
        assert [look.due for look in day(noon.hand)["looks"]] == [NOON - hours(2), NOON + hours(5)]
        client.force_login(noon.hand)
        assert "MISSED" in _text(client.get("/"))


class TestSize:
    @pytest.mark.parametrize("boats", [3, 60])
    def test_twelve_queries_however_many_boats(self, client, noon, django_assert_max_num_queries, boats):
        pier, sea = make_pier(), make_water()
        for n in range(boats):
            berth = make_berth(fitted=n < 3, pier=pier, water=sea, bed_z=None if n % 7 == 0 else -3)
            stay = lying(f"Boat {n}", [flag("hangs_her", line=f"L{n}"), flag("x", "fix")], berth=berth)
            Recheck.objects.create(stay=stay, why="first_low", due=NOON)
            if n % 3 == 0:
                LineUse.objects.create(line=make_line(), stay=stay, at=NOON - days(1))
        client.force_login(noon.hand)
        with django_assert_max_num_queries(12):
            answer = client.get("/")
        assert len(answer.context["needs"]) == boats
