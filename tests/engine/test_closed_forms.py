"""The balance against results that can be worked out by hand.

The engine holds her with 0.1 N/m to her berthed place so that a slack boat has one answer; a loaded one feels
0.1 N a metre of it, which the tolerances allow for.
"""

from math import atan2, cos, degrees, hypot, radians, sqrt

import numpy as np
import pytest

from berths.tieup.energy import Energy
from berths.tieup.equilibrium import Problem
from tests.engine.scenes import aboard, ashore, face, line, pile, pressed, scene, still

STIFF = 1e9  # N; as good as unstretchable
MIDDLE = aboard("b", 5.0, 0.0)  # half length, on the centreline: her pose is where the line leaves her


def solved(scenario, *cases):
    problem = Problem(scenario, [scenario.lines], list(cases) or [still()])
    return problem, problem.solve()


def tensions(scenario, *cases):
    problem, solution = solved(scenario, *cases)
    return problem.lines(solution.pose)[0]


# -- one line and two --


def test_one_level_line():
    """F = 3000 N, EA = 120 kN, L0 = 6 m: stretched to 6 (1 + F / EA) = 6.15 m."""
    here = scene([line("b", "s", 6.0, ea=120e3)], [MIDDLE], [ashore("s", -6.0, 0)])
    problem, solution = solved(here, pressed(3000.0))
    tension, distance, slack, vertical = problem.lines(solution.pose)
    assert distance[0, 0] == pytest.approx(6.15, abs=1e-5)
    assert tension[0, 0] == pytest.approx(3000.0, abs=0.02)
    assert slack[0, 0] == vertical[0, 0] == 0
    assert solution.status[0] == "ok"


def test_one_line_to_a_higher_fitting():
    """The same, 2 m up: T lead / d = F gives d = 6.15860, lead 5.82480 m, T = 3171.92 N, V = 1030.08 N."""
    here = scene([line("b", "s", 6.0, ea=120e3)], [MIDDLE], [ashore("s", -6.0, 0, 3.0)])
    problem, solution = solved(here, pressed(3000.0))
    tension, distance, _, vertical = (a[0, 0] for a in problem.lines(solution.pose))
    assert distance == pytest.approx(6.15860, abs=1e-5)
    assert solution.pose[0, 0] + 6.0 == pytest.approx(5.82480, abs=1e-5)
    assert tension == pytest.approx(3171.92, abs=0.03)
    assert vertical == pytest.approx(1030.08, abs=0.03)
    assert tension * 5.82480 / distance == pytest.approx(3000.0, abs=0.03)


def test_two_symmetric_lines():
    """Fittings 3 m each side, L0 = 5 m, EA = 100 kN, F = 4000 N: 2 T a / d = F gives a = 4.15317, T = 2467.20 N."""
    here = scene(
        [line("b", "p", 5.0), line("b", "q", 5.0)], [MIDDLE], [ashore("p", -4, 3), ashore("q", -4, -3)]
    )
    problem, solution = solved(here, pressed(4000.0))
    assert solution.pose[0, 0] + 4 == pytest.approx(4.15317, abs=1e-5)
    assert problem.lines(solution.pose)[0][0] == pytest.approx(2467.20, abs=0.02)


def test_opposed_springs():
    """Both taut by 1 % (1000 N), 20 kN/m each, F = 1500 N: moves 0.0375 m, T = 1750 and 250 N."""
    here = scene(
        [line("b", "p", 5.0), line("b", "q", 5.0)], [MIDDLE], [ashore("p", -5.05, 0), ashore("q", 5.05, 0)]
    )
    problem, solution = solved(here, pressed(1500.0))
    assert solution.pose[0, 0] == pytest.approx(0.0375, abs=1e-6)
    assert problem.lines(solution.pose)[0][0] == pytest.approx([1750, 250], abs=0.01)


