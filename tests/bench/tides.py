"""How long tides take: `python -m tests.bench.tides`. Prints figures; run on a quiet machine."""

import os
import tempfile
import time
from datetime import timedelta

import numpy as np

from berths import stationfile, tide
from berths.curve import Curve
from tests.berths.stations import BOSTON, harmonics

STAYS = 400


def best(work, times=5):
    """Shortest of some runs, in milliseconds: the one the rest of the machine disturbed least."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return 1000 * min(taken)


def main():
    waves, mean = harmonics(BOSTON)
    first = np.datetime64("2027-03-01T00:00", "s")
    month = np.arange(first, first + np.timedelta64(30, "D"), np.timedelta64(6, "m"))
    rng = np.random.default_rng(7)
    arrive = first + rng.integers(0, 27 * 24 * 60, STAYS) * np.timedelta64(1, "m")
    depart = arrive + rng.integers(6 * 60, 72 * 60, STAYS) * np.timedelta64(1, "m")
    stays = list(zip(arrive, depart, strict=True))

    def one_pass():
        whole = Curve.predicted(waves, mean, arrive.min(), depart.max())
        return [whole.cut(a, b).window() for a, b in stays]

    def one_by_one():
        return [tide.window(waves, mean, a, b) for a, b in stays]

    def packed_file():
        stationfile.index.cache_clear()
        stationfile.index()

    difference = np.abs(np.array(one_pass()) - np.array(one_by_one())).max()
    whole = Curve.predicted(waves, mean, month[0], month[-1])
    together, apart = best(one_pass), best(one_by_one, times=1)
    lines = [
        f"Boston, {len(waves)} constituents",
        f"30 days at 6 min                          {best(lambda: tide.levels(waves, mean, month)):7.1f} ms"
        "   (wanted: at most 15)",
        f"highs and lows of a year                  "
        f"{best(lambda: tide.extremes(waves, mean, '2027-01-01', '2028-01-01'), 2):7.1f} ms",
        f"LAT and HAT, 19 years (data entry)        {best(lambda: tide.lat_hat(waves, mean), 1):7.1f} ms",
        f"30 days thinned to 1 cm, {len(whole.thinned().times):4d} points     {best(whole.thinned):7.1f} ms",
        f"{STAYS} stays' windows, predicted once       {together:7.1f} ms   (wanted: at most 200)",
        f"{STAYS} stays' windows, one by one           {apart:7.1f} ms",
        f"station list, read into its index once    {best(packed_file, 3):7.1f} ms",
        f"nearest of {len(stationfile.index().places):,} stations                 "
        f"{best(lambda: stationfile.near(50.37, -4.18)):7.1f} ms",
        f"ratio {apart / together:.0f}; largest difference {1000 * difference:.1f} mm",
    ]
    print("\n".join(lines))
    with tempfile.TemporaryDirectory() as folder:
        print(from_rows(folder))


def from_rows(folder):
    """The same number of stays as rows of a harbour with two waters, through the selector that pages ask."""
    os.environ |= {
        "DJANGO_SETTINGS_MODULE": "marina.settings",
        "DATABASE_URL": f"sqlite:///{folder}/bench.sqlite3",
    }
    import django  # noqa: PLC0415

    django.setup()
    from django.core.management import call_command  # noqa: PLC0415
    from django.db import connection  # noqa: PLC0415
    from django.test.utils import CaptureQueriesContext  # noqa: PLC0415

    call_command("migrate", verbosity=0)
    from berths.models import Stay  # noqa: PLC0415
    from berths.selectors.water import windows_of_stays  # noqa: PLC0415
    from tests.cast import NOON  # noqa: PLC0415

    fill()
    stays = list(Stay.objects.select_related("berth__water__outer"))
    with CaptureQueriesContext(connection) as asked:
        windows_of_stays(stays, now=NOON)
    taken = best(lambda: windows_of_stays(stays, now=NOON))
    return f"{len(stays)} stays' windows, from the records       {taken:7.1f} ms   (wanted: at most 200), {len(asked)} queries"


def fill():
    """400 berths in a tide of 34 constituents and in a basin, one stay at each: nights, open and permanent."""
    from berths.models import Berth, Pier, Stay, Water  # noqa: PLC0415
    from tests.cast import NOON  # noqa: PLC0415
    from vessels.models import Vessel  # noqa: PLC0415

    surge = {"surge_up": "0.6", "surge_down": "0.3", "surge_reason": "bench"}
    row = stationfile.station(BOSTON)
    sea = Water.objects.create(
        name="sea", kind="station", station=row, station_id=BOSTON, datum="MLLW", **surge
    )
    basin = Water.objects.create(name="basin", kind="limits", datum="CD", low=1, high=3, **surge)
    pier = Pier.objects.create(name="pier", walking_order=1)
    for n in range(STAYS):
        place = {"east": 20 * n, "north": 0, "bearing_deg": 90, "length": 12, "walking_order": n}
        berth = Berth.objects.create(
            pier=pier, water=basin if n % 4 == 0 else sea, code=f"X{n}", kind="fixed", **place
        )
        arrive = NOON + timedelta(hours=n % 96)
        Stay.objects.create(
            vessel=Vessel.objects.create(name=f"boat {n}"),
            berth=berth,
            arrive=arrive,
            depart=None if n % 5 == 0 else arrive + timedelta(days=1 + n % 20),
            purpose="permanent" if n % 10 == 0 else "visit",
        )


if __name__ == "__main__":
    main()
