"""How long a whole survey takes to come in: 400 berths on 20 piers with 2,000 fastenings and 400 faces.

Run by hand, `python -m tests.bench.bring_in`, on the database of `DATABASE_URL` (a fresh SQLite file by default; the
rows are rolled back on any other). The figure to hold: 5 s from the file to the written rows.
"""

import os
import sys
import tempfile
from pathlib import Path
from time import perf_counter, process_time

BERTHS, FASTENINGS, BUDGET_S = 400, 5, 5.0  # fastenings to a berth


def main():
    with tempfile.TemporaryDirectory() as folder:
        os.environ["DJANGO_SETTINGS_MODULE"] = "marina.settings"
        os.environ["DATABASE_URL"] = f"sqlite:///{folder}/bench.sqlite3"
        import django  # noqa: PLC0415

        django.setup()
        from django.core.management import call_command  # noqa: PLC0415

        call_command("migrate", verbosity=0)
        measure()


def workbook_of_a_harbour():
    """Slips side by side, 5 m apart; the outer pile between two slips is shared and is one row."""
    piers = [["pier", "walking order"]] + [[f"Pier {n}", n] for n in range(1, BERTHS // 20 + 1)]
    berths = [
        ["berth", "pier", "water", "kind", "walking order", "datum", "east", "north", "bearing", "length"]
    ]
    berths[0] += ["clear width", "bed", "bed is"]
    fastenings = [["fastening", "berths", "kind", "measured in berth", "along it", "left of it", "height"]]
    fastenings[0] += ["floats", "diameter", "top of the pile", "strength", "strength rests on", "condition"]
    faces = [["face", "berths", "measured in berth", "one end, along it", "one end, left of it"]]
    faces[0] += ["other end, along it", "other end, left of it", "top", "underside", "floats", "continuous"]
    for n in range(BERTHS):
        code, pier, place = f"S{n}", n // 20, n % 20
        last = place == 19
        berths.append(
            [
                code,
                f"Pier {pier + 1}",
                "basin",
                "slip",
                n + 1,
                "CD",
                60 * (pier % 5),
                5 * place + 150 * (pier // 5),
                90,
            ]
        )
        berths[-1] += [12, 4.6, -2.4, "soft"]
        spots = [
            ("cleat", 0, 1.7),
            ("cleat", 0, -1.7),
            ("pile", 5.5, 2.3),
            ("pile", 5.5, -2.3),
            ("pile", 12, 2.5),
        ]
        for k, (kind, x, y) in enumerate(spots, start=1):
            pile = kind == "pile"
            used = f"{code} = F{k}" + (f"; S{n + 1} = F9" if k == 5 and not last else "")
            fastenings.append([f"{code}/F{k}", used, kind, code, x, y, 2.1, "no", 0.3 if pile else None])
            fastenings[-1] += [4.2 if pile else None, 25_000, "drawings of the harbour", "sound"]
        faces.append([f"{code}/dock", f"{code} = dock", code, 0, -2.5, 0, 2.5, 2.6, 2.2, "no", "yes"])
    return [("piers", piers), ("berths", berths), ("fastenings", fastenings), ("faces", faces)]


def measure():
    from berths.models import Berth, BerthFastening, Fastening, Water  # noqa: PLC0415
    from berths.surveybook import SURVEY  # noqa: PLC0415
    from marina.base import bringin, workbook  # noqa: PLC0415
    from marina.base.look import look  # noqa: PLC0415

    Water.objects.create(name="basin", kind="limits", datum="CD", low=1, high=3)
    data = workbook.to_xlsx(workbook_of_a_harbour())

    def whole(file):
        read, grids = timed(lambda: workbook.read(file))
        seen, preview = timed(lambda: look(SURVEY, grids))
        assert not preview.faults, preview.faults[:3]
        took, written = timed(lambda: bringin.take_in(SURVEY, grids, preview.digest, by=None))
        new = sum(len(part.new) for part in written.parts)
        changed = sum(len(part.changed) for part in written.parts)
        total = sum(pair[0] for pair in (read, seen, took))
        parts = f"read {read[0]:.2f}, shown {seen[0]:.2f}, taken in {took[0]:.2f}"
        busy = sum(pair[1] for pair in (read, seen, took))
        print(f"{new} new, {changed} changed: {total:.2f} s ({parts}; of the processor {busy:.2f})")
        return total

    print(f"{len(data) // 1000} kB of workbook")
    first = whole(data)
    kept = Berth.objects.count(), Fastening.objects.count(), BerthFastening.objects.count()
    print(f"{kept[0]} berths, {kept[1]} fastenings with {kept[2]} names; to hold: {BUDGET_S:.0f} s")
    out, again = timed(lambda: workbook.to_xlsx(bringin.workbook_out(SURVEY)))
    print(f"all of it out: {out[0]:.2f} s, {len(again) // 1000} kB; brought in again:")
    whole(again)
    stronger = workbook_of_a_harbour()
    for row in stronger[2][1][1:]:
        row[10] = 24_000
    print("every fastening changed:")
    whole(workbook.to_xlsx(stronger))
    return first


def timed(step):
    start, busy = perf_counter(), process_time()
    out = step()
    return (perf_counter() - start, process_time() - busy), out


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
    main()
