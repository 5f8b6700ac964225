"""Odd questions: each gets a message or an honest answer, never a traceback, a NaN or a wrong 'holds'."""

import json

import numpy as np
import pytest

from berths.tieup import tie_up
from berths.tieup.scenario import BadScenario, Scenario, from_data, read
from tests.engine import berthings, fuzz
from tests.engine.berthings import codes
from tests.engine.test_flags import good_set, line

FEW = {"wind_speeds": [10.3], "wind_from_deg": [60.0, 200.0]}


def asked(data):
    return tie_up(from_data(data), stands=False)


def slip_with(**changes):
    return berthings.slip(lines=good_set(), weather=FEW, **changes)


def refused(data):
    with pytest.raises(BadScenario) as bad:
        asked(data)
    return bad.value.faults


# -- what cannot be true is refused, with its place --


IMPOSSIBLE = [
    ({"boat__outline": [[0, 1]]}, "boat.outline: needs at least 3 points"),
    ({"boat__outline": [[2, 1], [2, 1], [2, 1]]}, "boat.outline: encloses no area"),
    ({"boat__outline": [[0, 0], [5, 0], [9, 0]]}, "boat.outline: encloses no area"),
    ({"boat__outline": [[0, 0], [5, 0.0001], [9, 0]]}, "boat.outline: encloses "),
    ({"boat__outline": [[0, 1500], [9400, 0], [0, -1500]]}, "boat.outline: reaches 9400 m"),
    ({"boat__beam": 0.003}, "boat.beam: 0.003 m is less than any boat"),
    ({"boat__loa": 0.94}, "boat.loa: 0.94 m is less than any boat"),
    ({"boat__displacement": 5.2}, "boat.displacement: 5.2 kg for a boat of 9.4 x 3.2 m"),
    ({"boat__fittings__0__x": 8740}, "boat.fittings[0]: x 8740"),
    ({"berth__faces__0__y2": -3}, "berth.faces[0]: both ends are at the same place"),
    ({"water__surge_up": 99}, "water.surge_up: takes the water more than 100 m"),
    ({"house": {"strength_factor": 0}}, "house.strength_factor: must be a number from 1 to 1000"),
    ({"house": {"calm_share": 0}}, "house.calm_share: must be a number from 0.001 to 1"),
    ({"boat__zones": [{"id": "a"}, {"id": "a"}]}, "boat.zones[1].id: 'a' is already the id of entry 0"),
    ({"berth__neighbours": [{"id": "a"}, {"id": "a"}]}, "berth.neighbours[1].id: 'a' is already"),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "fault"), IMPOSSIBLE)
def test_what_cannot_be_true_is_refused_with_its_place(changes, fault):
    assert any(text.startswith(fault) for text in refused(slip_with(**changes))), refused(
        slip_with(**changes)
    )


def test_a_line_that_ends_before_the_pile_it_is_led_round():
    """By place, by height, and by a height that changes with the water."""
    for spoil in ({}, {"berth__fittings__3__x": 0.1, "berth__fittings__3__z": 9.0}):
        lines = good_set()
        lines[0] |= {"via": {"fitting": "M2", "turn": "fixed"}, "length": 4.0}
        data = slip_with(**spoil)
        data["lines"] = [{**row, "shore_fitting": "D2"} if row is lines[0] else row for row in lines]
        assert any(f"line {lines[0]['id']}: 4 m does not reach past M2" in text for text in refused(data))


def test_a_scenario_that_was_built_and_never_read_is_checked_too():
    good = from_data(slip_with())
    twice = good.model_copy(update={"lines": [good.lines[0], good.lines[0]]})
    with pytest.raises(BadScenario, match=r"lines\[1\].id: 'L1' is already the id of entry 0"):
        tie_up(twice)


# -- what is odd is answered --


def test_a_hollow_outline_is_filled_and_that_is_said():
    outline = [[0, 1.5], [3, 1.6], [5, 1.0], [7, 1.5], [9.4, 0]]
    verdict = asked(slip_with(boat__outline=outline))
    (note,) = [a for a in verdict.assumed if a.field == "boat.outline"]
    assert "without its dents, the deepest of 0.5" in note.why
    assert verdict.summary.answer == "holds"


