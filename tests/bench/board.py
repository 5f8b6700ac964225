"""How long the page of the day takes: 400 berths, 320 boats in them, each with a kept tie-up and a set of four lines.

Run by hand, `python -m tests.bench.board`. Figures to hold: 80 ms, 12 queries. Every tenth boat needs somebody.
"""

import gzip
import os
import sys
import tempfile
from pathlib import Path
from time import perf_counter, process_time

BUDGET_MS = 80
STOP = {
    "code": "hangs_her",
    "severity": "stop",
    "line": "L1",
    "message": "Below 1.40 m she hangs on her lines.",
    "do": "Longer lines.",
}
NOTE = {
    "code": "one_line_lost",
    "severity": "note",
    "message": "Without line 3 she touches the dock.",
    "do": "Double it.",
}


def main():
    with tempfile.TemporaryDirectory() as folder:
        os.environ["DJANGO_SETTINGS_MODULE"] = "marina.settings"
        os.environ["DATABASE_URL"] = f"sqlite:///{folder}/bench.sqlite3"
        os.environ["ALLOWED_HOSTS"] = "testserver"
        import django  # noqa: PLC0415

        django.setup()
        from django.core.management import call_command  # noqa: PLC0415

        from tests.bench import plan  # noqa: PLC0415

        call_command("migrate", verbosity=0)
        plan.fill()
        tie_up_and_line_up()
        measure()


def tie_up_and_line_up():
    from berths.models import LineSet, LineUse, SetPosition, Stay, TieUp  # noqa: PLC0415
    from tests.cast import NOON, days, make_line  # noqa: PLC0415

    for n, stay in enumerate(Stay.objects.select_related("berth", "vessel")):
        bad = n % 10 == 0
        TieUp.objects.create(
            stay=stay, sort="planned", scenario={"version": 1}, scenario_hash="0" * 64, verdict={"version": 1}, stops=int(bad),
            answer="does_not_hold" if bad else "holds", flags=[STOP, NOTE] if bad else [NOTE], made_at=NOON, engine_version="bench",
        )  # fmt: skip
        kept = LineSet.objects.create(berth=stay.berth, vessel=stay.vessel, starts=(NOON - days(90)).date())
        for number in range(1, 5):
            position = SetPosition.objects.create(line_set=kept, number=number)
            LineUse.objects.create(
                line=make_line(next_inspection=(NOON + days(90)).date()),
                position=position,
                at=NOON - days(80),
            )


def measure(times=15):
    from django.db import connection  # noqa: PLC0415
    from django.test import Client  # noqa: PLC0415

    from tests.cast import Cast  # noqa: PLC0415

    client = Client()
    client.force_login(Cast().hand)
    queries = []

    def count(execute, sql, params, many, context):
        start = perf_counter()
        result = execute(sql, params, many, context)
        queries.append((1000 * (perf_counter() - start), sql))
        return result

    client.get("/")
    with connection.execute_wrapper(count):
        page = client.get("/").content
    took, worked = [], []
    for _ in range(times):
        start, busy = perf_counter(), process_time()
        client.get("/")
        took.append(1000 * (perf_counter() - start))
        worked.append(1000 * (process_time() - busy))
    middle = times // 2
    print(f"{len(queries)} queries, the slowest {max(queries)[0]:.0f} ms")
    print(
        f"by the clock: best {min(took):.0f} ms, middle {sorted(took)[middle]:.0f} ms (to hold: {BUDGET_MS} ms)"
    )
    print(f"of the processor: best {min(worked):.0f} ms, middle {sorted(worked)[middle]:.0f} ms")
    print(f"{len(page) / 1000:.0f} kB, packed {len(gzip.compress(page)) / 1000:.0f} kB")
    if os.environ.get("WHICH"):
        for took_ms, sql in sorted(queries, reverse=True)[:4]:
            print(f"  {took_ms:.0f} ms {sql[:100]} ... {sql[sql.find('FROM') :][:140]}")


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
    main()
