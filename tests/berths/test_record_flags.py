"""Flags that the records tell: each raised, each silent where nothing is wrong, and what is not known said so."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from berths.models import FlagAccepted, LineSet, LineUse, MadeFast, MadeFastLine, SetPosition, Sighting
from berths.selectors.standing import standings, standings_of_sets
from berths.services.tieups import work_out
from tests.cast import NOON, days, hours, make_berth, make_line, make_stay, make_tie_up, make_vessel
from vessels.models import Inspection
from vessels.services.lines import step

CODES = {
    "wrong_side", "raft_load", "line_condemned", "line_untagged", "overdue", "line_swapped", "two_places", "stay_over",
}  # fmt: skip


@pytest.fixture(autouse=True)
def noon(clock_at):
    return clock_at(NOON)


def a_line(**fields):
    line = make_line(**fields)
    Inspection.objects.create(line=line, at=NOON - days(30), advice="keep", zones={})
    return line


@pytest.fixture
def kept(cast):
    """A boat with a set of one position, its line looked at a month ago; `kept.line`, `kept.position`."""
    stay = make_stay(
        berth=make_berth(kind="floating"), vessel=make_vessel(), state="fast", purpose="permanent",
        arrive=NOON - days(90), depart=None, side_to="starboard",
    )  # fmt: skip
    stay.line_set = LineSet.objects.create(
        berth=stay.berth, vessel=stay.vessel, starts=(NOON - days(90)).date()
    )
    stay.position = SetPosition.objects.create(line_set=stay.line_set, number=3, length=Decimal("8.5"))
    stay.line = a_line(next_inspection=(NOON + days(60)).date())
    stay.use = LineUse.objects.create(line=stay.line, position=stay.position, at=NOON - days(90))
    make_tie_up(stay=stay)
    return stay


def marks(stay):
    return {mark.code: mark for mark in standings([stay])[stay.pk].marks if mark.code in CODES}


def fast(stay, *lines, **fields):
    deed = MadeFast.objects.create(stay=stay, at=fields.pop("at", NOON - hours(2)), **fields)
    for number, fields_of in enumerate(lines, start=1):
        MadeFastLine.objects.create(made_fast=deed, number=number, **{"description": "blue"} | fields_of)
    return deed


def seen(stay, at=None, **fields):
    at = at or NOON - hours(12)
    return Sighting.objects.create(**{"berth": stay.berth, "position": stay.position, "at": at} | fields)


def test_a_set_that_is_as_it_should_be_is_silent(kept):
    assert marks(kept) == {}


# --- condemned ---


def test_a_retired_line_in_the_set_is_a_stop(kept, cast):
    step(line=kept.line, kind="retired", by=cast.harbourmaster, at=NOON - days(1), note="worn")
    assert marks(kept)["line_condemned"].kind == "stop"
    assert "RETIRED" in marks(kept)["line_condemned"].message


def test_her_page_does_not_say_that_she_is_held_while_a_retired_line_holds_her(kept, cast, client):
    work_out(kept, stands=False)
    seen(kept, tag=(old := a_line(state="retired")).tag, line=old)
    client.force_login(cast.hand)
    page = client.get(f"/stays/{kept.pk}/").content.decode()
    assert "DOES NOT HOLD" in page and f"Does not hold: Line {old.tag} is RETIRED" in page


def test_a_retired_line_that_was_seen_holding_her_is_a_stop_and_not_also_swapped(kept):
    old = a_line(tag="WH-903", state="retired")
    seen(kept, tag="WH-903", line=old)
    told = marks(kept)
    assert told["line_condemned"].kind == "stop" and "WH-903" in told["line_condemned"].message
    assert "line_swapped" not in told


def test_a_retired_line_among_those_she_was_made_fast_with_is_a_stop(kept):
    fast(kept, {"line": a_line(tag="WH-904", state="quarantine")})
    assert "WH-904" in marks(kept)["line_condemned"].message


def test_one_that_was_replaced_since_is_not_told_any_more(kept):
    old = a_line(state="retired")
    seen(kept, tag=old.tag, line=old, at=NOON - days(2))
    seen(kept, tag=kept.line.tag, line=kept.line, at=NOON - days(1))
    assert marks(kept) == {}


# --- swapped, untagged ---


@pytest.mark.parametrize(
    ("found", "words"),
    [
        ({"diameter_found_mm": 12}, "12 mm instead of 16"),
        ({"length_found": Decimal("7.0")}, "7.00 m instead of 8.50 m"),
        ({"material": "polyester_braid"}, "braided polyester instead of three-strand nylon"),
    ],
)
def test_what_differs_from_the_set_is_a_fix(kept, found, words):
    seen(kept, tag=kept.line.tag, line=kept.line, **found)
    mark = marks(kept)["line_swapped"]
    assert mark.kind == "fix" and words in mark.message


def test_another_tag_is_a_fix(kept):
    other = a_line()
    seen(kept, tag=other.tag, line=other)
    assert f"{other.tag} instead of {kept.line.tag}" in marks(kept)["line_swapped"].message


@pytest.mark.parametrize("found", [{"diameter_found_mm": Decimal("15.2")}, {"length_found": Decimal("8.3")}])
def test_what_a_tape_may_err_by_is_no_other_line(kept, found):
    seen(kept, tag=kept.line.tag, line=kept.line, **found)
    assert marks(kept) == {}


def test_a_line_without_a_tag_is_a_fix_and_its_state_cannot_be_told(kept):
    seen(kept, tag="", description="12 mm, white")
    assert marks(kept)["line_untagged"].kind == "fix"


def test_what_was_seen_before_the_line_went_out_says_nothing_of_it(kept):
    seen(kept, tag="", at=NOON - days(200))
    assert marks(kept) == {}


# --- inspections ---


def test_an_inspection_that_is_overdue_is_a_note_with_its_days(kept):
    kept.line.next_inspection = (NOON - days(40)).date()
    kept.line.save()
    assert marks(kept)["overdue"].kind == "note" and "40 days overdue" in marks(kept)["overdue"].message


def test_never_inspected_is_not_known(kept):
    line = make_line(next_inspection=None)
    position = SetPosition.objects.create(line_set=kept.line_set, number=4)
    LineUse.objects.create(line=line, position=position, at=NOON - days(9))
    mark = marks(kept)["overdue"]
    assert mark.kind == "not_known" and not mark.urgent and "never inspected" in mark.message


# --- two places ---


def test_booked_here_and_counted_in_the_store_is_a_note(kept):
    Sighting.objects.create(tag=kept.line.tag, line=kept.line, place="rope store", at=NOON - days(4))
    assert "was seen at rope store" in marks(kept)["two_places"].message


def test_seen_where_it_is_booked_is_silent(kept):
    Sighting.objects.create(tag=kept.line.tag, line=kept.line, berth=kept.berth, at=NOON - days(4))
    assert marks(kept) == {}


def test_a_line_on_loan_is_told_of_like_one_of_a_set(kept):
    line = a_line(next_inspection=(NOON + days(60)).date())
    LineUse.objects.create(line=line, stay=kept, at=NOON - days(2))
    Sighting.objects.create(tag=line.tag, line=line, place="hook 4", at=NOON - days(1))
    assert line.tag in marks(kept)["two_places"].message


# --- side, end, raft ---


def test_the_other_side_is_a_note_and_a_fix_where_her_lines_differ_too(kept):
    fast(kept, side_to="port", as_planned=True)
    assert marks(kept)["wrong_side"].kind == "note"
    fast(kept, side_to="port", as_planned=False, at=NOON - hours(1))
    assert marks(kept)["wrong_side"].kind == "fix"


@pytest.mark.parametrize("side", ["starboard", "either", ""])
def test_the_planned_side_is_silent(kept, side):
    fast(kept, side_to=side)
    assert "wrong_side" not in marks(kept)


def test_what_she_was_told_is_held_against_the_plan(kept):
    kept.side_told = "port"
    kept.save()
    assert "told port" in marks(kept)["wrong_side"].message


def test_a_side_nobody_recorded_is_not_known(kept):
    kept.side_to = ""
    kept.save()
    assert marks(kept)["wrong_side"].kind == "not_known"


def test_a_short_stop_is_silent_until_its_end_and_a_fix_after_it(kept, clock_at):
    kept.purpose, kept.short_until, kept.depart = "short_stop", NOON + hours(1), NOON + hours(2)
    kept.save()
    assert "stay_over" not in marks(kept)
    clock_at(NOON + hours(1.02))
    assert marks(kept)["stay_over"].kind == "fix"


def test_a_stay_past_its_end_is_a_fix(kept):
    kept.depart = NOON - hours(3)
    kept.save()
    assert "ended 3 h ago" in marks(kept)["stay_over"].message


def a_raft(outside, inside=8000, lines=2, deep=2):
    berth = make_berth(kind="quay", raft_depth=deep)
    make_stay(berth=berth, vessel=make_vessel(displacement=inside), state="fast")
    stay = make_stay(berth=berth, vessel=make_vessel(displacement=outside), state="fast", raft_place=1)
    ends = berth.fastenings.all()
    fast(stay, *({"shore_end": ends[n]} for n in range(lines)))
    return stay


def test_lighter_outside_with_lines_of_her_own_ashore_is_silent():
    assert "raft_load" not in marks(a_raft(4300))


@pytest.mark.parametrize(
    ("raft", "words"),
    [
        ({"outside": 9000}, "heavier than the boat inside"),
        ({"outside": 4000, "lines": 1}, "1 of her lines go ashore"),
    ],
)
def test_a_raft_that_hangs_on_the_inner_boat_is_a_fix(raft, words):
    mark = marks(a_raft(**raft))["raft_load"]
    assert mark.kind == "fix" and words in mark.message


def test_a_raft_broader_than_the_house_allows_is_a_fix():
    stay = a_raft(4000)
    stay.vessel.beam_declared = stay.vessel.beam_measured = Decimal("6.1")
    stay.vessel.save()
    assert "m broad, 8 m may be" in marks(stay)["raft_load"].message


def test_a_raft_of_unknown_weight_is_not_known():
    assert marks(a_raft(None))["raft_load"].kind == "not_known"


# --- sets, and who answers ---


def test_a_set_tells_the_same_of_its_lines(kept):
    seen(kept, tag="", description="12 mm")
    assert "line_untagged" in [
        mark.code for mark in standings_of_sets([kept.line_set])[kept.line_set.pk].marks
    ]


def test_somebody_answers_for_one_until_a_time_and_then_it_asks_again(kept, cast, clock_at):
    seen(kept, tag="", description="12 mm")
    tie_up = kept.tie_ups.get()
    FlagAccepted.objects.create(
        tie_up=tie_up, code="line_untagged", place=kept.line.tag, reason="new tag is on its way", by=cast.harbourmaster,
        at=NOON, until=NOON + days(2),
    )  # fmt: skip
    mark = marks(kept)["line_untagged"]
    assert not mark.urgent and mark.accepted.reason == "new tag is on its way" and mark.accepted.at == NOON
    clock_at(NOON + days(3))
    assert marks(kept)["line_untagged"].urgent


def test_more_stays_cost_no_more_questions(kept):
    others = [make_stay(berth=make_berth(kind="floating"), state="fast") for _ in range(2)]
    for stay in others:
        make_tie_up(stay=stay)
    standings([kept])
    with CaptureQueriesContext(connection) as one:
        standings([kept])
    with CaptureQueriesContext(connection) as three:
        standings([kept, *others])
    # House rules are read once a request; a test has no request.
    tables = [
        [q["sql"] for q in asked.captured_queries if "base_houserule" not in q["sql"]]
        for asked in (one, three)
    ]
    assert [len(sql) for sql in tables] == [2, 2]  # tie-ups with the records beside them; lines
