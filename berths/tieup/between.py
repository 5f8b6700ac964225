"""What is wrong between the fields of a Scenario: ids, references, orders, measures that cannot all be true.

Looked for in the raw data, so that all of them show at once, whatever else is wrong. One line a fault: its place,
a colon, and what to mend.
"""

from datetime import datetime
from itertools import pairwise
from math import hypot

import numpy as np

from berths.tieup import rules
from vessels import hull

LEAST_FACE = 0.01  # m; shorter than this a face has no direction
LEAST_LENGTH, LEAST_BEAM = 1.0, 0.3  # m; below them a number was meant in another unit
PAST_HER = 1.5  # times her own length or beam: an outline that is larger was drawn in another unit
FAR_OFF = 200  # times more or less than boats of her size weigh: another unit
HIGHEST = 100.0  # m above or below datum


def _rows(data, *path):
    """The dict rows at a path of raw data, with their positions; nothing where the shape is wrong."""
    for key in path:
        data = data.get(key) if isinstance(data, dict) else None
    return [(i, row) for i, row in enumerate(data) if isinstance(row, dict)] if isinstance(data, list) else []


def between_fields(data):
    """Every fault between fields of the raw data of a Scenario, as lines 'place: what to mend'."""
    found = []
    for check in (
        _equal_ids, _reference_faults, _table_faults, _bearing_faults, _face_faults, _boat_faults,
        _fitting_faults, _water_faults, _stay_faults,
    ):  # fmt: skip
        found += check(data)
    if data.get("cases") == []:
        found.append("cases: an empty list; leave it out to have the cases built, or give at least one")
    return found + rules.faults(data.get("house"))


NAMED = (("berth", "fittings"), ("berth", "faces"), ("berth", "zones"), ("berth", "neighbours"), ("boat", "fittings"),
         ("boat", "zones"), ("lines",), ("cases",))  # fmt: skip


def _equal_ids(data):
    """Whatever is looked up by its id later would hide the first of two."""
    found = []
    for path in NAMED:
        seen = {}
        for i, row in _rows(data, *path):
            name = row.get("id")
            if isinstance(name, str) and name in seen:
                found.append(f"{'.'.join(path)}[{i}].id: {name!r} is already the id of entry {seen[name]}")
            elif isinstance(name, str):
                seen[name] = i
    return found


def _reference_faults(data):
    faults = []
    ashore = [row.get("id") for _, row in _rows(data, "berth", "fittings")]
    aboard = [row.get("id") for _, row in _rows(data, "boat", "fittings")] or list(STANDARD_FITTINGS)
    for i, row in _rows(data, "lines"):
        via = row.get("via") if isinstance(row.get("via"), dict) else {}
        for field, name, known, owner in (
            ("boat_fitting", row.get("boat_fitting"), aboard, "on this boat"),
            ("shore_fitting", row.get("shore_fitting"), ashore, "at this berth"),
            ("via.fitting", via.get("fitting"), ashore, "at this berth"),
        ):
            if isinstance(name, str) and name not in known:
                there = ", ".join(map(str, known)) or "none"
                faults.append(f"lines[{i}].{field}: no fitting {name!r} {owner} (there are: {there})")
    return faults


STANDARD_FITTINGS = (  # the ids of the six fittings that are laid out when a boat comes without any
    "bow_port", "bow_starboard", "mid_port", "mid_starboard", "stern_port", "stern_starboard",
)  # fmt: skip


def _table_faults(data):
    faults = []
    for i, row in _rows(data, "lines"):
        stiffness = row.get("stiffness")
        if not isinstance(stiffness, dict):
            continue
        where, ea, table = f"lines[{i}].stiffness", stiffness.get("ea"), stiffness.get("table")
        if (ea is None) == (table is None):
            faults.append(f"{where}: give either ea or table")
        if isinstance(table, list) and table is not None:
            faults += [f"{where}.table: {f}" for f in _curve_faults(table)]
    return faults


