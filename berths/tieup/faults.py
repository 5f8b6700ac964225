"""What is wrong with a Scenario, one line for each fault: its place, a colon, and what to mend.

Some faults lie in one field (pydantic finds them, here they get our words), some between fields. The latter are
looked for in the raw data, so that all of them show at once, whatever else is wrong.
"""

from datetime import datetime
from itertools import pairwise

from berths.tieup import rules

BOUNDS = {
    "greater_than": "greater than",
    "greater_than_equal": "at least",
    "less_than": "less than",
    "less_than_equal": "at most",
}


def sentence(error):
    """One of pydantic's errors in our words."""
    where = _place(error["loc"])
    kind, ctx = error["type"], error.get("ctx", {})
    words = {
        "missing": "missing, and needed",
        "extra_forbidden": "not a field of this format",
        "float_type": "must be a number",
        "finite_number": "must be a finite number",
        "int_type": "must be a whole number",
        "string_type": "must be a text",
        "bool_type": "must be true or false",
        "list_type": "must be a list",
        "too_short": "too few entries in this row",
        "too_long": "too many entries in this row",
        "timezone_aware": "needs its zone, e.g. 2027-10-15T04:40:00Z",
    }
    if kind in words:
        return f"{where}: {words[kind]}"
    if kind == "literal_error":
        return f"{where}: must be {ctx['expected']}"
    if kind in BOUNDS:
        return f"{where}: must be {BOUNDS[kind]} {next(iter(ctx.values())):g}"
    if kind.startswith("datetime"):
        return f"{where}: must be a time with its zone, e.g. 2027-10-15T04:40:00Z"
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        return f"{where}: must be an object"
    return f"{where}: {error['msg']}"


def _place(loc):
    text = ""
    for part in loc:
        text += f"[{part}]" if isinstance(part, int) else f".{part}" if text else str(part)
    return text or "file"


def _rows(data, *path):
    """The dict rows at a path of raw data, with their positions; nothing where the shape is wrong."""
    for key in path:
        data = data.get(key) if isinstance(data, dict) else None
    return [(i, row) for i, row in enumerate(data) if isinstance(row, dict)] if isinstance(data, list) else []


def between_fields(data):
    """Faults that lie between fields: ids, references, orders. Works on raw data so that all show at once."""
    faults = []
    for path in (("berth", "fittings"), ("berth", "faces"), ("boat", "fittings"), ("lines",), ("cases",)):
        seen = {}
        for i, row in _rows(data, *path):
            name = row.get("id")
            if isinstance(name, str) and name in seen:
                faults.append(f"{'.'.join(path)}[{i}].id: {name!r} is already the id of entry {seen[name]}")
            elif isinstance(name, str):
                seen[name] = i
    faults += _reference_faults(data)
    faults += _table_faults(data)
    faults += _order_faults(data)
    faults += rules.faults(data.get("house"))
    return faults


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


def _order_faults(data):
    faults = []
    if data.get("cases") == []:
        faults.append("cases: an empty list; leave it out to have the cases built, or give at least one")
    frame, berth = (data.get(k) if isinstance(data.get(k), dict) else {} for k in ("frame", "berth"))
    bearings = {b for b in (frame.get("bearing_deg"), berth.get("bearing_deg")) if _is_number(b)}
    if len(bearings) > 1:
        faults.append("berth.bearing_deg: differs from frame.bearing_deg; give one of them")
    water = data.get("water") if isinstance(data.get("water"), dict) else {}
    if _is_number(water.get("low")) and _is_number(water.get("high")) and water["low"] > water["high"]:
        faults.append("water.low: is above water.high")
    for i, face in _rows(data, "berth", "faces"):
        ends = [face.get(k) for k in ("x1", "y1", "x2", "y2")]
        if all(_is_number(v) for v in ends) and ends[:2] == ends[2:]:
            faults.append(f"berth.faces[{i}]: both ends are at the same place")
        top, under = face.get("top_z"), face.get("underside_z")
        if _is_number(top) and _is_number(under) and under > top:
            faults.append(f"berth.faces[{i}].underside_z: is above top_z")
    boat = data.get("boat") if isinstance(data.get("boat"), dict) else {}
    if isinstance(boat.get("outline"), list) and len(boat["outline"]) < 3:
        faults.append("boat.outline: needs at least 3 points")
    if (
        _is_number(boat.get("rub_low"))
        and _is_number(boat.get("rub_high"))
        and boat["rub_low"] >= boat["rub_high"]
    ):
        faults.append("boat.rub_low: must be below rub_high")
    if (
        _is_number(boat.get("hull_length"))
        and _is_number(boat.get("loa"))
        and boat["hull_length"] > boat["loa"]
    ):
        faults.append("boat.hull_length: is longer than loa, the length over everything")
    stay = data.get("stay") if isinstance(data.get("stay"), dict) else {}
    arrive, depart = (_moment(stay.get(k)) for k in ("arrive", "depart"))
    if arrive and depart and depart <= arrive:
        faults.append("stay.depart: must be after stay.arrive")
    curve = water.get("curve")
    if isinstance(curve, list):
        times = [_moment(row[0]) for row in curve if isinstance(row, list | tuple) and row]
        if all(times) and any(b <= a for a, b in pairwise(times)):
            faults.append("water.curve: times must rise from row to row")
    return faults


def _moment(value):
    try:
        moment = value if isinstance(value, datetime) else datetime.fromisoformat(value)
    except (TypeError, ValueError):
        return None
    return moment if moment.tzinfo else None
