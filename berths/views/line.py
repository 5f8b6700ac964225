"""The register of lines: find one by its tag, and read whether it can be used and where it is."""

import re

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from berths.cards import labels as paper
from berths.cards.press import NoPrinter
from berths.models import LineUse
from berths.models.lineset import ClosedAs
from berths.selectors import visible
from berths.selectors.due import due as to_look_at
from berths.selectors.line import line_page
from berths.selectors.lines import register
from berths.selectors.places import still_here, two_places
from berths.services import lending
from marina.base import clock, house
from marina.base.units import show_length
from vessels.lineforms import Mistake
from vessels.models.line import LineState
from vessels.selectors.lines import can_be_used, with_last_look


@require_safe
def lines(request):
    """All lines, those that ask for something first; a tag typed whole leads to its page."""
    asked = request.GET.get("tag", "").strip()
    rows = register(request.user, asked)
    exact = [
        row for row in rows if asked.casefold() in (row.line.tag.casefold(), row.line.second_tag.casefold())
    ]
    if asked and (exact or len(rows) == 1):
        return redirect("berths:line", tag=(exact or rows)[0].line.tag)
    more = {} if asked else {"here": still_here(), "twice": two_places(request.user)}
    return render(request, "berths/lines.html", {"rows": rows, "asked": asked, **more})


@require_safe
def line(request, tag):
    found = with_last_look(visible.lines(request.user)).select_related("owner", "replaces")
    found = get_object_or_404(found, Q(tag__iexact=tag))
    use = can_be_used(found, found.inspected, found.advice, clock.today())
    return render(request, "berths/line.html", {"line": found, "use": use, **line_page(request.user, found)})


@require_safe
def due(request):
    """Lines to look at."""
    return render(
        request, "berths/due.html", {"rows": to_look_at(request.user), "months": house.value("H14")}
    )


class Back(forms.Form):
    """A line comes back, or it does not."""

    closed_as = forms.ChoiceField(
        choices=[(c.value, c.label) for c in ClosedAs if c not in (ClosedAs.REPLACED, ClosedAs.MOVED)],
        label="What became of it",
    )
    wet = forms.TypedChoiceField(
        choices=[("", "dry: onto its hook"), ("wet", "wet: hung up to dry")],
        coerce=bool,
        empty_value=False,
        required=False,
        label="Dry or wet",
    )
    condition = forms.CharField(max_length=100, required=False, label="How it looks")
    reason = forms.CharField(
        max_length=200, required=False, label="Why", help_text="Needed where it was left."
    )


@require_http_methods(["GET", "HEAD", "POST"])
def back(request, tag):
    """The line that is out comes back."""
    found = get_object_or_404(visible.lines(request.user), tag__iexact=tag)
    use = get_object_or_404(LineUse, line=found, back=None)
    form = Back(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            lending.take_back(use=use, by=request.user, **form.cleaned_data)
        except ValidationError as refusal:
            form.add_error(None, refusal.messages)
        else:
            messages.success(request, f"{found.tag}: {use.get_closed_as_display()}.")
            return redirect("berths:line", tag=found.tag)
    context = {
        "form": form,
        "title": f"{found.tag} comes back from {lending.place_of(use)}",
        "deed": "Enter it",
        "back": reverse("berths:line", args=[found.tag]),
    }
    return render(request, "berths/water_form.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def undo_use(request, tag, pk):
    """The last thing in the loan book was a mistake: it did not go out, or it did not come back."""
    found = get_object_or_404(visible.lines(request.user), tag__iexact=tag)
    use = get_object_or_404(LineUse, pk=pk, line=found)
    form = Mistake(request.POST or None)
    deed = lending.undo_issue if use.back is None else lending.undo_return
    if request.method == "POST" and form.is_valid():
        try:
            deed(use=use, by=request.user, reason=form.cleaned_data["reason"])
        except ValidationError as refusal:
            form.add_error(None, refusal.messages)
        else:
            messages.success(request, f"{found.tag}: put right. The entry stays beside it.")
            return redirect("berths:line", tag=found.tag)
    said = "did not go out to" if use.back is None else "did not come back from"
    context = {
        "form": form,
        "title": f"{found.tag} {said} {lending.place_of(use)}",
        "deed": "Put it right",
        "back": reverse("berths:line", args=[found.tag]),
    }
    return render(request, "berths/water_form.html", context, status=422 if form.errors else 200)


@require_safe
def labels(request):
    """Which lines want a label; with `print` the sheet itself."""
    asked, start = request.GET.get("tags", ""), request.GET.get("start", "1").strip() or "1"
    page = {"tags": asked, "start": start, "on_a_sheet": paper.ON_A_SHEET, "wrong": []}
    if "print" in request.GET:
        found, page["wrong"] = _asked_for(request, asked)
        if not start.isdecimal() or not 1 <= int(start) <= paper.ON_A_SHEET:
            page["wrong"].append(f"The first free place is a number from 1 to {paper.ON_A_SHEET}.")
        if not page["wrong"]:
            told = [_label(request, one) for one in found]
            return _pdf(request, lambda: paper.sheet(told, start=int(start)), "labels")
    return render(request, "berths/labels.html", page, status=422 if page["wrong"] else 200)


@require_safe
def label(request, tag):
    """One label of its own size."""
    found = get_object_or_404(visible.lines(request.user), tag__iexact=tag)
    return _pdf(request, lambda: paper.single(_label(request, found)), found.tag)


def _asked_for(request, asked):
    """Lines by the tags that were typed, and what is wrong with these."""
    every = visible.lines(request.user).exclude(
        state__in=[LineState.RETIRED, LineState.DESTROYED, LineState.SOLD]
    )
    tags = list(dict.fromkeys(tag.casefold() for tag in re.split(r"[\s,;]+", asked) if tag))
    if not tags:
        return list(every), [] if every.exists() else ["There is no line in the register yet."]
    by_tag = {one.tag.casefold(): one for one in every}
    unknown = [tag.upper() for tag in tags if tag not in by_tag]
    wrong = [f"No label for {', '.join(unknown)}: not in the register, or retired."] if unknown else []
    return [by_tag[tag] for tag in tags if tag in by_tag], wrong


def _label(request, one):
    units = request.user.units or house.value("H17")["units"]
    diameter = f"{one.diameter_mm.normalize():f} mm" if one.diameter_mm else "diameter not known"
    length = f"{show_length(one.working_length, 'working', units)} to one band" if one.working_length else ""
    owner = one.get_owner_kind_display() if one.owner_id is None else "berth holder's"
    address = request.build_absolute_uri(reverse("berths:line", args=[one.tag]))
    return {"tag": one.tag, "words": list(filter(None, [diameter, length, owner])), "address": address}


def _pdf(request, make, name):
    try:
        made = make()
    except NoPrinter as error:
        messages.error(request, str(error))
        return redirect("berths:lines")
    response = HttpResponse(made, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return response
