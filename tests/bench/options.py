"""How long it takes to list every berth of a large harbour for one boat: 400 berths, 5,000 stays.

Run by hand, `python -m tests.bench.options`; prints queries and milliseconds. The figure to hold: 100 ms.
"""

import os
import sys
import tempfile
from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from time import perf_counter, process_time

BERTHS, STAYS, BUDGET_MS = 400, 5000, 100
BAR = {  # an invented tide
    "name": "Wendlow Bar (invented)",
    "chart_datum": "CD",
    "msl_above_datum": 1.40,
    "constituents": [
        {"name": n, "amplitude": a, "phase": p}
        for n, a, p in (("M2", 0.80, 322), ("S2", 0.26, 359), ("N2", 0.16, 302), ("K1", 0.07, 97))
    ],
}


def main():
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {
            "DJANGO_SETTINGS_MODULE": "marina.settings",
            "DATABASE_URL": f"sqlite:///{folder}/bench.sqlite3",
        }
        import django  # noqa: PLC0415

        django.setup()
        from django.core.management import call_command  # noqa: PLC0415

        call_command("migrate", verbosity=0)
        fill()
        measure()


def fill():
    """Forty piers of ten berths, half in a tide and half in a basin; twelve stays and more to a berth."""
    from berths.models import Berth, BerthFastening, Fastening, Pier, Stay, Water  # noqa: PLC0415
    from tests.cast import NOON  # noqa: PLC0415
    from vessels.models import Vessel  # noqa: PLC0415

    surge = {"surge_up": Decimal("0.6"), "surge_down": Decimal("0.3"), "surge_reason": "bench"}
    sea = Water.objects.create(name="sea", kind="constants", station=BAR, datum="CD", **surge)
    basin = Water.objects.create(
        name="basin", kind="limits", datum="CD", low=Decimal(1), high=Decimal(3), **surge
    )
    piers = [Pier.objects.create(name=f"pier {n}", walking_order=n) for n in range(40)]
    berths = Berth.objects.bulk_create(
        Berth(
            pier=piers[n // 10],
            water=sea if n % 2 else basin,
            code=f"X{n}",
            kind=("floating", "slip", "fixed", "quay")[n % 4],
            walking_order=n,
            east=20 * (n % 10),
            north=40 * (n // 10),
            bearing_deg=90,
            length=Decimal(8 + n % 12),
            clear_width=Decimal("4.6") if n % 4 == 1 else None,
            bed_z=None if n % 17 == 0 else Decimal("-2.4"),
            bed_kind="soft",
            guide_pile_top_z=Decimal("4.4"),
            hoop_height=Decimal("0.5"),
        )
        for n in range(BERTHS)
    )
    cleats = Fastening.objects.bulk_create(
        Fastening(label=f"X{n}/D{k}", kind="cleat", east=0, north=0, z=1, strength=25_000)
        for n in range(BERTHS)
        for k in range(6)
    )
    BerthFastening.objects.bulk_create(
        BerthFastening(berth=berths[i // 6], fastening=cleat, code=f"D{i % 6}")
        for i, cleat in enumerate(cleats)
    )
    boats = Vessel.objects.bulk_create(
        Vessel(name=f"Boat {n}", loa_declared=9, beam_declared=3, draft_declared=Decimal("1.4"))
        for n in range(STAYS)
    )
    each = STAYS / BERTHS
    Stay.objects.bulk_create(
        Stay(
            vessel=boats[n],
            berth=berths[n % BERTHS],
            arrive=NOON + timedelta(days=8 * (n // BERTHS - each / 2) + n % BERTHS % 8),
            depart=NOON + timedelta(days=8 * (n // BERTHS - each / 2) + n % BERTHS % 8 + 2),
        )
        for n in range(STAYS)
    )


def measure(times=15):
    from django.db import connection  # noqa: PLC0415
    from django.test.utils import CaptureQueriesContext  # noqa: PLC0415

    from berths.cards.words import Reader  # noqa: PLC0415
    from berths.fits import Asked  # noqa: PLC0415
    from berths.selectors.options import Teller, options  # noqa: PLC0415
    from tests.cast import NOON, TWO_DAYS_ON, fix_clock  # noqa: PLC0415

    fix_clock(NOON)
    boat, teller = Asked(loa=11.865, beam=3.7, draft=1.9), Teller(Reader(), NOON.date())
    with CaptureQueriesContext(
        connection,
    ) as queries:
        found = options(boat, NOON, TWO_DAYS_ON, teller)
    took, worked = [], []
    for _ in range(times):
        start, busy = perf_counter(), process_time()
        options(boat, NOON, TWO_DAYS_ON, teller)
        took.append(1000 * (perf_counter() - start))
        worked.append(1000 * (process_time() - busy))
    took.sort()
    worked.sort()
    print(f"{len(found.rows)} berths, {STAYS} stays, two nights: {len(queries)} queries")
    middle = times // 2
    print(f"by the clock: best {took[0]:.0f} ms, middle {took[middle]:.0f} ms (to hold: {BUDGET_MS} ms)")
    print(f"of the processor: best {worked[0]:.0f} ms, middle {worked[middle]:.0f} ms")
    groups = {name: len(getattr(found, name)) for name in ("fitting", "doubtful", "unfit", "taken")}
    print(", ".join(f"{n} {name}" for name, n in groups.items()))


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
    main()