def test_hung_between_two_lines():
    """Lead 1.2 m, height 1.8 m, L0 = 1.6 m, EA = 200 kN: T = 70,416 N and 58,590 N of it upward, no movement."""
    here = scene(
        [line("b", "p", 1.6, ea=200e3, mbs=1e6), line("b", "q", 1.6, ea=200e3, mbs=1e6)],
        [MIDDLE], [ashore("p", -1.2, 0, 2.8), ashore("q", 1.2, 0, 2.8)],
    )  # fmt: skip
    problem, solution = solved(here)
    tension, _, _, vertical = problem.lines(solution.pose)
    assert tension[0] == pytest.approx([70_416, 70_416], abs=1)
    assert vertical[0] == pytest.approx([58_590, 58_590], abs=1)
    assert np.abs(solution.pose).max() < 1e-6


@pytest.mark.parametrize(("lead", "at_the_quarter", "at_mid"), [(3.0, 0.075, 0.116), (1.5, None, 0.276)])
def test_free_sway_is_greatest_between_the_ends_of_the_range(lead, at_the_quarter, at_mid):
    """Opposed lines, 1.5 % strain at the ends of a 2 m range: sway sqrt(L0^2 - h^2) - lead, 0 at the ends."""
    length = hypot(lead, 1.0) / 1.015
    here = scene(
        [line("b", "p", length, ea=STIFF, mbs=1e9), line("b", "q", length, ea=STIFF, mbs=1e9)],
        [aboard("b", 5, 0, 0.0)], [ashore("p", -lead, 0, 0.0), ashore("q", lead, 0, 0.0)],
    )  # fmt: skip
    _, solution = solved(here, *(pressed(50.0, level=z, name=f"{z}") for z in (-1.0, -0.5, 0.0, 0.5, 1.0)))
    moved = solution.pose[:, 0]
    assert moved[[0, 4]] == pytest.approx(0.0, abs=1e-4)
    assert moved[2] == pytest.approx(at_mid, abs=6e-4)
    if at_the_quarter:
        assert moved[[1, 3]] == pytest.approx(at_the_quarter, abs=6e-4)


# -- REFERENCES, general closed forms --


def test_one_line_stretches_and_never_pushes():
    """R-CF-1: L0 10 m, EA 100 kN, ends 10.4 m apart: 4.000 kN; at 10.0 m or less nothing."""
    here = scene([line("b", "s", 10.0)], [MIDDLE], [ashore("s", 10.4, 0)])
    problem = Problem(here, [here.lines], [still()])
    assert problem.lines(np.zeros((1, 3)))[0] == pytest.approx(4000.0)
    for x in (0.4, 0.5, 5.0, 10.4):
        assert problem.lines(np.array([[x, 0, 0]]))[0] == 0


def test_linear_stretch():
    """R-STR-15, OCIMF MEG4 App. B: T L / EA = 5 kN x 10 m / 100 kN = 0.500 m."""
    here = scene([line("b", "s", 10.0)], [MIDDLE], [ashore("s", -10.0, 0)])
    _, solution = solved(here, pressed(5000.0))
    assert solution.pose[0, 0] == pytest.approx(0.500, abs=1e-5)


@pytest.mark.parametrize(("angle", "kilonewtons"), [(30, 1.732), (60, 3.000), (75, 5.796)])
def test_breast_lines_off_the_load(angle, kilonewtons):
    """R-CF-2 and -3: T = F / (2 cos angle): flat lines carry more."""
    d = 8.0
    x, y = -d * cos(radians(angle)), d * sqrt(1 - cos(radians(angle)) ** 2)
    here = scene([line("b", "p", d, ea=STIFF, mbs=1e9), line("b", "q", d, ea=STIFF, mbs=1e9)], [MIDDLE],
                 [ashore("p", x, y), ashore("q", x, -y)])  # fmt: skip
    got = tensions(here, pressed(3000.0))[0] / 1000
    assert got == pytest.approx(3.0 / (2 * cos(radians(angle))), rel=1e-4)
    assert got == pytest.approx(kilonewtons, abs=1e-3)


def test_parallel_lines_share_by_length():
    """R-CF-4: same EA, 5 m and 15 m, both just taut, F 4 kN: 3.0 and 1.0 kN."""
    here = scene(
        [line("b", "p", 5.0), line("b", "q", 15.0)], [MIDDLE], [ashore("p", -5, 0), ashore("q", -15, 0)]
    )
    assert tensions(here, pressed(4000.0))[0] == pytest.approx([3000, 1000], abs=0.1)


