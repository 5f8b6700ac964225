"""The only place that asks what time it is. A demonstration fixes or shifts it with the rule `demo_clock`."""

from datetime import UTC, datetime, timedelta

from marina.base import house


def now():
    """The harbour's present moment, in UTC."""
    demo = house.value("demo_clock")
    if demo is None:
        return datetime.now(UTC)
    if "at" in demo:
        return datetime.fromisoformat(demo["at"]).astimezone(UTC)
    return datetime.now(UTC) + timedelta(seconds=demo["shift_seconds"])


def told(moment):
    """A moment that the database wrote by its own clock, by the harbour's: the same unless a demonstration runs."""
    demo = house.value("demo_clock")
    if demo is None:
        return moment
    return now() if "at" in demo else moment + timedelta(seconds=demo["shift_seconds"])


def local(moment):
    """A moment in the harbour's zone."""
    return moment.astimezone(house.zone())


def today():
    """The harbour's date today."""
    return local(now()).date()
