"""The harbour from above, north up: docks, piles, berths by their codes, and who lies in them."""

import math

from berths.drawing.shapes import Circle, Drawing, Polygon, Polyline, Text, bounds_of

WIDTH = 1000.0  # units of the page; a phone scrolls it
TEXT = 11.0
AIR = 8.0  # m around everything
END_ON = ("slip", "box", "stern_to")


def harbour_plan(berths, faces, fastenings):
    """Draw a harbour to scale.

    Parameters
    ----------
    berths : sequence
        With place, bearing, kind, length, clear_width, code, and `lying`: the stays in it.
    faces : sequence
        Edges of docks, `east1 north1 east2 north2`.
    fastenings : sequence
        Piles are drawn round, with their diameter; the rest would be dust at this scale.

    Returns
    -------
    Drawing
        u is metres east, v metres north.
    """
    rows = [(b, _frame(b)) for b in berths]
    hulls = [(stay, _hull(b, to_plan, stay)) for b, to_plan in rows for stay in b.lying]
    edges = [((float(f.east1), float(f.north1)), (float(f.east2), float(f.north2))) for f in faces]
    corners = [to_plan(x, 0.0) for b, to_plan in rows for x in (0.0, float(b.length))]
    box = _around([*corners, *(p for e in edges for p in e), *(p for _, hull in hulls for p in hull)])
    per_metre = WIDTH / (box[2] - box[0])
    text = TEXT / per_metre
    shapes = [Polyline(edge, "edge", "face") for edge in edges]
    shapes += [_pile(f) for f in fastenings if f.kind == "pile"]
    shapes += [Polygon(hull, "hull", f"boat {stay.vessel.name}") for stay, hull in hulls]
    shapes += [
        Text(*_middle(b, to_plan), b.code, text, "text-bold", "middle", f"berth {b.code}")
        for b, to_plan in rows
    ]
    shapes += _scale_and_north(box, text)
    return Drawing(tuple(shapes), box, per_metre, "The harbour from above, north up", _sentences(berths))


def _frame(berth):
    """The berth's own x, y to metres east and north; +x has the bearing, y lies to the left of it."""
    a = math.radians(float(berth.bearing_deg))
    east, north = float(berth.east), float(berth.north)

    def to_plan(x, y):
        return (east + x * math.sin(a) - y * math.cos(a), north + x * math.cos(a) + y * math.sin(a))

    return to_plan


def _breadth(berth):
    return float(berth.clear_width) if berth.clear_width else 4.0


def _middle(berth, to_plan):
    y = 0.0 if berth.kind in END_ON else _breadth(berth) / 2
    return to_plan(float(berth.length) / 2, y)


def _hull(berth, to_plan, stay):
    """Her outline where boats usually lie: in the middle of a slip 0.6 m off the dock, else along the face."""
    loa, beam = float(stay.vessel.loa or 8.0), float(stay.vessel.beam or 2.8)
    outline = [
        (0, 0.40),
        (0.15, 0.46),
        (0.5, 0.5),
        (0.8, 0.36),
        (1.0, 0.0),
        (0.8, -0.36),
        (0.5, -0.5),
        (0.15, -0.46),
        (0, -0.40),
    ]
    if berth.kind in END_ON:
        start, y = 0.6, 0.0
    else:
        start, y = (float(berth.length) - loa) / 2, (stay.raft_place + 0.5) * (beam + 0.3)
    bow_out = stay.end_in != "bow" if berth.kind in END_ON else stay.side_to != "port"
    along = [(s if bow_out else 1 - s) * loa + start for s, _ in outline]
    return tuple(to_plan(x, y + share * beam) for x, (_, share) in zip(along, outline, strict=True))


def _pile(fastening):
    radius = float(fastening.diameter or 0.3) / 2
    return Circle(float(fastening.east), float(fastening.north), radius, "pile", f"pile {fastening.label}")


def _around(points):
    u1, v1, u2, v2 = bounds_of(points)
    return (u1 - AIR, v1 - AIR, u2 + AIR, v2 + AIR)


def _scale_and_north(box, text):
    length = next((n for n in (100, 50, 20, 10) if n * 4 < box[2] - box[0]), 5)
    u, v = box[0] + 2, box[1] + 1.2 * text
    yield Polyline(((u, v), (u + length, v)), "bar", "scale")
    yield Text(u + length + text, v, f"{length} m", text, "text", "start", "scale")
    n, top = box[2] - 1.5 * text, box[3] - 0.5 * text
    yield Polyline(((n, top - 2.6 * text), (n, top)), "arrow", "north")
    yield Polygon(((n, top), (n - 0.4 * text, top - text), (n + 0.4 * text, top - text)), "head", "north")
    yield Text(n, top - 3.3 * text, "N", text, "text-bold", "middle", "north")


def _sentences(berths):
    taken = [f"{b.code}: {', '.join(s.vessel.name for s in b.lying)}." for b in berths if b.lying]
    free = [b.code for b in berths if not b.lying]
    return (*taken, f"Free: {', '.join(free)}." if free else "No berth is free.")
