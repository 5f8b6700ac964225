"""The sheet for the night watch."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from berths.selectors.handover import hand_over as sheet


@require_safe
def hand_over(request):
    return render(request, "berths/handover.html", sheet(request.user))
