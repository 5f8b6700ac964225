"""Lines out to a boat and back, the loan book, and a boat that leaves with its lines settled. Staff, by the doors."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from berths.loanforms import Became, Left
from berths.models import LineUse
from berths.reader import reader_of
from berths.selectors import hooks, loans, staylines, visible
from berths.services import leaving, lending
from marina.base import house

NOW = ("booked", "fast")
BACK = {"dry": False, "wet": True}


def _stay(request, pk, states=NOW):
    stay = get_object_or_404(visible.stays(request.user).select_related("berth__pier", "vessel"), pk=pk)
    if stay.state not in states:
        raise Http404
    return stay


@require_http_methods(["GET", "HEAD", "POST"])
def stay_lines(request, pk):
    """Each line that is asked for, with the rope offered and its hook; one tap out, one tap back."""
    stay = _stay(request, pk)
    refusal = []
    if request.method == "POST":
        try:
            messages.success(request, _out(request, stay) if "tag" in request.POST else _back(request, stay))
            return redirect("berths:stay-lines", stay.pk)
        except ValidationError as error:
            refusal = error.messages
    context = {
        "stay": stay,
        "refusal": refusal,
        "typed": request.POST.get("tag", "") if refusal and "typed" in request.POST else "",
        "deposit": house.value("H20")["deposit"],
        **staylines.stay_lines(request.user, stay, reader_of(request.user)),
    }
    return render(request, "berths/stay_lines.html", context, status=422 if refusal else 200)


def _out(request, stay):
    """The tags that were offered, or one that was typed."""
    tags = [tag.strip() for tag in request.POST.getlist("tag") if tag.strip()]
    lines = staylines.by_tags(request.user, tags)
    lending.lend(stay=stay, lines=lines, by=request.user)
    return f"Out to {stay.vessel.name}: {', '.join(line.tag for line in lines)}."


def _back(request, stay):
    """One line comes back as it is, or all that may."""
    wet = BACK.get(request.POST.get("how"))
    use = LineUse.objects.filter(stay=stay, pk=_number(request.POST.get("use"))).first()
    if wet is None or use is None:
        raise ValidationError("Which line came back, and is it wet? Nothing was kept.")
    condition = request.POST.get("condition", "")[:100]
    lending.take_back(use=use, by=request.user, wet=wet, condition=condition)
    return f"{use.line} is back{', and hangs to dry' if wet else ''}."


def _number(text):
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 19 else None


@require_safe
def book(request):
    """What is out, to whom, since when; and what tonight's boats lack."""
    looked_at, shortages, unknown = loans.tonight(request.user)
    reader = reader_of(request.user)
    for short in shortages:
        short.said = short.words(lambda metres: reader.length(metres, "margin"))
    context = {
        "loans": loans.book(request.user),
        "closed": loans.closed(request.user),
        "looked_at": looked_at,
        "shortages": shortages,
        "unknown": unknown,
        "rule": house.value("H20"),
    }
    return render(request, "berths/loans.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def settle(request, pk):
    """What became of one boat's lines, while she stays."""
    stay = _stay(request, pk, (*NOW, "cancelled"))
    forms = _forms(request, stay)
    refusal = []
    if request.method == "POST":
        told = [form for form in forms if form.data.get(form.add_prefix("how"))]
        refusal = _settled(request, told)
        if not refusal:
            return redirect("berths:loans")
        forms = [form if form in told else Became(use=form.use) for form in forms]
    context = {"stay": stay, "forms": forms, "refusal": refusal}
    return render(request, "berths/settle.html", context, status=422 if refusal else 200)


def _settled(request, told):
    """What speaks against keeping these answers; nothing where they were kept."""
    if not told:
        return ["Say of one line at least what became of it."]
    if not all([form.is_valid() for form in told]):
        return ["Not kept yet: something is missing. It stands beside the field; nothing is lost."]
    try:
        leaving.settle(settled={form.use.pk: form.told for form in told}, by=request.user)
    except ValidationError as error:
        return error.messages
    messages.success(request, f"Kept: {', '.join(str(form.use.line) for form in told)}.")
    return []


@require_http_methods(["GET", "HEAD", "POST"])
def left(request, pk):
    """She has left: nothing of the harbour's goes with her unsaid."""
    stay = _stay(request, pk, ("fast",))
    data = request.POST if request.method == "POST" else None
    left_form, forms = Left(data), _forms(request, stay)
    refusal = []
    if data is not None:
        if all([form.is_valid() for form in (left_form, *forms)]):
            try:
                settled = {form.use.pk: form.told for form in forms}
                leaving.check_out(stay=stay, by=request.user, settled=settled, **left_form.cleaned_data)
                messages.success(request, f"{stay.vessel.name} has left. {stay.berth.code} is free.")
                return redirect("berths:stay", stay.pk)
            except ValidationError as error:
                refusal = error.messages
        else:
            refusal = ["Not kept yet: something is missing. It stands beside the field; nothing is lost."]
    context = {"stay": stay, "left": left_form, "forms": forms, "refusal": refusal}
    return render(request, "berths/left.html", context, status=422 if refusal else 200)


def _forms(request, stay):
    data = request.POST if request.method == "POST" else None
    return [Became(data, use=use) for use in hooks.out_to(stay)]
