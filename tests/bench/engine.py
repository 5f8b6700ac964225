"""How quick the balance is: `python -m tests.bench.engine`.

The engine against MoorPy on the same contact-free cases in one run, and whole tie-ups with contact. Only the
ratios mean anything: the seconds belong to the machine.
"""

import os
import sys
from time import perf_counter

os.environ["OMP_NUM_THREADS"] = os.environ["OPENBLAS_NUM_THREADS"] = "1"  # one thread, also inside numpy

import numpy as np

from berths.tieup import cases
from berths.tieup.equilibrium import Problem
from tests.engine import scenes
from tests.engine.independent import by_moorpy

COMPARED = 40  # cases that MoorPy is given: it takes them one by one
TARGETS = {"972 in one batch": 1000, "batches of 20": 200}


def standard_cases(scenario):
    """27 levels x 12 directions x 3 speeds: the usual size of one tie-up."""
    water = scenario.water
    every = cases.grid(
        scenario,
        list(np.linspace(water.low, water.high, 27)),
        [30.0 * i for i in range(12)],
        [v * scenes.KNOT for v in (10, 20, 30)],
    )
    return [case for case in every if case.wind_speed]


def quickest(work, times=5):
    """Least time of several runs, and the last result. [s]"""
    taken = []
    for _ in range(times):
        begin = perf_counter()
        result = work()
        taken.append(perf_counter() - begin)
    return min(taken), result


def against_moorpy(say):
    """Seconds per case of both, on contact-free cases with linear rope."""
    scenario = scenes.open_water()
    every = standard_cases(scenario)
    whole, solution = quickest(lambda: Problem(scenario, [scenario.lines], every).solve(second_start="none"))
    picked = np.linspace(0, len(every) - 1, COMPARED).astype(int)
    few = [every[m] for m in picked]
    batches = [few[i : i + 20] for i in range(0, COMPARED, 20)]
    small, _ = quickest(
        lambda: [Problem(scenario, [scenario.lines], batch).solve(second_start="none") for batch in batches]
    )
    loads = Problem(scenario, [scenario.lines], few).force

    def library():
        return [
            by_moorpy(scenario, scenario.lines, load, case.level)[0]
            for load, case in zip(loads, few, strict=True)
        ]

    library()  # once, so that its imports don't count
    theirs, poses = quickest(library, times=2)
    apart = np.abs(np.array(poses) - solution.pose[picked]).max()
    per_case = theirs / COMPARED
    say(f"MoorPy, case by case: {1e3 * per_case:.1f} ms a case; poses agree to {1e3 * apart:.2f} mm")
    ratios = {
        "972 in one batch": per_case / (whole / len(every)),
        "batches of 20": per_case / (small / COMPARED),
    }
    for name, ratio in ratios.items():
        say(
            f"  engine, {name}: {1e3 * per_case / ratio:.3f} ms a case, {ratio:,.0f} x (wanted: {TARGETS[name]:,} x)"
        )
    return all(ratios[name] >= wanted for name, wanted in TARGETS.items())


def tie_ups(say):
    """Whole tie-ups with contact: 972 cases, with and without looking for a second answer."""
    for name in ("slip", "alongside"):
        scenario = getattr(scenes, name)()
        every = standard_cases(scenario)
        for second in ("none", "doubtful", "all"):
            seconds, solution = quickest(
                lambda s=scenario, e=every, w=second: Problem(s, [s.lines], e).solve(second_start=w)
            )
            kinds = dict(zip(*np.unique(solution.status, return_counts=True), strict=True))
            counts = ", ".join(f"{n} {kind}" for kind, n in kinds.items())
            say(
                f"{name}, {len(every)} cases, second answers looked for: {second}: {1e3 * seconds:.0f} ms; "
                f"{solution.rounds.mean():.1f} rounds, at most {solution.rounds.max()}; {counts}"
            )


def many_sets(say):
    """64 sets of lines side by side, 169 cases each, as the choice of a set needs them."""
    scenario = scenes.slip()
    water = scenario.water
    every = cases.grid(
        scenario,
        list(np.linspace(water.low, water.high, 13)),
        [30.0 * i for i in range(12)],
        [30 * scenes.KNOT],
    )
    sets = [
        [line.model_copy(update={"length": line.length * (1 + 0.002 * k)}) for line in scenario.lines]
        for k in range(64)
    ]
    seconds, solution = quickest(lambda: Problem(scenario, sets, every).solve(second_start="none"), times=3)
    say(f"64 sets x {len(every)} cases: {seconds:.2f} s; worst residual {solution.residual.max():.1e} N")


def main():
    def say(text):
        sys.stdout.write(text + "\n")

    enough = against_moorpy(say)
    tie_ups(say)
    many_sets(say)
    return 0 if enough else 1


if __name__ == "__main__":
    sys.exit(main())
