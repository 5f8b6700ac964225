"""My boat: the first page of a berth holder."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from berths.drawing.describe import describe_plan
from berths.drawing.plan import plan
from berths.drawing.svg import to_svg
from berths.reader import reader_of
from berths.selectors.mine import boats_of
from berths.selectors.stay import number_lines, read
from marina.base import house


@require_safe
def mine(request):
    boats, reader = boats_of(request.user), reader_of(request.user)
    for boat in boats:
        boat.drawn = _drawn(boat, reader)
    context = {"boats": boats, "may_change": house.value("H19") != "never"}
    return render(request, "berths/mine.html", context)


def _drawn(boat, reader):
    """The picture of her lines, with nobody beside her; nothing where nothing is kept that can be drawn."""
    scenario, verdict, _ = read(boat.tie_up)
    if scenario is None or verdict is None:
        return {}
    number_lines(boat.standing, verdict)
    told = describe_plan(scenario, verdict, reader, neighbours=False)
    drawing = plan(scenario, verdict, feet=reader.units == "ft", neighbours=False, sentences=told)
    return {"drawing": to_svg(drawing), "told": told}
