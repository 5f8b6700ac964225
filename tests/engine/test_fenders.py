"""Fenders that a recommended tie-up asks for, where hers are not recorded: how many, how thick, how high, a board."""

from types import SimpleNamespace

import pytest

from berths.tieup import fenders, rules
from berths.tieup.scenario import from_data
from tests.engine import berthings
from tests.engine.berthings import codes
from tests.engine.test_flags import asked, good_set
from tests.engine.test_flags_care import at_wall

CALM = {"wind_speeds": [10.3], "wind_from_deg": [60.0]}
HOUSE = rules.of(from_data(berthings.floating()))
HERS = {"diameter": 0.2, "number": 4, "low": 0.05, "high": 0.9, "board": True}


def recommended(kind=berthings.fixed, **changes):
    return asked(kind(weather=CALM, **({"boat__fenders": None} | changes)))


def gap(verdict):
    return next(f for f in verdict.flags if f.code == "fender_misses" and f.state == "not_known")


# -- size and number --


@pytest.mark.parametrize(
    ("feet", "inches"),
    [(20, 5.0), (24, 6.0), (32, 8.0), (40, 10.0)],
)
def test_an_inch_of_diameter_for_four_feet_of_boat(feet, inches):
    """BOATING 2018, p. 46: 1 in for each 4 to 5 ft (R-FEND-1); the thicker end, to the centimetre upwards."""
    thick = fenders.least_diameter(SimpleNamespace(hull_length=feet * 0.3048), HOUSE)
    assert 0 <= thick - inches * 0.0254 < 0.0101


@pytest.mark.parametrize(("feet", "number"), [(18, 3), (30, 3), (31, 4), (40, 4), (41, 5)])
def test_one_for_ten_feet_and_never_fewer_than_three(feet, number):
    """At least 3: widest point, forward, near the transom; one per 10 ft (R-FEND-4)."""
    assert fenders.least_number(SimpleNamespace(hull_length=feet * 0.3048), HOUSE) == number


def test_where_along_her_they_hang():
    wanted = recommended(berthings.floating).fenders
    assert "one at her widest, one forward, one near her stern" in wanted.why
    assert (wanted.number, wanted.diameter) == (4, 0.21)  # 9.8 m of boat


def test_what_is_recorded_of_hers_is_kept():
    wanted = recommended(boat__fenders={"diameter": 0.3, "number": 6}).fenders
    assert (wanted.diameter, wanted.number) == (0.3, 6)


# -- heights and board --


def test_at_a_wall_they_cover_what_can_touch_over_all_the_water():
    """The fender zone covers the rub strake from lowest to highest water (MIL-HDBK-1025/5 2.6.4.3, R-FEND-6)."""
    wanted = recommended().fenders
    assert (wanted.low, wanted.high, wanted.below_rail) == (
        0.3,
        1.1,
        0.0,
    )  # her side stands from 0.3 to 1.1 m
    assert (wanted.dock_low, wanted.dock_high) == (pytest.approx(-0.25 + 0.3), pytest.approx(3.37 + 1.1))
    assert wanted.side == "starboard" and wanted.faces == ["face"]


def test_a_low_wall_wants_them_lower():
    """Top 3.9, highest water 3.37: 0.3 m of them are to lie on it there, so they hang down to 0.23 m."""
    wanted = recommended(berth__faces__0__top_z=3.9).fenders
    assert wanted.low == pytest.approx(0.23) and wanted.dock_high == pytest.approx(3.9)


def test_on_a_pontoon_they_hang_about_its_edge():
    wanted = recommended(berthings.floating).fenders
    assert (wanted.low, wanted.high) == (
        pytest.approx(0.1),
        pytest.approx(0.7),
    )  # its edge 0.4 m above the water
    assert wanted.below_rail == pytest.approx(0.4) and wanted.dock_low is None and wanted.board is False


