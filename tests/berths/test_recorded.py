"""Flags that only the records tell: two lengths of one boat, and a level nobody has read lately."""

from datetime import timedelta
from decimal import Decimal

import pytest

from berths.models import Reading
from berths.selectors.recorded import _level
from berths.selectors.standing import standings
from tests.cast import NOON, make_berth, make_stay, make_vessel, make_water

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def noon(clock_at):
    return clock_at(NOON)


def marks(stay, code):
    return [mark for mark in standings([stay])[stay.pk].marks if mark.code == code]


def boat(declared, measured):
    return make_stay(
        vessel=make_vessel(loa_declared=Decimal(declared), loa_measured=measured and Decimal(measured))
    )


def test_more_than_the_houses_difference_is_a_note_that_names_both():
    (mark,) = marks(boat("12.80", "14.10"), "length_differs")
    assert mark.kind == "note" and "Measured 14.10 m" in mark.message and "declared 12.80 m" in mark.message


def test_exactly_the_houses_difference_is_silent():
    assert marks(boat("9.40", "9.70"), "length_differs") == []


def test_never_measured_is_not_known_and_calls_nobody():
    (mark,) = marks(boat("9.40", None), "length_differs")
    assert mark.kind == "not_known" and "Never measured here" in mark.message and not mark.urgent


def regulated(days):
    water = make_water()
    if days is not None:
        Reading.objects.create(water=water, level=Decimal("2.4"), at=NOON - timedelta(days=days))
    return make_stay(berth=make_berth(water=water), vessel=make_vessel(loa_measured=Decimal("10.0")))


@pytest.mark.parametrize(("days", "kind"), [(6, None), (8, "fix"), (None, None)])
def test_a_level_that_nothing_predicts_grows_old(days, kind):
    found = marks(regulated(days), "level_old")
    assert [mark.kind for mark in found] == ([kind] if kind else [])
    assert all(mark.urgent for mark in found)


def test_a_tide_is_predicted_and_needs_no_reading():
    assert (
        list(_level({"water_kind": "station", "read_at": NOON - timedelta(days=90)}, {"level_age": 7})) == []
    )
