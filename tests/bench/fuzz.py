"""What becomes of 10,000 spoilt questions: `python -m tests.bench.fuzz [how many] [first seed]`.

Each is refused with places, or answered; anything else is printed with its seed, and the exit code is 1.
"""

import sys
import traceback
import warnings
from collections import Counter
from time import perf_counter

from tests.engine import fuzz


def main(number=10_000, first=0):
    warnings.simplefilter("error", RuntimeWarning)  # 0/0 inside is a fault too
    counts, broken, begin = Counter(), [], perf_counter()
    for seed in range(first, first + number):
        try:
            counts[fuzz.asked(fuzz.trial(seed), stands=seed % 50 == 0)] += 1
        except Exception as error:
            counts["BROKEN"] += 1
            broken.append((seed, error))
    for seed, error in broken:
        place = traceback.extract_tb(error.__traceback__)[-1]
        print(f"seed {seed}: {type(error).__name__}: {str(error)[:200]} ({place.filename}:{place.lineno})")
    taken = perf_counter() - begin
    print(f"{number} spoilt questions in {taken:.0f} s ({1e3 * taken / number:.0f} ms each): {dict(counts)}")
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
