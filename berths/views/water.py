"""Water: level now, next turns, a curve, and from where it is known."""

from datetime import timedelta

from django.shortcuts import render
from django.views.decorators.http import require_safe

from berths.curve import instant, moment
from berths.drawing.svg import to_svg
from berths.drawing.tide import water_curve
from berths.reader import reader_of
from berths.selectors.water import harbour_waters, passages_of
from berths.selectors.waterpage import depths, last_read
from marina.base import clock, house

BEHIND, AHEAD = timedelta(hours=3), timedelta(hours=36)


@require_safe
def water(request):
    """All waters of the harbour, each with its curve and the depths of the berths this person may see."""
    now = clock.now()
    units = reader_of(request.user).units
    spans = harbour_waters(now - BEHIND, now + AHEAD)
    places = depths(request.user, spans, now)
    read = last_read(spans, now - BEHIND)
    waters = [
        _row(span, now, units) | {"read": read.get(pk), "berths": places.get(pk, [])}
        for pk, span in spans.items()
    ]
    return render(request, "berths/water.html", {"waters": waters})


def _row(span, now, units):
    window = span.window(now, now + AHEAD, now=now)
    notices = [n for n in span.notices if n.starts < now + timedelta(days=7)]
    return {
        "water": span.water,
        "span": span,
        "level": span.level(now),
        "turns": _turns(span, now),
        "window": window,
        "notices": notices,
        "notes": [note for note in window.notes if note not in {n.reason for n in notices}],
        "curve": _curve(span, now, units),
        "gated": span.outer is not None,
        "passages": passages_of(span, now, now + AHEAD),
    }


def _turns(span, now):
    """Coming highs and lows, each with the level it could come to with the allowance of that time."""
    rows = []
    for turn in span.turns(now, now + AHEAD):
        allowed = span.surge(turn.time, turn.time)
        surge = allowed.up if turn.high else allowed.down
        worst = None if surge is None else turn.level + (1 if turn.high else -1) * surge
        rows.append({"time": turn.time, "level": turn.level, "high": turn.high, "worst": worst})
    return rows


def _curve(span, now, units):
    """The level from a little before now on, as far as it is known; None where that is not at all."""
    if span.curve is None:
        return None
    first = max(instant(now - BEHIND), span.curve.times[0])
    last = min(instant(now + AHEAD), span.curve.times[-1])
    if first >= last:
        return None
    curve = span.curve.cut(first, last).thinned()
    points = [(moment(t), float(z)) for t, z in zip(curve.times, curve.levels, strict=True)]
    return to_svg(water_curve(points, span.turns(), now, house.rules().zone, units=units))
