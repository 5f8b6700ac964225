"""Forms of a line's own record: into the register, changed, what was done with it, looked at, put right."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from marina.base import house
from vessels import life
from vessels.lineforms import ChangedLine, Deed, Looked, Mistake, NewLine
from vessels.models import Inspection, Line, LineEvent
from vessels.models.line import Advice, LineEventKind, LineState
from vessels.services import inspections, mistakes
from vessels.services import lines as services

PAGE = require_http_methods(["GET", "HEAD", "POST"])
TITLES = {
    "received": "It has come", "stored": "Put on its hook", "issued": "Given out", "assigned": "Given to a set",
    "returned": "It came back", "derated": "Light use only from now on", "repaired": "It was mended",
    "quarantine": "Hold it back", "missing": "It is missing", "sold": "It was sold", "retired": "Retire it",
    "destroyed": "Its eye is cut",
}  # fmt: skip
WARNED = {
    "retired": "It holds nothing from then on and cannot go out. Cut the eye as soon as it is off.",
    "destroyed": "Cut the eye so that nobody can put it on again, with somebody beside you.",
    "quarantine": "It cannot go out before somebody has inspected it.",
}
# Where there is a boat or a set to name, the loan book does these.
NOT_HERE = ("issued", "assigned", "failed", "cleared", *services.BEGINNINGS[:1], "found", "left_behind")


@PAGE
def new(request):
    form = NewLine(request.POST or None, units=_units(request), user=request.user)
    if request.method == "POST" and form.is_valid():
        line = form.save(commit=False)
        kept = _try(
            form,
            lambda: services.new_line(
                line=line,
                kind=form.cleaned_data["comes_as"],
                by=request.user,
                client_id=form.cleaned_data["client_id"],
            ),
        )
        if kept:
            _say_doubt(request, kept.tag)
            return _to(request, kept, f"{kept.tag} is in the register.")
    context = {"title": "A new line", "deed": "Put it into the register", "back": reverse("berths:lines")}
    return _page(request, form, **context)


@PAGE
def change(request, tag):
    line = _line(tag)
    form = ChangedLine(request.POST or None, instance=_line(tag), units=_units(request))
    if request.method == "POST" and form.is_valid():
        changes, why = form.changes(), form.cleaned_data["why"]
        done = _try(form, lambda: services.change_line(line=line, changes=changes, by=request.user, note=why))
        if done:
            if "tag" in changes:
                _say_doubt(request, line.tag)
            return _to(request, line, "Kept. The old figures stay in its history.")
    return _page(request, form, title=f"Line {tag}: its record", deed="Keep these figures", back=_back(line))


@PAGE
def enter(request, tag, kind):
    """One deed; its form shows what that deed needs."""
    line = _line(tag)
    leads = life.leads_to(kind, line.state) if kind in life.steps() else ()
    if kind in NOT_HERE or (not leads and request.method != "POST"):
        raise Http404("That is no step from what this line is now.")
    form = Deed(request.POST or None, kind=kind, leads=leads, units=_units(request))
    if request.method == "POST" and form.is_valid():
        done = _try(
            form,
            lambda: services.step(
                line=line, kind=kind, by=request.user, changes=form.changes(), **form.told()
            ),
        )
        if done:
            return _to(request, line, f"{line.tag}: {LineEventKind(kind).label}. Now {_now(line)}.")
    context = {
        "title": f"{line.tag}: {TITLES[kind].lower()}",
        "deed": TITLES[kind],
        "head": WARNED.get(kind, ""),
    }
    return _page(request, form, back=_back(line), **context)


def _now(line):
    label = LineState(line.state).label
    return f"{label}, light use only" if line.light_use and not line.condemned else label


@PAGE
def look(request, tag):
    """An inspection at the berth, with a wet thumb: one part of the line after the other."""
    line = _line(tag)
    form = Looked(request.POST or None, units=_units(request))
    if request.method == "POST" and form.is_valid():
        found = _try(form, lambda: inspections.inspect(line=line, by=request.user, **form.seen()))
        if found:
            return _to(request, line, _told(line, found), bad=found.advice == Advice.RETIRE)
    status = 422 if form.errors else 200
    return render(
        request, "vessels/look.html", {"line": line, "form": form, "back": _back(line)}, status=status
    )


def _told(line, found):
    words = f"{line.tag}: {found.get_advice_display()}."
    why = [reason for advice, reason, _ in found.reasons if advice == found.advice]
    return " ".join([words, *why[:3]])


@PAGE
def undo(request, tag, pk):
    """An entry was a mistake."""
    line = _line(tag)
    event = get_object_or_404(LineEvent, pk=pk, line=line)
    title = f"{line.tag}: '{event.get_kind_display()}' was a mistake"
    return _mistake(
        request, line, title, lambda why: mistakes.correct(event=event, by=request.user, reason=why)
    )


@PAGE
def withdraw(request, tag, pk):
    """An inspection was a mistake."""
    line = _line(tag)
    found = get_object_or_404(Inspection, pk=pk, line=line)
    title = f"{line.tag}: this inspection was a mistake"
    return _mistake(
        request, line, title, lambda why: mistakes.withdraw(inspection=found, by=request.user, reason=why)
    )


def _mistake(request, line, title, deed):
    form = Mistake(request.POST or None)
    ready = request.method == "POST" and form.is_valid()
    if ready and _try(form, lambda: deed(form.cleaned_data["reason"])):
        line.refresh_from_db()
        return _to(request, line, f"Put right. {line.tag} is {_now(line)}.")
    head = "The entry stays and counts no more. The line is again what it was before it."
    return _page(request, form, title=title, deed="Put it right", head=head, back=_back(line))


def _try(form, deed):
    """What the service gives; a refusal goes into the form, to its field where it has one."""
    try:
        return deed()
    except ValidationError as refusal:
        told = getattr(refusal, "error_dict", None)
        for field, errors in told.items() if told else [(None, [refusal])]:
            form.add_error(field if field in form.fields else None, errors)
        return None


def _line(tag):
    """Staff only, by the table of doors; so every line may be fetched."""
    return get_object_or_404(Line, tag__iexact=tag)


def _units(request):
    return request.user.units or house.value("H17")["units"]


def _back(line):
    return reverse("berths:line", args=[line.tag])


def _to(request, line, words, bad=False):
    (messages.warning if bad else messages.success)(request, words)
    return redirect("berths:line", tag=line.tag)


def _say_doubt(request, tag):
    if doubt := services.doubts_about_tag(tag):
        messages.warning(request, doubt)


def _page(request, form, **context):
    status = 422 if form.errors else 200
    return render(request, "vessels/line_form.html", {"form": form, **context}, status=status)
