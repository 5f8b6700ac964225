"""What could be read of a survey sheet, as a drawing and in words: it follows while somebody types."""

import math

from berths.drawing.shapes import bounds_of
from berths.drawing.survey import Seen, survey_plan
from berths.drawing.svg import to_svg
from berths.lying import END_ON
from berths.selectors.survey import lies_on, places
from berths.taping import Corner
from marina.base.units import show_length

SIDE_TO = 3.0  # m of water drawn in front of a berth to lie alongside
UNTOLD = 10.0  # m, length drawn where none was told yet


def drawn(sheet):
    """The drawing of a sheet with its words.

    Returns
    -------
    dict
        `drawing` (SVG or None), `said` (sentences: the same as the picture), `untold` (rows that are not drawn,
        and why), `near` (what stands there already).
    """
    form, corner = sheet.berth, sheet.typed_corner
    rows, untold = _rows(sheet)
    faces = [face for row in sheet.faces.told if (face := _face(row))]
    if form.told("length") is None:
        untold.insert(0, "The length of the berth is not told yet.")
    long, own = form.told("length"), sheet.stored and sheet.stored.pk
    if corner and long and (there := lies_on(corner, long, places(own))):
        untold.append(f"It would lie on {', '.join(there)}: look at its corner and bearing.")
    seen = Seen(
        bounds=_bounds(form, corner),
        fastenings=[(name, kind, at, size) for name, kind, at, size in rows],
        faces=faces,
        others=_others(sheet, corner),
        north=None if corner is None else math.radians(90 + float(corner.outward)),
    )
    said = tuple(_sentence(row, sheet.units) for row in rows)
    feet = sheet.units == "ft"
    near = [
        f
        for f in sheet.standing
        if f.label not in {row.same.label for row in sheet.fastenings.told if row.same}
    ]
    return {
        "drawing": to_svg(survey_plan(seen, feet=feet, sentences=said)),
        "said": said,
        "untold": untold,
        "near": near[:40],
    }


def _bounds(form, corner):
    length = float(form.told("length") or UNTOLD)
    if form.told("kind") not in END_ON:
        return (0.0, 0.0, length, SIDE_TO)
    width = float(form.told("clear_width") or 0) or 2 * float(corner.to_middle if corner else 0) or 4.0
    middle = float(corner.to_middle) if corner else width / 2
    return (middle - width / 2, 0.0, middle + width / 2, length)


def _rows(sheet):
    """(name, kind, (along, out), size) of each row that can be drawn, and a word on each that cannot."""
    rows, untold, names = [], [], set()
    for number, row in enumerate(sheet.fastenings.told, start=1):
        if row.told("gone"):
            continue
        name = row.told("code") or f"row {number}"
        name = name if name not in names else f"{name} ({number})"
        names.add(name)
        at = _at(row, sheet.typed_corner)
        if at is None:
            untold.append(f"{name}: its place is not told yet.")
            continue
        kind = (row.same.kind if row.same else row.told("kind")) or "cleat"
        size = row.told("diameter") or row.told("cleat_length")
        rows.append((name, kind, at, float(size) if size else None))
    return rows, untold


def _at(row, corner):
    along, out = row.told("along"), row.told("out")
    if row.same and corner and (along is None or out is None):
        along, out = corner.taped(row.same.east, row.same.north)
    return None if along is None or out is None else (float(along), float(out))


def _face(row):
    ends = [row.told(name) for name in ("along1", "out1", "along2", "out2")]
    if row.told("gone") or None in ends:
        return None
    a1, o1, a2, o2 = map(float, ends)
    return None if (a1, o1) == (a2, o2) else (row.told("code") or "face", (a1, o1), (a2, o2))


def _others(sheet, corner):
    if corner is None:
        return []
    same = {row.same.pk for row in sheet.fastenings.told if row.same}
    found = []
    for it in sheet.standing:
        if it.pk not in same:
            along, out = corner.taped(it.east, it.north)
            found.append((it.label, it.kind, (float(along), float(out)), float(it.diameter or 0) or None))
    return found


def _sentence(row, units):
    name, kind, (along, out), _ = row
    away = show_length(abs(out), "level", units)
    where = f"{away} out" if out > 0 else f"{away} back from the edge" if out < 0 else "at the edge"
    return f"{name}, {kind.replace('_', ' ')}: {show_length(along, 'level', units)} along, {where}."


def drawn_copies(berth, made, units):
    """The berth with its copies, as one stands on the dock: `drawing`, `wide` where it needs room."""
    corner = Corner.of(berth)
    new = {id(row.thing): row.thing for one in made.surveys for row in one.fastenings}
    bounds = [(one.code, _bounds_of(one, corner)) for one in [berth, *(s.berth for s in made.surveys)]]
    seen = Seen(
        bounds=bounds_of([(u, v) for _, b in bounds for u, v in (b[:2], b[2:])]),
        parts=bounds,
        fastenings=[_thing(it, corner) for it in new.values() if it.pk is None],
        others=[_thing(it, corner) for it in made.standing],
        faces=_faces_of(berth, made, corner),
        north=math.radians(90 + float(corner.outward)),
    )
    said = tuple(f"{one.berth.code}: {len(one.fastenings)} fastenings." for one in made.surveys)
    wide = len(bounds) > 4
    drawing = survey_plan(seen, feet=units == "ft", sentences=said, wide=wide)
    return {"drawing": to_svg(drawing), "wide": wide}


def _thing(it, corner):
    along, out = corner.taped(it.east, it.north)
    return ("", it.kind, (float(along), float(out)), float(it.diameter or 0) or None)


def _bounds_of(berth, corner):
    """A berth's bounds as seen from another one's corner, whose bearing it has."""
    own = Corner.of(berth)
    along, out = map(float, corner.taped(own.east, own.north))
    if berth.kind not in END_ON:
        return (along, out, along + float(berth.length), out + SIDE_TO)
    return (along, out, along + 2 * float(own.to_middle), out + float(berth.length))


def _faces_of(berth, made, corner):
    found = {}
    own = [(row.code, row.face) for row in berth.faces.select_related("face")]
    for code, it in [*own, *((row.code, row.thing) for one in made.surveys for row in one.faces)]:
        ends = corner.taped(it.east1, it.north1), corner.taped(it.east2, it.north2)
        found[ends] = (code, *(tuple(map(float, end)) for end in ends))
    return list(found.values())
