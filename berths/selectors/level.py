"""The level at one berth at one time: how deep, what is under her keel, how far down her deck is, and what happens
until then. Levels are metres above the datum of the berth's water; None is not known.
"""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from berths.curve import instant, moment
from berths.heights import Her, depth_over, edge_of, gangway
from berths.localtime import bounds_of, hours_of
from berths.models import Stay
from berths.selectors import visible
from berths.selectors.gate import way_in
from berths.selectors.standing import standings
from berths.selectors.water import passages_of, spans
from berths.selectors.waterpage import gauge_told
from berths.window import Surge
from marina.base import house

A_TIDE = timedelta(hours=26)  # within it every tide has a low
USUAL = timedelta(days=3)  # shown of a stay without end
MOST = timedelta(days=9)
AROUND = timedelta(hours=12), timedelta(hours=36)  # shown before and after a time that is far away
A_MOMENT = timedelta(seconds=2)
TURN = timedelta(minutes=2)  # so near to a high or low a time is called by it


# --- whose boat ------------------------------------------------------------------------------------------


def stays_at(user, berth, now):
    """Stays here that this person may see and that are not over: those lying there first."""
    rows = (
        visible.stays(user)
        .filter(berth=berth, state__in=("booked", "fast"))
        .select_related("vessel")
        .prefetch_related("vessel__fittings")
        .order_by("arrive", "raft_place")
    )
    rows = [s for s in rows if s.state == "fast" or s.depart is None or s.depart > now]
    return sorted(rows, key=lambda s: (s.arrive > now, s.state != "fast"))


# --- the page --------------------------------------------------------------------------------------------


def level_at_berth(user, berth, *, now, at=None, stay: Stay | None = None):
    """All that the level page answers.

    Parameters
    ----------
    user : User
    berth : Berth
        With `water__outer`.
    now : datetime
    at : datetime, optional
        Default: the next low; where there is no tide the lowest level to come, else now.
    stay : Stay, optional
        Whose boat; None: only berth and water.

    Returns
    -------
    dict
    """
    zone = house.zone()
    start, end = _period(now, at, stay)
    if at is None:
        span = spans([berth.water], start, end)[berth.water_id]
        at = _next_low(span, now)
    day = at.astimezone(zone).date()
    first, last = bounds_of(day, zone)
    span = spans([berth.water], min(start, first), max(end, last))[berth.water_id]
    faces = [link.face for link in berth.faces.select_related("face").order_by("code")]
    her, edge = (Her.of(stay.vessel) if stay else None), edge_of(berth, faces)
    hers = stay is not None and stay.arrive <= at and (stay.depart is None or at <= stay.depart)
    own = Surge.of_stay(stay) if hers else None
    window = span.window(at, at, now=now, own=own)
    part = _cut(span, start, end)
    answer = {
        "at": at,
        "turn": next((t for t in span.turns() if abs(t.time - at) <= TURN), None),
        "level": span.level(at),
        "window": window,
        "span": span,
        "her": her,
        "depth": _both(window, span.level(at), lambda z: depth_over(z, berth.bed_z)),
        "edge": edge,
        "gangway": [gangway(berth, edge, z) for z in (span.level(at), window.lowest)],
        "between": _between(span, now, at),
        "start": start,
        "end": end,
        "part": part,
        "gauge": gauge_told(span, now, own),
        "passages": passages_of(span, start, end),
        "hours": [(t, span.level(t)) for t in hours_of(day, zone)],
    }
    if her:
        keep = max(house.rules()["H8"].values())  # a sill is as hard as any bed
        answer["way_in"] = way_in(span, start, end, draft=her.draft, keep=keep)
        comes, leaves = max(start, stay.arrive), min(end, stay.depart) if stay.depart else end
        hers = _cut(span, comes, leaves)
        answer |= _of_her(her, berth, edge, window, span.level(at), hers)
        answer["known_until"] = _known_until(hers, leaves)
        answer["marks"] = _marks(stay, user, now, at, told=bool(answer["touches"]))
    answer["events"] = _events(answer, part, now, at)
    return answer


def _period(now, at, stay):
    """What is shown: from now to the end of her stay, or the hours around a time that is far away."""
    if at is not None and not now <= at <= now + MOST - A_TIDE:
        return at - AROUND[0], at + AROUND[1]
    leaves = stay.depart if stay and stay.depart and stay.depart > now else now + USUAL
    asked = at + timedelta(hours=6) if at else now
    return now, min(max(leaves, now + A_TIDE, asked), now + MOST)


def _next_low(span, now):
    low = next((t for t in span.turns(now, span.end) if not t.high and t.time > now), None)
    if low:
        return low.time
    part = _cut(span, now, span.end)
    if part is None or part.levels.min() >= part.levels[0]:
        return now
    return moment(part.times[int(part.levels.argmin())])


def _cut(span, start, end):
    """The curve of a time as far as it is known; None where that is not at all."""
    if span.curve is None:
        return None
    first = max(instant(start), span.curve.times[0])
    last = min(instant(end), span.curve.times[-1])
    return span.curve.cut(first, last) if first < last else None


