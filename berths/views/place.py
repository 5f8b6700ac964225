"""A boat on the radio: four figures, the berths that fit, one press. And the same list for a boat that is moved."""

from dataclasses import replace
from urllib.parse import urlencode
from uuid import UUID, uuid4, uuid5

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Max, prefetch_related_objects
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods
from django_htmx.http import replace_url

from berths.cards.facts import reader_of
from berths.forms import NOT_NAMED, SIDES, OnTheRadio
from berths.selectors import visible
from berths.selectors.options import Teller, asked_for, options
from berths.services import placing
from berths.sketch import sketch
from berths.survey import SURVEYED
from marina.base import clock, house

DRAWN = 4  # options that come with a drawing and all they have; the rest are folded
PUT = ("GET", "HEAD", "POST")


@require_http_methods(PUT)
def place(request):
    """GET lists the berths for what has been typed so far; POST without a berth leads there, with one books it."""
    told = request.POST if request.method == "POST" else request.GET
    vessel = _known(request.user, told.get("vessel"))
    reader = reader_of(request.user)
    form = OnTheRadio(told or None, units=reader.units, vessel=vessel, draft_word=reader.word("draft"))
    if request.method == "POST":
        return _give(request, form, reader) if told.get("berth") else redirect(_address(form))
    response = _page(request, form, reader)
    return replace_url(response, _address(form)) if request.htmx else response


@require_http_methods(PUT)
def move(request, pk):
    """The same list for a boat that has a berth already."""
    stay = get_object_or_404(visible.stays(request.user).select_related("berth", "vessel"), pk=pk)
    reader, told = reader_of(request.user), request.POST or request.GET
    wish = told.get("side", stay.side_told)  # fenders and lines hang ready for the side she was told
    side = wish if wish in dict(SIDES) else ""
    boat, refusal, found = stay.vessel, [], None
    if None in (boat.loa, boat.beam, boat.draft):
        refusal = ["Her length, beam and draft must be known before berths can be listed. Measure her first."]
    else:
        found = _options_for(boat, _from_now(stay), stay.depart, reader, side, without=stay)
    if found and request.method == "POST" and told.get("berth"):
        try:
            moved = placing.move(
                stay=stay, option=_chosen(found, told), by=request.user, reason=told.get("reason", "").strip()
            )
        except ValidationError as error:
            refusal = _refused(error, told["berth"])
            found = _options_for(boat, _from_now(stay), stay.depart, reader, side, without=stay)
        else:
            messages.success(request, f"{boat.name} goes to {moved.berth}. Her old card counts no more.")
            return redirect("berths:stay", moved.pk)
    context = {
        "stay": stay,
        "sides": SIDES,
        "side": side,
        "refusal": refusal,
        "reason": told.get("reason", ""),
        **(_listed(found, boat, reader, told.get("berth", "")) if found else {}),
    }
    return render(request, "berths/place_move.html", context, status=422 if refusal else 200)


# --- the page ---


def _page(request, form, reader, *, refusal=(), status=200):
    """The form with what was typed, and the berths as they are now."""
    reader, found, boat = replace(reader, units=form.in_units), None, None
    if form.is_bound and form.is_valid():
        boat = form.boat(request.user)
        side = form.cleaned_data["side"]
        found = _options_for(boat, form.arrives, form.departs, reader, side)
    context = {
        "form": form,
        "known": form.vessel,
        "matches": _matches(request.user, form),
        "refusal": refusal,
        "reason": form.data.get("reason", ""),
        "page": form.data.get("page") or uuid4(),
        **(_listed(found, boat, reader, form.data.get("berth", "")) if found else {}),
    }
    template = "berths/place_options.html" if request.htmx else "berths/place.html"
    return render(request, template, context, status=status)


def _options_for(boat, arrive, depart, reader, side, without=None):
    teller = Teller(reader, clock.today())
    return options(asked_for(boat, house.rules(), side), arrive, depart, teller, without=without)


