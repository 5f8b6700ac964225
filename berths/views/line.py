"""The register of lines: find one by its tag, and read whether it can be used and where it is."""

from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from berths.selectors import visible
from berths.selectors.berths import line_page
from berths.selectors.lines import register
from marina.base import clock
from vessels.selectors.lines import can_be_used, with_last_look


@require_safe
def lines(request):
    """All lines, those that ask for something first; a tag typed whole leads to its page."""
    asked = request.GET.get("tag", "").strip()
    rows = register(request.user, asked)
    exact = [row for row in rows if row.line.tag.casefold() == asked.casefold()]
    if asked and (exact or len(rows) == 1):
        return redirect("berths:line", tag=(exact or rows)[0].line.tag)
    return render(request, "berths/lines.html", {"rows": rows, "asked": asked})


@require_safe
def line(request, tag):
    found = get_object_or_404(
        with_last_look(visible.lines(request.user)).select_related("owner"), tag__iexact=tag
    )
    use = can_be_used(found, found.inspected, found.advice, clock.today())
    return render(request, "berths/line.html", {"line": found, "use": use, **line_page(request.user, found)})
