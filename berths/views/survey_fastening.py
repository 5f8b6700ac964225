"""One fastening: what is known of it, who shares it, and what rests on it. Hands say what they find."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from berths.cards.facts import reader_of
from berths.fasteningforms import Found, Known
from berths.models import Fastening
from berths.selectors.survey import touched_by
from berths.selectors.weak import fault_of_fastening
from berths.services import survey as services

PUT = ("GET", "HEAD", "POST")


@require_http_methods(PUT)
def fastening(request, pk):
    found = get_object_or_404(Fastening, pk=pk)
    kind = Known if request.user.is_harbourmaster else Found
    form = kind(request.POST or None, fastening=found, units=reader_of(request.user).units, by=request.user)
    touched = touched_by(found)
    if request.method == "POST" and form.is_valid():
        try:
            kept = services.record_fastening(fastening=found, by=request.user, **form.cleaned_data)
        except ValidationError as refusal:
            form.refuse(refusal)
        else:
            messages.success(request, _told(kept, len(touched) - len(touched_by(kept))))
            return redirect("berths:fastening", kept.pk)
    context = {
        "fastening": found,
        "form": form,
        "links": found.berths.select_related("berth__pier").order_by("berth__walking_order"),
        "touched": touched,
        "fault": fault_of_fastening(found),
    }
    return render(request, "berths/fastening.html", context, status=422 if form.errors else 200)


def _told(kept, number):
    if not number:
        return f"{kept} kept. No tie-up rests on what changed."
    return f"{kept} kept. Out of date now: {number} tie-up{'s' if number != 1 else ''}."
