"""A line issued and retired at the same moment, by two processes, again and again; or wanted by two boats.

    python tests/bench/lending.py                    200 rounds on SQLite
    python tests/bench/lending.py --engine postgres  the same on PostgreSQL
    python tests/bench/lending.py --boats            each line is lent to two boats at once

Half of the rounds go through the services, half write the rows themselves, so that only the database stands
between them. It prints counts as JSON and ends with 1 where a line went out after it was retired, or an error
came that no rule explains.
"""

import argparse
import json
import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.bench.writers import START, fork, open_database


def worker(deed, rounds, barrier, results):
    from django.core.exceptions import ValidationError  # noqa: PLC0415
    from django.db import IntegrityError  # noqa: PLC0415

    for n in range(rounds):
        barrier.wait()
        time.sleep(random.uniform(0, 0.004))
        try:
            deed(n)
            told = "done"
        except (ValidationError, IntegrityError) as refusal:
            told = "refused" if _explained(refusal) else f"error: {refusal}"
        except Exception as error:  # what the race must not show
            told = f"error: {type(error).__name__}: {error}"
        results.put((deed.__name__, told))


def _explained(refusal):
    words = " ".join(getattr(refusal, "messages", [str(refusal)]))
    return any(known in words for known in EXPLAINED)


EXPLAINED = (
    "may not go out",
    "line_use_of_a_good_line",
    "is no step",
    "already in use",
    "Somebody else entered",
)


def lend_to(boat):
    """The deed of one boat: lines go out to her from the page of her lines."""

    def lend(n):
        from berths.models import Stay  # noqa: PLC0415
        from berths.services import lending  # noqa: PLC0415
        from vessels.models import Line  # noqa: PLC0415

        stay = Stay.objects.order_by("pk")[boat]
        lending.lend(stay=stay, lines=[Line.objects.get(tag=f"R-{n}")], by=None)

    return lend


def race_of_boats(rounds):
    """Two boats are lent the same line, again and again: one gets it, the other is told."""
    from django.db import connection  # noqa: PLC0415
    from django.db.models import Count  # noqa: PLC0415

    from tests import cast  # noqa: PLC0415
    from vessels.models import Line  # noqa: PLC0415

    cast.fix_clock(START)
    for _ in range(2):
        cast.make_stay(vessel=cast.make_vessel(fitted=False), berth=cast.make_berth(fitted=False))
    for n in range(rounds):
        cast.make_line(tag=f"R-{n}")
    connection.close()
    told = _run([lend_to(0), lend_to(1)], rounds)
    return {
        "rounds": rounds,
        "lent": told["lend", "done"],
        "refused": told["lend", "refused"],
        "twice": Line.objects.annotate(n=Count("uses")).exclude(n=1).count(),
        "errors": sum(n for (_, words), n in told.items() if words.startswith("error")),
        "told": {f"{who}: {words}": n for (who, words), n in told.items()},
    }


def _run(deeds, rounds):
    """Each deed in a process of its own, all beginning each round together; how often each was told what."""
    barrier, results = fork.Barrier(len(deeds)), fork.SimpleQueue()
    some = [fork.Process(target=worker, args=(deed, rounds, barrier, results)) for deed in deeds]
    for one in some:
        one.start()
    told = Counter(results.get() for _ in range(len(deeds) * rounds))
    for one in some:
        one.join()
    return told


def issue(n):
    from berths.models import LineUse, Stay  # noqa: PLC0415
    from berths.services import lending  # noqa: PLC0415
    from vessels.models import Line  # noqa: PLC0415

    line, stay = Line.objects.get(tag=f"R-{n}"), Stay.objects.get()
    if n % 2:
        lending.issue(line=line, stay=stay, by=None, at=START)
    else:
        LineUse.objects.create(line=line, stay=stay, at=START)


def retire(n):
    from django.db import transaction  # noqa: PLC0415

    from vessels.models import Line, LineEvent  # noqa: PLC0415
    from vessels.services import lines  # noqa: PLC0415

    line = Line.objects.get(tag=f"R-{n}")
    if n % 2:
        lines.step(line=line, kind="retired", by=None, at=START)
        return
    with transaction.atomic():
        line = Line.objects.select_for_update().get(pk=line.pk)
        LineEvent.objects.create(line=line, kind="retired", before=line.state, state="retired", at=START)
        line.state = "retired"
        line.save()


def race(rounds):
    from django.db import connection  # noqa: PLC0415

    from tests import cast  # noqa: PLC0415
    from vessels.models import Line  # noqa: PLC0415

    cast.fix_clock(START)
    cast.make_stay(vessel=cast.make_vessel(fitted=False), berth=cast.make_berth(fitted=False))
    for n in range(rounds):
        cast.make_line(tag=f"R-{n}")
    connection.close()
    told = _run([issue, retire], rounds)
    found = {
        "rounds": rounds,
        "issued": told["issue", "done"],
        "refused": told["issue", "refused"],
        "retired": Line.objects.filter(state="retired").count(),
        "issued_after_retired": _after(),
        "errors": sum(n for (_, words), n in told.items() if words.startswith("error")),
        "told": {f"{who}: {words}": n for (who, words), n in told.items()},
    }
    return found


def _after():
    """Lines that went out after they were retired, by the order in which the database wrote its trail."""
    from marina.base.models import Trail  # noqa: PLC0415

    retired, late = {}, 0
    for row in Trail.objects.filter(table__in=["line", "line use"]).order_by("id"):
        if row.table == "line" and row.new["state"] == "retired":
            retired[row.new["id"]] = row.id
        late += row.table == "line use" and row.new["line_id"] in retired
    return late


def main():
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--engine", choices=["sqlite", "postgres"], default="sqlite")
    options.add_argument("--rounds", type=int, default=200)
    options.add_argument("--boats", action="store_true", help="two boats want the same line")
    chosen = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        remove = open_database(chosen.engine, folder)
        try:
            found = (race_of_boats if chosen.boats else race)(chosen.rounds)
        finally:
            from django.db import connection  # noqa: PLC0415

            connection.close()
            if remove:
                remove()
    print(json.dumps({"engine": chosen.engine} | found))
    sys.exit(bool(found["errors"] or found.get("issued_after_retired") or found.get("twice")))


if __name__ == "__main__":
    main()
