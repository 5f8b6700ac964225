"""A surveyed berth repeated along the pier: shown on the plan first, then kept as a whole or not at all."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from berths.cards.facts import reader_of
from berths.layoutforms import CopyForm
from berths.layouts import PILE
from berths.models import Berth
from berths.services import survey as services
from berths.surveycopy import copies, next_code
from berths.surveydrawn import drawn_copies

PUT = ("GET", "HEAD", "POST")


@require_http_methods(PUT)
def copy_along(request, code):
    """GET with figures shows what would be; POST with the same figures keeps it."""
    berth = get_object_or_404(Berth.objects.select_related("pier"), code__iexact=code)
    units = reader_of(request.user).units
    told = request.POST if request.method == "POST" else request.GET or None
    form = CopyForm(told, units=units, initial=_start(berth))
    made = _made(berth, form) if told is not None and form.is_valid() else None
    if made and request.method == "POST":
        try:
            kept = services.keep_all(surveys=made.surveys, by=request.user)
        except ValidationError as refusal:
            form.refuse(refusal)
        else:
            messages.success(request, _told(kept, made))
            return redirect("berths:survey")
    context = {"berth": berth, "form": form, "made": made}
    if made:
        context |= drawn_copies(berth, made, units)
    return render(request, "berths/survey_copy.html", context, status=422 if form.errors else 200)


def _start(berth):
    """A pile's width between two slips; alongside end to end."""
    pitch = berth.clear_width + PILE if berth.clear_width else berth.length
    return {"number": 1, "pitch": pitch, "side": "right", "first": next_code(berth.code)}


def _made(berth, form):
    try:
        return copies(berth, **form.cleaned_data)
    except ValidationError as refusal:
        form.refuse(refusal)
        return None


def _told(kept, made):
    first, last = kept[0].code, kept[-1].code
    codes = first if len(kept) == 1 else f"{first} to {last}"
    return f"{codes} kept: {made.new} new fastenings, {len(made.shared)} shared. What was not found out there yet is not known."
