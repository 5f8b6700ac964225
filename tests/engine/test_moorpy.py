"""Against an independent mooring library (MoorPy 1.3.0, NREL) and against plain statics, where nothing touches."""

import numpy as np
import pytest

from berths.tieup import cases
from berths.tieup.equilibrium import Problem
from tests.engine import scenes
from tests.engine.independent import by_moorpy, by_statics

RESTORING = 0.1  # N/m: what the engine adds and the others do not


def picked(number):
    """Cases of a boat in six linear lines with nothing to touch, and the engine's answers to them."""
    scenario = scenes.open_water()
    every = [case for case in cases.build(scenario) if case.wind_speed]
    rng = np.random.default_rng(11)
    some = [every[i] for i in rng.choice(len(every), number, replace=False)]
    problem = Problem(scenario, [scenario.lines], some)
    solution = problem.solve(second_start="none")
    assert (solution.status == "ok").all()
    return scenario, some, problem, solution


def allowance(problem, solution, m):
    """How far 0.1 N/m can move her where she is held least, and as much again for the tolerances. [m]"""
    away = np.hypot(*(solution.pose[m, :2] - problem.berthed[:2])) + problem.half * abs(solution.pose[m, 2])
    return 2 * RESTORING * away / solution.smallest_eigenvalue[m] + 2e-5


def test_against_moorpy():
    """Poses to what the restoring force explains, tensions to 0.3 N (they reach some kN)."""
    scenario, some, problem, solution = picked(12)
    tension = problem.lines(solution.pose)[0]
    assert tension.max() > 2_000
    for m, case in enumerate(some):
        pose, theirs = by_moorpy(scenario, scenario.lines, problem.force[m], case.level)
        off = (pose - solution.pose[m]) * [1, 1, problem.half]
        assert np.abs(off).max() < allowance(problem, solution, m)
        assert theirs == pytest.approx(tension[m], abs=0.3)


def test_against_plain_statics():
    """Sum of forces and moment by a root finder, without the restoring force."""
    scenario, some, problem, solution = picked(120)
    tension = problem.lines(solution.pose)[0]
    for m, case in enumerate(some):
        near = solution.pose[m] + [0.002, -0.003, 0.0005]
        pose, theirs = by_statics(scenario, scenario.lines, problem.force[m], case.level, near)
        off = (pose - solution.pose[m]) * [1, 1, problem.half]
        assert np.abs(off).max() < allowance(problem, solution, m)
        assert theirs == pytest.approx(tension[m], abs=0.3)
