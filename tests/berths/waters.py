"""The demo's two invented waters as rows that are not saved, and its clock."""

from datetime import datetime
from zoneinfo import ZoneInfo

from berths.models import Notice, Reading, Water
from tests.berths.stations import WENDLOW, WENDLOW_MEAN

HARBOUR = ZoneInfo("Europe/London")


def local(text):
    """'15 05:40' in October 2027, by the harbour's clock."""
    return datetime.strptime(f"2027-10-{text}", "%Y-%m-%d %H:%M").replace(tzinfo=HARBOUR)


NOW = local("14 17:45")


def sea(**changes):
    fields = {
        "name": "Sea",
        "kind": "constants",
        "datum": "CD",
        "station": {"name": "Wendlow Bar", "msl_above_datum": WENDLOW_MEAN, "constituents": WENDLOW},
        "low": 0.05,
        "high": 2.77,
        "surge_up": 0.60,
        "surge_down": 0.30,
        "surge_reason": "invented",
        "storm_up": 1.30,
        "storm_down": 0.50,
        "storm_reason": "invented",
    }
    return Water(**fields | changes)


def basin(**changes):
    fields = {
        "name": "Inner basin",
        "kind": "limits",
        "datum": "CD",
        "low": 1.60,
        "high": 2.80,
        "surge_up": 0.20,
        "surge_down": 0.20,
        "surge_reason": "invented",
        "storm_up": 0.20,
        "storm_down": 0.20,
        "storm_reason": "invented",
        "sill_z": -0.70,
        "passes_above": 1.60,
        "holds_to": 3.60,
    }
    return Water(**fields | changes)


def lowered(low=1.60, high=1.60, starts="15 06:00", ends=None, **more):
    reason = "lowered for work on the sill"
    return Notice(low=low, high=high, starts=local(starts), ends=ends and local(ends), reason=reason, **more)


def read(level, at, **more):
    return Reading(level=level, at=local(at), **more)
