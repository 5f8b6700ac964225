"""Figures over figures: axes, curves told apart by their dash and a number, and what the numbers mean at the foot.

Everything is in units of the page; nothing here knows what is drawn.
"""

from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor, isnan

from berths.drawing.measure import SYSTEM
from berths.drawing.shapes import Circle, Drawing, Polygon, Polyline, Text

WIDTH, HEIGHT = 380.0, 236.0  # units of the page: the column of a phone
LEFT, RIGHT, TOP, FOOT = 46.0, 14.0, 34.0, 50.0
TEXT = 12.5
DISC, WIDER, KEY = (
    0.68 * TEXT,
    0.9 * TEXT,
    1.9 * TEXT,
)  # a curve's disc, with two letters in it; a row of the key
ALIKE = 4.0  # curves that are never farther apart than this are read as one
STEPS = (
    0.05,
    0.1,
    0.2,
    0.25,
    0.5,
    1,
    2,
    2.5,
    5,
    10,
    20,
    25,
    50,
    100,
    200,
    250,
    500,
    1000,
    2000,
    5000,
    10_000,
    50_000,
)


@dataclass(frozen=True)
class Axis:
    """What runs along one side: its name with the unit, its ends, and (value, words) at its ticks."""

    name: str
    low: float
    high: float
    ticks: tuple


@dataclass(frozen=True)
class Curve:
    """(x, y) points in order, NaN where nothing is known; `mark` stands in its disc, `words` in the key."""

    mark: str
    words: str
    points: tuple
    pen: str


def even_axis(name, low, high, *, most=6, from_zero=True):
    """An axis with ticks at even steps that takes these values in.

    >>> even_axis("m", 0.0, 1.09).ticks
    ((0.0, '0'), (0.25, '0.25'), (0.5, '0.5'), (0.75, '0.75'), (1.0, '1'), (1.25, '1.25'))
    """
    low = min(0.0, low) if from_zero else low
    span = max(high - low, STEPS[0])
    step = next((s for s in STEPS if span / s <= most - 1), STEPS[-1])
    first, last = floor(low / step + 1e-9), ceil(high / step - 1e-9)
    last = max(last, first + 1)
    ticks = tuple((k * step, f"{k * step:,.10g}") for k in range(first, last + 1))
    return Axis(name, first * step, last * step, ticks)


def chart(title, along, up, curves, *, stands=(), across=(), sentences=()):
    """Draw curves over an axis.

    Parameters
    ----------
    title : str
    along, up : Axis
    curves : sequence of Curve
    stands : sequence of (float, str)
        Upright lines at a value along, each with a word at its head.
    across : sequence of (float, str)
        Lines across at a value up, each with its words in the key.
    sentences : sequence of str
        What the picture shows.

    Returns
    -------
    Drawing
    """
    sheet = _Sheet(along, up)
    shapes = [*_up(sheet), *_along(sheet)]
    for value, word in stands:
        shapes += _upright(sheet, value, word)
    for n, (value, words) in enumerate(across):
        shapes.append(
            Polyline(((LEFT, sheet.y(value)), (WIDTH - RIGHT, sheet.y(value))), "blank", f"across {n}")
        )
        shapes += _key(len(curves) + n, "blank", "", words)
    paths = [[[(sheet.x(x), sheet.y(y)) for x, y in run] for run in _runs(c.points)] for c in curves]
    for curve, path in zip(curves, paths, strict=True):
        shapes += [Polyline(tuple(run), curve.pen, f"curve {curve.mark}") for run in path]
    shapes += _discs(curves, paths, [s.bounds() for s in shapes if isinstance(s, Text)])
    for n, curve in enumerate(curves):
        shapes += _key(n, curve.pen, curve.mark, curve.words)
    rows = len(curves) + len(across)
    return Drawing(tuple(shapes), (0.0, -KEY * rows, WIDTH, HEIGHT), 1.0, title, tuple(sentences))  # fmt: skip


class _Sheet:
    def __init__(self, along, up):
        self.along, self.up = along, up

    def x(self, value):
        share = (value - self.along.low) / max(self.along.high - self.along.low, 1e-9)
        return LEFT + share * (WIDTH - LEFT - RIGHT)

    def y(self, value):
        share = (value - self.up.low) / max(self.up.high - self.up.low, 1e-9)
        return FOOT + share * (HEIGHT - TOP - FOOT)


def _up(sheet):
    yield Text(4, HEIGHT - 0.7 * TEXT, sheet.up.name, TEXT, "text", "start", "name up")
    for value, words in sheet.up.ticks:
        v = sheet.y(value)
        yield Polyline(((LEFT, v), (WIDTH - RIGHT, v)), "solid", "tick up")
        yield Text(LEFT - 5, v, words, TEXT, "text", "end", "figure up")


def _along(sheet):
    yield Polyline(((LEFT, FOOT), (WIDTH - RIGHT, FOOT)), "thin", "foot")
    for value, words in sheet.along.ticks:
        u = sheet.x(value)
        yield Polyline(((u, FOOT), (u, FOOT - 4)), "thin", "tick along")
        yield Text(u, FOOT - 1.0 * TEXT, words, TEXT, "text", "middle", "figure along")
    middle = (LEFT + WIDTH - RIGHT) / 2
    yield Text(middle, 1.1 * TEXT, sheet.along.name, TEXT, "text", "middle", "name along")