def _listed(found, boat, reader, asked_code=""):
    """What the list of berths shows; the first few with a drawing. `asked_code`: the berth that was refused."""
    rules = house.rules()
    first = found.fitting[:DRAWN]
    prefetch_related_objects([option.berth for option in first], *SURVEYED)
    for option in first:
        option.drawing = sketch(option, boat, rules, feet=reader.units == "ft")
    counts, rests_on = boat.length_that_counts(rules)
    return {
        "found": found,
        "unfit_asked": any(o.berth.code == asked_code for o in found.unfit),
        "first": first,
        "more": found.fitting[DRAWN:],
        "boat": boat,
        "counts": counts,
        "rests_on": rests_on,
        "units": reader.units,
        "draft_word": reader.word("draft"),
    }


def _from_now(stay):
    """When the move begins: a boat that is made fast moves now, one that is booked moves as a whole."""
    return clock.now() if stay.state == "fast" else stay.arrive


# --- who she is ---


def _known(user, pk):
    """A boat that was here before, picked by name; None for a new one."""
    return get_object_or_404(visible.vessels(user), pk=pk) if pk and pk.isdigit() else None


def _matches(user, form):
    """Boats in the record whose name has what was typed in it."""
    name = (form.data.get("name") or "").strip()
    if form.vessel or len(name) < 2:
        return []
    found = visible.vessels(user).filter(name__icontains=name)
    boats = list(found.annotate(last=Max("stays__arrive")).order_by("name")[:5])
    live = visible.stays(user).filter(vessel__in=boats, state__in=("booked", "fast")).select_related("berth")
    first = {stay.vessel_id: stay for stay in live.order_by("-arrive")}
    for boat in boats:
        boat.now = first.get(boat.pk)
    return boats


# --- the deed ---


def _give(request, form, reader):
    """Book the berth that was pressed; whoever was slower keeps what was typed and gets the list as it is now."""
    told = request.POST
    if not form.is_valid():
        refusal = ["Nothing was booked: look at the figures marked below."]
        return _page(request, form, reader, refusal=refusal, status=422)
    boat = form.boat(request.user)
    spoken = replace(reader, units=form.in_units)
    found = _options_for(boat, form.arrives, form.departs, spoken, form.cleaned_data["side"])
    try:
        stay = placing.place(
            boat=boat,
            option=_chosen(found, told),
            arrive=form.arrives,
            depart=form.departs,
            by=request.user,
            reason=told.get("reason", "").strip(),
            client_id=_deed(told),
        )
    except ValidationError as error:
        return _page(request, form, reader, refusal=_refused(error, told["berth"]), status=422)
    called = "She" if stay.vessel.name.startswith(NOT_NAMED) else stay.vessel.name
    messages.success(request, f"{called} has {stay.berth}. Read the sentence below back to her.")
    asked = form.in_units != reader.units or request.GET.get("units")  # read back as it was told
    other = f"?units={form.in_units}" if asked else ""
    return redirect(reverse("berths:stay", args=[stay.pk]) + other)


def _chosen(found, told):
    option = found.at(told["berth"])
    if option is None:
        raise ValidationError(f"There is no berth {told['berth'][:12]}.")
    return option


def _refused(error, code):
    """The refusal in plain sentences, and what to do."""
    return [
        *error.messages,
        f"Nothing was booked at {code[:12]}. What you typed is still here; the list is as it is now.",
    ]


def _deed(told):
    """The name of this deed: the same page pressed twice with the same figures is one deed, else it is another."""
    try:
        page = UUID(told.get("page", ""))
    except ValueError:
        return uuid4()
    typed = sorted((k, v) for k, v in told.items() if k not in ("csrfmiddlewaretoken", "page"))
    return uuid5(page, urlencode(typed))


def _address(form):
    """The address of the list for what was typed, to be reloaded, sent on, or gone back to."""
    names = [*form.fields, "vessel"]
    kept = {name: form.data[name] for name in names if (form.data.get(name) or "").strip()}
    return f"{reverse('berths:place')}?{urlencode(kept)}" if kept else reverse("berths:place")
