"""`manage.py tides`, as a person or a program meets it: in a process of its own, without database or environment."""

import json
import os
import subprocess
import sys
from datetime import datetime
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

ROOT = Path(__file__).parents[2]
BOSTON = ("noaa/8443970", "--from", "2026-12-01T00:00Z", "--to", "2026-12-03T00:00Z")

# pyTMD 3.0.9, as in test_tide.py
EXPECTED = [
    *[("low", "01T03:05", -0.025), ("high", "01T09:28", 2.909), ("low", "01T15:31", 0.261)],
    *[("high", "01T21:47", 2.984), ("low", "02T04:05", 0.086), ("high", "02T10:30", 2.929)],
    *[("low", "02T16:36", 0.268), ("high", "02T22:52", 2.865)],
]


def run(*arguments):
    """(exit code, standard output, standard error) of the command."""
    out, err = StringIO(), StringIO()
    try:
        call_command("tides", *arguments, stdout=out, stderr=err)
    except SystemExit as leaving:
        return leaving.code, out.getvalue(), err.getvalue()
    return 0, out.getvalue(), err.getvalue()


def test_highs_and_lows_as_json_without_database_or_environment(tmp_path):
    done = subprocess.run(
        [sys.executable, ROOT / "manage.py", "tides", *BOSTON, "--json"],
        env={"PATH": os.environ["PATH"], "DATABASE_URL": f"sqlite:///{tmp_path}/none/at/all.sqlite3"},
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    found = json.loads(done.stdout)
    assert set(found) == {"station", "datum", "extremes"}
    assert (found["station"], found["datum"]) == ("noaa/8443970", "MLLW")
    assert [turn["kind"] for turn in found["extremes"]] == [kind for kind, _, _ in EXPECTED]
    for turn, (_, time, height) in zip(found["extremes"], EXPECTED, strict=True):
        assert turn["time"].endswith("Z")
        late = datetime.fromisoformat(turn["time"]) - datetime.fromisoformat(f"2026-12-{time}Z")
        assert -60 <= late.total_seconds() <= 90  # the expected ones are whole minutes
        assert turn["height"] == pytest.approx(height, abs=0.010)


def test_an_offset_is_a_zone():
    other = ("noaa/8443970", "--from", "2026-12-01T01:00+01:00", "--to", "2026-12-02T19:00-05:00", "--json")
    assert run(*other) == run(*BOSTON, "--json")


def test_table_for_people_has_source_datum_and_caution():
    code, out, _ = run(*BOSTON)
    assert code == 0
    assert "Boston, MA, US" in out
    assert "Metres above MLLW" in out
    assert "Tue 01 Dec 2026  03:05  low    -0.03" in out or "Tue 01 Dec 2026  03:05  low    -0.02" in out
    assert "not for navigation" in out
    assert "NOAA, National Ocean Service, CO-OPS, public domain" in out


def test_a_follower_is_said_to_follow_and_dropped_turns_are_said():
    code, out, err = run("noaa/TEC4723", "--from", "2027-03-01T00:00Z", "--to", "2027-04-01T00:00Z")
    assert code == 0
    assert "follows " in out
    assert "left out where its offsets put them out of order" in err
    assert err.count("\n") == 1


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["noaa/1", "--from", "2026-12-01T00:00Z"], "there is no tide station 'noaa/1'"),
        (["noaa/8443970", "--from", "2026-12-01T00:00", "--to", "2026-12-02T00:00Z"], "has no zone"),
        (["noaa/8443970", "--from", "2026-12-01T00:00Z", "--to", "2026-12-02"], "has no zone"),
        (["noaa/8443970", "--from", "soon", "--to", "2026-12-02T00:00Z"], "is no time"),
        (["noaa/8443970", "--from", "2026-12-03T00:00Z", "--to", "2026-12-02T00:00Z"], "lies before"),
        (["noaa/8443970", "--from", "2026-12-03T00:00Z", "--to", "2046-12-02T00:00Z"], "in pieces"),
        (["noaa/8443970", "--from", "1066-10-14T00:00Z"], "only years from 1901"),
        (["noaa/8443970"], "--from"),
        ([], "which station?"),
        (["--near", "north"], "is no place"),
        (["--near=91,0"], "is no place"),
    ],
)
def test_bad_input_gets_one_line_and_exit_code_2(arguments, words):
    code, out, err = run(*arguments)
    assert (code, out) == (2, "")
    assert words in err
    assert err.strip().count("\n") == 0


def test_unknown_option_is_refused():
    with pytest.raises(CommandError):
        run("noaa/8443970", "--zone", "x")


def test_stations_are_found_by_name_and_by_place():
    assert "kartverket/BGO" in run("--search", "bergen")[1]
    near = run("--near=42.35,-71.05")[1].splitlines()
    assert near[1].startswith("noaa/8443970 ")
    assert "0.4 km" in near[1]
    assert "No station has" in run("--search", "atlantis under the sea")[1]
