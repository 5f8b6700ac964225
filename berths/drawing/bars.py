"""Bars that lie: one row a thing, its parts told by fill as well as by words, the sum at the end."""

from berths.drawing import geometry as g
from berths.drawing.measure import SYSTEM, text_width
from berths.drawing.shapes import Drawing, Polygon, Polyline, Text

WIDTH, ROW, BAR, TEXT = 400.0, 30.0, 16.0, 13.0  # units of the page: the column of a phone
MOST_LABEL = 0.5  # of the width


def bars(title, parts, rows, unit):
    """Draw sums as bars.

    Parameters
    ----------
    title : str
    parts : sequence of str
        At most three: what the solid, the hatched and the broken part of a bar stand for.
    rows : sequence of (str, sequence of float)
        A label, and one value for each part; none below zero.
    unit : str
        Of the values, for the words.

    Returns
    -------
    Drawing
    """
    most = max((sum(values) for _, values in rows), default=0) or 1.0
    room = min(MOST_LABEL * WIDTH, max((_long(label) for label, _ in rows), default=0.0) + 8)
    end = max(_long(f"{sum(values):,.0f}") for _, values in rows) + 8 if rows else 8
    scale = (WIDTH - room - end) / most
    height = ROW * (len(rows) + 1) + 6
    shapes, told = [], []
    for n, (label, values) in enumerate(rows):
        v = height - ROW * (n + 1) + ROW / 2
        shapes.append(Text(room - 6, v, label, TEXT, anchor="end", of=f"row {label}"))
        u = room
        for part, value in enumerate(values):
            if value > 0:
                shapes += _part(u, v, value * scale, part, f"{label}: {parts[part]}")
                u += value * scale
        shapes.append(Text(u + 6, v, f"{sum(values):,.0f}", TEXT, anchor="start", of=f"sum {label}"))
        said = ", ".join(f"{parts[k]} {value:,.0f}" for k, value in enumerate(values) if value > 0)
        told.append(f"{label}: {sum(values):,.0f} {unit}" + (f" ({said})." if said else "."))
    shapes += _key(parts)
    return Drawing(tuple(shapes), (0.0, 0.0, WIDTH, height), 1.0, title, tuple(told))


def _long(words):
    return text_width(words) * TEXT * SYSTEM


def _part(u, v, long, part, of):
    """Solid, hatched or in a broken frame."""
    box = ((u, v - BAR / 2), (u + long, v - BAR / 2), (u + long, v + BAR / 2), (u, v + BAR / 2))
    if part == 0:
        return [Polygon(box, "deck", of)]
    strokes = [Polyline(s, "thin", "hatching") for s in g.hatch(list(box), 5.0)] if part == 1 else []
    return [Polygon(box, "thin" if part == 1 else "blank", of), *strokes]


def _key(parts):
    """What the fills stand for, at the foot."""
    u = 4.0
    for part, words in enumerate(parts):
        yield from _part(u, ROW / 2, 18.0, part, f"key {words}")
        yield Text(u + 24, ROW / 2, words, TEXT, anchor="start", of=f"key {words}")
        u += 24 + _long(words) + 16
