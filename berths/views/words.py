"""An owner tells the office something of the own boat; the office answers."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from berths.models.word import WordKind
from berths.reader import reader_of
from berths.selectors import visible
from berths.selectors.words import words
from berths.services.words import NEVER, answer, tell
from berths.wordforms import AnswerForm, WordForm
from marina.base import house

HEADS = {
    WordKind.WORRY: "Report a worry",
    WordKind.CHANGED: "I changed a line",
    WordKind.COMING: "I will come",
}
KEPT = {
    WordKind.WORRY: "The office has it on its day. The answer will stand here.",
    WordKind.CHANGED: "The office has it on its day. Until it is worked out again nobody knows how she is held.",
    WordKind.COMING: "The office knows that you will come.",
}


@require_http_methods(["GET", "HEAD", "POST"])
def send(request, pk, kind):
    """One word about an own boat, or none (404)."""
    vessel = get_object_or_404(visible.vessels(request.user), pk=pk)
    if kind not in HEADS:
        raise Http404("No such word.")
    rule = house.value("H19")
    refused = NEVER if kind == WordKind.CHANGED and rule == "never" else ""
    posted = (request.POST, request.FILES) if request.method == "POST" else (None, None)
    form = WordForm(*posted, kind=kind, vessel=vessel, units=reader_of(request.user).units)
    if request.method == "POST" and form.is_valid():
        try:
            tell(vessel=vessel, by=request.user, kind=kind, **form.told)
        except ValidationError as error:
            form.add_error(None, error.messages)
        else:
            messages.success(request, KEPT[kind])
            return redirect("berths:mine")
    context = {
        "vessel": vessel,
        "kind": kind,
        "head": HEADS[kind],
        "form": form,
        "rule": rule,
        "refused": refused,
    }
    return render(request, "berths/word_new.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def word(request, pk):
    """What an owner told, and the office's answer to it."""
    found = get_object_or_404(words(request.user).prefetch_related("pictures"), pk=pk)
    form = AnswerForm(request.POST or None, label_suffix="")
    if request.method == "POST" and form.is_valid():
        try:
            answer(word=found, by=request.user, text=form.cleaned_data["answer"])
        except ValidationError as error:
            form.add_error(None, error.messages)
        else:
            messages.success(request, "Answered. Her owner reads it on the own page.")
            return redirect("home")
    context = {"word": found, "form": form, "rule": house.value("H19")}
    return render(request, "berths/word.html", context, status=422 if form.errors else 200)
