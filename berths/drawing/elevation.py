"""Seen from the side: the boat at the lowest and at the highest water in one picture, the water now, and how
steep her lines lead at the lowest.

Seen by the same reader as the plan. In a slip the dock is at the left and the fairway at the right;
alongside, the dock is behind her and +x of the berth is to the right. u is along the berth, v the height
above datum. Metres.
"""

import math

from berths.drawing import geometry as g
from berths.drawing.labels import Label, place, spread
from berths.drawing.levels import levels_of, profile
from berths.drawing.measure import text_width
from berths.drawing.paper import PAGE
from berths.drawing.scene import deck_places
from berths.drawing.shapes import Circle, Drawing, Polygon, Polyline, Text
from berths.tieup.geometry import to_berth


def elevation(scenario, verdict=None, paper=PAGE, *, now=None, say=None, sentences=()):
    """Draw her from the side at both ends of the water.

    Parameters
    ----------
    scenario : Scenario
    verdict : Verdict, optional
    paper : plan.Paper
    now : float, optional
        Level of the water now, where it is known. [m]
    say : callable, metres -> str
        How a height is told in the reader's unit; metres to the centimetre when left out.
    sentences : sequence of str

    Returns
    -------
    Drawing
    """
    say = say or "{:.2f} m".format
    at = levels_of(scenario)
    left, right = _span(scenario, verdict)
    heights = _heights(scenario, at, now)
    labels = [(z, f"{words} {say(z)}") for z, words in heights]
    widest = max((text_width(w) for _, w in labels), default=6) * paper.text * paper.type_room
    scale = (paper.width - widest - 2.2 * paper.text) / (right - left)
    text = paper.text / scale
    low, high = _vertical(at, heights)
    low, high = low - 1.2 * text, high + 1.1 * text
    missing = max(0.0, 1.25 * text * len(labels) - (high - low))
    box = (left, low - missing / 2, left + paper.width / scale, high + missing / 2)
    shapes = [
        *_bed(at, left, right, box, text),
        *_water(at, left, right, now, text),
        *_dock(scenario, at, left=left, right=right, box=box, text=text),
    ]
    shapes += _piles(scenario, at, box, left, right)
    lines = _lines(scenario, verdict)
    for level, pen in ((at.highest, "hull-high"), (at.lowest, "hull")):
        if level is not None:
            shapes.append(_hull(scenario, at, level, pen))
    if now is not None:
        shapes.append(_hull(scenario, at, now, "hull-now"))
    highest = lines(at.highest)
    shapes += [Polyline(path, "line-high", f"line {name} high") for name, _, path in highest]
    lowest = lines(at.lowest)
    shapes += [Polyline(path, "line-low", f"line {name} low") for name, _, path in lowest]
    steep = steepness(scenario, verdict, at.lowest)
    shapes += _numbers(lowest, highest, steep, (left, box[1], right, box[3]), text)
    shapes += _height_labels(labels, right, box, text)
    return Drawing(
        tuple(shapes),
        box,
        scale,
        "Seen from the side, at the lowest and at the highest water"
        + (", and now" if now is not None else ""),
        tuple(sentences),
    )


def _span(scenario, verdict):
    """Left and right of the picture: her, her lines, and a piece of dock."""
    boat = scenario.boat
    places = {f.id: f.x for f in scenario.berth.fittings or [] if f.x is not None}
    xs = [x for x, _ in to_berth(boat, [[0, 0], [boat.loa, 0]])]
    xs += [
        places[line.shore_fitting]
        for line in (verdict.lines if verdict else [])
        if line.shore_fitting in places
    ]
    if scenario.berth.kind == "slip":
        xs.append(-1.6)
    return float(min(xs)) - 0.6, float(max(xs)) + 0.6


def _heights(scenario, at, now):
    """What is labelled at the edge, from the top down: (height above datum, words)."""
    rows = []
    if at.highest is not None:
        rows.append((at.highest, "highest"))
    if at.lowest is not None:
        rows.append((at.lowest, "lowest"))
    if now is not None:
        rows.append((now, "now"))
    if at.bed is not None:
        rows.append((at.bed, "bed"))
    if at.dock_top is not None and not at.floats:
        rows.append((at.dock_top, "dock edge"))
        if at.underside is not None:
            rows.append((at.underside, "underside"))
    tops = {
        round(f.top_z, 2) for f in scenario.berth.fittings or [] if f.kind == "pile" and f.top_z is not None
    }
    rows += [(z, "pile top" if len(tops) > 1 else "pile tops") for z in tops]
    if scenario.berth.guide_pile_top_z is not None:
        rows.append((scenario.berth.guide_pile_top_z, "guide-pile top"))
    return sorted(rows, reverse=True)


