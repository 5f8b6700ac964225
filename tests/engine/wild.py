"""Random harbours by the thousand: what must be true of every answer, however odd the scene."""

from collections import Counter

import numpy as np

from berths.tieup import tie_up
from berths.tieup.equilibrium import UNSOLVED, Problem
from tests.engine import berthings, scenes

KINDS = ("slip", "fixed", "floating")


def wild(seeds, second="none"):
    """Count the statuses of 500 problems a seed in scenes no one would moor in; each answer is looked at."""
    counts = Counter()
    for seed in seeds:
        scenario, sets, every = scenes.random_harbour(np.random.default_rng(seed))
        problem = Problem(scenario, sets, every)
        solution = problem.solve(second_start=second)
        look_at(problem, solution)
        counts.update(solution.status.tolist())
    return counts


def look_at(problem, solution):
    """No NaN, and every status is one that its numbers explain. Raises AssertionError."""
    tension, distance, slack, vertical = problem.lines(solution.pose)
    for array in (solution.pose, solution.residual, solution.energy, solution.smallest_eigenvalue, tension,
                  distance, slack, vertical, problem.sweep(solution.pose)):  # fmt: skip
        assert np.isfinite(array).all()
    assert not np.isnan(problem.clearance(solution.pose)).any()
    assert (tension >= 0).all()
    assert (tension * slack == 0).all()
    strength = problem.packed.mbs.T.repeat(len(problem.cases), axis=0)
    broken, slackened = (tension > strength).any(axis=1), (tension < 1).all(axis=1)
    solved, status = solution.residual <= UNSOLVED, solution.status
    assert ((status == "not_converged") == ~solved).all()
    assert broken[status == "parted"].all()
    assert slackened[status == "all_slack"].all()
    assert not (broken | slackened)[status == "ok"].any()
    assert (solution.smallest_eigenvalue[solved] > 0).all()
    assert set(np.flatnonzero(status == "bistable")) <= set(solution.others)
    assert set(status) <= {"ok", "not_converged", "bistable", "parted", "all_slack"}


def sensible(kind, seeds):
    """Count the statuses of whole tie-ups in berths a harbour would build, and their answers."""
    counts, answers = Counter(), Counter()
    for seed in seeds:
        verdict = tie_up(
            berthings.scenario(berthings.sensible(np.random.default_rng(seed), kind)), stands=False
        )
        assert max(case.residual for case in verdict.cases) <= UNSOLVED
        counts.update(case.status for case in verdict.cases)
        answers[verdict.summary.answer] += 1
    return counts, answers
