"""One stay: where she lies, how she is tied up and why, and what the harbourmaster may do about it."""

from functools import partial
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from berths.cards.facts import reader_of
from berths.drawing.describe import describe_elevation, describe_plan
from berths.drawing.elevation import elevation
from berths.drawing.plan import plan
from berths.drawing.svg import to_svg
from berths.forms import NOT_NAMED, Painted, Reason
from berths.selectors import visible
from berths.selectors.sets import set_of
from berths.selectors.stay import out_of_date_beside, stay_page
from berths.services import placing, stays, tieups
from berths.stayallowance import allowing
from berths.telling import assumed, case_in_words, cases_in_words, in_words, stands_in_words
from marina.base.units import show_wind
from marina.base.writing import in_one_go

NOW = ("booked", "fast")


@require_safe
def stay(request, key):
    """By number, or by the code that stands on the stay; one's own, or none (404)."""
    found = _stay(request.user, key)
    return _page(request, found)


def _page(request, found, *, refusal=(), status=200, typed=None):
    reader = reader_of(request.user)
    page = stay_page(request.user, found, reader)
    office = request.user.is_harbourmaster
    context = {
        "stay": found,
        "now_on": found.state in NOW,
        "found": page["tie_up"] is not None and page["tie_up"].sort == "found",
        "may_change": office and found.state in NOW,
        "painted": None if request.user.is_holder else Painted(instance=found.vessel, label_suffix=""),
        "not_named": found.vessel.name.startswith(NOT_NAMED),
        "line_set": set_of(found),
        "accept_url": found.state in NOW
        and not request.user.is_holder
        and reverse("berths:accept", args=[found.pk]),
        "beside": out_of_date_beside(found) if office else [],
        "refusal": refusal,
        "reason": request.POST.get("reason", ""),
        **page,
        **allowing(request, found, page["water"], typed),
        **pictures_of(page, reader, alone=request.user.is_holder, now_on=found.state in NOW),
        **working_of(page, reader),
    }
    return render(request, "berths/stay.html", context, status=status)


def again(request, found, *, refusal=(), typed=None):
    """The page once more, with what was refused and what was typed."""
    return _page(request, found, refusal=refusal, status=422, typed=typed)


def pictures_of(page, reader, *, alone, now_on=False):
    """Plan and side view with the same in sentences; a holder's leave the neighbours out.

    The water now stands in the side view while the stay is going on or to come.
    """
    scenario, verdict = page["scenario"], page["verdict"]
    if scenario is None:
        return {}
    told = describe_plan(scenario, verdict, reader, neighbours=not alone, **page["words"])
    drawn = plan(scenario, verdict, feet=reader.units == "ft", neighbours=not alone, sentences=told)
    now = page["water"].now if now_on else None
    side = describe_elevation(scenario, reader, verdict, now=now)

    def say(metres):
        return reader.length(metres, "level")

    seen = elevation(scenario, verdict, now=now, say=say, sentences=side)
    return {"drawing": to_svg(drawn), "told": told, "side": to_svg(seen), "side_told": side}


def working_of(page, reader):
    """What the numbers rest on, in words."""
    verdict = page["verdict"]
    if verdict is None:
        return {}
    summary, choice = verdict.summary, verdict.choice
    orders = {line.id: line.order for line in verdict.lines}
    told = partial(in_words, boat=page["scenario"].boat, reader=reader, kind=page["words"]["kind"])
    return {
        "assumed": assumed(verdict, reader),
        "worst_line": orders.get(summary.peak_line),
        "worst_at": case_in_words(verdict, summary.peak_case, reader),
        "moves_at": case_in_words(verdict, summary.excursion_case, reader),
        "holds_to": show_wind(summary.holds_to),
        "stands": stands_in_words(verdict, reader),
        "cases": cases_in_words(summary.counts),
        "others": [told(o.difference) for o in choice.next] if choice else [],
        "mend": [told(words) for words in choice.mend] if choice else [],
        "lost": [(orders.get(row.line), row) for row in summary.one_line_lost],
    }


# --- deeds: the table of doors leaves them to the harbourmaster ---


def _deed(request, pk, step):
    """Do it and come back to the stay; a refusal is told there, with what was typed."""
    found = _stay(request.user, str(pk))
    try:
        done, words = step(found)
    except ValidationError as error:
        return _page(request, found, refusal=error.messages, status=422)
    messages.success(request, words)
    return redirect("berths:stay", done.pk)


@require_POST
def turn(request, pk):
    """The other side, or the other end, to the dock; worked out anew."""

    def step(found):
        done = placing.turn(stay=found, by=request.user)
        way = done.get_end_in_display() or done.get_side_to_display()
        return done, f"Now {way}. Her lines were worked out anew; her old card counts no more."

    return _deed(request, pk, step)


@require_POST
def work_out(request, pk):
    def step(found):
        placing.work_out_again(stay=found, by=request.user)
        return found, "Worked out again, from the records as they are now."

    return _deed(request, pk, step)


@require_POST
def work_out_beside(request, pk):
    """The boats of this pier whose tie-ups went out of date, for instance because she came."""

    def step(found):
        beside = out_of_date_beside(found)
        for other in beside:
            tieups.work_out(other, request.user)
        codes = ", ".join(other.berth.code for other in beside) or "none was out of date"
        return found, f"Worked out again: {codes}."

    return _deed(request, pk, step)


@require_POST
def name(request, pk):
    """Her name, told late or read off her hull; a hand may enter it."""

    def step(found):
        form = Painted(request.POST, instance=found.vessel)
        if not form.is_valid():
            raise ValidationError([e for errors in form.errors.values() for e in errors])
        vessel = in_one_go(form.save, by=request.user)
        return found, f"She is {vessel.name}. A card printed before has the old name: print it again."

    return _deed(request, pk, step)


@require_POST
def cancel(request, pk):
    def step(found):
        form = Reason(request.POST)
        if not form.is_valid():
            raise ValidationError(form.errors["reason"][0])
        stays.cancel_stay(stay=found, by=request.user, reason=form.cleaned_data["reason"])
        return found, f"Cancelled. {found.berth} is free again; destroy her cards."

    return _deed(request, pk, step)


def _stay(user, key):
    """The stay of this number or code, if this person may see it."""
    rows = visible.stays(user).select_related("berth__water__outer", "berth__pier", "vessel__owner")
    if key.isdigit() and len(key) < 19:
        return get_object_or_404(rows, pk=int(key))
    try:
        return get_object_or_404(rows, client_id=UUID(key))
    except ValueError:
        raise Http404 from None
