"""The water ruler: the left edge of a card, an upright scale of the water drawn to scale with the berth.

Dock edge and bed as thick bars, the water now as a wave, the next low and high as ticks with their times,
and her section at the lowest water, so that a hand sees at a glance how far down she goes. u is across, v
the height above datum, both in metres at the ruler's own scale.
"""

import math
from dataclasses import dataclass

from berths.drawing.labels import spread
from berths.drawing.levels import levels_of
from berths.drawing.measure import wrap
from berths.drawing.shapes import Drawing, Polygon, Polyline, Text

DEEPER = 1.5  # m: a bed further than this under her keel at the lowest water is off the scale


@dataclass(frozen=True)
class Mark:
    """One level on the ruler: 'now', or a turn of the water; `words` are its lines of text. [m]"""

    level: float
    words: tuple
    now: bool = False


@dataclass(frozen=True)
class _Labelled:
    at: float
    lines: list
    pen: str


def ruler(scenario, marks, *, width=14.0, height=110.0, text=3.0):
    """Draw the water ruler.

    Parameters
    ----------
    scenario : Scenario
    marks : sequence of Mark
    width, height, text : float
        Of the strip and of its type. [mm]

    Returns
    -------
    Drawing
    """
    at = levels_of(scenario)
    if at.floats:
        return _floating(marks, width, height, text)
    if at.lowest is None or at.highest is None:
        return _unknown(width, height, text)
    low, high = _ends(at, marks)
    scale = (height - 1.6 * text) / (high - low)
    t = text / scale
    box = (0.0, low - 0.8 * t, width / scale, high + 0.8 * t)
    wide = box[2]
    section = _section(at, wide)
    shapes = [Polygon(section, "hull", "section at low")]
    labelled = [_Labelled(m.level, _lines(m.words, width, text), "text-bold") for m in marks]
    for z, name in ((at.dock_top, "dock edge"), (at.bed, "bed")):
        if z is not None and low <= z <= high:
            shapes.append(Polyline(((0.0, z), (wide, z)), "bar", name))
            offset = -0.75 * t if name == "dock edge" else 0.75 * t
            labelled.append(_Labelled(z + offset, [name], "text"))
    labelled.append(_Labelled(at.lowest + at.rail, ["her rail"], "text"))
    if at.draft is not None:
        labelled.append(_Labelled(at.lowest - at.draft, ["her keel"], "text"))
    shapes += [_wave(m.level, wide, t) if m.now else _tick(m.level, wide) for m in marks]
    shapes += _texts(sorted(labelled, key=lambda w: -w.at), box, wide, t)
    return Drawing(tuple(shapes), box, scale, "Water against dock and bed, with her at the lowest water")


def _ends(at, marks):
    keel = at.lowest - (at.draft or 0.0)
    low = keel - 0.2 if at.bed is None or at.bed < keel - DEEPER else min(at.bed, keel)
    tops = [at.highest, at.lowest + at.rail, *(m.level for m in marks)]
    tops += [at.dock_top] if at.dock_top is not None else []
    return min(low, at.lowest - 0.5, *(m.level for m in marks)), max(tops)


def _section(at, wide):
    """Her section at the lowest water, rail to keel true to scale, in the left part of the strip."""
    middle, half = 0.19 * wide, 0.17 * wide
    draft = at.draft or 0.3
    body = 0.5 * draft
    right = [
        (half, at.rail),
        (0.92 * half, 0.0),
        (0.45 * half, -body),
        (0.14 * half, -body),
        (0.14 * half, -draft),
    ]
    points = [*right, *((-u, v) for u, v in reversed(right))]
    return tuple((middle + u, v + at.lowest) for u, v in points)


def _wave(level, wide, t):
    points = []
    for n in range(33):
        points.append((wide * n / 32, level + 0.18 * t * math.sin(math.tau * n / 8)))
    return Polyline(tuple(points), "water", "water now")


def _tick(level, wide):
    return Polyline(((0.0, level), (0.4 * wide, level)), "water", "tick")


def _lines(words, width, text):
    return [line for part in words for line in wrap(part, 0.6 * width, text, bold=True)]


def _texts(labelled, box, wide, t):
    rooms = [1.08 * t * len(w.lines) + 0.25 * t for w in labelled]
    spots = spread([w.at for w in labelled], rooms, box[1], box[3])
    strokes, plates, words = [], [], []
    for label, v, room in zip(labelled, spots, rooms, strict=True):
        if abs(v - label.at) > room / 2:  # pushed away from its level: a stroke leads back
            strokes.append(Polyline(((0.36 * wide, label.at), (0.42 * wide, v)), "thin", "leader"))
        n = len(label.lines)
        for i, line in enumerate(label.lines):
            at = v + 1.08 * t * ((n - 1) / 2 - i)
            text = Text(wide, at, line, t, label.pen, "end", f"label {line}")
            u0, v0, u1, v1 = text.bounds()
            plates.append(Polygon(((u0, v0), (u1, v0), (u1, v1), (u0, v1)), "plate", "plate"))
            words.append(text)
    return strokes + plates + words


def _column(lines, width, height, text, pen="text"):
    """Lines of words under each other in the middle of a strip, in mm (one metre to the mm)."""
    return [
        Text(width / 2, height - 1.15 * text * (n + 1), line, text, pen, of=f"label {line}")
        for n, line in enumerate(lines)
    ]


def _floating(marks, width, height, text):
    """No scale, for the dock goes up and down with her: both on one wave, and the turns in words."""
    wave = _wave(height - 12.0, width, text)
    hull = (
        (5.0, 3.0),
        (4.4, 0.0),
        (2.6, -2.0),
        (0.9, -2.0),
        (0.9, -3.6),
        (-0.1, -3.6),
        (-0.1, -2.0),
        (-1.6, -2.0),
    )
    hull = (*hull, (-3.4, 0.0), (-4.0, 3.0))
    section = tuple((width * 0.62 + 0.85 * u, height - 12.0 + v) for u, v in hull)
    dock = [(0.0, 1.4), (3.6, 1.4), (3.6, -1.0), (0.0, -1.0)]
    dock = tuple((u, height - 12.0 + v) for u, v in dock)
    shapes = [wave, Polygon(section, "hull", "section"), Polygon(dock, "bollard", "dock")]
    words = wrap("dock and boat move together", width, text, bold=True)
    shapes += _column(words, width, height - 18.0, text, "text-bold")
    below = height - 18.0 - 1.15 * text * (len(words) + 1)
    lines = [
        line for m in marks if not m.now for line in [*(w for p in m.words for w in wrap(p, width, text)), ""]
    ]
    shapes += _column([line or " " for line in lines], width, below, text)
    shapes = [s for s in shapes if s.bounds()[1] >= 0.0]
    return Drawing(tuple(shapes), (0.0, 0.0, width, height), 1.0, "Dock and boat move together")


def _unknown(width, height, text):
    lines = wrap("water not known", width - 2.0, text, bold=True)
    low = height - 1.15 * text * (len(lines) + 1.2)
    frame = Polygon(
        ((0.3, low), (width - 0.3, low), (width - 0.3, height - 0.3), (0.3, height - 0.3)), "blank", "blank"
    )
    shapes = [frame, *_column(lines, width, height - 0.2 * text, text, "text-bold")]
    return Drawing(tuple(shapes), (0.0, 0.0, width, height), 1.0, "The water at this berth is not known")
