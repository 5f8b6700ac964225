"""What is written into a plan: numbers of the lines, names of fastenings, arrows, scale bar and north."""

import itertools
import math
from dataclasses import dataclass

from berths.drawing import geometry as g
from berths.drawing.labels import Label, place
from berths.drawing.measure import text_width
from berths.drawing.scene import angle_of
from berths.drawing.shapes import Circle, Polygon, Polyline, Text


def marks_of(scenario, scene, fittings, sheet, *, arrows, feet):
    """Numbers first, then the names of what the lines go to, then arrows and scale where room is left."""
    box, text, paper = sheet.box, sheet.text, sheet.paper
    radius, rim = 0.72 * text, 0.25 * text
    frame = (box[0] + rim, box[1] + rim, box[2] - rim, box[3] - rim)
    strokes = [s for line in scene.leads for s in _segments(line.path)]
    hull = _segments((*scene.hull, scene.hull[0]))
    ends = [(*f.at, f.radius if f.kind == "pile" else max(f.radius, 0.3 * text)) for f in fittings if f.used]
    ends += [(*line.path[0], 0.13 * text) for line in scene.leads]
    others = [(*f.at, f.radius) for f in fittings if not f.used]
    discs = {f"line {line.id}": line for line in scene.leads}
    named = {f"name {f.id}": f for f in fittings if f.used or not paper.card}
    signs = _signs(scenario, sheet, arrows, feet)
    wanted = [_disc_label(name, line, radius) for name, line in discs.items()]
    wanted += [_name_label(name, f, sheet) for name, f in named.items()]
    wanted += [Label(s.id, s.half, _corners(frame, s.half, s.corners), (0, 0)) for s in signs]
    placed = place(wanted, frame=frame, solids=ends + others, strokes=strokes + hull, gap=0.12 * text)
    shapes = []
    for name, line in discs.items():
        if name in placed:
            shapes += _disc(placed[name], line, radius, text)
    for name, f in named.items():
        if name in placed:
            shapes += _name(placed[name], f, text)
    for sign in signs:
        if sign.id in placed:
            shapes += sign.draw(placed[sign.id])
    return _sorted_by_pen(shapes)


def _sorted_by_pen(shapes):
    """Strokes and plates before words, so that a plate never hides a word and few paths are needed."""
    order = {"thin": 0, "plate": 1, "disc": 2}
    return sorted(shapes, key=lambda s: order.get(s.pen, 4 if isinstance(s, Text) else 3))


def _segments(path):
    return list(itertools.pairwise(path))


def _disc_label(name, line, radius):
    """On the line itself, near its shore end; beside it where that is taken; of a short line, beyond its end."""
    path = tuple(reversed(line.path))
    total, wishes = g.path_length(path), []
    steps = max(1, int((total - 2 * radius) / (0.6 * radius)))
    for n in range(min(steps, 24)):
        at, ahead = g.along(path, 1.35 * radius + 0.6 * radius * n)
        for side, cost in ((0, 0.0), (1.25, 0.7), (-1.25, 0.7), (2.2, 1.2), (-2.2, 1.2)):
            wishes.append(_beside(at, ahead, side * radius, cost + 0.12 * n))
    end, ahead = path[0], g.unit(g.sub(path[1], path[0]))
    beyond = g.sub(end, g.scaled(ahead, 1.75 * radius))
    for side, cost in ((0, 0.0), (0.9, 0.1), (-0.9, 0.1), (1.7, 0.2), (-1.7, 0.2)):
        wishes.append(_beside(beyond, ahead, side * radius, cost + (0.0 if total < 7 * radius else 0.9)))
    wishes.sort(key=lambda w: w[2])
    return Label(name, (radius, radius), tuple(wishes), path[0], tuple(_segments(line.path)))


def _beside(at, ahead, side, cost):
    return (at[0] - side * ahead[1], at[1] + side * ahead[0], cost)


def _disc(spot, line, radius, text):
    near = min((_nearest((spot.u, spot.v), *s) for s in _segments(line.path)), key=lambda p: p[1])
    shapes = [Circle(spot.u, spot.v, radius, "disc", f"number {line.id}")]
    if near[1] > radius:
        toward = g.scaled(g.unit(g.sub(near[0], (spot.u, spot.v))), radius)
        shapes.insert(0, Polyline((near[0], g.add((spot.u, spot.v), toward)), "thin", f"leader {line.id}"))
    return [*shapes, Text(spot.u, spot.v, str(line.order), text, "text-bold", of=f"number {line.id}")]