def _vertical(at, heights):
    values = [z for z, _ in heights] or [0.0]
    for level in (at.lowest, at.highest):
        if level is not None:
            values += [level - (at.draft or 0.3), level + 1.1 * at.rail]
            if at.floats and at.dock_top is not None:
                values.append(level + at.dock_top)
    return min(values), max(values)


def _bed(at, left, right, box, text):
    if at.bed is None:
        return []
    band = [(left, box[1]), (right, box[1]), (right, at.bed), (left, at.bed)]
    band = g.clip_polygon(band, (left, max(box[1], at.bed - 0.8 * text), right, at.bed))
    strokes = [Polyline(s, "solid", "solid bed") for s in g.hatch(band, 0.55 * text)] if band else []
    return [*strokes, Polyline(((left, at.bed), (right, at.bed)), "edge", "bed")]


def _water(at, left, right, now, text):
    shapes = []
    if at.highest is not None:
        shapes.append(Polyline(((left, at.highest), (right, at.highest)), "water-high", "highest"))
    if at.lowest is not None:
        shapes.append(Polyline(((left, at.lowest), (right, at.lowest)), "water", "lowest water"))
    if now is not None:
        steps = 48
        wave = [
            (left + (right - left) * n / steps, now + 0.14 * text * math.sin(math.tau * n / 4))
            for n in range(steps + 1)
        ]
        shapes.append(Polyline(tuple(wave), "thin", "water now"))
    return shapes


def _dock(scenario, at, *, left, right, box, text):
    if at.dock_top is None:
        return []
    if at.floats:
        levels = [(at.lowest, "edge"), (at.highest, "hull-high")]
        where = (left, 0.0) if scenario.berth.kind == "slip" else (left, right)
        return [
            Polyline(((where[0], z + at.dock_top), (where[1], z + at.dock_top)), pen, "dock edge")
            for z, pen in levels
            if z is not None
        ]
    foot = at.underside if at.underside is not None else at.bed if at.bed is not None else box[1]
    if scenario.berth.kind == "slip":
        block = [(left, foot), (0.0, foot), (0.0, at.dock_top), (left, at.dock_top)]
        strokes = [Polyline(s, "solid", "solid dock") for s in g.hatch(block, 0.55 * text)]
        return [
            *strokes,
            Polyline(
                ((left, at.dock_top), (0.0, at.dock_top), (0.0, foot), (left, foot)), "edge", "dock edge"
            ),
        ]
    shapes = [Polyline(((left, at.dock_top), (right, at.dock_top)), "edge", "dock edge")]
    if at.underside is not None:
        shapes.append(Polyline(((left, at.underside), (right, at.underside)), "thin", "underside of dock"))
    return shapes


def _piles(scenario, at, box, left, right):
    foot = at.bed if at.bed is not None else box[1]
    shapes, seen = [], set()
    for f in scenario.berth.fittings or []:
        if f.kind != "pile" or f.x is None or f.top_z is None or (round(f.x, 2), f.top_z) in seen:
            continue
        r = (f.diameter or 0.3) / 2
        if left <= f.x - r and f.x + r <= right:
            seen.add((round(f.x, 2), f.top_z))
            corners = ((f.x - r, foot), (f.x + r, foot), (f.x + r, f.top_z), (f.x - r, f.top_z))
            shapes.append(Polygon(corners, "pile-side", f"pile {f.id}"))
    if scenario.berth.guide_pile_top_z is not None:
        u = left + 0.25
        ends = ((u, foot), (u, scenario.berth.guide_pile_top_z))
        shapes.append(Polyline(ends, "edge", "guide pile"))
    return shapes


def _hull(scenario, at, level, pen):
    boat = scenario.boat
    ahead = math.cos(math.radians(boat.heading_deg))
    points = tuple(
        (boat.x + ahead * (x - boat.loa / 2), z + level) for x, z in profile(boat.loa, at.rail, at.draft)
    )
    names = {"hull": "hull low", "hull-high": "hull high", "hull-now": "hull now"}
    return Polygon(points, pen, names[pen])