def _both(window, level, of):
    """A figure as predicted and as it could be: (predicted, at the lowest, at the highest)."""
    return tuple(None if z is None else of(z) for z in (level, window.lowest, window.highest))


def _of_her(her, berth, edge, window, level, part):
    """Keel and deck, and when in her stay (`part`) the water passes the levels at which they matter."""
    bed = None if berth.bed_z is None else float(berth.bed_z)
    touch = None if None in (bed, her.draft) else bed + her.draft
    dock = None if edge.floats else edge.top
    over = None if None in (dock, her.rail) else dock - her.rail
    down = window.surge_down
    could = None if None in (touch, down) else touch + down
    return {
        "keel": (None, None, None) if touch is None else _both(window, level, lambda z: z - touch),
        "deck": (None, None, None)
        if None in (dock, her.deck)
        else _both(window, level, lambda z: dock - z - her.deck),
        "hers": part,
        "touch": touch,
        "over": over,
        "touches": (touches := _below(part, touch)),
        "could_touch": (could_touch := _below(part, could)),
        "first_touch": next(iter(could_touch or touches or ()), None),
    }


def _known_until(part, leaves):
    """When knowledge of the level ends, where that is before she leaves or the page ends."""
    if part is None:
        return None
    last = moment(part.times[-1])
    return last if last < leaves - TURN else None


def _below(part, level):
    """When the water lies below a level: [(from, until)], None in place of an end that is not in sight.

    None where curve or level is not known.
    """
    if part is None or level is None:
        return None
    return [
        (None if a == part.times[0] else moment(a), None if b == part.times[-1] else moment(b))
        for a, b in part.below(level)
    ]


def _marks(stay, user, now, at, *, told):
    """Flags of her tie-up that bite until then; that she touches is told here already, with more."""
    found = []
    for mark in standings([stay], user)[stay.pk].marks:
        begins = mark.starts is not None and mark.starts <= at and (mark.until is None or mark.until > now)
        if begins and mark.kind in ("stop", "fix") and not (told and mark.code == "grounds_at_low"):
            found.append(mark)
    return sorted(found, key=lambda mark: mark.starts)


# --- what happens until then -----------------------------------------------------------------------------


@dataclass(frozen=True)
class Between:
    """From now to a time: the level now, the turns on the way, and the last rise or fall. [m]"""

    level: float
    turns: list
    by: float

    @property
    def lowest(self):
        return min((t for t in self.turns if not t.high), key=lambda t: t.level, default=None)

    @property
    def highest(self):
        return max((t for t in self.turns if t.high), key=lambda t: t.level, default=None)


def _between(span, now, at):
    """None where the time is past, or a level is not known."""
    if at <= now or not span.start <= now <= at <= span.end:
        return None
    before, then = span.level(now), span.level(at)
    if before is None or then is None:
        return None
    turns = [t for t in span.turns(now, at) if now + TURN < t.time < at - TURN]
    return Between(before, turns, then - (turns[-1].level if turns else before))


@dataclass(frozen=True)
class Event:
    """One line of the table beside the curve."""

    time: datetime
    level: float | None
    words: str
    asked: bool = False


def _events(answer, part, now, at):
    """Turns, crossings of the limits, now and the time asked for, in order."""
    found = []
    if answer["start"] <= now <= answer["end"]:
        found.append(Event(now, answer["span"].level(now), "now"))
    if part is not None:
        for t, z, high in zip(*part.turns, strict=True):
            found.append(Event(moment(t), float(z), "high" if high else "low"))
    for level, down, up in _limits(answer) if answer.get("hers") else ():
        crossed = answer["hers"].crossings(level)
        found += [Event(moment(t), level, up if rising else down) for t, rising in crossed]
    for notice in answer["span"].notices:
        if answer["start"] <= notice.starts <= answer["end"]:
            level = answer["span"].level(notice.starts + A_MOMENT)
            found.append(Event(notice.starts, level, f"notice: {notice.reason}"))
    if not any(abs(event.time - at) <= TURN for event in found):
        found.append(Event(at, answer["level"], "asked for"))
    marked = [replace(event, asked=abs(event.time - at) <= TURN) for event in found]
    return sorted(marked, key=lambda event: event.time)


def _limits(answer):
    """(level, what happens when the water falls past it, when it rises past it)"""
    her = answer["her"]
    if her and answer["touch"] is not None:
        down = "she takes the ground" if her.takes_ground else "keel touches"
        yield answer["touch"], down, "she floats"
    if her and answer["over"] is not None:
        yield answer["over"], "rail below the dock edge", "rail above the dock edge"


def limits_drawn(answer):
    """The two lines of the curve, each with its words."""
    words = (
        ("she takes the ground" if answer["her"].takes_ground else "keel touches") if answer["her"] else ""
    )
    pairs = ((words, answer.get("touch")), ("rail level with dock edge", answer.get("over")))
    return [(text, level) for text, level in pairs if level is not None]


def by_day(events, zone):
    """[(date, hours of that day, its events)], by the harbour's clock."""
    days = {}
    for event in events:
        days.setdefault(event.time.astimezone(zone).date(), []).append(event)
    found = []
    for day, rows in days.items():
        start, end = bounds_of(day, zone)
        found.append((day, (end - start) / timedelta(hours=1), rows))
    return found
