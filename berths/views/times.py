"""How long a boat stays: changed on the page of her stay, with what that does to the water she meets said at once."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from berths.cards.facts import reader_of
from berths.selectors import visible
from berths.selectors.water import window_of_stay
from berths.services import stays
from berths.views.stay import again
from berths.waterforms import StayLeaves
from marina.base import clock

OUT_OF_DATE = "Her tie-up is out of date until it is worked out again."


@require_POST
def times(request, pk):
    """Let her stay longer, or leave sooner."""
    rows = visible.stays(request.user).select_related("berth__water__outer", "berth__pier", "vessel__owner")
    stay, form = get_object_or_404(rows, pk=pk), StayLeaves(request.POST)
    if not form.is_valid():
        return again(request, stay, refusal=form.errors["depart"])
    reader, before = reader_of(request.user), window_of_stay(stay)
    leaves = form.cleaned_data["depart"]
    try:
        moved = stays.move_stay(
            stay=stay, by=request.user, depart=leaves, reason="how long she stays was changed"
        )
    except ValidationError as refusal:
        return again(request, stay, refusal=refusal.messages)
    end = f"until {reader.time(leaves, today=clock.today())}" if leaves else "with no end set"
    messages.success(
        request, f"She now stays {end}. {_water(before, window_of_stay(moved), reader)} {OUT_OF_DATE}"
    )
    return redirect("berths:stay", moved.pk)


def _water(before, after, reader):
    """The water she meets then, and met before."""

    def span(window):
        if None in (window.low, window.high):
            return "not known"
        return f"{reader.length(window.low, 'level')} to {reader.length(window.high, 'level')}"

    if span(before) == span(after):
        return f"The water she meets is the same: {span(after)} without weather."
    return f"The water she meets, without weather: now {span(after)}; before, {span(before)}."
