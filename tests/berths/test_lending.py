"""The loan book: what may go out, what comes back, and a line retired at the moment it is issued."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction

from berths.models import LineUse
from berths.services.lending import issue, take_back, undo_issue, undo_return
from berths.services.stays import move_stay
from tests.cast import NOON, days, fix_clock, hours, make_berth, make_line, make_stay
from vessels.models import Inspection
from vessels.services.inspections import inspect
from vessels.services.lines import step
from vessels.services.mistakes import withdraw

SCRIPT = Path(__file__).parents[1] / "bench" / "lending.py"


@pytest.fixture(autouse=True)
def _clock(db):
    fix_clock(NOON)


def out_by_itself(line, **fields):
    """The same without the service: what the database says."""
    try:
        with transaction.atomic():
            LineUse.objects.create(**{"line": line, "stay": make_stay(), "at": NOON} | fields)
    except IntegrityError as error:
        return str(error)
    return "out"


class TestOut:
    def test_out_and_back(self, cast):
        line, stay = make_line(), make_stay()
        use = issue(line=line, stay=stay, by=cast.hand)
        line.refresh_from_db()
        assert line.state == "out"
        fix_clock(NOON + hours(1))
        take_back(use=use, by=cast.hand, condition="wet", wet=True)
        line.refresh_from_db()
        assert (line.state, use.closed_as) == ("drying", "returned")
        assert [e.kind for e in line.events.all()] == ["returned", "issued"]

    @pytest.mark.parametrize(
        "state", ["retired", "destroyed", "quarantine", "failed", "missing", "ordered", "sold"]
    )
    def test_what_must_not_go_out(self, cast, state):
        line = make_line(state=state)
        with pytest.raises(ValidationError):
            issue(line=line, stay=make_stay(), by=cast.hand)
        assert "line_use_of_a_good_line" in out_by_itself(line)
        assert not LineUse.objects.exists()

    @pytest.mark.parametrize("state", ["received", "store", "drying"])
    def test_what_may_go_out(self, state):
        assert out_by_itself(make_line(state=state)) == "out"

    def test_a_line_whose_last_look_says_retire(self, cast):
        line = make_line()
        Inspection.objects.create(line=line, at=NOON, advice="retire", zones={"eye": ["melted"]})
        assert "line_use_of_a_good_line" in out_by_itself(line)
        with pytest.raises(ValidationError, match="may not go out"):
            issue(line=line, stay=make_stay(), by=cast.hand)
        withdraw(inspection=line.inspections.get(), by=cast.harbourmaster, reason="its twin")
        assert out_by_itself(line) == "out"

    def test_a_closed_use_may_not_be_opened_again_once_it_is_retired(self, cast):
        use = LineUse.objects.create(
            line=make_line(state="retired"),
            stay=make_stay(),
            at=NOON - days(2),
            back=NOON,
            closed_as="returned",
        )
        with pytest.raises(IntegrityError, match="line_use_of_a_good_line"), transaction.atomic():
            LineUse.objects.filter(pk=use.pk).update(back=None, closed_as="")

    def test_a_retired_line_that_is_out_stays_in_the_book_till_it_comes_back(self, cast):
        line = make_line()
        use = issue(line=line, stay=make_stay(), by=cast.hand, at=NOON - hours(1))
        step(line=line, kind="retired", by=cast.hand)
        use.refresh_from_db()
        assert use.back is None
        take_back(use=use, by=cast.hand)
        line.refresh_from_db()
        assert line.state == "retired"

    def test_a_boat_that_moves_keeps_the_retired_line_that_is_on_her(self, cast):
        line, stay = make_line(), make_stay(arrive=NOON - days(1), state="fast")
        issue(line=line, stay=stay, by=cast.hand, at=NOON - hours(2))
        inspect(line=line, by=cast.hand, zones={"eye": ["melted"]}, at=NOON - hours(1))
        new = move_stay(stay=stay, by=cast.harbourmaster, berth=make_berth())
        assert LineUse.objects.get(back=None).stay == new

    def test_not_twice(self, cast):
        line = make_line()
        issue(line=line, stay=make_stay(), by=cast.hand)
        with pytest.raises(ValidationError):
            issue(line=line, stay=make_stay(), by=cast.hand)


class TestMistakes:
    def test_the_wrong_return(self, cast):
        use = issue(line=make_line(), stay=make_stay(), by=cast.hand, at=NOON - hours(2))
        take_back(use=use, by=cast.hand)
        again = undo_return(use=use, by=cast.hand, reason="it was its twin")
        again.line.refresh_from_db()
        assert (again.at, again.back, again.stay) == (NOON, None, use.stay)
        assert (again.line.state, LineUse.objects.count()) == ("out", 2)

    def test_the_wrong_line_issued(self, cast):
        use = issue(line=make_line(), stay=make_stay(), by=cast.hand, at=NOON - hours(2))
        closed = undo_issue(use=use, by=cast.hand, reason="took 113")
        closed.line.refresh_from_db()
        assert (closed.line.state, closed.reason) == ("store", "entered by mistake: took 113")


def test_issued_and_retired_at_the_same_moment():
    """Two connections, forty rounds on a real database: whoever is second sees what the first did."""
    found = raced("--rounds", "40")
    assert found["issued_after_retired"] == 0 and found["errors"] == 0, found
    assert found["retired"] == found["rounds"] == found["issued"] + found["refused"] == 40, found


def test_two_boats_are_lent_the_same_line_at_the_same_moment():
    """Two connections: one of them gets it, the other is told, and no line is out twice."""
    found = raced("--boats", "--rounds", "30")
    assert found["twice"] == 0 and found["errors"] == 0, found
    assert (found["lent"], found["refused"]) == (30, 30), found


def raced(*options):
    engine = "postgres" if connection.vendor == "postgresql" else "sqlite"
    done = subprocess.run(
        [sys.executable, "-W", "ignore", SCRIPT, "--engine", engine, *options],
        capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert done.stdout, done.stderr
    return json.loads(done.stdout.splitlines()[-1])
