"""The survey at a screen: where one begins, a new berth, a berth that is changed, and its drawing as one types."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from berths.cards.facts import reader_of
from berths.layoutforms import LayoutForm, PierForm
from berths.models import Berth
from berths.selectors.survey import layout_start, overview, touched
from berths.services import survey as services
from berths.surveydrawn import drawn
from berths.surveyrows import with_more_rows
from berths.surveysheet import Sheet

PUT = ("GET", "HEAD", "POST")


@require_safe
def survey(request):
    """What is there, and what comes next: a pier, a water, a berth."""
    return render(request, "berths/survey.html", overview(request.user))


@require_http_methods(PUT)
def new_pier(request):
    form = PierForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            pier = services.new_pier(name=form.cleaned_data["name"], by=request.user)
        except ValidationError as refusal:
            form.refuse(refusal)
        else:
            messages.success(request, f"{pier} kept. It is walked after the others.")
            return redirect("berths:survey")
    context = {"form": form, "title": "A new pier", "deed": "Keep this pier"}
    return render(request, "berths/survey_form.html", context, status=422 if form.errors else 200)


@require_http_methods(PUT)
def new_berth(request):
    """GET asks for a layout and its figures, then fills the survey in from them; POST draws or keeps it."""
    units = reader_of(request.user).units
    if request.method == "POST":
        return _sheet(request, lambda data, **more: Sheet(data, units=units, **more), None)
    told = request.GET or None
    form = LayoutForm(told, units=units, initial=layout_start(request.user))
    if told is None or not form.is_valid():
        context = {"form": form, **overview(request.user)}
        return render(request, "berths/survey_start.html", context, status=422 if told else 200)
    sheet = Sheet(units=units, start=form.start())
    return _page(request, sheet, None)


@require_http_methods(PUT)
def change_berth(request, code):
    units = reader_of(request.user).units
    berth = get_object_or_404(Berth.objects.select_related("pier", "water"), code__iexact=code)

    def make(data=None, **more):
        return Sheet(data, berth=berth, units=units, **more)

    return _sheet(request, make, berth) if request.method == "POST" else _page(request, make(), berth)


def _sheet(request, make, berth):
    """What was sent: drawn again, given more rows, or kept."""
    data, deed = request.POST, request.POST.get("deed", "draw")
    if deed == "more":
        data = with_more_rows(data)
    sheet = make(data)
    if request.htmx or deed != "keep":
        sheet.read()
        if request.htmx:
            return render(request, "berths/_survey_drawn.html", drawn(sheet))
        return _page(request, sheet, berth)
    if not sheet.is_valid():
        return _page(request, sheet, berth, wrong=True)
    try:
        kept = services.keep(survey=sheet.survey(), by=request.user)
    except ValidationError as refusal:
        sheet.berth.add_error(None, refusal.messages)
        return _page(request, sheet, berth, wrong=True)
    messages.success(
        request, f"The survey of {kept} is kept. Tie-ups that rest on what changed are out of date."
    )
    return redirect("berths:berth", kept.code)


def _page(request, sheet, berth, *, wrong=False):
    """The form with its drawing; one that was not sent yet is drawn as it begins."""
    context = {
        "sheet": sheet,
        "berth": berth,
        "wrong": wrong,
        "faults": sheet.faults() if wrong else [],
        "touched": touched(berth) if berth else [],
        **drawn(sheet if sheet.berth.is_bound else sheet.as_sent()),
    }
    return render(request, "berths/survey_berth.html", context, status=422 if wrong else 200)
