"""`manage.py tieup`: a public interface for other programs. No database, no environment, no traceback."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.engine import berthings

ROOT = Path(__file__).parents[2]


def run(*args, stdin=None):
    bare = {"PATH": os.environ["PATH"], "DATABASE_URL": "sqlite:////nowhere/that/exists.sqlite3"}
    return subprocess.run(
        [sys.executable, "manage.py", *args],
        cwd=ROOT,
        env=bare,
        input=stdin,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture
def written(tmp_path):
    def write(data):
        file = tmp_path / "scenario.json"
        file.write_text(data if isinstance(data, str) else json.dumps(data))
        return str(file)

    return write


def test_a_scenario_in_a_verdict_out(written):
    done = run("tieup", written(berthings.slip()), "--json")
    verdict = json.loads(done.stdout)
    assert done.returncode == 0 and done.stderr == ""
    assert verdict["version"] == 1 and verdict["summary"]["answer"] == "holds"
    assert len(verdict["lines"]) == 6 and verdict["cases"]
    case = verdict["cases"][0]
    assert set(case) == {"id", "status", "level", "pose", "lines", "contacts", "residual"}
    assert set(case["pose"]) == {"x", "y", "heading_deg"}
    wanted = {"id", "role", "boat_fitting", "shore_fitting", "working_length", "cut_length", "diameter_mm", "mbs",
              "peak_tension", "governing_case", "set_level", "why"}  # fmt: skip
    assert wanted <= set(verdict["lines"][0])


def test_standard_input_and_a_table_for_people():
    done = run("tieup", "-", stdin=json.dumps(berthings.fixed()))
    assert done.returncode == 0
    assert "HOLDS IN THE STATED CASES" in done.stdout and "runs" in done.stdout and "FORWARD" in done.stdout
    assert "Harbour authority, local rules and the boat's master come first." in done.stdout
    assert "safe" not in done.stdout.lower()


def test_a_set_that_does_not_hold_was_still_answered(written):
    done = run("tieup", written(berthings.slip(boat__loa=12.2, boat__x=6.7)))
    assert done.returncode == 0 and done.stdout.startswith("DOES NOT HOLD")


def test_bad_input_is_exit_2_and_one_line_a_fault(written):
    done = run("tieup", written(berthings.slip(boat__loa=0, boat__beam=None)), "--json")
    assert done.returncode == 2 and done.stdout == ""
    assert done.stderr.splitlines() == ["boat.loa: must be greater than 0", "boat.beam: must be a number"]


@pytest.mark.parametrize("content", ["", "{", '{"version": 1, "berth": NaN}', "[1, 2]"])
def test_a_file_that_is_no_scenario(written, content):
    done = run("tieup", written(content))
    assert done.returncode == 2 and done.stderr.startswith("file: ") and "Traceback" not in done.stderr


def test_a_file_that_is_not_there():
    done = run("tieup", "no-such-file.json")
    assert done.returncode == 2 and done.stderr.startswith("file: cannot read no-such-file.json")


def test_the_schema_is_exported():
    done = run("scenario_schema")
    schema = json.loads(done.stdout)
    assert schema["title"] == "Scenario" and "Boat" in schema["$defs"]


def test_the_engine_loads_without_django():
    code = "import sys, berths.tieup; sys.exit('django' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=False).returncode == 0
