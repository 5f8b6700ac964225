"""Rounds on a phone: begin, the next berth in walking order, close."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from berths.cards.facts import reader_of
from berths.models import Berth, Round
from berths.roundforms import Begin, LookForm
from berths.selectors import rounds as walks
from berths.services import rounds as deeds
from berths.services.looks import interval
from marina.base import clock


@require_http_methods(["GET", "HEAD", "POST"])
def rounds(request):
    last = walks.last_closed()
    form = Begin(request.POST or None, missed=walks.not_looked_at(last))
    if request.method == "POST" and form.is_valid():
        try:
            begun = deeds.begin(name=form.cleaned_data["name"], berths=form.berths(), by=request.user)
            return redirect("berths:round", begun.pk)
        except ValidationError as error:
            form.add_error(None, error.messages)
    due = last.started + interval() if last else None
    context = {
        "form": form,
        "walks": walks.rounds(request.user),
        "last": last,
        "due": due,
        "now": clock.now(),
    }
    return render(request, "berths/rounds.html", context, status=422 if form.errors else 200)


@require_safe
def round_page(request, pk):
    row = get_object_or_404(Round.objects.select_related("by"), pk=pk)
    return render(request, "berths/round.html", {"walk": walks.walk(request.user, row)})


@require_http_methods(["GET", "HEAD", "POST"])
def look(request, pk, code):
    """One berth of a round; after it the next one."""
    row = get_object_or_404(Round, pk=pk)
    berth = get_object_or_404(Berth, code=code, rounds=row)
    stop = walks.stop(request.user, berth, row)
    posted = (request.POST, request.FILES) if request.method == "POST" else (None, None)
    stay = stop.stays[0] if stop.stays else None
    form = LookForm(*posted, stay=stay, units=reader_of(request.user).units)
    if request.method == "POST" and form.is_valid():
        try:
            return _keep(request, row, berth, form)
        except ValidationError as error:
            form.add_error(None, error.messages)
    context = {"round": row, "stop": stop, "form": form, "next": _after(request.user, row, berth)}
    return render(request, "berths/look.html", context, status=422 if form.errors else 200)


def _keep(request, row, berth, form):
    given = form.cleaned_data
    deeds.look_at(
        round_=row, berth=berth, by=request.user, seen=form.seen(), at=form.at,
        **{name: given[name] for name in ("mark", "words", "picture", "client_id")},
    )  # fmt: skip
    ahead = walks.walk(request.user, row).next
    messages.success(request, f"{berth.code}: kept.")
    if ahead is None:
        return redirect("berths:round", row.pk)
    return redirect("berths:look", row.pk, ahead.berth.code)


def _after(user, row, berth):
    """Where the walk goes on from here, for a phone that cannot ask."""
    left = [stop.berth for stop in walks.walk(user, row).left if stop.berth.pk != berth.pk]
    behind = sorted(left, key=lambda other: (other.walking_order < berth.walking_order, other.walking_order))
    return reverse("berths:look", args=[row.pk, behind[0].code]) if behind else ""


@require_POST
def close(request, pk):
    row = deeds.close(round_=get_object_or_404(Round, pk=pk), by=request.user)
    messages.success(request, f"Closed: {walks.walk(request.user, row).words}.")
    return redirect("berths:rounds")
