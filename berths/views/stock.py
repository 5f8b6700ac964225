"""The stock of lines on one page, and as a workbook."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from berths.drawing.bars import bars
from berths.drawing.svg import to_svg
from berths.reader import reader_of
from berths.selectors import stock as selector
from berths.views.sheets import XLSX
from marina.base import clock, workbook
from marina.base.units import FOOT

PARTS = ("nothing found", "to look at", "to replace")


@require_safe
def report(request):
    """What there is, how old it is, and what to see to before the season of storms."""
    found = _found(request)
    feet = reader_of(request.user).units == "ft"
    per, unit = (float(FOOT), "ft") if feet else (1.0, "m")
    lengths = [(sort.name, [metres / per for metres in sort.parts]) for sort in found.sorts]
    context = {"stock": found, "everybody": _everybody(request), "parts": PARTS}
    if found.entries:
        context["by_sort"] = to_svg(bars(f"Length of line by sort, {unit}", PARTS, lengths, unit))
        context["by_age"] = to_svg(bars("Lines by age", PARTS, found.ages, "lines"))
    return render(request, "berths/stock.html", context)


@require_safe
def report_xlsx(request):
    found = _found(request)
    name = f"stock-{clock.today().isoformat()}.xlsx"
    data = workbook.to_xlsx(selector.sheets(found))
    return HttpResponse(
        data, content_type=XLSX, headers={"Content-Disposition": f'attachment; filename="{name}"'}
    )


def _found(request):
    return selector.stock(request.user, clock.today(), everybody=_everybody(request))


def _everybody(request):
    return request.GET.get("whose") == "all"
