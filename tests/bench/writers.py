"""Many writers at once to one berth, and writers killed in the middle of writing.

    python tests/bench/writers.py                    64 writers, five rounds, on SQLite
    python tests/bench/writers.py --engine postgres  the same on PostgreSQL
    python tests/bench/writers.py --kills 200        kill -9 of a writer, 200 times

It makes a database of its own, prints counts as JSON, and ends with 1 where a count is not what it must be: one
winner a round, everybody else refused in plain words, no error; after the kills no half-written stay and no
committed one lost.
"""

import argparse
import json
import multiprocessing
import os
import random
import signal
import sys
import tempfile
import time
from collections import Counter
from datetime import UTC, datetime, timedelta
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
START = datetime(2027, 10, 14, 12, tzinfo=UTC)
LINES = 3  # lines of a stay that is made fast: all or none must be there after a kill
fork = multiprocessing.get_context("fork")


def open_database(engine, folder):
    """A fresh, migrated database; returns what has to be called to remove it."""
    sys.path.insert(0, str(ROOT))
    os.environ["DJANGO_SETTINGS_MODULE"] = "marina.settings"
    remove = None
    if engine == "sqlite":
        os.environ["DATABASE_URL"] = f"sqlite:///{folder}/writers.sqlite3"
    else:
        remove = _postgres(f"writers{os.getpid()}")
    import django  # noqa: PLC0415  (the settings read DATABASE_URL when they are loaded)
    from django.core.management import call_command  # noqa: PLC0415
    from django.db import connection  # noqa: PLC0415

    django.setup()
    call_command("migrate", verbosity=0)
    fill()
    connection.close()  # a forked writer opens its own
    return remove


def _postgres(name):
    import psycopg  # noqa: PLC0415

    from tests import on_postgres  # noqa: F401, PLC0415  (starts the server)

    host = os.environ["DATABASE_URL"].split("host=")[1]
    admin = f"host={host} user=postgres dbname=postgres"
    with psycopg.connect(admin, autocommit=True) as session:
        session.execute(f"CREATE DATABASE {name}")
    os.environ["DATABASE_URL"] = f"postgresql://postgres@/{name}?host={host}"

    def remove():
        with psycopg.connect(admin, autocommit=True) as session:
            session.execute(f"DROP DATABASE {name} WITH (FORCE)")

    return remove


def fill():
    """One berth, and somebody to book it."""
    from tests import cast  # noqa: PLC0415

    cast.make_berth(code="W1", fitted=False)
    cast.make_user("harbourmaster", "harbourmaster")


def book(vessel, arrive):
    """Book the berth for a day, as the site does."""
    from berths.models import Berth  # noqa: PLC0415
    from berths.services.stays import book_stay  # noqa: PLC0415
    from marina.base.models import User  # noqa: PLC0415

    return book_stay(
        vessel=vessel,
        berth=Berth.objects.get(code="W1"),
        arrive=arrive,
        depart=arrive + timedelta(days=1),
        by=User.objects.get(),
    )


# --- the race ---


def writer(number, rounds, barrier, results):
    from django.core.exceptions import ValidationError  # noqa: PLC0415

    from vessels.models import Vessel  # noqa: PLC0415

    vessel = Vessel.objects.create(name=f"Boat {number}")
    for turn in range(rounds):
        barrier.wait()
        began = time.perf_counter()
        try:
            book(vessel, START + timedelta(days=turn))
            told = "won"
        except ValidationError as refusal:
            who = "database" if getattr(refusal, "code", "") == "refused" else "first look"
            told = f"refused by the {who}: {refusal.messages[0]}"
        except Exception as error:  # what the race must not show
            told = f"error: {type(error).__name__}: {error}"
        results.put((told, time.perf_counter() - began))


def race(writers, rounds):
    """Counts of what the writers were told, and how long the slowest waited."""
    from berths.models import Stay  # noqa: PLC0415

    barrier, results = fork.Barrier(writers), fork.SimpleQueue()
    crowd = [fork.Process(target=writer, args=(n, rounds, barrier, results)) for n in range(writers)]
    began = time.perf_counter()
    for one in crowd:
        one.start()
    answers = [results.get() for _ in range(writers * rounds)]
    for one in crowd:
        one.join()
    told = Counter(answer for answer, _ in answers)
    found = {
        "writers": writers,
        "rounds": rounds,
        "won": told["won"],
        "refused": sum(n for answer, n in told.items() if answer.startswith("refused")),
        "errors": sum(n for answer, n in told.items() if answer.startswith("error")),
        "told": dict(told),
        "stays": Stay.objects.count(),
        "slowest_s": round(max(seconds for _, seconds in answers), 2),
        "all_s": round(time.perf_counter() - began, 2),
    }
    good = found["won"] == found["stays"] == rounds and found["refused"] == writers * rounds - rounds
    return found, good and not found["errors"]


# --- the kills ---


def endless_writer(first_day, pipe):
    """Books and makes fast day after day, and tells the number of each stay once it is committed."""
    from berths.services.stays import make_fast  # noqa: PLC0415
    from marina.base.models import User  # noqa: PLC0415
    from vessels.models import Vessel  # noqa: PLC0415

    by, vessel = User.objects.get(), Vessel.objects.create(name="Endless")
    lines = [{"description": f"line {n}"} for n in range(LINES)]
    for day in range(first_day, first_day + 5_000):
        stay = book(vessel, START + timedelta(days=day))
        make_fast(stay=stay, by=by, at=stay.arrive, lines=lines)
        pipe.send_bytes(str(stay.pk).encode())


def kill(times):
    """Kill a writer at a random moment, again and again; count what was lost or left half."""
    from django.db import connection  # noqa: PLC0415
    from django.db.models import Count  # noqa: PLC0415

    from berths.models import MadeFast, Stay  # noqa: PLC0415

    committed = []
    for turn in range(times):
        ours, theirs = fork.Pipe(duplex=False)
        child = fork.Process(target=endless_writer, args=(turn * 5_000, theirs))
        child.start()
        theirs.close()
        committed.append(int(ours.recv_bytes()))  # it writes by now
        time.sleep(random.uniform(0, 0.05))
        os.kill(child.pid, signal.SIGKILL)
        child.join()
        try:
            while ours.poll():
                committed.append(int(ours.recv_bytes()))
        except EOFError:
            pass
    kept = set(Stay.objects.filter(state="fast").values_list("pk", flat=True))
    half = MadeFast.objects.annotate(n=Count("lines")).exclude(n=LINES).count()
    half += Stay.objects.filter(state="fast", made_fast=None).count()
    half += MadeFast.objects.exclude(stay__state="fast").count()
    whole = True
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            whole = cursor.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    found = {
        "kills": times,
        "committed": len(committed),
        "lost": len(set(committed) - kept),
        "half_written": half,
        "whole": whole,
    }
    return found, not found["lost"] and not half and whole


def main():
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--engine", choices=["sqlite", "postgres"], default="sqlite")
    options.add_argument("--writers", type=int, default=64)
    options.add_argument("--rounds", type=int, default=5)
    options.add_argument("--kills", type=int, default=0)
    chosen = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        remove = open_database(chosen.engine, folder)
        try:
            found, good = kill(chosen.kills) if chosen.kills else race(chosen.writers, chosen.rounds)
        finally:
            from django.db import connection  # noqa: PLC0415

            connection.close()
            if remove:
                remove()
    print(json.dumps({"engine": chosen.engine} | found))
    sys.exit(not good)


if __name__ == "__main__":
    main()