def test_parallel_lines_share_by_stiffness():
    """R-CF-5: same length, EA 50 and 150 kN: 1.0 and 3.0 kN."""
    here = scene([line("b", "p", 8.0, ea=50e3), line("b", "q", 8.0, ea=150e3)], [MIDDLE],
                 [ashore("p", -8, 0), ashore("q", -8, 0)])  # fmt: skip
    assert tensions(here, pressed(4000.0))[0] == pytest.approx([1000, 3000], abs=0.1)


def test_one_of_four_lost():
    """R-CF-6: four equal parallel lines, one lost: the others rise by 4 / 3."""
    shore = [ashore(f"s{i}", -8, 0) for i in range(4)]
    lines = [line("b", f"s{i}", 8.0) for i in range(4)]
    four, three = (tensions(scene(lines[:n], [MIDDLE], shore), pressed(4000.0))[0] for n in (4, 3))
    assert three.max() / four.max() == pytest.approx(4 / 3, rel=1e-4)


@pytest.mark.parametrize(("force", "moved", "windward", "lee"), [(1000, 0.05, 1500, 500), (2000, 0.1, 2000, 0),
                                                                  (3000, 0.2, 3000, 0)])  # fmt: skip
def test_opposed_lines_until_one_goes_slack(force, moved, windward, lee):
    """R-CF-7: k 10 kN/m each, 1 kN set up: F / 2k while both are taut, (F - 1 kN) / k after."""
    here = scene(
        [line("b", "p", 10.0), line("b", "q", 10.0)], [MIDDLE], [ashore("p", -10.1, 0), ashore("q", 10.1, 0)]
    )
    problem, solution = solved(here, pressed(float(force)))
    assert solution.pose[0, 0] == pytest.approx(moved, abs=1e-5)
    assert problem.lines(solution.pose)[0][0] == pytest.approx([windward, lee], abs=0.05)


def test_pull_in_space():
    """R-CF-8: fastening (8, 1, 0), boat fitting (0, 3, 1.5): 8.382 m, direction (0.9545, -0.2386, -0.1790)."""
    here = scene([line("b", "s", 8.0)], [aboard("b", 5, 3, 1.5)], [ashore("s", 8, 1, 0.0)])
    problem = Problem(here, [here.lines], [still()])
    home = np.zeros((1, 3))
    tension, distance, _, vertical = (a[0, 0] for a in problem.lines(home))
    assert distance == pytest.approx(8.382, abs=5e-4)
    assert problem.pulls(home)[0, 0] / tension == pytest.approx([0.9545, -0.2386, -0.1790], abs=5e-5)
    assert vertical == problem.pulls(home)[0, 0, 2]


def test_moment_of_a_line_about_midships():
    """R-CF-9: arm (4, 1.5), pull (0, -1) kN: -4.0 kN m. The slope of the energy is the pull and moment, reversed."""
    here = scene([line("b", "s", 10.0)], [aboard("b", 9, 1.5)], [ashore("s", 4, 1.5 - 10.1)])
    problem = Problem(here, [here.lines], [still()])
    slope = Energy(problem, np.array([0])).evaluate(np.zeros((3, 1)))[1:4, 0]
    assert -slope[:2] == pytest.approx([0.0, -1000.0])
    assert -slope[2] * problem.half == pytest.approx(-4000.0)


def test_energy_of_a_boat_caught_by_a_line():
    """R-CF-10: 8,000 kg at 0.3 m/s is 360 J; a line of 10 kN/m holds it at 0.268 m with 2.683 kN."""
    here = scene([line("b", "s", 10.0)], [MIDDLE], [ashore("s", -10, 0)])
    problem = Problem(here, [here.lines], [still()])
    travel = 0.3 * sqrt(8000 / 10_000)
    stopped = np.array([[travel, 0.0, 0.0]])
    energy, pull, *_ = Energy(problem, np.array([0])).evaluate(problem.scaled(stopped))[:, 0]
    assert energy == pytest.approx(360.0, abs=0.01)
    assert pull / 1000 == pytest.approx(2.683, abs=1e-3)
    assert problem.lines(stopped)[0] / 1000 == pytest.approx(2.683, abs=5e-4)


