"""The harbour from above, to scale, on any day."""

from datetime import datetime, time, timedelta

from django.shortcuts import render
from django.urls import reverse
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_safe

from berths.drawing.harbour import harbour_plan
from berths.drawing.svg import to_svg
from berths.selectors.plan import harbour_on
from marina.base import clock, house


@require_safe
def plan(request):
    """Today as it is now; another day at noon of the harbour."""
    asked = request.GET.get("day", "")
    day, wrong = _day(asked)
    moment = clock.now() if day == clock.today() else datetime.combine(day, time(12), house.rules().zone)
    midnight = datetime.combine(day + timedelta(days=1), time(), house.rules().zone)
    berths, hulls, faces, piles = harbour_on(request.user, moment, midnight - timedelta(minutes=1))
    drawing = to_svg(harbour_plan(berths, hulls, faces, piles, _page_of), large=True) if berths else None
    context = {"berths": berths, "drawing": drawing, "day": day, "moment": moment, "wrong": wrong}
    context |= {"before": day - timedelta(days=1), "after": day + timedelta(days=1)}
    return render(request, "berths/plan.html", context, status=422 if wrong else 200)


def _page_of(berth):
    return reverse("berths:berth", args=[berth.code])


def _day(text):
    """The day asked for, else today and a word on what was wrong."""
    if not text:
        return clock.today(), ""
    try:
        day = parse_date(text)
    except ValueError:
        day = None
    if day is None or not 1990 <= day.year <= 2200:
        return clock.today(), f"“{text[:20]}” is no day; write it as 2027-10-15. Here is today."
    return day, ""
