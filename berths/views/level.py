"""The level at one berth at a chosen time, for the boat that lies there or will."""

from datetime import timedelta
from urllib.parse import urlencode

from django.http import Http404
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from berths.curve import instant, moment
from berths.drawing.svg import to_svg
from berths.drawing.tide import water_curve
from berths.localtime import ComesTwice, comes_twice, offset_words, read_time
from berths.reader import reader_of
from berths.selectors import visible
from berths.selectors.level import by_day, level_at_berth, limits_drawn, stays_at
from marina.base import clock, house

STRIP = timedelta(days=3)  # so long a piece of the curve can be read on a phone


@require_safe
def level(request, code):
    """Berths and boats of this person only: another's reads like none."""
    berth = get_object_or_404(
        visible.berths(request.user).select_related("pier", "water__outer"), code__iexact=code
    )
    now, zone = clock.now(), house.zone()
    at, wrong, twice = _asked(request.GET.get("at", ""), zone)
    stays = stays_at(request.user, berth, now)
    stay = _chosen(stays, request.GET.get("stay", ""))
    answer = level_at_berth(request.user, berth, now=now, at=at, stay=stay)
    context = {
        "berth": berth,
        "stay": stay,
        "stays": stays,
        "typed": _typed(request.GET.get("at", ""), answer["at"], wrong, zone),
        "away": stay is not None and not stay.arrive <= answer["at"] <= (stay.depart or answer["at"]),
        "wrong": wrong,
        "twice": _both_times(request, twice, zone),
        "curves": _curves(answer, stay, now, reader_of(request.user).units),
        "days": by_day(answer["events"], zone),
        "hours_in_day": len(answer["hours"]) - 1,
        "holder": request.user.is_holder,
        **answer,
    }
    return render(request, "berths/level.html", context, status=422 if wrong else 200)


def _asked(text, zone):
    """(time, what is wrong with it, the two times it may mean); no text asks for the next low."""
    if not text.strip():
        return None, "", None
    try:
        return (
            read_time(text.replace(" ", "+") if text.count(" ") == 1 and "T" in text else text, zone),
            "",
            None,
        )
    except ComesTwice as twice:
        return twice.first, "", twice
    except ValueError as fault:
        return None, f"{str(fault)[0].upper()}{str(fault)[1:]}. Here is the next low.", None


def _typed(text, at, wrong, zone):
    """What stands in the field of the time: (kind of field, text). A picker would drop an offset, and nonsense."""
    if wrong:
        return "text", text
    here = at.astimezone(zone)
    if comes_twice(at, zone):
        return "text", here.isoformat(sep=" ", timespec="minutes")
    return "datetime-local", f"{here:%Y-%m-%dT%H:%M}"


def _both_times(request, twice, zone):
    """Links to both times of an hour that comes twice, each with its offset."""
    if twice is None:
        return []
    rest = {name: request.GET[name] for name in ("stay",) if name in request.GET}
    times = (twice.first, twice.second)
    return [
        {
            "words": f"{t:%H:%M} {offset_words(t, zone)}",
            "query": urlencode(rest | {"at": t.isoformat(timespec="minutes")}),
        }
        for t in times
    ]


def _chosen(stays, asked):
    """The stay asked for among those that may be seen; else the first of them, or none."""
    if not asked:
        return stays[0] if stays else None
    found = next((s for s in stays if str(s.pk) == asked), None)
    if found is None:
        raise Http404
    return found


def _curves(answer, stay, now, units):
    """The curve in pieces short enough to be read, with the two limits and the time of her stay."""
    part = answer["part"]
    if part is None:
        return []
    start, end = moment(part.times[0]), moment(part.times[-1])
    pieces = -(-(end - start) // STRIP)
    step = (end - start) / pieces
    drawn = []
    for n in range(pieces):
        first, last = start + n * step, start + (n + 1) * step
        cut = part.cut(instant(first), instant(last)).thinned()
        piece = [(moment(t), float(z)) for t, z in zip(cut.times, cut.levels, strict=True)]
        drawing = water_curve(
            piece,
            [t for t in answer["span"].turns() if first <= t.time <= last],
            now,
            house.zone(),
            units=units,
            limits=limits_drawn(answer),
            stay=stay and (stay.arrive, stay.depart),
        )
        drawn.append(to_svg(drawing))
    return drawn
