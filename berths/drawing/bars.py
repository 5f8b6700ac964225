"""Bars that lie: one row a thing, its parts told by fill as well as by words, the sum at the end."""

from berths.drawing import geometry as g
from berths.drawing.measure import SYSTEM, text_width
from berths.drawing.shapes import Drawing, Polygon, Polyline, Text

WIDTH, ROW, BAR, TEXT = 420.0, 52.0, 18.0, 17.0  # units of the page: the column of a phone
KEY, SMALL = 34.0, 14.5  # height of the foot, and its type


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
    end = max((_long(f"{sum(values):,.0f}") for _, values in rows), default=0.0) + 10
    scale = (WIDTH - 4 - end) / most
    height = ROW * len(rows) + KEY
    shapes, told = [], []
    for n, (label, values) in enumerate(rows):
        top, u = height - ROW * n, 2.0
        v = top - ROW + BAR / 2 + 4
        shapes.append(Text(u, top - 0.75 * TEXT, label, TEXT, anchor="start", of=f"row {label}"))
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
    u = 2.0
    for part, words in enumerate(parts):
        yield from _part(u, KEY / 2, 18.0, part, f"key {words}")
        yield Text(u + 22, KEY / 2, words, SMALL, anchor="start", of=f"key {words}")
        u += 22 + _long(words) * SMALL / TEXT + 10
