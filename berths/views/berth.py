"""Berths in walking order, one berth, one boat."""

from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe
from pydantic import ValidationError

from berths.cards.facts import reader_of
from berths.drawing.describe import describe_plan
from berths.drawing.plan import plan
from berths.drawing.svg import to_svg
from berths.models import TieUp
from berths.selectors import visible
from berths.selectors.berths import berth_page, boat_page, walk
from berths.tieup.scenario import Scenario
from berths.tieup.verdict import Verdict
from marina.base import clock


@require_safe
def berths(request):
    rows = walk(request.user, clock.now())
    free = sum(not berth.lying and berth.in_use for berth in rows)
    return render(request, "berths/berths.html", {"berths": rows, "free": free})


@require_safe
def berth(request, code):
    found = get_object_or_404(
        visible.berths(request.user).select_related("pier", "water__outer"), code__iexact=code
    )
    page = berth_page(request.user, found)
    drawn = _drawn(next(iter([*page["lying"], *page["coming"]]), None), request.user)
    return render(request, "berths/berth.html", {"berth": found, **page, **drawn})


def _drawn(stay, user):
    """The berth with her in it as last worked out; nothing where nothing is stored that can be drawn."""
    tie_up = stay and stay.standing.tie_up and TieUp.objects.get(pk=stay.standing.tie_up["id"])
    if not tie_up or tie_up.verdict is None:
        return {}
    try:
        scenario, verdict = Scenario.model_validate(tie_up.scenario), Verdict.model_validate(tie_up.verdict)
    except ValidationError:  # stored in an older form than this engine reads
        return {}
    alone = user.is_holder  # a holder is told of no other boat
    reader = reader_of(user)
    told = describe_plan(scenario, verdict, reader, neighbours=not alone)
    drawing = plan(scenario, verdict, feet=reader.units == "ft", neighbours=not alone, sentences=told)
    return {"drawing": to_svg(drawing), "told": told, "drawn_at": tie_up.made_at}


@require_safe
def boat(request, pk):
    vessel = get_object_or_404(visible.vessels(request.user).select_related("owner"), pk=pk)
    return render(request, "berths/boat.html", {"vessel": vessel, **boat_page(request.user, vessel)})