def test_fenders_are_not_hung_into_the_water():
    wanted = recommended(berthings.floating, berth__faces__0__top_z=0.25).fenders
    assert wanted.low == pytest.approx(0.05)


def test_piles_with_gaps_want_a_board_and_nothing_says_that_one_is_there():
    verdict = recommended()
    assert verdict.fenders.board is True
    assert "a board across two fenders is wanted, and nothing says one is there" in gap(verdict).message
    plain = recommended(berth__faces__0__continuous=True)
    assert plain.fenders.board is False and "board" not in gap(plain).message
    dark = recommended(berth__faces__0__continuous=None)
    assert dark.fenders.board is None and "not known whether face has gaps" in gap(dark).message


def test_in_a_slip_without_fingers_they_are_for_coming_in():
    verdict = recommended(berthings.slip)
    assert verdict.fenders.number >= 3 and verdict.fenders.faces == []
    assert "coming in" in verdict.fenders.why and "fender_misses" not in codes(verdict, "not_known")


# -- the flag, and the answer --


def test_what_is_asked_for_is_a_note_that_leaves_the_answer():
    """A tie-up that asks for fenders as it asks for lines; the fenders stand among what was assumed."""
    verdict = recommended(berthings.floating)
    assert gap(verdict).severity == "note" and "hang what the card asks for" in gap(verdict).message
    assert "4 fenders, from 0.10 to 0.70 m above the water" in gap(verdict).do
    assert (
        verdict.summary.answer
        == recommended(berthings.floating, boat__fenders=HERS).summary.answer
        == "holds"
    )
    said = {a.field: a.value for a in verdict.assumed}
    assert said["boat.fenders.number"] == 4 and said["boat.fenders.low"] == pytest.approx(0.1)


def test_recorded_fenders_are_judged_and_nothing_is_asked_for():
    verdict = recommended(boat__fenders=HERS)
    assert verdict.fenders is None and "fender_misses" not in codes(verdict) | codes(verdict, "not_known")
    short = recommended(boat__fenders=HERS | {"board": False})
    assert short.fenders is None and "fender_misses" in codes(short, "raised")


def test_lines_that_are_there_ask_for_nothing():
    verdict = at_wall(boat__fenders=None)
    assert verdict.fenders is None and gap(verdict).severity == "fix"
    assert verdict.summary.answer == "not_known"


def test_two_of_unknown_height_are_still_too_few():
    verdict = recommended(boat__fenders={"diameter": 0.2, "number": 2})
    assert "fender_misses" in codes(verdict) and gap(verdict).severity == "note"


def test_where_no_fender_of_hers_can_lie_it_is_said():
    """Top 3.4 and highest water 3.37: whatever she hangs comes over it."""
    verdict = recommended(berth__faces__0__top_z=3.4)
    (cause,) = [f for f in verdict.flags if f.code == "over_dock"]
    told = next(f for f in cause.under if f.code == "fender_misses" and f.state == "raised")
    assert not [
        f for f in verdict.flags if f.code == "fender_misses" and f.state == "raised"
    ]  # one cause, one flag
    assert told.severity == "fix" and "even fenders" in told.message and "on the dock itself" in told.do


# -- the width of a slip --


def test_a_slip_with_no_room_for_the_fenders_of_her_length_is_not_known_to_fit():
    """Clear width 4.4 m, 9.4 m of boat: fenders of 0.20 m (R-FEND-1)."""
    lines = {"lines": good_set()}
    tight = asked(berthings.slip(boat__beam=4.1, boat__fenders=None, **lines))
    assert "too_wide" in codes(tight, "not_known") and "too_wide" not in codes(tight)
    roomy = asked(berthings.slip(boat__beam=3.9, boat__fenders=None, **lines))
    assert "too_wide" not in codes(roomy) | codes(roomy, "not_known")
    assert "too_wide" in codes(asked(berthings.slip(boat__beam=4.5, boat__fenders=None, **lines)))
