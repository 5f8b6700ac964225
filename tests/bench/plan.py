"""How long the harbour plan takes, and how large its page is: 400 berths with 2,000 fastenings, 320 boats in them.

Run by hand, `python -m tests.bench.plan`. Figures to hold: 150 ms and 200 kB for the whole page.
"""

import gzip
import os
import sys
import tempfile
from pathlib import Path
from time import perf_counter, process_time

EMPTY = 5  # every fifth berth
BUDGET_MS, BUDGET_KB = 150, 200


def main():
    with tempfile.TemporaryDirectory() as folder:
        os.environ["DJANGO_SETTINGS_MODULE"] = "marina.settings"
        os.environ["DATABASE_URL"] = f"sqlite:///{folder}/bench.sqlite3"
        os.environ["ALLOWED_HOSTS"] = "testserver"
        import django  # noqa: PLC0415

        django.setup()
        from django.core.management import call_command  # noqa: PLC0415

        call_command("migrate", verbosity=0)
        fill()
        measure()


def fill():
    from berths.models import Berth, Stay, Water  # noqa: PLC0415
    from berths.surveybook import SURVEY  # noqa: PLC0415
    from marina.base import bringin, workbook  # noqa: PLC0415
    from marina.base.look import look  # noqa: PLC0415
    from tests.bench.bring_in import workbook_of_a_harbour  # noqa: PLC0415
    from tests.cast import NOON, days, fix_clock  # noqa: PLC0415
    from vessels.models import Vessel  # noqa: PLC0415

    fix_clock(NOON)
    Water.objects.create(name="basin", kind="limits", datum="CD", low=1, high=3)
    grids = workbook.read(workbook.to_xlsx(workbook_of_a_harbour()))
    bringin.take_in(SURVEY, grids, look(SURVEY, grids).digest, by=None)
    taken = [berth for n, berth in enumerate(Berth.objects.all()) if n % EMPTY]
    kinds = ("sail_fin_keel", "motor_cabin", "sail_long_keel", "sail_catamaran")
    boats = Vessel.objects.bulk_create(
        Vessel(
            name=f"Boat {n} of the Haven",
            hull_class=kinds[n % 4],
            loa_declared=8 + n % 4,
            loa_measured=8 + n % 4,
            beam_declared=3,
            beam_measured=3,
            draft_declared=1,
        )
        for n in range(len(taken))
    )
    Stay.objects.bulk_create(
        Stay(vessel=boat, berth=berth, arrive=NOON - days(1), depart=NOON + days(3), state="fast")
        for boat, berth in zip(boats, taken, strict=True)
    )


def measure(times=15):
    from django.db import connection  # noqa: PLC0415
    from django.test import Client  # noqa: PLC0415

    from tests.cast import Cast  # noqa: PLC0415

    client = Client()
    client.force_login(Cast().hand)
    queries = []

    def count(execute, sql, params, many, context):
        queries.append(sql)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(count):
        page = client.get("/plan/").content
    took, worked = [], []
    for _ in range(times):
        start, busy = perf_counter(), process_time()
        client.get("/plan/")
        took.append(1000 * (perf_counter() - start))
        worked.append(1000 * (process_time() - busy))
    took.sort()
    worked.sort()
    middle = times // 2
    print(f"{len(queries)} queries, {page.count(b'<li>')} berths in the list")
    print(f"by the clock: best {took[0]:.0f} ms, middle {took[middle]:.0f} ms (to hold: {BUDGET_MS} ms)")
    print(f"of the processor: best {worked[0]:.0f} ms, middle {worked[middle]:.0f} ms")
    drawing = page[page.index(b"<figure") : page.index(b"</figure>")]
    packed = len(gzip.compress(page))
    print(
        f"{len(page) / 1000:.0f} kB (to hold: {BUDGET_KB} kB), of it the drawing {len(drawing) / 1000:.0f} kB in "
        f"{drawing.count(b'<')} tags; packed {packed / 1000:.0f} kB"
    )


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
    main()
