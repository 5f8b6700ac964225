"""The allowance for weather of one stay, set on its page by the harbourmaster."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from berths.cards.facts import reader_of
from berths.models import Reading
from berths.selectors import visible
from berths.selectors.waterpage import offer_for_stay
from berths.services import stays
from berths.stayallowance import LIVE
from berths.views.stay import again
from berths.waterforms import StayAllowance

OUT_OF_DATE = (
    "Her tie-up is out of date until it is worked out again, and a card printed before counts no more."
)
NOTHING_OFFERED = "That reading asks for no larger allowance any more; look at what stands there now."


@require_POST
def allowance(request, pk):
    """Set, take from a reading of the gauge (`reading`), or give back to the water (`clear`)."""
    rows = visible.stays(request.user).select_related("berth__water__outer", "berth__pier", "vessel__owner")
    stay, form = get_object_or_404(rows, pk=pk), None
    try:
        if "clear" in request.POST:
            given, words = {}, "The water's own allowance counts for her again."
        elif "reading" in request.POST:
            given, words = (
                _of_gauge(request, stay),
                "What the gauge showed is now allowed for, for this stay alone.",
            )
        else:
            form = StayAllowance(request.POST, units=reader_of(request.user).units)
            if not form.is_valid():
                return again(request, stay, typed=form)
            given, words = form.cleaned_data, "Allowed for, for this stay alone."
        stays.allow_for_stay(
            stay=stay,
            by=request.user,
            down=given.get("surge_down"),
            up=given.get("surge_up"),
            reason=given.get("surge_reason", ""),
        )
    except ValidationError as refusal:
        if form is not None and stay.state in LIVE:
            form.refuse(refusal)
            return again(request, stay, typed=form)
        return again(request, stay, refusal=refusal.messages)
    messages.success(request, f"{words} {OUT_OF_DATE}")
    return redirect("berths:stay", stay.pk)


def _of_gauge(request, stay):
    asked = request.POST["reading"]
    known = (
        Reading.objects.filter(water=stay.berth.water_id, pk=int(asked)).first()
        if asked.isdecimal()
        else None
    )
    offered = known and offer_for_stay(stay, known, reader_of(request.user))
    if not offered:
        raise ValidationError(NOTHING_OFFERED)
    return offered
