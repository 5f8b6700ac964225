"""What the loading of every kind of row needs: the data files, the calendar, and writing a row once."""

import uuid
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

import yaml

FOLDER = Path(__file__).parent
NAMESPACE = uuid.UUID("a0d7a1b6-6f0e-4a8e-8f5b-3f2f0c1d7e55")  # any fixed one: the same deed gets the same id


@cache
def data(name):
    """One data file, as YAML reads it."""
    return yaml.safe_load((FOLDER / f"{name}.yaml").read_text("utf-8"))


@cache
def demo_clock():
    """The moment all dates of the data hang on, without a zone, and the harbour's zone."""
    stays = data("stays")
    return datetime.fromisoformat(stays["clock"]), ZoneInfo(stays["zone"])


@dataclass
class Loading:
    """One loading: how far all dates are moved, and what has been written so far, by its name in the data."""

    days: int = 0
    users: dict = field(default_factory=dict)
    owners: dict = field(default_factory=dict)
    vessels: dict = field(default_factory=dict)
    waters: dict = field(default_factory=dict)
    berths: dict = field(default_factory=dict)
    lines: dict = field(default_factory=dict)
    stays: dict = field(default_factory=dict)
    positions: dict = field(default_factory=dict)

    def day(self, given):
        """A date of the data, moved along."""
        given = date.fromisoformat(given) if isinstance(given, str) else given
        return given + timedelta(days=self.days)

    def time(self, given):
        """A local time of the data, moved along by days, as UTC."""
        _, zone = demo_clock()
        local = datetime.fromisoformat(given) + timedelta(days=self.days)
        return local.replace(tzinfo=zone).astimezone(UTC)


def deed(*words):
    """The id of a deed, the same at every loading."""
    return uuid.uuid5(NAMESPACE, "/".join(map(str, words)))


def metres(value):
    """A number of the data as it is stored, or None."""
    return None if value is None else round(Decimal(str(value)), 4)


def millimetres(value):
    """A rope's diameter as it is stored, or None. [mm, to 0.1]"""
    return None if value is None else round(Decimal(str(value)), 1)


def ensure(model, key, **values):
    """The row with this key; written, after its checks, if it is not there yet.

    The rules that stand in the database are left to it: it refuses by the same name, and asking each of them
    twice would make up most of the time.
    """
    row = model.objects.filter(**key).first()
    if row is None:
        row = model(**key, **values)
        row.clean_fields()
        row.clean()
        row.save(force_insert=True)
    return row
