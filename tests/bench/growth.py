"""How time and memory grow: `python -m tests.bench.growth [--sweep]`.

Cases, lines, candidate sets and boats, on one core, each beside what a general mooring library takes for as many
cases of its own in the same run. Seconds are those of the processor, so that others at work on the machine do not
count; from one machine to another only the ratio means anything. `--sweep` adds 400 boats, which takes a while.
"""

import os
import sys
import tracemalloc
from time import process_time

os.environ["OMP_NUM_THREADS"] = os.environ["OPENBLAS_NUM_THREADS"] = "1"  # one thread, also inside numpy

import numpy as np

from berths.tieup import cases
from berths.tieup.equilibrium import Problem
from tests.engine import scenes
from tests.engine.independent import by_moorpy

CASES, LINES, SETS, BOATS = (36, 324, 972, 9720), (4, 6, 8, 12, 16), (1, 8, 64), (1, 5, 25, 100)
STANDARD, SWEPT, WANTED = 972, 400, 20.0  # cases of one boat; boats of the sweep; [s]
COMPARED = 12


def weather(scenario, number):
    """So many cases: levels x 12 directions x 3 speeds."""
    low, high = scenario.water.low, scenario.water.high
    levels = list(np.linspace(low, high, max(1, number // 36)))
    speeds = [v * scenes.KNOT for v in (10, 20, 30)]
    every = cases.grid(scenario, levels, [30.0 * i for i in range(12)], speeds)
    return [case for case in every if case.wind_speed][:number]


def more_lines(scenario, number):
    """The scene with so many lines: those it has, again and a little longer, as often as it takes."""
    have = scenario.lines
    return [
        have[i % len(have)].model_copy(update={"id": f"L{i}", "length": have[i % len(have)].length * (1 + 0.01 * (i // len(have)))})
        for i in range(number)
    ]  # fmt: skip


def solve(scenario, sets, every):
    return Problem(scenario, sets, every).solve(second_start="none")


def measured(work):
    """Least seconds of three runs, and the greatest memory of one more. [s], [MB]"""
    taken = []
    for _ in range(3):
        begin = process_time()
        work()
        taken.append(process_time() - begin)
    tracemalloc.start()
    work()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return min(taken), peak / 1e6


def library():
    """Seconds a case of MoorPy, which takes no contact: on the scene it can solve too."""
    scenario = scenes.open_water()
    every = weather(scenario, STANDARD)
    few = [every[m] for m in np.linspace(0, len(every) - 1, COMPARED).astype(int)]
    loads = Problem(scenario, [scenario.lines], few).force
    rows = list(zip(few, loads, strict=True))
    by_moorpy(scenario, scenario.lines, loads[0], few[0].level)  # once, so that its imports don't count
    begin = process_time()
    for case, load in rows:
        by_moorpy(scenario, scenario.lines, load, case.level)
    return (process_time() - begin) / COMPARED


def sweep(boats):
    """Given lines of so many boats, one after the other, each on the standard cases: seconds and cases unsolved."""
    begin, unsolved = process_time(), 0
    for n in range(boats):
        scenario = (
            scenes.slip(tide=0.5 + 0.01 * (n % 100)) if n % 2 else scenes.alongside(tide=1 + 0.01 * (n % 100))
        )
        solution = solve(scenario, [scenario.lines], weather(scenario, STANDARD))
        unsolved += int((solution.status == "not_converged").sum())
    return process_time() - begin, unsolved


def rows():
    """(what, how many, cases solved, the work) for every line of the table but the boats."""
    scenario = scenes.slip()
    for n in CASES:
        every = weather(scenario, n)
        yield "cases", n, n, lambda e=every: solve(scenario, [scenario.lines], e)
    standard = weather(scenario, STANDARD)
    for n in LINES:
        lines = more_lines(scenario, n)
        yield "lines", n, STANDARD, lambda s=lines: solve(scenario, [s], standard)
    few = weather(scenario, 180)
    for n in SETS:
        sets = [
            [x.model_copy(update={"length": x.length * (1 + 0.002 * k)}) for x in scenario.lines]
            for k in range(n)
        ]
        yield "candidate sets of 180 cases", n, n * len(few), lambda s=sets: solve(scenario, s, few)


def main():
    def say(text):
        sys.stdout.write(text + "\n")

    per_case = library()
    say(f"MoorPy, the same run, without contact: {1e3 * per_case:.1f} ms a case")
    say(f"{'what':<28}{'number':>8}{'cases':>9}{'ms':>10}{'ms a case':>11}{'peak MB':>9}{'x MoorPy':>10}")
    for what, number, many, work in rows():
        seconds, memory = measured(work)
        ratio = per_case * many / seconds
        say(
            f"{what:<28}{number:>8,}{many:>9,}{1e3 * seconds:>10.0f}{1e3 * seconds / many:>11.3f}{memory:>9.1f}{ratio:>10,.0f}"
        )
    for boats in BOATS:
        seconds, unsolved = sweep(boats)
        many = boats * STANDARD
        ratio = per_case * many / seconds
        say(
            f"{'boats of 972 cases':<28}{boats:>8,}{many:>9,}{1e3 * seconds:>10.0f}{1e3 * seconds / many:>11.3f}{'':>9}{ratio:>10,.0f}"
        )
        if unsolved:
            say(f"  {unsolved} cases unsolved (wanted: 0)")
    if "--sweep" not in sys.argv:
        return 0
    seconds, unsolved = sweep(SWEPT)
    say(
        f"{SWEPT} boats x {STANDARD} cases, middle curve: {seconds:.1f} s, {unsolved} unsolved (wanted: {WANTED:.0f} s, 0)"
    )
    return 0 if seconds <= WANTED and not unsolved else 1


if __name__ == "__main__":
    sys.exit(main())