def test_an_outline_larger_than_her_measures_is_said():
    verdict = asked(slip_with(boat__outline=[[0, 1.9], [6, 1.9], [9.9, 0]]))
    (note,) = [a for a in verdict.assumed if a.field == "boat.outline"]
    assert note.value == [9.9, 3.8] and "larger than length over everything and beam" in note.why


@pytest.mark.parametrize("place", [(5.3, 1.75), (5.3, 1.6), (5.3, 0.0), (0.6, 1.2), (9.99, 0.0)])
def test_a_pile_on_or_in_her_outline_is_a_survey_fault_and_no_traceback(place):
    x, y = place
    data = slip_with(berth__fittings__2__x=x, berth__fittings__2__y=y, berth__fittings__2__diameter=0.3)
    verdict = asked(data)
    inside = abs(y) < 1.5 and 0.6 < x < 9.9
    assert ("starts_in_contact" in codes(verdict)) or not inside
    assert np.isfinite([c.residual for c in verdict.cases]).all()


def test_two_fittings_at_one_place_are_two_fittings():
    """A pile and the cleat on it: the answer is that of the pile alone."""
    one = asked(slip_with())
    data = slip_with()
    data["berth"]["fittings"].append({**data["berth"]["fittings"][4], "id": "P1b", "kind": "cleat"})
    two = asked(data)
    assert two.summary.answer == one.summary.answer == "holds"
    assert [c.pose for c in two.cases] == [c.pose for c in one.cases]


def test_her_fitting_where_the_shore_fitting_is():
    """At one level the line has no length and no direction: the survey, or where she lies, is wrong."""
    data = slip_with()
    boat = from_data(data).boat
    stern = next(f for f in boat.fittings if f.id == "stern_port")
    at = {"x": boat.x - boat.loa / 2 + stern.x, "y": stern.y, "z": 2.2 + stern.z}
    data["berth"]["fittings"][1] |= at  # D2, which her port stern line goes to
    verdict = asked(data)
    told = berthings.flag(verdict, "starts_in_contact")
    assert "both ends are at one place" in told.message and told.fitting == "D2"
    assert all(np.isfinite(state.tension) for c in verdict.cases for state in c.lines)


def test_a_boat_sixty_metres_from_her_berth_is_not_in_it():
    for data in (slip_with(boat__x=66.0), berthings.fixed(boat__y=62.0, weather=FEW),
                 berthings.floating(boat__y=62.0, weather=FEW)):  # fmt: skip
        verdict = asked(data)
        assert verdict.summary.answer == "does_not_hold"
        assert any(f.code == "not_held" and "from everything" in f.message for f in verdict.flags)


@pytest.mark.parametrize("make", [berthings.slip, berthings.fixed, berthings.floating])
def test_one_fitting_only_holds_nothing(make):
    data = make(weather=FEW)
    data["berth"]["fittings"] = data["berth"]["fittings"][:1]
    verdict = asked(data)
    assert verdict.summary.answer != "holds" and "few_lines" in codes(verdict)


def test_a_berth_and_a_boat_without_any_fitting():
    for changes in ({"berth__fittings": []}, {"boat__fittings": [{"id": "odd"}]}):
        verdict = asked(berthings.slip(weather=FEW, **changes))
        assert verdict.summary.answer == "does_not_hold" and not verdict.cases


def test_one_windy_case_still_says_that_she_hangs_in_still_water():
    """What was asked is one case at 2.4 m with wind; the window goes down to 1.4 m."""
    lines = [line("S1", "stern_port", "D1", 1.2), line("S2", "stern_starboard", "D2", 1.2), *good_set()[2:]]
    case = {"id": "now", "level": 2.4, "wind_speed": 5.0, "wind_from_deg": 230.0}
    verdict = asked(slip_with() | {"lines": lines, "cases": [case]})
    assert len(verdict.cases) == 1 and verdict.cases[0].id == "now"
    assert "hangs_her" in codes(verdict) and verdict.summary.answer == "does_not_hold"
    held = asked(slip_with() | {"cases": [case]})
    assert held.summary.answer == "holds" and len(held.cases) == 1


