"""One flag of a stay or a set, accepted by a person with a reason."""

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from berths.selectors import visible
from berths.selectors.standing import standings, standings_of_sets
from berths.services.accepting import accept, may_not


class Answer(forms.Form):
    reason = forms.CharField(
        max_length=300,
        label="Why it may be so",
        widget=forms.Textarea({"rows": 3}),
        error_messages={"required": "Write why; your name stands with it."},
    )
    last_day = forms.DateField(
        required=False,
        label="Until the end of this day",
        help_text="Then it asks again. Empty: as long as this result counts.",
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
    )


@require_http_methods(["GET", "HEAD", "POST"])
def of_stay(request, pk):
    stay = get_object_or_404(visible.stays(request.user).select_related("vessel", "berth"), pk=pk)
    return _accept(request, stay, standings([stay], request.user)[stay.pk], "berths:stay")


@require_http_methods(["GET", "HEAD", "POST"])
def of_set(request, pk):
    found = get_object_or_404(
        visible.line_sets(request.user).select_related("vessel", "berth"), pk=pk, ends=None
    )
    return _accept(request, found, standings_of_sets([found], request.user)[found.pk], "berths:set")


def _accept(request, of, standing, back):
    """The flag that the address names, and the form; 404 where no such flag asks for anybody now."""
    asked = request.GET.get("code", ""), request.GET.get("place", "")
    mark = next((m for m in standing.marks if m.acceptable and (m.code, m.place) == asked), None)
    if mark is None or standing.tie_up is None:
        raise Http404("No such flag stands open here now.")
    if refusal := may_not(request.user, mark):
        raise PermissionDenied(refusal)
    form = Answer(request.POST or None, label_suffix="")
    if request.method == "POST" and form.is_valid():
        try:
            accept(mark=mark, tie_up=standing.tie_up["id"], by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, "Accepted, in your name. It stays on the page with your reason.")
            return redirect(back, of.pk)
    context = {"of": of, "mark": mark, "form": form, "back": back}
    return render(request, "berths/accept.html", context, status=422 if form.errors else 200)
