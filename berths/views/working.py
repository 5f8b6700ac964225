"""How the figures of one stay were worked out: all of it on one page, and each line's on a page of its own."""

from django.http import Http404
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from berths.cards.facts import reader_of
from berths.cards.words import say_lines
from berths.charts import pictures
from berths.selectors import visible
from berths.selectors import working as workings
from berths.telling import case_in_words, explained
from berths.workings import (
    axes_in_words,
    force_in_words,
    left_over_in_words,
    pulls_in_words,
    steps_in_words,
    worst_in_words,
)


@require_safe
def working(request, pk):
    """Every line's greatest pull, and what each flag rests on."""
    stay = _stay(request.user, pk)
    reader, page = reader_of(request.user), workings.kept(request.user, stay)
    context = {"stay": stay, **page, "lines": _lines(page, reader), "pictures": _pictures(page, reader)}
    return render(request, "berths/working.html", context)


def _pictures(page, reader):
    """Drawn anew from what was kept; nothing where nothing was worked out, or not by this way of working."""
    if page["verdict"] is None:
        return []
    curves = workings.curves_of(page["scenario"])
    return [] if curves is None else pictures(curves, page["scenario"], page["verdict"], reader)


def _lines(page, reader):
    scenario, verdict = page["scenario"], page["verdict"]
    if verdict is None:
        return []
    rows = {row.id: row for row in verdict.lines}
    return [
        (said, row := rows[said.id], force_in_words(row.peak_tension, reader) if row.peak_tension else "", case_in_words(verdict, row.governing_case, reader))
        for said in say_lines(scenario, verdict, reader, kind=None)
    ]  # fmt: skip


@require_safe
def line(request, pk, order):
    """The working of one line: its lengths, its greatest pull, and the forces that close in that case."""
    stay = _stay(request.user, pk)
    reader, page = reader_of(request.user), workings.kept(request.user, stay)
    scenario, verdict = page["scenario"], page["verdict"]
    row = next((row for row in verdict.lines if row.order == order), None) if verdict else None
    if row is None:
        raise Http404
    found, same = (None, True) if row.optional else workings.working_of(scenario, row)
    context = {"stay": stay, **page, "row": row, "same": same}
    context["said"] = next(said for said in say_lines(scenario, verdict, reader) if said.id == row.id)
    context["sentence"] = explained([context["said"].long_sentence])[0]
    if found:
        context |= _told(found, page, reader)
    return render(request, "berths/working_line.html", context)


def _told(found, page, reader):
    scenario, verdict = page["scenario"], page["verdict"]
    summary = verdict.summary
    low, high = summary.low, summary.high
    if None not in (low, high):
        low, high = low - (summary.surge_down or 0), high + (summary.surge_up or 0)
    pulls, total = pulls_in_words(found, scenario, verdict, reader)
    pull = next(step.value for step in found.steps if step.what == "pull")
    return {
        "worst": worst_in_words(found.worst, reader, low, high),
        "pull": force_in_words(pull, reader) if pull else "",
        "steps": steps_in_words(found.steps, reader) if pull else [],
        "lengths": steps_in_words(found.lengths, reader),
        "pulls": pulls if pull else [],
        "total": total,
        "left_over": left_over_in_words(found.residual, reader),
        "axes": axes_in_words(scenario.berth.kind),
    }


def _stay(user, pk):
    rows = visible.stays(user).select_related("berth__pier", "vessel")
    return get_object_or_404(rows, pk=pk)
