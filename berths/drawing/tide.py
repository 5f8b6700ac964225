"""The water over the coming hours: hours of the harbour along, metres up, now marked, turns labelled."""

from datetime import datetime, time, timedelta
from math import ceil, floor

from berths.drawing.shapes import Circle, Drawing, Polygon, Polyline, Text

WIDTH, HEIGHT = 380.0, 230.0  # units of the page: the column of a phone
LEFT, RIGHT, TOP, FOOT = 46.0, 10.0, 22.0, 44.0
TEXT = 12.5
LABELS = 2.9 * TEXT  # kept free above the highest and below the lowest water, for the turns' labels
FOOT_IN_M = 0.3048


DISC, KEY = 0.68 * TEXT, 1.7 * TEXT  # of a limit: its disc's radius, and its line at the foot
NEAR = 2.0  # m: a limit farther than this beyond the water is told in words, not drawn


def water_curve(points, turns, now, zone, *, units="m", limits=(), stay=None):
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
    limits : sequence of (str, float)
        Levels drawn as lines, each with its words [m above datum].
    stay : (datetime, datetime or None), optional
        Shaded; None: without end.

    Returns
    -------
    Drawing
    """
    limits = [(words, z) for words, z in limits if _near(z, points)]
    sheet = _Sheet(points, zone, units, [z for _, z in limits])
    to_come = [turn for turn in turns if now <= turn.time <= points[-1][0]]
    shapes = [*_stay(stay, sheet), *_levels(sheet), *_hours(sheet)]
    shapes += [Polyline(sheet.across(z), "blank", f"limit {words}") for words, z in limits]
    shapes.append(Polyline(tuple((sheet.x(t), sheet.y(z)) for t, z in points), "water", "water"))
    if points[0][0] <= now <= points[-1][0]:
        u = sheet.x(now)
        shapes.append(Polyline(((u, FOOT), (u, HEIGHT - 1.3 * TEXT)), "edge", "now"))
        shapes.append(Text(max(u, LEFT + 8), HEIGHT - 0.7 * TEXT, "now", TEXT, "text-bold", "middle", "now"))
    for turn in to_come:
        shapes += _turn(turn, sheet, to_come)
    shapes += _limit_marks(limits, shapes, points, sheet)
    told = tuple(
        f"{'High' if t.high else 'Low'} {t.time.astimezone(zone):%a %H:%M}, {sheet.shown(t.level)}."
        for t in to_come
    ) + tuple(f"{words[:1].upper()}{words[1:]} at {sheet.shown(z)}." for words, z in limits)
    box = (0.0, -KEY * len(limits), WIDTH, HEIGHT)
    return Drawing(tuple(shapes), box, 1.0, "Water level over the coming hours", told)


class _Sheet:
    """Where a time and a level stand on the drawing."""

    def __init__(self, points, zone, units, limits=()):
        self.start, self.end = points[0][0], points[-1][0]
        levels = [*(level for _, level in points), *limits]
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

    def across(self, level):
        return ((LEFT, self.y(level)), (WIDTH - RIGHT, self.y(level)))

    def shown(self, level):
        return f"{level / self.metres:.{2 if self.unit == 'm' else 1}f} {self.unit}"


def _levels(sheet):
    """Lines across at whole steps, at most six, their figures at the left."""
    low, high = (z / sheet.metres for z in (sheet.low, sheet.high))
    step = next(s for s in (0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500) if (high - low) / s <= 5)
    for k in range(ceil(low / step), floor(high / step) + 1):
        across = sheet.across(k * step * sheet.metres)
        yield Polyline(across, "solid", "level")
        yield Text(LEFT - 4, across[0][1], f"{k * step:g} {sheet.unit}", TEXT, "text", "end", "level figure")


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


def _label_at(turn, sheet):
    """Where along the sheet its label stands: at the turn, or moved inside where the frame ends."""
    return min(max(sheet.x(turn.time), LEFT + 22), WIDTH - RIGHT - 20)


def _turn(turn, sheet, turns):
    """Time and level above a high, below a low, on a plate of paper. One moved onto the next is left to words."""
    u, v, at = sheet.x(turn.time), sheet.y(turn.level), _label_at(turn, sheet)
    beside = (_label_at(t, sheet) for t in turns if t is not turn and t.high == turn.high)
    if at != u and any(abs(other - at) < 43 for other in beside):
        yield Circle(u, v, 2.6, "deck", "turn")
        return
    first, second = (2.05, 0.95) if turn.high else (-0.95, -2.05)
    low, high = (v + d * TEXT for d in ((0.4, 2.6) if turn.high else (-2.6, -0.4)))
    yield Polygon(((at - 21, low), (at + 21, low), (at + 21, high), (at - 21, high)), "plate", "turn plate")
    yield Circle(u, v, 2.6, "deck", "turn")
    face = f"{turn.time.astimezone(sheet.zone):%H:%M}"
    yield Text(at, v + first * TEXT, face, TEXT, "text", "middle", "turn time")
    yield Text(at, v + second * TEXT, sheet.shown(turn.level), TEXT, "text-bold", "middle", "turn figure")


def _near(level, points):
    heights = [z for _, z in points]
    return min(heights) - NEAR <= level <= max(heights) + NEAR


def _stay(stay, sheet):
    """The time she is there, as a pale band."""
    if stay is None or stay[0] >= sheet.end or (stay[1] is not None and stay[1] <= sheet.start):
        return
    u0 = sheet.x(max(stay[0], sheet.start))
    u1 = sheet.x(sheet.end if stay[1] is None else min(stay[1], sheet.end))
    yield Polygon(((u0, FOOT), (u1, FOOT), (u1, HEIGHT - TOP), (u0, HEIGHT - TOP)), "reach", "stay")


def _limit_marks(limits, shapes, points, sheet):
    """A numbered disc on each limit's line, where nothing else stands, and what the numbers mean at the foot."""
    taken = [shape.bounds() for shape in shapes if shape.of.startswith("turn") or shape.of == "now"]
    path = [(sheet.x(t), sheet.y(z)) for t, z in points]
    for n, (words, level) in enumerate(limits, start=1):
        v = sheet.y(level)
        places = range(int(WIDTH - RIGHT - DISC), int(LEFT + DISC), -3)
        best = max(places, key=lambda u: _room((u - DISC - 5, v - DISC, u + DISC + 5, v + DISC), taken, path))
        foot = -(n - 0.5) * KEY
        taken.append((best - DISC, v - DISC, best + DISC, v + DISC))
        for x, y in ((best, v), (LEFT + DISC, foot)):
            yield Circle(x, y, DISC, "disc", f"limit disc {n}")
            yield Text(x, y, str(n), TEXT, "text-bold", "middle", f"limit number {n}")
        meant = f"{words}: {sheet.shown(level)}"
        yield Text(LEFT + 2.5 * DISC, foot, meant, TEXT, "text", "start", f"limit words {n}")


def _room(box, taken, path):
    """How good a place is: clear of other words first, then of the curve."""
    u0, v0, u1, v1 = box
    over = sum(min(u1, b[2]) > max(u0, b[0]) and min(v1, b[3]) > max(v0, b[1]) for b in taken)
    crossed = sum(u0 <= u <= u1 and v0 <= v <= v1 for u, v in path)
    return -over, -crossed
