"""What each fitting takes: the vector sum of its lines, and the pile a line is led round."""

import numpy as np
import pytest

from berths.tieup import geometry, judge_lines, tie_up
from berths.tieup.scenario import from_data
from berths.tieup.table import as_table
from berths.tieup.tie import solve
from tests.engine import berthings
from tests.engine.test_flags import line

CALM_DAY = {"wind_speeds": [10.3], "wind_from_deg": [60.0, 200.0]}


def led_round(turn, **changes):
    """A slip's set whose port bow line goes round P1 to a cleat off to the side, so that it bends there."""
    lines = [
        line("S1", "stern_port", "D2", 4.4),
        line("S2", "stern_starboard", "D1", 4.4),
        line("F1", "mid_port", "P1", 6.4),
        line("F2", "mid_starboard", "P2", 6.4),
        line("B1", "bow_port", "P1", 3.0),
        line("B2", "bow_starboard", "D9", 6.0, via={"fitting": "M2", "turn": turn}),
    ]
    data = berthings.slip(lines=lines, weather=CALM_DAY)
    data["berth"]["fittings"].append(
        {"id": "D9", "kind": "cleat", "x": 5.5, "y": -5.0, "z": 3.0, "floats": False, "strength": 30_000.0}
    )
    return from_data(berthings.changed(data, changes))


@pytest.mark.parametrize("turn", ["fixed", "slides", None])
def test_a_pile_that_a_line_is_led_round_takes_both_its_parts_unless_its_turn_holds(turn):
    """2 T sin(angle / 2), angle that by which the line bends; all of T where the turn holds; else the greater."""
    work, _, _ = solve(led_round(turn))
    load = judge_lines.fitting_load(work.stiff, "M2", "shore_fitting")
    row = int(load.argmax())
    boat, pull = work.scenario.boat, work.stiff.tension[0, row, 5]
    at = next(f for f in boat.fittings if f.id == "bow_starboard")
    x, y = geometry.to_berth(boat, [[at.x, at.y]], work.stiff.pose[0, row])[0]
    here = np.array([x, y, work.stiff.cases[row].level + at.z])
    pile, cleat = np.array([5.5, -2.35, 3.0]), np.array([5.5, -5.0, 3.0])
    before, after = (v / np.linalg.norm(v) for v in (pile - here, cleat - pile))
    both = 2 * pull * np.sin(np.arccos(before @ after) / 2)
    assert pull > 50
    wanted = {"fixed": pull, "slides": both, None: max(pull, both)}[turn]
    assert load[row] == pytest.approx(wanted, rel=1e-3)


def test_two_lines_on_one_fitting_count_as_their_vector_sum():
    verdict = tie_up(led_round("fixed"))
    row = next(r for r in verdict.fittings if r.id == "P1")
    assert row.lines == ["F1", "B1"] and row.end == "ashore"
    case = next(c for c in verdict.cases if c.id == row.case)
    assert 0 < row.pull <= 1.3 * sum(x.tension for x in case.lines if x.id in row.lines) + 1
    assert row.may == pytest.approx(30_000 / 1.5 / 1.5)
    assert "on the fittings, all lines of each together:" in as_table(verdict)


def test_a_pile_on_the_way_is_judged_like_any_other():
    """Too weak it stops; of unknown strength it is not known; strong enough it says nothing."""
    weak = berthings.flag(tie_up(led_round("fixed", berth__fittings__3__strength=60.0)), "fastening_out")
    assert weak.fitting == "M2" and weak.severity == "stop" and weak.state == "raised"
    unknown = tie_up(led_round("fixed", berth__fittings__3__strength=None))
    told = [f for f in unknown.flags if f.code == "fastening_out"]
    assert [(f.fitting, f.state) for f in told] == [("M2", "not_known")]
    assert next(r for r in unknown.fittings if r.id == "M2").may is None
    sound = tie_up(led_round("fixed"))
    assert "fastening_out" not in berthings.codes(sound) | berthings.codes(sound, "not_known")


def test_a_boat_that_stands_on_the_bed_is_said_to_be_worked_out_afloat():
    afloat, standing = (
        tie_up(
            from_data(berthings.fixed(berth__bed_z=bed, boat__takes_ground=True, weather=CALM_DAY)),
            stands=False,
        )
        for bed in (-2.8, -0.5)
    )
    assert any("there she stands while the water leaves her" in text for text in standing.summary.left_out)
    assert not any("keel" in text for text in afloat.summary.left_out)
    assert "left out:" in as_table(standing)
