"""What is recorded of the waters: where a level comes from, what is allowed for, what was announced and read.

Each deed is one transaction in the name of who did it; a refusal is a ValidationError in plain words. Whatever a
tie-up rests on marks it as out of date by itself (`stale`).
"""

from uuid import uuid4

from berths.models import Forecast, Notice, Reading, Water
from marina.base import clock
from marina.base.writing import in_one_go

# What belongs to one way of knowing a level and means nothing for another.
NOTHING = {
    "station": None,
    "station_id": "",
    "table": None,
    "table_kind": "",
    "low": None,
    "high": None,
    "time_offset_min": 0,
    "height_offset": 0,
}


def new_water(*, name, by):
    """A water whose level is not known yet: its station, limits or table come next."""

    def step():
        row = Water(name=name, kind="station")
        row.clean_fields()
        row.validate_unique()
        row.validate_constraints()
        row.save()
        return row

    return in_one_go(step, by=by)


def use_station(*, water, row, by, datum, time_offset_min=0, height_offset=0, place=None, km=None):
    """Take the tide from a station.

    Parameters
    ----------
    row : dict
        From `berths.stationfile.station`. A copy is kept with today's date, so that a newer list changes no
        window in use until somebody takes it over.
    place : (float, float), optional
        Latitude and longitude of the harbour [degrees], and how far the station is from it (`km`).
    """
    taken = {"on": clock.today().isoformat(), "by": by.get_username()}
    if place is not None:
        taken |= {"from": list(place), "km": round(km, 1)}
    return change(
        water=water,
        by=by,
        **NOTHING
        | {
            "kind": "station",
            "station_id": row["id"],
            "station": row | {"taken": taken},
            "datum": datum,
            "time_offset_min": time_offset_min,
            "height_offset": height_offset,
        },
    )


def use_limits(*, water, low, high, datum, by):
    """A regulated or non-tidal water: kept between two levels."""
    return change(
        water=water, by=by, **NOTHING | {"kind": "limits", "low": low, "high": high, "datum": datum}
    )


def use_table(*, water, rows, kind, datum, by, low=None, high=None):
    """The harbour's own table; `low` and `high` are for berths that are judged for always."""
    fields = {"kind": "table", "table": rows, "table_kind": kind, "datum": datum, "low": low, "high": high}
    return change(water=water, by=by, **NOTHING | fields)


def use_constants(*, water, source, mean, rows, datum, by, low=None, high=None):
    """Tidal constants of the harbour's own: `rows` [[name, metres, degrees], ...], `mean` level above the datum."""
    row = {"name": source, "msl_above_datum": float(mean), "constituents": rows}
    row["taken"] = {"on": clock.today().isoformat(), "by": by.get_username()}
    fields = {"kind": "constants", "station": row, "datum": datum, "low": low, "high": high}
    return change(water=water, by=by, **NOTHING | fields)


def set_gate(*, water, by, outer=None, passes_above=None, sill_z=None, holds_to=None):
    """The water beyond the gate and the levels at which boats pass and the gate holds; without it, no gate."""
    levels = {"passes_above": passes_above, "sill_z": sill_z, "holds_to": holds_to}
    return change(water=water, by=by, outer=outer, **levels)


def set_allowance(*, water, by, **fields):
    """Allowances for weather with their reasons: `surge_down`, `surge_up`, `surge_reason`, and the storm pair."""
    given = fields.get("surge_down") is not None
    signed = {"surge_by": by.get_username() if given else "", "surge_on": clock.today() if given else None}
    return change(water=water, by=by, **fields | signed)


def change(*, water, by, **fields):
    """Change fields of a water, as it stands at that moment."""

    def step():
        row = Water.objects.select_for_update().get(pk=water.pk)
        for name, value in fields.items():
            setattr(row, name, value)
        row.full_clean()
        row.save()
        return row

    return in_one_go(step, by=by)


def announce(*, water, by, notice=None, **fields):
    """Limits announced from a date, new or changed."""
    row = notice or Notice(water=water)
    return _written(row, fields, by)


def allow_for(*, water, by, **fields):
    """An allowance or a forecast of wind for a time, for instance the rest of a day on which the gauge stands far off.

    `water` None: for every water of the harbour.
    """
    return _written(Forecast(water=water, by=by, at=clock.now()), fields, by)


def read_gauge(*, water, level, at, by, note="", client_id=None):
    """A level read from a gauge. A deed that is known by its `client_id` is not done twice."""
    known = Reading.objects.filter(client_id=client_id).first() if client_id else None
    row = Reading(water=water, by=by, client_id=client_id or uuid4())
    return known or _written(row, {"level": level, "at": at, "note": note}, by)


def _written(row, fields, by):
    for name, value in fields.items():
        setattr(row, name, value)

    def step():
        row.full_clean()
        row.save()
        return row

    return in_one_go(step, by=by)