# -- contact --


def test_broadside_on_a_face():
    """2400 N on a face of 50 kN/m: a flat side has two contact points, 0.024 m and 1200 N each."""
    here = scene(faces=[face("q", -10, -1.5, 10, -1.5, fender_stiffness=50e3)])
    problem, solution = solved(here, pressed(0.0, -2400.0))
    rows = problem.contacts(solution.pose)
    assert solution.pose[0, 1] == pytest.approx(-0.024, abs=1e-6)
    assert rows["kind"].tolist() == ["face", "face"]
    assert rows["force"] == pytest.approx([1200, 1200], abs=0.01)
    assert problem.clearance(solution.pose)[0, 0] == pytest.approx(-0.024, abs=1e-6)


def test_broadside_on_two_piles():
    """The same on piles. Springs keep her from sliding along: without friction that is downhill on soft piles."""
    springs = [line("b", "f", 5.0), line("b", "a", 5.0)]
    here = scene(
        springs, [MIDDLE], [pile("p", 3, -1.65), pile("q", -3, -1.65), ashore("f", 5, 0), ashore("a", -5, 0)]
    )
    problem, solution = solved(here, pressed(0.0, -2400.0))
    rows = problem.contacts(solution.pose)
    assert solution.pose[0] == pytest.approx([0, -0.024, 0], abs=1e-6)
    assert sorted(rows["id"].tolist()) == ["p", "q"]
    assert rows["force"] == pytest.approx([1200, 1200], abs=0.02)
    assert rows["y"] == pytest.approx([-1.524, -1.524], abs=1e-4)


def test_boat_longer_than_the_face_lies_on_its_ends():
    """Two ends instead of two corners: the same F / 2k."""
    springs = [line("b", "f", 5.0), line("b", "a", 5.0)]
    here = scene(springs, [MIDDLE], [ashore("f", 5, 0), ashore("a", -5, 0)],
                 [face("q", -2, -1.5, 2, -1.5, fender_stiffness=50e3)])  # fmt: skip
    problem, solution = solved(here, pressed(0.0, -2400.0))
    rows = problem.contacts(solution.pose)
    assert rows["kind"].tolist() == ["face_end", "face_end"]
    assert solution.pose[0, 1] == pytest.approx(-0.024, abs=1e-6)
    assert rows["force"] == pytest.approx([1200, 1200], abs=0.02)


# -- geometry over the range of water --


def at_level(lead, length, levels, **more):
    """Distance, tension and slack of one line at the berthed pose, both ends level at 0. [m], [N], [m]"""
    here = scene([line("b", "s", length, **more)], [aboard("b", 5, 0, 0.0)], [ashore("s", lead, 0, 0.0)])
    cases = [still(z, f"{z}") for z in levels]
    problem = Problem(here, [here.lines], cases)
    tension, distance, slack, _ = problem.lines(np.zeros((len(cases), 3)))
    return distance[:, 0], tension[:, 0], slack[:, 0]


@pytest.mark.parametrize(("lead", "length"), [(12.0, 12.649), (6.0, 7.211)])
def test_length_at_the_other_end_of_the_range(lead, length):
    """R-GEO-1 and -2: fixed wall, range 4 m, level at one end of it."""
    distance, *_ = at_level(lead, lead, [0.0, 4.0, -4.0])
    assert distance == pytest.approx([lead, length, length], abs=1e-3)


@pytest.mark.parametrize(("length", "lead", "slack"), [(12.0, 11.314, 0.686), (6.0, 4.472, 1.528)])
def test_slack_at_the_other_end_of_the_range(length, lead, slack):
    """R-GEO-3 and -4: taut at low water, 4 m up it is slack by this; Sailing Today prints 0.7 m for the first."""
    _, tension, left = at_level(lead, length, [-4.0, 0.0])
    assert left == pytest.approx([0.0, slack], abs=1e-3)
    assert tension[1] == 0


