"""Times by the harbour's clock, on the two days of the year that are not 24 hours long. London 2027: the clocks go
forward on 28 March at 01:00 UTC and back on 31 October at 01:00 UTC (the rule of the European Union and the United
Kingdom: last Sundays)."""

import itertools
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from berths.localtime import ComesTwice, bounds_of, comes_twice, hours_of, offset_words, read_time

LONDON = ZoneInfo("Europe/London")
NEWFOUNDLAND = ZoneInfo("America/St_Johns")


@pytest.mark.parametrize(
    ("typed", "utc"),
    [
        ("2027-10-15 05:40", "2027-10-15T04:40"),
        (" 2027-10-15T05:40 ", "2027-10-15T04:40"),
        ("2027-12-15 05:40", "2027-12-15T05:40"),
        ("2027-10-15T05:40Z", "2027-10-15T05:40"),
        ("2027-10-31 01:30+01:00", "2027-10-31T00:30"),
        ("2027-10-31 01:30+00:00", "2027-10-31T01:30"),
        ("2027-10-31 02:00", "2027-10-31T02:00"),
    ],
)
def test_read(typed, utc):
    assert read_time(typed, LONDON) == datetime.fromisoformat(utc).replace(tzinfo=UTC)


def test_a_time_that_comes_twice_is_not_guessed():
    with pytest.raises(ComesTwice) as refused:
        read_time("2027-10-31 01:30", LONDON)
    first, second = refused.value.first, refused.value.second
    assert second - first.astimezone(UTC) == timedelta(hours=1)
    assert "write +01:00 behind it for the first time, +00:00 for the second" in str(refused.value)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("2027-03-28 01:30", "does not come"),
        ("soon", "is no time"),
        ("", "is no time"),
        ("2027-02-30 05:40", "is no time"),
        ("0207-10-15 05:40", "look at the year"),
        ("9999-12-31T23:59-01:00", "look at the year"),
    ],
)
def test_refused(typed, words):
    with pytest.raises(ValueError, match=words):
        read_time(typed, LONDON)


def test_the_offset_is_told_only_where_the_clock_shows_a_time_twice():
    before = datetime(2027, 10, 30, 23, 59, tzinfo=UTC)
    first, second = datetime(2027, 10, 31, 0, 30, tzinfo=UTC), datetime(2027, 10, 31, 1, 30, tzinfo=UTC)
    assert [comes_twice(t, LONDON) for t in (before, first, second)] == [False, True, True]
    assert not comes_twice(datetime(2027, 10, 31, 2, 0, tzinfo=UTC), LONDON)
    assert not comes_twice(datetime(2027, 3, 28, 1, 0, tzinfo=UTC), LONDON)
    assert [offset_words(t, LONDON) for t in (first, second)] == ["UTC+1", "UTC"]
    assert offset_words(before, NEWFOUNDLAND) == "UTC-2:30"


@pytest.mark.parametrize(
    ("day", "hours"), [(date(2027, 3, 28), 23), (date(2027, 10, 31), 25), (date(2027, 10, 15), 24)]
)
def test_days_of_23_24_and_25_hours(day, hours):
    start, end = bounds_of(day, LONDON)
    assert end - start == timedelta(hours=hours)
    found = hours_of(day, LONDON)
    assert len(found) == hours + 1
    assert {b - a for a, b in itertools.pairwise(found)} == {timedelta(hours=1)}
    assert (found[0], found[-1]) == (start, end)
