"""Berths in walking order, one berth, one boat."""

from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from berths.selectors import visible
from berths.selectors.berths import berth_page, boat_page, walk
from marina.base import clock


@require_safe
def berths(request):
    rows = walk(request.user, clock.now())
    free = sum(not berth.lying and berth.in_use for berth in rows)
    return render(request, "berths/berths.html", {"berths": rows, "free": free})


@require_safe
def berth(request, code):
    found = get_object_or_404(
        visible.berths(request.user).select_related("pier", "water__outer"), code__iexact=code
    )
    return render(request, "berths/berth.html", {"berth": found, **berth_page(request.user, found)})


@require_safe
def boat(request, pk):
    vessel = get_object_or_404(visible.vessels(request.user).select_related("owner"), pk=pk)
    return render(request, "berths/boat.html", {"vessel": vessel, **boat_page(request.user, vessel)})