def _nearest(point, p, q):
    d = g.sub(q, p)
    size = g.dot(d, d)
    t = 0.0 if size == 0 else min(1.0, max(0.0, g.dot(g.sub(point, p), d) / size))
    at = g.add(p, g.scaled(d, t))
    return at, g.length(g.sub(point, at))


def _name_label(name, f, sheet):
    text = sheet.text
    half = (sheet.room(text_width(f.id)) / 2 + 0.1 * text, 0.45 * text)
    wishes = []
    for ring in (0.35, 0.65, 1.0, 1.4):
        for n, (du, dv) in enumerate(((0, -1), (1, 0), (-1, 0), (0, 1), (1, -1), (-1, -1), (1, 1), (-1, 1))):
            away = max(f.radius, 0.3 * text) + ring * text
            wishes.append((f.at[0] + du * (half[0] + away), f.at[1] + dv * (half[1] + away), 0.1 * n + ring))
    return Label(name, half, tuple(sorted(wishes, key=lambda w: w[2])), f.at)


def _name(spot, f, text):
    u0, v0, u1, v1 = spot.box
    plate = Polygon(((u0, v0), (u1, v0), (u1, v1), (u0, v1)), "plate", f"name {f.id}")
    shapes = [plate, Text(spot.u, spot.v, f.id, text, of=f"name {f.id}")]
    if spot.far:
        at, _ = _nearest(f.at, (u0, spot.v), (u1, spot.v))
        shapes.append(Polyline((f.at, at), "thin", f"leader {f.id}"))
    return shapes


@dataclass(frozen=True)
class Sign:
    """Something that wants a corner: an arrow with its words, the scale bar, north."""

    id: str
    half: tuple
    corners: str
    draw: object  # Placed -> shapes


def _corners(frame, half, corners):
    (u0, v0, u1, v1), (w, h) = frame, half
    spots = {"sw": (u0 + w, v0 + h), "se": (u1 - w, v0 + h), "nw": (u0 + w, v1 - h), "ne": (u1 - w, v1 - h)}
    spots |= {"n": ((u0 + u1) / 2, v1 - h), "w": (u0 + w, (v0 + v1) / 2), "e": (u1 - w, (v0 + v1) / 2)}
    return tuple((*spots[c], 0.1 * n) for n, c in enumerate(corners.split()))


def _signs(scenario, sheet, arrows, feet):
    signs = [_arrow_sign(words, angle_of(scenario, toward), sheet, "ne nw n e w") for words, toward in arrows]
    if not sheet.paper.card:
        signs.append(_arrow_sign("N", angle_of(scenario, 0.0), sheet, "nw ne w e"))
        signs.append(_scale_sign(sheet, feet))
    return signs


def _arrow_sign(words, angle, sheet, corners):
    text = sheet.text
    wide = max(sheet.room(text_width(words)), 2.4 * text) / 2
    half, reach = (wide, 1.9 * text), 1.15 * text
    d = (math.cos(angle) * reach, math.sin(angle) * reach)

    def draw(spot):
        middle = (spot.u, spot.v + 0.65 * text)
        tail, tip = g.sub(middle, d), g.add(middle, d)
        return [
            Polyline((tail, g.add(middle, g.scaled(d, 0.5))), "arrow", f"arrow {words}"),
            arrow_head(tip, d, 0.75 * text, f"arrow {words}"),
            Text(spot.u, spot.v - 1.25 * text, words, text, of=f"arrow {words}"),
        ]

    return Sign(f"arrow {words}", half, corners, draw)


def arrow_head(tip, direction, size, what):
    ahead = g.scaled(g.unit(direction), size)
    aside = (-0.45 * ahead[1], 0.45 * ahead[0])
    back = g.sub(tip, ahead)
    return Polygon((tip, g.add(back, aside), g.sub(back, aside)), "head", what)


def _scale_sign(sheet, feet):
    unit = 0.3048 if feet else 1.0
    box, text = sheet.box, sheet.text
    room = (box[2] - box[0]) / 4 / unit
    count = max(n for n in (1, 2, 5, 10, 20, 50, 100) if n <= max(room, 1))
    bar, words = count * unit, f"{count} {'ft' if feet else 'm'}"
    half = (max(bar, sheet.room(text_width(words))) / 2 + 0.1 * text, 0.85 * text)

    def draw(spot):
        u0, u1, v, tick = spot.u - bar / 2, spot.u + bar / 2, spot.v - 0.45 * text, 0.3 * text
        ends = ((u0, v + tick), (u0, v), (u1, v), (u1, v + tick))
        return [Polyline(ends, "arrow", "scale"), Text(spot.u, spot.v + 0.35 * text, words, text, of="scale")]

    return Sign("scale", half, "nw ne w e n", draw)
