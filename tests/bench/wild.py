"""20,000 random problems of either sort: `python -m tests.bench.wild`.

Scenes no one would moor in (winds to 50 m/s, two to seven random lines, half-length to over-long), where every
answer must be finite and explained; and berths a harbour would build, with the lines the engine recommends, where
every case must be solved.
"""

import sys
from time import perf_counter

from tests.engine import wild

PROBLEMS = 20_000


def main():
    begin = perf_counter()
    counts = wild.wild(range(PROBLEMS // 500), second="all")
    print(f"wild: {counts.total():,} problems in {perf_counter() - begin:.0f} s: {in_words(counts)}")
    unsolved = 0
    for kind in wild.KINDS:
        begin = perf_counter()
        counts, answers = wild.sensible(kind, range(12))
        unsolved += counts["not_converged"]
        print(
            f"sensible, {kind}: {answers.total()} berths, {counts.total():,} cases in {perf_counter() - begin:.0f} s: "
            f"{in_words(counts)}; {in_words(answers)}"
        )
    print(f"sensible berths: {unsolved} cases unsolved (wanted: 0)")
    return 1 if unsolved else 0


def in_words(counts):
    return ", ".join(f"{n:,} {name.replace('_', ' ')}" for name, n in sorted(counts.items()))


if __name__ == "__main__":
    sys.exit(main())
