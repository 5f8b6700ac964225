"""The water over the coming hours: hours of the harbour along, metres up, now marked, turns labelled."""

from datetime import datetime, time, timedelta
from math import ceil, floor

from berths.drawing.shapes import Circle, Drawing, Polyline, Text

WIDTH, HEIGHT = 380.0, 200.0  # units of the page: the column of a phone
LEFT, RIGHT, TOP, FOOT = 34.0, 8.0, 30.0, 40.0
TEXT = 12.5
LEVEL_WORDS = {"m": "{:.2f} m", "ft": "{:.1f} ft"}
FEET_PER_METRE = 1 / 0.3048


def water_curve(points, turns, now, zone, *, limits=(), units="m"):
    """Draw a level over time.

    Parameters
    ----------
    points : sequence of (datetime, float)
        Aware times and levels [m above datum], in order, straight between them; at least two.
    turns : sequence with `time`, `level`, `high`
        Highs and lows to label.
    now : datetime
    zone : tzinfo
        Of the hours along.
    limits : sequence of (float, str)
        Levels drawn across, each with its words.
    units : {"m", "ft"}

    Returns
    -------
    Drawing
    """
    start, end = points[0][0], points[-1][0]
    levels = [level for _, level in points] + [level for level, _ in limits]
    low, high = floor(2 * min(levels) - 0.2) / 2, ceil(2 * max(levels) + 0.2) / 2
    along = (WIDTH - LEFT - RIGHT) / (end - start).total_seconds()
    up = (HEIGHT - TOP - FOOT) / (high - low)

    def x(moment):
        return LEFT + (moment - start).total_seconds() * along

    def y(level):
        return FOOT + (level - low) * up

    shapes = [*_levels(low, high, y, units), *_hours(start, end, x, zone)]
    for level, words in limits:
        shapes.append(Polyline(((LEFT, y(level)), (WIDTH - RIGHT, y(level))), "hull-high", "limit"))
        shapes.append(Text(LEFT + 4, y(level) + 0.7 * TEXT, words, TEXT, "text", "start", "limit"))
    shapes.append(Polyline(tuple((x(t), y(z)) for t, z in points), "water", "water"))
    if start <= now <= end:
        shapes.append(Polyline(((x(now), FOOT), (x(now), HEIGHT - TEXT)), "edge", "now"))
        anchor = "start" if x(now) < LEFT + 20 else "middle"
        shapes.append(Text(x(now), HEIGHT - 0.5 * TEXT, "now", TEXT, "text-bold", anchor, "now"))
    shapes += _turns(turns, x, y, zone, units)
    return Drawing(
        tuple(shapes),
        (0.0, 0.0, WIDTH, HEIGHT),
        1.0,
        "Water level over the coming hours",
        _sentences(turns, zone, units),
    )


def _shown(level, units):
    return LEVEL_WORDS[units].format(level if units == "m" else level * FEET_PER_METRE)


def _levels(low, high, y, units):
    """Level lines at whole or half metres (whole feet), their figures at the left."""
    per = 1.0 if units == "m" else FEET_PER_METRE
    step = next(s for s in (0.5, 1, 2, 5, 10, 20, 50) if (high - low) * per / s <= 6)
    for k in range(ceil(low * per / step), floor(high * per / step) + 1):
        v = y(k * step / per)
        yield Polyline(((LEFT, v), (WIDTH - RIGHT, v)), "solid", "level")
        yield Text(LEFT - 4, v, f"{k * step:g} {units}", TEXT, "text", "end", "level figure")


def _hours(start, end, x, zone):
    """A tick every six hours, a line and the day's name at each midnight."""
    here = start.astimezone(zone)
    step = 6 if end - start <= timedelta(hours=40) else 24
    hour = datetime.combine(here.date(), time(), zone)
    while hour <= end:
        if hour >= start:
            midnight = hour.hour == 0
            pen, top = ("thin", HEIGHT - TOP) if midnight else ("solid", FOOT + 5)
            yield Polyline(((x(hour), FOOT), (x(hour), top)), pen, "hour")
            if x(hour) < WIDTH - 14:
                yield Text(x(hour), FOOT - 0.8 * TEXT, f"{hour:%H}", TEXT, "text", "middle", "hour figure")
        noon = hour + timedelta(hours=12)
        if hour.hour == 0 and start <= noon <= end:
            yield Text(x(noon), 0.8 * TEXT, f"{noon:%a} {noon.day} {noon:%b}", TEXT, "text", "middle", "day")
        # By the clock, not by elapsed time: when the clocks change the ticks stay at 00, 06, 12, 18.
        hour = (hour.replace(tzinfo=None) + timedelta(hours=step)).replace(tzinfo=zone)


def _turns(turns, x, y, zone, units):
    """Each high above the curve, each low below it; what would stand outside the frame moves inside."""
    for turn in turns:
        u, v = x(turn.time), y(turn.level)
        if not LEFT <= u <= WIDTH - RIGHT:
            continue
        middle = min(max(u, LEFT + 24), WIDTH - RIGHT - 22)
        side = 1 if turn.high else -1
        yield Circle(u, v, 2.6, "deck", "turn")
        yield Text(
            middle,
            v + side * (0.95 if turn.high else 2.0) * TEXT,
            _shown(turn.level, units),
            TEXT,
            "text-bold",
            "middle",
            "turn figure",
        )
        yield Text(
            middle,
            v + side * (2.0 if turn.high else 0.95) * TEXT,
            f"{turn.time.astimezone(zone):%H:%M}",
            TEXT,
            "text",
            "middle",
            "turn time",
        )


def _sentences(turns, zone, units):
    return tuple(
        f"{'High' if t.high else 'Low'} {t.time.astimezone(zone):%a %H:%M}, {_shown(t.level, units)}."
        for t in turns
    )