@pytest.mark.parametrize(
    ("lead_per_rise", "percent"), [(1, 41.4), (1.5, 20.2), (2, 11.8), (3, 5.41), (4, 3.08), (5, 1.98)]
)
def test_strain_for_lead_and_rise(lead_per_rise, percent):
    """R-GEO-5."""
    distance, *_ = at_level(lead_per_rise * 2.0, 1.0, [2.0])
    assert 100 * (distance[0] / (lead_per_rise * 2.0) - 1) == pytest.approx(percent, abs=0.05)


@pytest.mark.parametrize(("lead", "share", "status"), [(6.0, 0.27, "ok"), (3.0, 1.01, "parted")])
def test_tide_alone_can_part_a_short_line(lead, share, status):
    """R-GEO-6 and -7: taut at mid level, +-2 m, EA / MBS 5: 0.27 of strength at 6 m lead, 1.01 at 3 m: it parts."""
    here = scene([line("b", "p", lead, ea=250e3), line("b", "q", lead, ea=250e3)], [aboard("b", 5, 0, 0.0)],
                 [ashore("p", lead, 0, 0.0), ashore("q", -lead, 0, 0.0)])  # fmt: skip
    problem, solution = solved(here, still(2.0, "up"), still(-2.0, "down"))
    assert problem.lines(solution.pose)[0] / 50_000 == pytest.approx(share, rel=0.01)
    assert solution.status.tolist() == [status, status]


def test_floating_ends_know_no_level():
    """R-GEO-8: both ends float, any range: nothing changes. R-GEO-9: nor does a ring that slides on its pile."""
    here = scene(
        [line("b", "s", 3.0), line("b", "r", 3.0)], [aboard("b", 5, 0, 0.9)],
        [ashore("s", -3, 1, 0.5, floats=True), ashore("r", 3, 1, 0.5, floats=True, kind="ring")],
    )  # fmt: skip
    problem, solution = solved(
        here, *(pressed(800.0, -300.0, level=z, name=f"{z}") for z in (-3.0, 0.0, 5.0))
    )
    assert np.ptp(solution.pose, axis=0) == pytest.approx(0, abs=1e-12)
    assert np.ptp(problem.lines(solution.pose)[0], axis=0) == pytest.approx(0, abs=1e-9)


def test_a_ring_that_does_not_slide_is_fixed():
    """R-GEO-9, the other half."""
    _, tension, _ = at_level(3.0, 3.0, [0.0, 2.0])
    assert tension[0] == 0
    assert tension[1] > 0


def test_free_drift_of_a_long_line():
    """R-GEO-11: line 8.5 m, fastening 8 m along and 1 m off: drifts sqrt(8.5^2 - 8^2) - 1 = 1.872 m till taut.

    Two of them, one each way along, so that she drifts straight off.
    """
    here = scene([line("b", "p", 8.5, ea=STIFF, mbs=1e9), line("b", "q", 8.5, ea=STIFF, mbs=1e9)], [MIDDLE],
                 [ashore("p", 8, -1), ashore("q", -8, -1)])  # fmt: skip
    _, solution = solved(here, pressed(0.0, 100.0))
    assert solution.pose[0, 1] == pytest.approx(1.872, abs=1e-3)


# -- sanity of the way loads are made for these tests --


@pytest.mark.parametrize(("fx", "fy"), [(3000.0, 0.0), (-1200.0, 700.0), (0.0, -2400.0)])
@pytest.mark.parametrize("bearing", [90.0, 215.0])
def test_pressed_gives_the_force_it_says(fx, fy, bearing):
    here = scene(bearing=bearing)
    got = Problem(here, [[]], [pressed(fx, fy, bearing=bearing)]).force[0]
    assert got == pytest.approx([fx, fy, 0], abs=1e-6)
    assert degrees(atan2(got[1], got[0])) == pytest.approx(degrees(atan2(fy, fx)), abs=1e-6)
