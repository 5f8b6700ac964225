"""How long a whole tie-up takes: a set recommended for a new boat, and a set that is there judged.

`python -m tests.bench.recommend`. Medians of five; the ratio is to one plain solve of the same cases, so that
it can be compared between machines.
"""

import statistics
import time
from functools import partial

from berths.tieup import cases as casework
from berths.tieup import choose, defaults, outcome, rules, tie_up
from tests.engine import berthings

RUNS = 5


def main():
    print(
        f"{'question':34} {'cases':>6} {'sets':>5} {'recommend':>10} {'judge':>8} {'one solve':>10} {'ratio':>6}"
    )
    for name, data in (("slip, four piles", berthings.slip()), ("fixed pier, side-to", berthings.fixed()),
                       ("floating pontoon", berthings.floating()), ("slip that wants eight", eight())):  # fmt: skip
        asked = berthings.scenario(data)
        verdict = tie_up(asked)
        found = berthings.scenario({**data, "lines": berthings.as_found(verdict)})
        new, judged, solve = median(partial(tie_up, asked)), median(partial(tie_up, found)), one_solve(asked)
        row = f"{name:34} {len(verdict.cases):6} {verdict.choice.tried:5}"
        print(f"{row} {new:8.2f} s {judged:6.2f} s {solve * 1000:7.0f} ms {new / solve:6.1f}")


def eight():
    return berthings.slip(
        boat__loa=10.4, boat__x=5.8, boat__outline=[[0, 1.3], [4, 1.6], [7, 1.5], [10.4, 0]]
    )


def one_solve(asked):
    """Every case of the first set that would be tried, without the second-answer test. [s]"""
    figures = rules.of(asked)
    filled, _ = defaults.fill(asked, figures)
    cases = casework.build(filled)
    chooser = choose.Chooser(filled, figures, casework.levels(filled), cases)
    lines = chooser.search()[0].lines
    return median(lambda: outcome.run(filled, [lines], cases, second="none"))


def median(work):
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


if __name__ == "__main__":
    main()
