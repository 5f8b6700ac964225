"""A permanent set: its page for office and owner, and what staff do with it."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.text import slugify
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from berths.cards import press, setsheet
from berths.cards.sheets import A4, LETTER
from berths.models import SetPosition
from berths.reader import reader_of
from berths.selectors import visible
from berths.selectors.sets import offers, set_page, sets
from berths.selectors.working import kept
from berths.services import sets as services
from berths.services import tieups
from berths.setforms import CloseForm, PlaceForm
from berths.views.stay import pictures_of, working_of
from marina.base import clock, house
from marina.base.templatetags.dock import age, day


@require_safe
def line_set(request, pk):
    """One's own set, or none (404)."""
    return _page(request, _set(request, pk))


def _set(request, pk):
    return get_object_or_404(sets(request.user), pk=pk)


def _page(request, found, *, refusal=(), status=200, typed=None):
    reader = reader_of(request.user)
    page = set_page(request.user, found, reader)
    open_now = found.ends is None
    staff = not request.user.is_holder
    context = {
        "line_set": found,
        "open_now": open_now,
        "may_change": open_now and request.user.is_harbourmaster,
        "may_fill": open_now and staff,
        "accept_url": open_now and staff and reverse("berths:set-accept", args=[found.pk]),
        "sheet_url": reverse("berths:set-sheet", args=[found.pk]),
        "refusal": refusal,
        "typed": typed or {},
        **page,
        **pictures_of(page, reader, alone=True),
        **working_of(page, reader),
    }
    if context["may_fill"]:
        found_for = offers(request.user, found, page["rows"])
        for own in page["rows"]:
            own.offers = found_for.get(own.position.pk, [])
            first = own.offers[0].line.tag if own.offers and own.line is None else ""
            own.typed = (typed or {}).get(f"line-{own.position.pk}", "" if typed else first)
    return render(request, "berths/set.html", context, status=status)


@require_safe
def sheet(request, pk):
    """The set on A4, or Letter for who reads in feet; made when it is asked for."""
    found = _set(request, pk)
    reader, rules = reader_of(request.user), house.rules()
    page = set_page(request.user, found, reader)
    working = working_of(page, reader)
    today = clock.today()
    where = "permanent_floating" if found.berth.kind == "floating" else "permanent_fixed"
    told = {
        "stands": working.get("stands", []),
        "holds_to": working["holds_to"] if page["verdict"] and page["verdict"].summary.holds_to else "",
        "call": ", ".join(
            filter(None, (rules["channel"] and f"channel {rules['channel']}", rules["telephone"]))
        ),
        "printed": reader.time(clock.now(), today=today),
        "worked_out": reader.time(page["tie_up"].made_at, today=today) if page["verdict"] else "",
        "invented": rules["demo_clock"] is not None,
    }
    try:
        data = setsheet.sheet(
            page,
            setsheet.rows(page, reader, eye=rules["H1"][where], age=age, day=day),
            line_set=found,
            reader=reader,
            paper=LETTER if reader.units == "ft" else A4,
            address=request.build_absolute_uri(reverse("berths:set", args=[pk])),
            told=told,
        )
    except press.NoPrinter as trouble:
        messages.error(request, str(trouble))
        return redirect("berths:set", pk)
    response = HttpResponse(data, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="set-{slugify(found.berth.code)}.pdf"'
    return response


# --- deeds: the table of doors says who ---


@require_POST
def make(request, pk):
    """The set of a stay's berth and boat, from the tie-up that counts for the stay."""
    stay = get_object_or_404(visible.stays(request.user).select_related("berth", "vessel__owner"), pk=pk)
    try:
        made = services.make_set(stay=stay, tie_up=kept(request.user, stay)["tie_up"], by=request.user)
    except ValidationError as error:
        for sentence in error.messages:
            messages.error(request, f"No set was made: {sentence}")
        return redirect("berths:stay", pk)
    messages.success(request, "The set is made. Now say which line fills each place.")
    return redirect("berths:set", made.pk)


@require_POST
def work_out(request, pk):
    found = _set(request, pk)
    tieups.work_out_set(found, request.user)
    messages.success(
        request, "Worked out with the lines that fill it now, from the lowest to the highest water."
    )
    return redirect("berths:set", pk)


@require_POST
def fill(request, pk):
    """Lines for places: `line-<place>` holds a tag; empty ones are left as they are. All or none."""
    found = _set(request, pk)
    typed = {key: value.strip() for key, value in request.POST.items() if key.startswith("line-")}
    try:
        chosen = [
            (position, services.line_of(tag))
            for position in found.positions.all()
            if (tag := typed.get(f"line-{position.pk}"))
        ]
        if not chosen:
            raise ValidationError("Write at least one tag.")
        services.fill_all(line_set=found, chosen=chosen, by=request.user)
    except ValidationError as error:
        return _page(request, found, refusal=error.messages, status=422, typed=typed)
    words = ", ".join(f"{line} in place {position.number}" for position, line in chosen)
    messages.success(request, f"{words}.")
    return redirect("berths:set", pk)


@require_http_methods(["GET", "HEAD", "POST"])
def place(request, pk, number=None):
    """One place of the set, or a new one."""
    found = _set(request, pk)
    if number is None:
        position = SetPosition(line_set=found, number=services.next_number(found))
    else:
        position = get_object_or_404(SetPosition, line_set=found, number=number)
    form = PlaceForm(request.POST or None, instance=position, units=reader_of(request.user).units)
    if request.method == "POST" and found.ends is not None:
        form.add_error(None, "This set was closed; it stays as it was.")
    if request.method == "POST" and form.is_valid():
        services.keep_place(form=form, by=request.user)
        messages.success(request, f"Place {position.number} is kept; the set has to be worked out again.")
        return redirect("berths:set", pk)
    context = {"line_set": found, "position": position, "form": form, "new": number is None}
    return render(request, "berths/set_place.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def close(request, pk):
    found = _set(request, pk)
    form = CloseForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            back = services.close_set(line_set=found, by=request.user, why=form.cleaned_data["told"])
        except ValidationError as error:
            form.add_error(None, error)
        else:
            went = f" Back to store or owner: {', '.join(back)}." if back else ""
            messages.success(request, f"The set is closed.{went} Its places and its tie-ups stay on record.")
            return redirect("berths:set", pk)
    context = {"line_set": found, "form": form}
    return render(request, "berths/set_close.html", context, status=422 if form.errors else 200)