def _lines(scenario, verdict):
    """A function of the level: (id, order, path) of each line whose ends have a known place and height."""
    boat, places = scenario.boat, deck_places(scenario.boat)
    heights = {f.id: f.z for f in boat.fittings or []}
    shore = {f.id: f for f in scenario.berth.fittings or [] if f.x is not None and f.z is not None}
    at = levels_of(scenario)

    def paths(level):
        out = []
        for line in [] if level is None or verdict is None else verdict.lines:
            end, start = shore.get(line.shore_fitting), places.get(line.boat_fitting)
            if end is None or start is None:
                continue
            x, _ = to_berth(boat, [start])[0]
            z = heights.get(line.boat_fitting)
            floats = scenario.berth.kind == "floating" if end.floats is None else end.floats
            foot = (float(x), level + (0.95 * at.rail if z is None else z))
            out.append((line.id, line.order, (foot, (end.x, end.z + (level if floats else 0.0)))))
        return out

    return paths


def steepness(scenario, verdict, level):
    """How steep each line leads from her to the shore at a level, where both ends are known.

    Returns
    -------
    dict
        Line id -> degrees; above nought it leads up from her.
    """
    boat, places = scenario.boat, deck_places(scenario.boat)
    shore = {f.id: f for f in scenario.berth.fittings or [] if None not in (f.x, f.y)}
    out = {}
    for name, _, ((_, low), (_, high)) in _lines(scenario, verdict)(level):
        line = next(line for line in verdict.lines if line.id == name)
        x, y = to_berth(boat, [places[line.boat_fitting]])[0]
        end = shore.get(line.shore_fitting)
        if end is not None:
            out[name] = math.degrees(math.atan2(high - low, math.hypot(end.x - x, end.y - y)))
    return out


def _told(orders, angles):
    """'1, 2' and, where they lead alike, how steep: '1, 2: 35°'."""
    numbers = ", ".join(map(str, sorted(orders)))
    known = [a for a in angles if a is not None]
    alike = len(known) == len(angles) and known and max(known) - min(known) < 1.5
    return f"{numbers}: {abs(sum(known) / len(known)):.0f}°" if alike else numbers


def _numbers(lines, dashed, steep, frame, text):
    """One label for lines that lie behind each other, with all their numbers and how steep they lead."""
    groups = {}
    for id_, order, path in lines:
        group = groups.setdefault(tuple(round(c / 0.4) for p in path for c in p), (path, [], []))
        group[1].append(order)
        group[2].append(steep.get(id_))
    labels, words = [], {}
    for path, orders, angles in groups.values():
        name = "number " + " ".join(map(str, sorted(orders)))
        words[name] = _told(orders, angles)
        half = (max(0.62, text_width(words[name]) / 2 * 1.25 + 0.2) * text, 0.62 * text)
        back = (path[1], path[0])
        length = g.path_length(back)
        wishes = []
        for n in range(20):
            at, ahead = g.along(back, min(length, (0.9 + 0.5 * n) * text))
            for side in (0, 1.3, -1.3):
                wishes.append(
                    (
                        at[0] - side * text * ahead[1],
                        at[1] + side * text * ahead[0],
                        0.1 * n + 0.6 * abs(side),
                    )
                )
        labels.append(Label(name, half, tuple(sorted(wishes, key=lambda w: w[2])), path[1], (path,)))
    strokes = [path for path, *_ in groups.values()] + [path for _, _, path in dashed]
    ends = [(*p, 0.1 * text) for path in strokes for p in path]
    placed = place(labels, frame=frame, solids=ends, strokes=strokes, gap=0.1 * text)
    shapes = []
    for name, spot in placed.items():
        if len(words[name]) == 1:
            shapes.append(Circle(spot.u, spot.v, spot.half[1], "disc", name))
        else:
            u0, v0, u1, v1 = spot.box
            shapes.append(Polygon(((u0, v0), (u1, v0), (u1, v1), (u0, v1)), "disc", name))
    shapes += [Text(s.u, s.v, words[name], 0.9 * text, "text-bold", of=name) for name, s in placed.items()]
    return shapes


def _height_labels(labels, right, box, text):
    """Words at the right edge, pushed apart so that each keeps its own line, with a stroke to its height."""
    spots = spread([z for z, _ in labels], [1.15 * text] * len(labels), box[1], box[3])
    shapes = []
    for (z, words), v in zip(labels, spots, strict=True):
        bend = ((right, z), (right + 0.5 * text, z), (right + 1.1 * text, v), (right + 1.5 * text, v))
        shapes.append(Polyline(bend, "thin", f"height {words}"))
    shapes += [
        Text(right + 1.7 * text, v, words, text, anchor="start", of=f"height {words}")
        for (_, words), v in zip(labels, spots, strict=True)
    ]
    return shapes
