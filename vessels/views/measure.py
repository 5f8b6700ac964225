"""A hand measures a boat at the dock."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from marina.base import house
from vessels.forms import Measured
from vessels.models import Vessel


@require_http_methods(["GET", "HEAD", "POST"])
def measure(request, pk):
    """Staff only, by the table of doors; so every vessel may be fetched."""
    vessel = get_object_or_404(Vessel, pk=pk)
    ours = house.value("H17")
    reads = {name: getattr(request.user, name) or ours[name] for name in ("units", "words")}
    form = Measured(request.POST or None, instance=vessel, by=request.user, **reads)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(
            request, f"{vessel.name}: measured figures kept. Her berth and lines rest on them now."
        )
        return redirect("berths:boat", pk=pk)
    return render(
        request, "vessels/measure.html", {"vessel": vessel, "form": form}, status=422 if form.errors else 200
    )
