"""House rules, the clock and the roles."""

from types import SimpleNamespace

import pytest
from django.core.exceptions import ValidationError
from django.core.signals import request_finished, request_started
from django.db import IntegrityError, transaction
from django.utils import timezone

from marina.base import clock, house
from marina.base.models import HouseRule, Role, User
from marina.base.rulebook import book, check
from tests.cast import NOON, fix_clock, make_user


@pytest.mark.parametrize("key", list(book()))
def test_every_rule_is_complete_and_its_default_passes_its_own_check(key):
    rule = book()[key]
    assert {"question", "kind", "default", "shows", "source"} <= set(rule)
    check(key, rule["default"])


def test_the_numbered_rules_are_all_there():
    assert {f"H{n}" for n in range(1, 22)} <= set(book())


@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        ("H99", 1, "no such house rule"),
        ("H7", "3", "a number from 0 to 20 m"),
        ("H7", float("nan"), "a number"),
        ("H7", True, "a number"),
        ("H8", {"soft": 0.3}, "give exactly soft, hard"),
        ("H5", {**book()["H5"]["default"], "slip": 2.5}, "slip: give a whole number"),
        ("H16", "perhaps", "choose one of recommend"),
        ("H21", [10, 10], "rising order"),
        ("H21", [], "a list"),
        ("H6", ["staff", "gulls"], "choose one of"),
        ("H10", "yes", "yes or no"),
        ("zone", "Europe/Wendlow", "no time zone"),
        ("zone", "../etc/passwd", "no time zone"),
        ("channel", 12, "a text"),
        ("demo_clock", {"at": "2027-10-14T17:45"}, "a time with its zone"),
    ],
)
def test_what_a_rule_cannot_be(key, value, says):
    with pytest.raises(ValueError, match=says):
        check(key, value)


def test_a_default_holds_until_the_house_changes_it(cast):
    assert house.value("H7") == 3.0
    rule = house.set_rule(key="H7", value=2.5, by=cast.harbourmaster, reason="short-handed in winter")
    assert (house.value("H7"), rule.reason, rule.by) == (2.5, "short-handed in winter", cast.harbourmaster)
    house.set_rule(key="H7", value=2.0, by=cast.harbourmaster)
    assert HouseRule.objects.get(key="H7").value == 2.0


def test_a_wrong_value_is_refused(cast):
    with pytest.raises(ValidationError, match="a number from 0 to 20 m"):
        house.set_rule(key="H7", value=-1, by=cast.harbourmaster)


@pytest.fixture
def request_of_the_site():
    """What Django's two signals start and end, without their closing of the connection."""
    yield SimpleNamespace(begin=house.begin_request, end=house.end_request)
    house.end_request()


def test_a_request_begins_and_ends_with_djangos():
    for signal, receiver in ((request_started, house.begin_request), (request_finished, house.end_request)):
        assert receiver in signal._live_receivers(sender=None)[0]


def test_one_query_a_request_and_no_old_rule_after_it(db, request_of_the_site, django_assert_num_queries):
    request = request_of_the_site
    request.begin()
    with django_assert_num_queries(1):
        for key in ("H7", "zone", "H21"):
            house.value(key)
        clock.now()
    HouseRule.objects.create(key="H7", value=1.0)
    assert house.value("H7") == 1.0
    request.end()
    HouseRule.objects.filter(key="H7").update(value=2.0)  # another process
    assert house.value("H7") == 2.0


def test_the_clock(db):
    assert abs((clock.now() - timezone.now()).total_seconds()) < 5
    fix_clock(NOON)
    assert clock.now() == NOON
    HouseRule.objects.create(key="zone", value="Europe/London")
    assert f"{clock.local(NOON):%H:%M %Z}" == "13:00 BST"  # UTC+1 until the last Sunday of October
    HouseRule.objects.filter(key="demo_clock").update(value={"shift_seconds": -3600})
    assert abs((timezone.now() - clock.now()).total_seconds() - 3600) < 5


def test_today_is_the_harbours_day(db):
    HouseRule.objects.create(key="zone", value="Pacific/Auckland")  # UTC+13 in October
    fix_clock(NOON)
    assert clock.today().day == NOON.day + 1


def test_flags_of_the_back_office_follow_the_role(db):
    user = make_user("somebody", Role.HAND)
    assert not user.is_staff
    user.role = Role.HARBOURMASTER
    user.save(update_fields=["role"])
    user.refresh_from_db()
    assert user.is_staff and user.is_superuser
    with pytest.raises(IntegrityError, match="user_flags_follow_role"), transaction.atomic():
        User.objects.filter(pk=user.pk).update(role=Role.HOLDER)
    hand = make_user("another", Role.HAND)
    with pytest.raises(IntegrityError, match="user_role_listed"), transaction.atomic():
        User.objects.filter(pk=hand.pk).update(role="admiral")


def test_the_first_harbourmaster(db):
    assert User.objects.create_superuser("first", password="x").role == Role.HARBOURMASTER