@pytest.mark.parametrize("turn", ["fixed", "slides", None])
def test_a_line_led_round_a_pile(turn):
    """From her port quarter round the far pile to the outer one: longer by the part between the piles."""
    lines = good_set()
    i = next(i for i, row in enumerate(lines) if row["shore_fitting"] == "P1")
    lines[i] |= {"via": {"fitting": "M1", "turn": turn}, "length": lines[i]["length"] + 6.0}
    verdict = asked(slip_with() | {"lines": lines})
    assert verdict.cases and all(np.isfinite(s.tension) for c in verdict.cases for s in c.lines)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"cases": [{"id": "a", "level": 2.0, "wind_speed": 9.0}]}, "direction of the wind"),
        ({"cases": [{"id": "a", "level": 2.0, "current_speed": 0.4}]}, "direction of the stream"),
        ({"weather": {**FEW, "currents": [{"speed": 0.5}]}}, "direction of the stream"),
    ],
)
def test_a_wind_or_stream_without_direction_is_said_and_never_passes(changes, words):
    verdict = asked(slip_with() | changes)
    told = [f for f in verdict.flags if f.state == "not_known" and words in f.message]
    assert len(told) == 1 and verdict.summary.answer == "not_known"


@pytest.mark.parametrize("field", ["x", "y"])
def test_a_deck_fitting_nobody_placed(field):
    data = slip_with(boat__fittings__4__id="quarter_post")
    data["boat"]["fittings"][4][field] = None
    for row in data["lines"]:
        row["boat_fitting"] = row["boat_fitting"].replace("stern_port", "quarter_post")
    verdict = asked(data)
    assert any(f.fitting == "quarter_post" and f.state == "not_known" for f in verdict.flags)
    assert verdict.summary.answer != "holds"


def test_a_pile_of_unknown_height_that_a_line_is_led_round():
    lines = good_set()
    lines[-1] |= {"via": {"fitting": "M2", "turn": "slides"}, "length": 12.0}
    verdict = asked(slip_with(berth__fittings__3__z=None) | {"lines": lines})
    assert any(f.code == "hangs_her" and f.fitting == "M2" for f in verdict.flags)


def test_a_flat_stretch_curve_carries_nothing_and_holds_nothing():
    lines = [{**row, "stiffness": {"table": [[0, 0], [0.1, 0], [0.5, 0]]}} for row in good_set()]
    assert asked(slip_with() | {"lines": lines}).summary.answer == "does_not_hold"


# -- spoilt questions, by the hundred --

HOW_MANY = 400


@pytest.mark.parametrize("first", range(0, HOW_MANY, 50))
@pytest.mark.filterwarnings("error::RuntimeWarning")
def test_spoilt_questions(first):
    """Refused with places, or answered in finite numbers, and never 'holds' with a needed figure missing.

    The full ten thousand: `python -m tests.bench.fuzz`.
    """
    results = [fuzz.asked(fuzz.trial(seed), stands=seed % 50 == 0) for seed in range(first, first + 50)]
    assert {"refused", "holds"} < set(results)


def test_what_the_spoiling_starts_from_holds():
    """Else 'never a wrong holds' would say nothing."""
    for data in fuzz.good_ones():
        assert fuzz.asked(json.dumps(data)) == "holds"


def test_every_field_is_either_needed_or_may_be_null():
    """A Scenario of nothing but what is needed is answered, with everything else not known or assumed."""
    for kind in ("slip", "fixed", "floating"):
        bare = {"version": 1, "berth": {"kind": kind},
                "boat": {"loa": 9, "beam": 3, "x": 5, "y": 2, "heading_deg": 0}}  # fmt: skip
        verdict = tie_up(read(json.dumps(bare)))
        assert verdict.summary.answer == "does_not_hold" and verdict.assumed
        assert isinstance(read(json.dumps(bare)), Scenario)
