"""Made fast: a hand tells what is on, line by line, and is told what it comes to."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from berths.cards.facts import reader_of
from berths.cards.words import deck_words, say_lines, shore_words
from berths.fastforms import AS_ASKED, MORE_LINES, Done, OneLine
from berths.models import BerthFastening
from berths.selectors import visible
from berths.selectors.hooks import tagged
from berths.selectors.standing import standings
from berths.selectors.stay import read
from berths.services import fast
from berths.services.tieups import newest
from marina.base import clock
from vessels.models import Line
from vessels.selectors.lines import can_be_used, with_last_look

NOW = ("booked", "fast")
SAID = {
    "holds": "With her lines as you told, nothing was found against it in the stated cases. Look again at the first low and the first high water.",
    "does_not_hold": "As she is tied now she is not held: read what stands first below, and put it right before you leave her.",
    "not_known": "Whether her lines hold her is not known: below stands what is missing.",
}


@require_http_methods(["GET", "HEAD", "POST"])
def made_fast(request, pk):
    """Staff only, by the table of doors."""
    stay = get_object_or_404(visible.stays(request.user).select_related("berth__pier", "vessel"), pk=pk)
    if stay.state not in NOW:
        raise Http404
    reader = reader_of(request.user)
    tie_up = newest(stay)
    data = request.POST if request.method == "POST" else None
    done = Done(data, request.FILES or None, stay=stay, units=reader.units)
    lines = _lines(data, stay, tie_up, reader)
    refusal = []
    if data is not None and all([form.is_valid() for form in (done, *lines)]):
        try:
            return _keep(request, stay, done, lines)
        except ValidationError as error:
            refusal = _told(error, done)
    context = {
        "stay": stay,
        "done": done,
        "asked": [form for form in lines if form.planned is not None],
        "more": [form for form in lines if form.planned is None],
        "refusal": refusal or _summed(done, lines),
        "against": fast.against(stay, request.user),
        "trouble": ""
        if tie_up and tie_up.verdict
        else "No lines are worked out for her: tell below which are on.",
    }
    return render(request, "berths/fast.html", context, status=422 if context["refusal"] else 200)


def _keep(request, stay, done, lines):
    on = [form for form in lines if form.is_on]
    given = done.cleaned_data
    tie_up = fast.record(
        stay=stay,
        by=request.user,
        lines=[form.row() for form in on],
        as_planned=bool(on) and all(form.how == AS_ASKED for form in lines if form.planned or form.is_on),
        **given,
    )
    for form in on:
        if told := _condemned(form.line):
            messages.error(request, told)
    worst = standings([stay], request.user)[stay.pk].worst
    say = messages.success if tie_up.answer == "holds" and worst is None else messages.warning
    answer = "not_known" if tie_up.answer == "holds" and worst is not None else tie_up.answer
    say(request, f"{stay.vessel.name} is recorded as made fast. {SAID[answer]}")
    return redirect("berths:stay", stay.pk)


def _condemned(line):
    """'RETIRED: WH-120 ...' of a line that must hold nothing and was put on all the same; kept, and said first."""
    if line is None:
        return ""
    line = with_last_look(Line.objects.filter(pk=line.pk)).get()
    judged = can_be_used(line, line.inspected, line.advice, clock.today())
    if judged.kind != "stop":
        return ""
    return f"{judged.word}: {line.tag} is on her, by what you told. {judged.why} Put another on before you leave her."


def _lines(data, stay, tie_up, reader):
    """A form for each line of the card, in its order, and a few for lines that nobody asked for."""
    scenario, verdict, _ = read(tie_up)
    verdict = tagged(stay, scenario, verdict)
    say, told = (str, str), []
    if scenario is not None and verdict is not None:
        said = dict(
            BerthFastening.objects.filter(berth=stay.berth_id).exclude(words="").values_list("code", "words")
        )
        told = say_lines(scenario, verdict, reader, said=said, kind=stay.berth.kind)
        say = (
            lambda end: deck_words(scenario.boat, end.code),
            lambda end: end.words or shore_words(scenario, end.code, reader, stay.berth.kind),
        )
    rows = {row.id: row for row in verdict.lines} if verdict else {}
    usual = {"stay": stay, "say": say, "units": reader.units}
    asked = [
        OneLine(data, planned=rows[words.id], words=words, prefix=f"line{words.order}", **usual)
        for words in told
    ]
    return asked + [OneLine(data, prefix=f"more{n}", **usual) for n in range(1, MORE_LINES + 1)]


def _told(error, done):
    """Sentences for the top of the page; what belongs to a field stands beside it as well."""
    if hasattr(error, "error_dict"):
        for name, faults in error.message_dict.items():
            if name in done.fields:
                done.add_error(name, faults)
    return error.messages


def _summed(done, lines):
    missing = [form for form in lines if form.is_bound and form.errors]
    if not (done.is_bound and (done.errors or missing)):
        return []
    return [
        "Not kept yet: something is missing or cannot be right. It stands beside the field; nothing is lost."
    ]
