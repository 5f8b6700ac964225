"""Many writers to one berth, each a process of its own on a real database: one wins, the others are told."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from django.db import connection

SCRIPT = Path(__file__).parents[1] / "bench" / "writers.py"


def run(*options):
    engine = "postgres" if connection.vendor == "postgresql" else "sqlite"
    done = subprocess.run(
        [sys.executable, "-W", "ignore", SCRIPT, "--engine", engine, *options],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.stdout, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


def test_sixteen_writers_to_one_berth():
    found = run("--writers", "16", "--rounds", "3")
    assert (found["won"], found["refused"], found["errors"], found["stays"]) == (3, 45, 0, 3), found


@pytest.mark.parametrize("times", ["10"])
def test_a_killed_writer_leaves_nothing_half_and_loses_nothing(times):
    found = run("--kills", times)
    assert (found["lost"], found["half_written"], found["whole"]) == (0, 0, True), found
    assert found["committed"] >= int(times)
