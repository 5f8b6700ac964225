"""What is recorded of a water, and the forms that change it; a reading of the gauge may be entered by any hand."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from berths import stationfile, tidalforms, waterforms
from berths.cards.facts import reader_of
from berths.models import Notice, Reading, Water
from berths.selectors.waterpage import home_of, offer_of, offsets_at_work, record_of, shown_station
from berths.services import water as services
from marina.base import clock

PUT = ("GET", "HEAD", "POST")
OUT_OF_DATE = "Tie-ups that rest on it are marked out of date."


@require_safe
def record(request, pk):
    """All that is known of a water, how old it is, and where to change it."""
    return render(request, "berths/water_record.html", record_of(get_object_or_404(Water, pk=pk)))


@require_http_methods(PUT)
def new(request):
    form = _form(waterforms.NewWater, request)
    if made := _written(
        request, form, lambda given: services.new_water(name=given["name"].strip(), by=request.user)
    ):
        return redirect(f"berths:water-{form.cleaned_data['way']}", made.pk)
    return _page(request, form, "A new water", "Go on", back=reverse("berths:water"))


# --- how its level is known ---


@require_http_methods(PUT)
def station(request, pk):
    """Look for a station by name or place; pick one; say how the tide here differs from there."""
    water = get_object_or_404(Water, pk=pk)
    told = request.GET or None
    look = waterforms.Look(told, initial=home_of())
    place = look.place if look.is_valid() else None
    picked, form = _picked(request), None
    if picked:
        start = {"height_offset": 0, "datum": picked["chart_datum"]}
        if water.station_id == picked["id"]:
            start = waterforms.as_shown(water)
        form = _form(waterforms.StationOffsets, request, initial=start)

    def write(given):
        km = stationfile.distance(picked, place)
        return services.use_station(water=water, row=picked, by=request.user, place=place, km=km, **given)

    only_shown = "show" in request.POST
    if form and not only_shown and _written(request, form, write):
        return _done(request, water, f"{water} now takes its tide from {picked['name']}. {OUT_OF_DATE}")
    context = {
        "water": water,
        "look": look,
        "form": form,
        "picked": picked and shown_station(picked, place),
        "turns": form and _turns(picked, form),
        "was_shown": only_shown,
        "found": _found(look, place),
        "asked": bool(told),
        "query": request.GET.urlencode(),
    }
    wrong = bool(look.errors or (form and form.errors))
    return render(request, "berths/water_station.html", context, status=422 if wrong else 200)


def _turns(picked, form):
    """What the offsets in the form do, before anything is kept; None where they cannot be read."""
    given = form.initial
    if form.is_bound:
        given = form.cleaned_data if form.is_valid() else {}
    minutes, metres = given.get("time_offset_min", 0), given.get("height_offset")
    return None if metres is None else offsets_at_work(picked, minutes, metres, clock.now())


def _picked(request):
    """The station whose offsets are asked for; None while one is looked for."""
    name = request.GET.get("station") or ""
    try:
        return stationfile.station(name) if name else None
    except ValueError as fault:
        messages.error(request, f"{str(fault)[0].upper()}{str(fault)[1:]}.")
        return None


def _found(look, place):
    words = look.cleaned_data.get("q", "").strip() if look.is_bound and look.is_valid() else ""
    near = stationfile.near(*place) if place else []
    found = stationfile.search(words, near=place) if words else near
    return [shown_station(stationfile.station(each.place.id), place) for each in found]


@require_http_methods(PUT)
def limits(request, pk):
    water = get_object_or_404(Water, pk=pk)
    form = _form(waterforms.Limits, request, initial=waterforms.as_shown(water))

    def write(given):
        return services.use_limits(water=water, by=request.user, **given)

    if _written(request, form, write):
        return _done(request, water, f"{water} is kept between its limits. {OUT_OF_DATE}")
    head = "No tide: it is kept between two levels. What it was read at, and notices, count besides."
    return _page(request, form, f"{water}: limits", "Keep these limits", water=water, head=head)


@require_http_methods(PUT)
def table(request, pk):
    water = get_object_or_404(Water, pk=pk)
    start = waterforms.as_shown(water) | {"kind": water.table_kind or "extremes", "unit": "m"}
    form = _form(waterforms.OwnTable, request, initial=start)

    def write(given):
        kept = {name: given[name] for name in ("rows", "kind", "datum", "low", "high")}
        return services.use_table(water=water, by=request.user, **kept)

    if _written(request, form, write):
        rows = len(form.cleaned_data["rows"])
        return _done(request, water, f"{rows} rows taken. {OUT_OF_DATE}")
    head = (
        "Nothing is taken unless every row can be. Before its first and after its last row the level is not "
        "known: a stay that reaches past the end is told so."
    )
    return _page(request, form, f"{water}: own table", "Take this table", water=water, head=head)


@require_http_methods(PUT)
def constants(request, pk):
    """A tide from constants that are typed in, for a harbour that no station of the list is near enough to."""
    water = get_object_or_404(Water, pk=pk)
    form = _form(tidalforms.OwnConstants, request, initial=_constants_shown(water))

    def write(given):
        return services.use_constants(water=water, by=request.user, rows=given.pop("text"), **given)

    if _written(request, form, write):
        return _done(request, water, f"{water} now has its tide from these constants. {OUT_OF_DATE}")
    head = "Nothing is taken unless every row can be. Sizes are in metres here, whatever you read in."
    return _page(request, form, f"{water}: own constants", "Take these constants", water=water, head=head)


def _constants_shown(water):
    if water.kind != "constants" or not isinstance(water.station, dict):
        return {}
    row = water.station
    kept = (
        (c["name"], c["amplitude"], c["phase"]) if isinstance(c, dict) else c for c in row["constituents"]
    )
    text = "\n".join(f"{name} {size:g} {phase:g}" for name, size, phase in kept)
    shown = {"source": row.get("name", ""), "mean": row.get("msl_above_datum"), "text": text}
    return waterforms.as_shown(water) | shown


@require_http_methods(PUT)
def gate(request, pk):
    """What lies beyond the gate; the pages of the berths inside then tell when boats pass it."""
    water = get_object_or_404(Water, pk=pk)
    names = ("outer", "passes_above", "sill_z", "holds_to")
    start = {name: getattr(water, name) for name in names}
    form = _form(tidalforms.Gate, request, initial=start, water=water)

    def write(given):
        return services.set_gate(water=water, by=request.user, **given)

    if _written(request, form, write):
        told = (
            f"{water} lies behind a gate." if form.cleaned_data["outer"] else f"{water} lies behind no gate."
        )
        return _done(request, water, f"{told} {OUT_OF_DATE}")
    head = "A sill, a lock or a flap gate that parts this water from one outside."
    return _page(request, form, f"{water}: gate", "Keep this gate", water=water, head=head)


# --- what weather may add ---


@require_http_methods(PUT)
def allowance(request, pk):
    water = get_object_or_404(Water, pk=pk)
    form = _form(waterforms.Allowance, request, initial=waterforms.as_shown(water))

    def write(given):
        return services.set_allowance(water=water, by=request.user, **given)

    if _written(request, form, write):
        return _done(request, water, f"Allowances of {water} kept. {OUT_OF_DATE}")
    head = (
        "A prediction knows no wind and no air pressure. There is no default: as long as nothing is entered "
        "here, pages say 'surge not known' and nothing is found to hold. Down counts as much as up."
    )
    return _page(request, form, f"{water}: allowance for weather", "Keep these", water=water, head=head)


@require_http_methods(PUT)
def for_a_time(request, pk):
    """A larger allowance for some hours; what a reading of the gauge offers stands in it already."""
    water = get_object_or_404(Water, pk=pk)
    asked = request.GET.get("reading", "")
    reading = Reading.objects.filter(water=water, pk=int(asked)).first() if asked.isdecimal() else None
    form = _form(waterforms.ForATime, request, initial=offer_of(water, reading, reader_of(request.user)))

    def write(given):
        where = None if given.pop("everywhere") else water
        return services.allow_for(water=where, by=request.user, reading=reading, **given)

    if _written(request, form, write):
        moves = form.cleaned_data["surge_down"] is not None or form.cleaned_data["surge_up"] is not None
        told = f"Counts for stays of that time. {OUT_OF_DATE}"
        return _done(request, water, told if moves else "Wind of that time kept. It moves no water.")
    head = (
        "It widens the allowance for the stays of that time and narrows none. Permanent berths, which are "
        "judged on the lowest and highest tide, keep theirs. Wind is shown on cards and where a berth is looked "
        "for; lines are worked out for the gusts of the house from all round."
    )
    return _page(
        request, form, f"{water}: forecast or allowance for a time", "Keep this", water=water, head=head
    )


# --- what was announced and read ---


@require_http_methods(PUT)
def notice(request, pk, notice=None):
    water = get_object_or_404(Water, pk=pk)
    row = None if notice is None else get_object_or_404(Notice, pk=notice, water=water)
    names = ("low", "high", "starts", "ends", "published", "reason")
    start = {name: getattr(row, name) for name in names} if row else {"published": clock.today()}
    form = _form(waterforms.Announced, request, initial=start)

    def write(given):
        return services.announce(water=water, by=request.user, notice=row, **given)

    if _written(request, form, write):
        return _done(request, water, f"Notice kept. {OUT_OF_DATE}")
    title = f"{water}: change a notice" if row else f"{water}: a new notice"
    return _page(request, form, title, "Keep this notice", water=water)


@require_http_methods(PUT)
def reading(request, pk):
    water = get_object_or_404(Water, pk=pk)
    form = _form(waterforms.GaugeRead, request)

    def write(given):
        return services.read_gauge(water=water, by=request.user, **given)

    if _written(request, form, write):
        messages.success(request, "Reading kept. Below it is held against the prediction; it changes none.")
        return redirect(f"{reverse('berths:water')}#water-{water.pk}")
    zero = water.datum or (water.station or {}).get("chart_datum")
    head = f"Above {zero}." if zero else "From which zero this gauge counts is not known: say so in the note."
    back = f"{reverse('berths:water')}#water-{water.pk}"
    return _page(request, form, f"{water}: read the gauge", "Keep this reading", head=head, back=back)


# --- what they share ---


def _form(kind, request, **options):
    bound = (request.POST, request.FILES) if request.method == "POST" else (None, None)
    return kind(*bound, units=reader_of(request.user).units, **options)


def _written(request, form, write):
    """What `write` made of a good form; None, with the refusal on the form, where it could not."""
    if request.method != "POST" or not form.is_valid():
        return None
    try:
        return write(form.cleaned_data)
    except ValidationError as refusal:
        form.refuse(refusal)
        return None


def _done(request, water, words):
    messages.success(request, words)
    return redirect("berths:water-record", water.pk)


def _page(request, form, title, deed, *, water=None, head="", back=""):
    context = {"form": form, "title": title, "deed": deed, "head": head}
    context["back"] = back or reverse("berths:water-record", args=[water.pk])
    return render(request, "berths/water_form.html", context, status=422 if form.errors else 200)
