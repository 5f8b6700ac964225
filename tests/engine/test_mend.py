"""Where no set of lines holds, what would mend it is said, in the order in which it is worth trying."""

import re

import pytest

from berths.tieup import cases as casework
from berths.tieup import limits, mend, outcome, tie, tie_up
from tests.engine import berthings
from tests.engine.scenes import KNOT


def mended(data):
    verdict = tie_up(berthings.scenario(data), stands=False)
    return verdict, verdict.choice.mend


def test_what_holds_needs_no_mending():
    verdict, told = mended(berthings.slip())
    assert verdict.summary.answer == "holds" and told == []


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (berthings.fixed(berth__faces__0__fender_give=0.01), "fenders, or a stand-off"),
        (berthings.fixed(berth__length=13.8, berth__overhang=0.0), "m longer, or another spring"),
        (
            berthings.slip(berth__fittings__4__strength=500.0, berth__fittings__5__strength=500.0),
            r"another fastening in place of P[12], of at least \d+ kN",
        ),
        (berthings.slip(berth__fittings=[]), "a fastening where a .* can be led to"),
    ],
)  # fmt: skip
def test_each_broken_limit_has_its_own_mend_and_another_berth_comes_last(data, says):
    verdict, told = mended(data)
    assert verdict.summary.answer == "does_not_hold"
    assert any(re.search(says, words) for words in told), told
    assert told[-1] == "another berth" and told.count("another berth") == 1


def test_a_wind_is_named_up_to_which_the_best_set_keeps_every_limit():
    """Checked the long way: at that speed every limit is kept at each level, a knot above it one is broken."""
    data = berthings.fixed(berth__length=13.8, berth__overhang=0.0)
    work, _, _ = tie.solve(berthings.scenario(data))
    knots = mend.up_to(work)
    assert 0 < knots < 30
    assert f"not above {knots} kn of wind: up to there these lines keep every limit" in mend.words(work)
    over = []
    for speed in (knots, knots + 1):
        cases = casework.grid(
            work.scenario, casework.levels(work.scenario), [30.0 * i for i in range(12)], [speed * KNOT]
        )
        soft, _, stiff = outcome.in_all_curves(work.scenario, work.lines, cases, work.figures)
        uses = limits.pulls(stiff, work.figures) | limits.moves(soft, work.figures)
        over.append(max(u.max() for u in uses.values()))
    assert over[0] <= 1 + 1e-6 < over[1]


def test_lines_that_hang_her_want_longer_ropes_or_somebody_by_her_and_no_wind_is_named():
    """Two stern lines of 1.2 m, as somebody put them on: the water alone breaks the limits."""
    short = [
        {"id": f"S{i}", "boat_fitting": f"stern_{side}", "shore_fitting": f"D{i}", "length": 1.2, "mbs": 31_000.0,
         "material": "nylon_3strand", "diameter_mm": 14.0}
        for i, side in ((1, "port"), (2, "starboard"))
    ]  # fmt: skip
    work, _, _ = tie.solve(berthings.scenario(berthings.slip(lines=short, water__low=1.0)))
    mends = {b.limit: b.mend for b in work.broken}
    assert mends["calm"] == "a longer rope led farther, or somebody to tend her"
    assert mends["vertical"] == "longer ropes led farther, or somebody to tend her"
    assert mend.up_to(work) is None