def _curve_faults(table):
    rows = [r for r in table if isinstance(r, list | tuple) and len(r) == 2 and all(_is_number(v) for v in r)]
    if len(rows) != len(table):
        return []  # the shape is already a fault of its own
    if not rows:
        return ["must have at least one row of [strain, tension / mbs]"]
    faults = []
    if rows[0][0] == 0 and rows[0][1] > 0:
        faults.append("a line without stretch carries nothing: the row at strain 0 must have tension 0")
    if any(b[0] <= a[0] for a, b in pairwise(rows)):
        faults.append("strain must rise from row to row")
    if any(b[1] < a[1] for a, b in pairwise(rows)):
        faults.append("tension must not fall from row to row")
    if rows[-1][0] == 0:
        faults.append("needs a row with strain above 0")
    return faults


def _is_number(value):
    return isinstance(value, int | float) and not isinstance(value, bool)


def _object(data, *path):
    """The object at a path of raw data; an empty one where there is none."""
    for key in path:
        data = data.get(key) if isinstance(data, dict) else None
    return data if isinstance(data, dict) else {}


def _numbers(row, *keys):
    """These fields as floats; None unless all are numbers of a size that can be reckoned with."""
    values = [row.get(key) for key in keys]
    usable = all(_is_number(v) and abs(v) <= 1e12 for v in values)
    return [float(v) for v in values] if usable else None


def _bearing_faults(data):
    given = [_object(data, part).get("bearing_deg") for part in ("frame", "berth")]
    differ = len({b for b in given if _is_number(b)}) > 1
    return ["berth.bearing_deg: differs from frame.bearing_deg; give one of them"] if differ else []


def _face_faults(data):
    found = []
    for i, face in _rows(data, "berth", "faces"):
        ends = _numbers(face, "x1", "y1", "x2", "y2")
        if ends and hypot(ends[2] - ends[0], ends[3] - ends[1]) < LEAST_FACE:
            found.append(f"berth.faces[{i}]: both ends are at the same place")
        heights = _numbers(face, "underside_z", "top_z")
        if heights and heights[0] > heights[1]:
            found.append(f"berth.faces[{i}].underside_z: is above top_z")
    return found


def _size(data):
    """Her length over everything and beam, where they can be those of a boat; else None."""
    size = _numbers(_object(data, "boat"), "loa", "beam")
    return (
        size if size and LEAST_LENGTH <= size[0] <= 1000 and LEAST_BEAM <= size[1] <= 1.5 * size[0] else None
    )


def _boat_faults(data):
    boat, found = _object(data, "boat"), []
    size = _numbers(boat, "loa", "beam")
    for name, value, least in zip(("loa", "beam"), size or (), (LEAST_LENGTH, LEAST_BEAM), strict=False):
        if 0 < value < least:
            found.append(f"boat.{name}: {value:g} m is less than any boat this is for; is it in metres?")
    if size and size[1] > 1.5 * size[0] >= 1.5 * LEAST_LENGTH:
        found.append(
            f"boat.beam: {size[1]:g} m is far more than her length of {size[0]:g} m; are they swapped?"
        )
    rub = _numbers(boat, "rub_low", "rub_high")
    if rub and rub[0] >= rub[1]:
        found.append("boat.rub_low: must be below rub_high")
    lengths = _numbers(boat, "hull_length", "loa")
    if lengths and lengths[0] > lengths[1]:
        found.append("boat.hull_length: is longer than loa, the length over everything")
    return found + _outline_faults(boat.get("outline"), _size(data)) + _weight_faults(boat, _size(data))


def _weight_faults(boat, size):
    weight = _numbers(boat, "displacement")
    if not size or not weight or weight[0] <= 0:
        return []
    usual = hull.displacement(*size)
    if usual / FAR_OFF <= weight[0] <= usual * FAR_OFF:
        return []
    return [f"boat.displacement: {weight[0]:g} kg for a boat of {size[0]:g} x {size[1]:g} m; is it in kg?"]


