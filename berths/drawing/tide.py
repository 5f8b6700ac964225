"""The water over the coming hours: hours of the harbour along, metres up, now marked, turns labelled."""

from datetime import datetime, time, timedelta
from math import ceil, floor

from berths.drawing.shapes import Circle, Drawing, Polygon, Polyline, Text

WIDTH, HEIGHT = 380.0, 230.0  # units of the page: the column of a phone
LEFT, RIGHT, TOP, FOOT = 46.0, 10.0, 22.0, 44.0
TEXT = 12.5
LABELS = 2.9 * TEXT  # kept free above the highest and below the lowest water, for the turns' labels
FOOT_IN_M = 0.3048


def water_curve(points, turns, now, zone, *, units="m"):
    """Draw a level over time.

    Parameters
    ----------
    points : sequence of (datetime, float)
        Aware times and levels [m above datum], in order, straight between them; at least two.
    turns : sequence with `time`, `level`, `high`
        Highs and lows; those still to come are labelled.
    now : datetime
    zone : tzinfo
        Of the hours along.
    units : {"m", "ft"}

    Returns
    -------
    Drawing
    """
    sheet = _Sheet(points, zone, units)
    to_come = [turn for turn in turns if now <= turn.time <= points[-1][0]]
    shapes = [*_levels(sheet), *_hours(sheet)]
    shapes.append(Polyline(tuple((sheet.x(t), sheet.y(z)) for t, z in points), "water", "water"))
    if points[0][0] <= now <= points[-1][0]:
        u = sheet.x(now)
        shapes.append(Polyline(((u, FOOT), (u, HEIGHT - 1.3 * TEXT)), "edge", "now"))
        shapes.append(Text(max(u, LEFT + 8), HEIGHT - 0.7 * TEXT, "now", TEXT, "text-bold", "middle", "now"))
    for turn in to_come:
        shapes += _turn(turn, sheet)
    told = tuple(
        f"{'High' if t.high else 'Low'} {t.time.astimezone(zone):%a %H:%M}, {sheet.shown(t.level)}."
        for t in to_come
    )
    box = (0.0, 0.0, WIDTH, HEIGHT)
    return Drawing(tuple(shapes), box, 1.0, "Water level over the coming hours", told)


class _Sheet:
    """Where a time and a level stand on the drawing."""

    def __init__(self, points, zone, units):
        self.start, self.end = points[0][0], points[-1][0]
        levels = [level for _, level in points]
        self.low, self.high = min(levels), max(levels)
        if self.high - self.low < 0.5:  # water that hardly moves is drawn as such, not blown up
            self.low, self.high = self.low - 0.25, self.high + 0.25
        self.zone, self.unit, self.metres = zone, units, (1.0 if units == "m" else FOOT_IN_M)
        self.along = (WIDTH - LEFT - RIGHT) / (self.end - self.start).total_seconds()
        self.up = (HEIGHT - TOP - FOOT - 2 * LABELS) / (self.high - self.low)

    def x(self, moment):
        return LEFT + (moment - self.start).total_seconds() * self.along

    def y(self, level):
        return FOOT + LABELS + (level - self.low) * self.up

    def shown(self, level):
        return f"{level / self.metres:.{2 if self.unit == 'm' else 1}f} {self.unit}"


def _levels(sheet):
    """Lines across at whole steps, at most six, their figures at the left."""
    low, high = (z / sheet.metres for z in (sheet.low, sheet.high))
    step = next(s for s in (0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500) if (high - low) / s <= 5)
    for k in range(ceil(low / step), floor(high / step) + 1):
        v = sheet.y(k * step * sheet.metres)
        yield Polyline(((LEFT, v), (WIDTH - RIGHT, v)), "solid", "level")
        yield Text(LEFT - 4, v, f"{k * step:g} {sheet.unit}", TEXT, "text", "end", "level figure")


def _hours(sheet):
    """A tick every six hours, a line at each midnight, the day's name under its noon."""
    yield Polyline(((LEFT, FOOT), (WIDTH - RIGHT, FOOT)), "thin", "foot")
    # By the clock, not by elapsed time: when the clocks change the ticks stay at 00, 06, 12 and 18.
    clock = datetime.combine(sheet.start.astimezone(sheet.zone).date(), time())
    while (hour := clock.replace(tzinfo=sheet.zone)) <= sheet.end:
        u = sheet.x(hour)
        if hour >= sheet.start:
            top = HEIGHT - TOP if clock.hour == 0 else FOOT + 5
            yield Polyline(((u, FOOT), (u, top)), "solid", "hour")
            yield Text(u, FOOT - 0.8 * TEXT, f"{clock:%H}", TEXT, "text", "middle", "hour figure")
        if clock.hour == 12 and LEFT + 20 < u < WIDTH - RIGHT - 20:
            words = f"{clock:%a} {clock.day} {clock:%b}"
            yield Text(u, 0.9 * TEXT, words, TEXT, "text", "middle", "day")
        clock += timedelta(hours=6)


def _turn(turn, sheet):
    """Time and level above a high, below a low, on a plate of paper; moved inside where the frame ends."""
    u, v = sheet.x(turn.time), sheet.y(turn.level)
    at = min(max(u, LEFT + 22), WIDTH - RIGHT - 20)
    first, second = (2.05, 0.95) if turn.high else (-0.95, -2.05)
    low, high = (v + d * TEXT for d in ((0.4, 2.6) if turn.high else (-2.6, -0.4)))
    yield Polygon(((at - 21, low), (at + 21, low), (at + 21, high), (at - 21, high)), "plate", "turn plate")
    yield Circle(u, v, 2.6, "deck", "turn")
    face = f"{turn.time.astimezone(sheet.zone):%H:%M}"
    yield Text(at, v + first * TEXT, face, TEXT, "text", "middle", "turn time")
    yield Text(at, v + second * TEXT, sheet.shown(turn.level), TEXT, "text-bold", "middle", "turn figure")
