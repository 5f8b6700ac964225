"""The level curve of a water: from tidal constants, from an own table, or from readings and notices.

Takes a row of `berths.models.Water`, or anything with its fields, and asks no database. Levels are metres
above the own datum of the water.
"""

from datetime import UTC, datetime

import numpy as np

from berths import stations
from berths.curve import Curve, instant

TIDAL = {"station", "constants"}
A_SECOND = np.timedelta64(1, "s")


def curve_of(water, start, end, *, notices=(), readings=()):
    """The level between two times, as far as it is known.

    Parameters
    ----------
    water : Water
    start, end : aware datetime
    notices, readings : of this water, in order of time; they count only where nothing predicts the level.

    Returns
    -------
    curve : Curve or None
        None where the level was never read. A table's curve is all of the table.
    notes : list of str
        What the reader of this curve has to know.

    Raises
    ------
    ValueError
        If constants or table are missing or wrong; the message says where.
    """
    if water.kind in TIDAL:
        return _tide(water, instant(start), instant(end))
    if water.kind == "table":
        return _table(water), []
    return _regulated(notices, readings, instant(end)), []


def check(water):
    """Refuse a water whose constants or table cannot be used.

    Raises
    ------
    ValueError
        With all that is wrong, a line for each fault.
    """
    if water.kind in TIDAL and water.station:
        stations.check_row(water.station)
    if water.kind == "table" and water.table:
        _table(water)


def station_of(water):
    """The row of its tide station or own constants; empty where there is none."""
    return water.station if isinstance(water.station, dict) else {}


def lat_hat(water):
    """Lowest and highest astronomical tide: as entered, else the station's with the water's offset. [m]

    (None, None) where they are not known.
    """
    low, high = water.low, water.high
    if low is not None and high is not None:
        return float(low), float(high)
    try:
        low, high = stations.lowest_and_highest(station_of(water))
    except ValueError:
        return None, None
    if low is None or high is None:
        return None, None
    return low + float(water.height_offset), high + float(water.height_offset)


def _tide(water, start, end):
    """The tide of the water's station or constants, with the water's own offsets: (curve, notes)."""
    if not water.station:
        raise ValueError(f"the tidal constants of {water} are not known")
    later = np.timedelta64(60 * water.time_offset_min, "s")
    curve, notes = stations.tide_curve(water.station, start - later, end - later)
    return curve.moved(water.time_offset_min, float(water.height_offset)), notes


def _table(water):
    points = []
    rows = water.table if isinstance(water.table, list) else []
    for n, entry in enumerate(rows, start=1):
        try:
            time, level = entry
            time = datetime.fromisoformat(time)
            points.append((time if time.tzinfo else time.replace(tzinfo=UTC), float(level)))
        except (TypeError, ValueError):
            raise ValueError(
                f'row {n} of the table: must be a time and a level, such as ["2027-10-15T04:40Z", 0.41]'
            ) from None
    curve = Curve.of_table(points, highs_and_lows=water.table_kind == "extremes")
    return curve.moved(water.time_offset_min, float(water.height_offset))


def _regulated(notices, readings, end):
    """Readings with straight lines between; then the last one, held, and moved by each notice.

    A notice's level counts as reached the moment it starts: nobody has said how fast the sluices run.
    """
    if not readings:
        return None
    points = {instant(r.at): float(r.level) for r in readings}
    time, level = max(points), points[max(points)]
    for notice in notices:
        starts, ends = instant(notice.starts), notice.ends and instant(notice.ends)
        if starts >= end or (ends and ends <= time):
            continue
        bound = min(max(level, float(notice.low)), float(notice.high))
        if bound != level:
            time = max(starts, time)
            points[time], points[time + A_SECOND] = level, bound
            time, level = time + A_SECOND, bound
        if ends and ends < end:  # what the level is after a notice, nobody has said
            points[ends] = level
            break
    else:
        points[max(end, time)] = level
    ordered = sorted(points)
    return Curve.of_points([(t, points[t]) for t in ordered])
