"""The harbour from above, north up: docks, piles, berths by their codes, and who lies in them."""

import math

from berths.drawing.shapes import Circle, Drawing, Polygon, Polyline, Text, bounds_of, thinned

WIDTH = 1500.0  # units of the page: less, and the codes of narrow slips run into each other; a phone scrolls
TEXT = 14.0
FINE = 0.35  # units of the page: what an outline may lose
AIR = 8.0  # m around everything
SIDE_TO_BREADTH = 4.0  # m off the face where the code of an empty berth stands
END_ON = ("slip", "box", "stern_to")


def harbour_plan(berths, hulls, faces, piles, href=None):
    """Draw a harbour to scale. In this drawing u is metres east and v metres north.

    Parameters
    ----------
    berths : sequence
        With place, bearing, kind, length, clear_width and code; `lying` holds the stays in it.
    hulls : sequence of (str, array (n, 2))
        A boat's name and her outline on the plan. [m east, m north]
    faces : sequence
        Edges of docks: east1, north1, east2, north2.
    piles : sequence
        east, north, diameter and label; drawn round, with their diameter. Cleats would be dust at this scale.
    href : callable, optional
        Where a berth leads to when it is pressed, given the berth.

    Returns
    -------
    Drawing
    """
    hulls = [(name, tuple(map(tuple, outline))) for name, outline in hulls]
    edges = [((float(f.east1), float(f.north1)), (float(f.east2), float(f.north2))) for f in faces]
    ends = [_on_plan(berth, x, 0.0) for berth in berths for x in (0.0, float(berth.length))]
    piles = [_pile(f) for f in piles]
    edged, shaped = (p for edge in edges for p in edge), (p for _, hull in hulls for p in hull)
    box = _around([*ends, *edged, *shaped, *((pile.u, pile.v) for pile in piles)])
    per_metre = WIDTH / (box[2] - box[0])
    text = TEXT / per_metre
    shapes = [Polyline(edge, "edge", "face") for edge in edges]
    shapes += piles
    fine = FINE / per_metre
    shapes += [Polygon(thinned(outline, fine), "hull", f"boat {name}") for name, outline in hulls]
    for b in berths:
        area, leads = (_area(b), href(b)) if href else ((), "")
        place = _middle(b)
        shapes.append(Text(*place, b.code, text, "text-bold", "middle", f"berth {b.code}", leads, area))
    shapes += _scale_and_north(box, text)
    return Drawing(tuple(shapes), box, per_metre, "The harbour from above, north up", _sentences(berths))


def _on_plan(berth, x, y):
    """A point of the berth's frame (+x along its bearing, y to the left of it) in metres east and north."""
    a = math.radians(float(berth.bearing_deg))
    east = float(berth.east) + x * math.sin(a) - y * math.cos(a)
    return east, float(berth.north) + x * math.cos(a) + y * math.sin(a)


def _middle(berth):
    return _on_plan(berth, float(berth.length) / 2, 0.0 if berth.kind in END_ON else SIDE_TO_BREADTH / 2)


def _area(berth):
    """What is pressed to reach a berth: all of it."""
    half = float(berth.clear_width or SIDE_TO_BREADTH) / 2
    low, high = (-half, half) if berth.kind in END_ON else (0.0, 2 * half)
    long = float(berth.length)
    return tuple(_on_plan(berth, x, y) for x, y in ((0.0, low), (long, low), (long, high), (0.0, high)))


def _pile(fastening):
    radius = float(fastening.diameter or 0.3) / 2
    return Circle(float(fastening.east), float(fastening.north), radius, "pile", f"pile {fastening.label}")


def _around(points):
    """The frame with air around; one long pier still gets room for the north arrow and the scale."""
    u1, v1, u2, v2 = bounds_of(points)
    lacking = max(0.0, 0.12 * (u2 - u1) - (v2 - v1)) / 2
    air = max(AIR, 2 * TEXT / WIDTH * (u2 - u1))  # in a wide harbour the codes are large, in metres
    return (u1 - air, v1 - air - lacking, u2 + air, v2 + air + lacking)


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
