"""How long a reader waits for a working: the engine asked again, and the batch behind its pictures.

python -m tests.bench.working
"""

from time import perf_counter

from berths.tieup import tie
from berths.tieup.curves import over_water_and_wind
from berths.tieup.explain import working
from tests.engine import berthings


def timed(work, times=5):
    """Best of a few, in milliseconds, and what came out."""
    best, out = float("inf"), None
    for _ in range(times):
        begin = perf_counter()
        out = work()
        best = min(best, perf_counter() - begin)
    return 1000 * best, out


def main():
    print(f"{'berth':10} {'solve, ms':>10} {'one line, ms':>13} {'pictures, ms':>13} {'cases':>6}")
    for kind in ("slip", "fixed", "floating"):
        scenario = berthings.scenario(getattr(berthings, kind)())
        solve, (work, _, _) = timed(lambda s=scenario: tie.solve(s), 2)
        line, _ = timed(lambda w=work: working(w, w.lines[0].id))
        batch, curves = timed(lambda w=work: over_water_and_wind(w))
        print(f"{kind:10} {solve:10.0f} {line:13.1f} {batch:13.0f} {curves.cases:6}")


if __name__ == "__main__":
    main()
