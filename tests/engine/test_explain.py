"""The working of a number: the case alone gives the same pull, and its forces close."""

from math import hypot

import pytest

from berths.tieup import explain, tie_up
from berths.tieup.scenario import from_data
from tests.engine import berthings


@pytest.mark.parametrize(
    "data", [berthings.slip(), berthings.fixed(), berthings.floating()], ids=["slip", "fixed", "floating"]
)
def test_every_line_is_rebuilt_from_its_case_and_the_forces_close(data):
    """R-CF-20: the sum of forces and moments is zero, the residual reported in N."""
    verdict = tie_up(from_data(data), stands=False)
    for line in (x for x in verdict.lines if not x.optional):
        working = explain(from_data(data), line.id)
        pull = next(s for s in working.steps if s.what == "pull")
        assert working.case == line.governing_case
        assert pull.value == pytest.approx(line.peak_tension, rel=1e-3, abs=1)
        assert working.residual < 1e-2
        assert all(s.source and s.words and s.unit for s in working.steps)


SUMS = {  # the formulas as they are printed, worked out from the figures that stand beside them
    "F = 1/2 rho Cd A v|v|": lambda g: 0.5 * g["rho"] * g["Cd"] * g["A"] * g["v"] * abs(g["v"]),
    "d = sqrt(a^2 + h^2)": lambda g: hypot(g["a"], g["h"]),
    "e = d / L - 1": lambda g: g["d"] / g["L"] - 1,
    "T = f(e) MBS": lambda g: g["f(e)"] * g["MBS"],
    "Ts x dynamic": lambda g: g["Ts"] * g["dynamic"],
    "MBS x wet / factor": lambda g: g["MBS"] * g["wet"] / g["factor"],
    "L = d most / (1 + 0.6 e calm) x slack": lambda g: g["d most"] / (1 + 0.6 * g["e calm"]) * g["slack"],
    "L - D / 2 x slope": lambda g: g["L"] - g["D"] / 2 * g["slope"],
    "L + eye + turns x cleat + tail": lambda g: g["L"] + g["eye"] + g["turns"] * g["cleat"] + g["tail"],
    "L - d(z)": lambda g: g["L"] - g["d(z)"],
}


@pytest.mark.parametrize(
    "data", [berthings.slip(), berthings.fixed(), berthings.floating()], ids=["slip", "fixed", "floating"]
)
def test_every_step_comes_to_what_its_formula_makes_of_its_figures(data):
    verdict = tie_up(from_data(data), stands=False)
    for row in (x for x in verdict.lines if not x.optional):
        working = explain(from_data(data), row.id)
        for step in (s for s in (*working.steps, *working.lengths) if s.symbols in SUMS):
            given = {g.symbol: g.value for g in step.given}
            assert SUMS[step.symbols](given) == pytest.approx(step.value, rel=1e-3, abs=1e-6), step.what
        lengths = {step.what: step.value for step in working.lengths}
        assert lengths["working length"] == row.working_length
        assert lengths["length to cut"] == row.cut_length
        assert lengths.get("snug when the water is at") == row.set_level
        assert lengths.get("length on the card", row.working_length) == row.card_length


def test_the_wind_step_is_the_published_pressure():
    """30 kn on 1 m2 with Cd 1 is 145.4 N (UFC 4-159-03 Table 4-2 density: R-WIND-1)."""
    windage = {"frontal_area": 1.0, "side_area": 1.0, "cd_front": 1.0, "cd_side": 1.0}
    data = berthings.slip(
        boat__windage=windage, weather={"wind_speeds": [30 * 0.514444], "wind_from_deg": [230.0]}
    )
    ahead = next(s for s in explain(from_data(data), "L1").steps if s.what == "wind on her, ahead")
    assert ahead.value == pytest.approx(-145.4, abs=0.1)  # from where her bow points: pushes her back


def test_an_unknown_line_is_named():
    with pytest.raises(ValueError, match="no line 'L9' in this tie-up"):
        explain(from_data(berthings.slip()), "L9")