def _upright(sheet, value, word):
    u = sheet.x(value)
    room = (WIDTH - 2) - u
    anchor = "start" if u < LEFT + 30 else "end" if room < 30 else "middle"
    yield Polyline(((u, FOOT), (u, HEIGHT - TOP)), "blank", f"upright {word}")
    yield Text(u, HEIGHT - TOP + 0.6 * TEXT, word, TEXT, "text", anchor, f"upright word {word}")


def _runs(points):
    """Pieces of a curve between gaps; a single point alone is none."""
    run = []
    for x, y in points:
        if isnan(y):
            if len(run) > 1:
                yield run
            run = []
        else:
            run.append((x, y))
    if len(run) > 1:
        yield run


def _discs(curves, paths, taken):
    """Each curve's number on it, where no other number stands and the other curves are far."""
    taken = list(taken)
    for n, (curve, path) in enumerate(zip(curves, paths, strict=True)):
        places = [p for run in path for p in _along_path(run)]
        radius = _radius(curve.mark)
        inside = [p for p in places if LEFT + radius <= p[0] <= WIDTH - RIGHT - radius]
        if not inside:
            continue
        others = [q for other in paths if not _alike(other, path) for run in other for q in _along_path(run)]
        u, v = max(inside, key=lambda p: _free(p, radius, taken, others, n))
        taken.append((u - radius, v - radius, u + radius, v + radius))
        yield Circle(u, v, radius, "disc", f"disc {curve.mark}")
        yield Text(u, v, curve.mark, TEXT, "text-bold", "middle", f"number {curve.mark}")


def _radius(mark):
    return DISC if len(mark) < 2 else WIDER


def _alike(one, other):
    """Whether two curves run on top of each other, as port and starboard lines of a slip do."""
    a, b = ([p for run in path for p in run] for path in (one, other))
    return len(a) == len(b) and all(abs(p[1] - q[1]) < ALIKE for p, q in zip(a, b, strict=True))


def _along_path(run, every=4.0):
    """Points along a path, every few units."""
    for (u0, v0), (u1, v1) in pairwise(run):
        steps = max(1, int(max(abs(u1 - u0), abs(v1 - v0)) / every))
        for k in range(steps):
            yield u0 + (u1 - u0) * k / steps, v0 + (v1 - v0) * k / steps
    yield run[-1]


def _free(place, radius, taken, others, n):
    """How good a place is: clear of other words, far from other curves, and not all at one place along."""
    u, v = place
    gap = radius + 1.5
    over = sum(b[0] < u + gap and b[2] > u - gap and b[1] < v + gap and b[3] > v - gap for b in taken)
    near = min((max(abs(u - a), abs(v - b)) for a, b in others), default=3 * DISC)
    return -over, min(near, 2 * DISC), -abs(u - LEFT - (0.12 + 0.17 * (n % 6)) * (WIDTH - LEFT - RIGHT))


def _key(row, pen, mark, words):
    v = -(row + 0.5) * KEY
    yield Polyline(((6, v), (LEFT - 2, v)), pen, f"key {row}")
    if mark:
        u = LEFT + WIDER + 4
        yield Circle(u, v, _radius(mark), "disc", f"key disc {mark}")
        yield Text(u, v, mark, TEXT, "text-bold", "middle", f"key number {mark}")
    yield Text(LEFT + 2.3 * WIDER + 6, v, words, TEXT, "text", "start", f"key words {row}")


# --- two spans on one axis ---


def spans(title, along, rows, sentences=()):
    """Bars over an axis, each with its words above: (words, low, high, pen).

    A bar that goes on beyond what was looked at ends at the axis' own end.
    """
    sheet = _Sheet(along, Axis("", 0.0, float(len(rows)), ()))
    high = FOOT + 3.4 * TEXT * len(rows)
    shapes = [*_along(sheet)]
    for value, _ in along.ticks:
        shapes.append(Polyline(((sheet.x(value), FOOT), (sheet.x(value), high)), "solid", "tick"))
    for n, (words, low, top, pen) in enumerate(rows):
        v = high - (3.4 * n + 2.4) * TEXT
        u0, u1 = sheet.x(max(low, along.low)), sheet.x(min(top, along.high))
        shapes.append(Polyline(((u0, v), (max(u1, u0 + 1), v)), pen, f"span {n}"))
        shapes += [Polyline(((u, v - 5), (u, v + 5)), "edge", f"span end {n}") for u in (u0, u1)]
        said = Text(LEFT, v + 1.15 * TEXT, words, TEXT, "text", "start", f"span words {n}")
        a, b, c, d = said.bounds()
        c = min(a + SYSTEM * (c - a), WIDTH)
        shapes += [Polygon(((a, b), (c, b), (c, d), (a, d)), "plate", f"span plate {n}"), said]
    return Drawing(tuple(shapes), (0.0, 0.0, WIDTH, high + 2), 1.0, title, tuple(sentences))
