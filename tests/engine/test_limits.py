"""What a line may bear: wet, worn, and by the house's own figures; each share is taken once."""

import pytest

from berths.tieup import limits, loads, rules, tie, tie_up
from berths.tieup.scenario import Line
from tests.engine import berthings
from vessels.coefficients import read_coefficients


def figures(**house):
    return rules.of(berthings.scenario(berthings.slip(house=house or None)))


def a_line(**more):
    return Line(id="L1", boat_fitting="b", shore_fitting="s", mbs=10_000.0, material="nylon_3strand", **more)


def test_wet_nylon_keeps_85_hundredths_and_worn_rope_three_quarters_of_that():
    """R-ROPE-14, UFC 4-159-03 Table 3-7; R-RET-1, MEG4 as summarised by a rope maker."""
    assert limits.usable(a_line(), figures()) == pytest.approx(8500.0)
    assert limits.usable(a_line(worn=True), figures()) == pytest.approx(8500.0 * 0.75)
    assert limits.usable(a_line(worn=False), figures()) == pytest.approx(8500.0)


def test_a_strength_that_is_stated_wet_is_not_lowered_again():
    """R-RET-14 with R-ROPE-14: a certificate may quote nylon wet and spliced; the share is taken once, never twice."""
    assert limits.usable(a_line(mbs_wet=True), figures()) == pytest.approx(10_000.0)
    assert limits.usable(a_line(mbs_wet=False), figures()) == pytest.approx(8500.0)


def test_the_house_may_set_both_shares_and_other_ropes_lose_nothing_wet():
    """R-ROPE-16: polyester, polypropylene and HMPE keep their strength wet."""
    house = figures(H13={"wet_nylon": 0.6, "retire_under": 0.5})
    assert limits.usable(a_line(worn=True), house) == pytest.approx(10_000.0 * 0.6 * 0.5)
    polyester = a_line().model_copy(update={"material": "polyester_braid"})
    assert limits.usable(polyester, house) == pytest.approx(10_000.0)


def lines(mbs, **more):
    """The engine's own lines for the slip, as found, of this strength."""
    found = berthings.as_found(tie_up(berthings.scenario(berthings.slip()), stands=False))
    return [line | {"mbs": mbs} | more for line in found]


def just_enough():
    """The strength with which the worst line of the slip just keeps its limit, wet. [N]"""
    mbs = 20_000.0
    for _ in range(8):  # the curve is scaled with the strength, so the pull changes a little with it
        work, _, _ = tie.solve(berthings.scenario(berthings.slip(lines=lines(mbs))))
        mbs *= float(limits.pulls(work.stiff, work.figures)["line"].max())
    return 1.02 * mbs


def test_the_houses_wet_share_changes_the_verdict():
    mbs = just_enough()

    def weak(house=None, **more):
        data = berthings.slip(lines=lines(mbs, **more), house=house)
        return "line_weak" in berthings.codes(tie_up(berthings.scenario(data), stands=False))

    assert not weak()
    assert weak({"H13": {"wet_nylon": 0.7, "retire_under": 0.75}})
    assert weak(worn=True) and not weak({"H13": {"wet_nylon": 0.85, "retire_under": 1.0}}, worn=True)
    assert not weak({"H13": {"wet_nylon": 0.7, "retire_under": 0.75}}, mbs_wet=True)


@pytest.mark.parametrize(("diameter", "do"), [(14.0, "find its certificate"), (None, "measure it")])
def test_a_strength_nobody_knows_is_a_mark_even_where_the_diameter_is_known(diameter, do):
    found = lines(None, diameter_mm=diameter)
    verdict = tie_up(berthings.scenario(berthings.slip(lines=found)), stands=False)
    told = [f for f in verdict.flags if f.code == "line_weak" and f.state == "not_known"]
    assert [f.line for f in told] == [line["id"] for line in found]
    assert all("strength of line" in f.message and "lowest table value used" in f.message for f in told)
    assert all(f.do.startswith(do) for f in told) and verdict.summary.answer == "not_known"
    known = tie_up(berthings.scenario(berthings.slip(lines=lines(31_000.0))), stands=False)
    assert "line_weak" not in berthings.codes(known, "not_known")


def test_no_figure_stands_in_two_files():
    assert not {"dynamic_allowance", "stretch_spread", "wind_speeds"} & set(read_coefficients(loads._DATA))
    assert rules.gusts(figures()) == pytest.approx([10 * rules.KN, 20 * rules.KN, 30 * rules.KN], abs=1e-3)