def _outline_faults(outline, size):
    if not isinstance(outline, list):
        return []
    if len(outline) < 3:
        return ["boat.outline: needs at least 3 points"]
    rows = [p for p in outline if isinstance(p, list | tuple) and len(p) == 2]
    points = [_numbers(dict(enumerate(p)), 0, 1) for p in rows]
    if len(points) < len(outline) or None in points or size is None:
        return []  # the shape is already a fault of its own
    try:
        x, y = hull.closed_outline(points).T
    except ValueError as error:
        return [str(error)]
    long, wide, area = np.abs(x).max(), 2 * np.abs(y).max(), abs(x @ np.roll(y, 1) - y @ np.roll(x, 1)) / 2
    found = []
    if area < LEAST_LENGTH * LEAST_BEAM / 2:
        found.append("boat.outline: encloses next to no area; give at least three points, in metres")
    if long > PAST_HER * size[0] or wide > PAST_HER * size[1]:
        text = f"reaches {long:g} m from her aftmost point and is {wide:g} m wide"
        found.append(f"boat.outline: {text}; she is {size[0]:g} x {size[1]:g} m")
    return found


def _fitting_faults(data):
    """A deck fitting that is not on her was measured from elsewhere, or in another unit."""
    size, found = _size(data), []
    for i, row in _rows(data, "boat", "fittings") if size else ():
        place = _numbers(row, "x", "y")
        if place and (abs(place[0] - size[0] / 2) > PAST_HER * size[0] or abs(place[1]) > size[0]):
            text = f"x {place[0]:g}, y {place[1]:g} m is not on a boat of {size[0]:g} x {size[1]:g} m"
            found.append(f"boat.fittings[{i}]: {text} (x from her aftmost point, y to port of her middle)")
    return found


def _water_faults(data):
    water, found = _object(data, "water"), []
    span = _numbers(water, "low", "high")
    if span and span[0] > span[1]:
        found.append("water.low: is above water.high")
    for level, surge, sign in (("low", "surge_down", -1), ("high", "surge_up", 1)):
        both = _numbers(water, level, surge)
        if both and abs(both[0] + sign * both[1]) > HIGHEST:
            found.append(f"water.{surge}: takes the water more than {HIGHEST:g} m from datum")
    curve = water.get("curve")
    if isinstance(curve, list):
        times = [_moment(row[0]) for row in curve if isinstance(row, list | tuple) and row]
        if all(times) and any(b <= a for a, b in pairwise(times)):
            found.append("water.curve: times must rise from row to row")
    return found


def _stay_faults(data):
    stay = _object(data, "stay")
    arrive, depart = (_moment(stay.get(k)) for k in ("arrive", "depart"))
    return ["stay.depart: must be after stay.arrive"] if arrive and depart and depart <= arrive else []


def short_of_their_pile(scenario, levels):
    """Lines made fast to a pile on their way that end before it at some level. Of a filled Scenario.

    levels : ndarray, (n,). [m above datum]
    """
    ashore, found = {f.id: f for f in scenario.berth.fittings}, []
    for line in scenario.lines or []:
        if line.via is None or line.via.turn == "slides":
            continue
        pile, end = ashore[line.via.fitting], ashore[line.shore_fitting]
        rise = end.z - pile.z + (bool(end.floats) - bool(pile.floats)) * levels
        behind = float(np.hypot(np.hypot(end.x - pile.x, end.y - pile.y), rise).max())
        if line.length < behind + LEAST_FACE:
            found.append(
                f"line {line.id}: {line.length:g} m does not reach past {pile.id}, which is {behind:.2f} m from "
                f"{end.id}; give a longer line"
            )
    return found


def _moment(value):
    try:
        moment = value if isinstance(value, datetime) else datetime.fromisoformat(value)
    except (TypeError, ValueError):
        return None
    return moment if moment.tzinfo else None
