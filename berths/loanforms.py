"""What became of a line that was out: back, sold, left, lost; and when she left."""

from django import forms
from django.core.exceptions import ValidationError

from berths.models.lineset import ClosedAs
from marina.base import clock

BACK_DRY, BACK_WET = "returned", "wet"
ANSWERS = [
    (BACK_DRY, "Back, dry: on its hook"),
    (BACK_WET, "Back, wet: to dry"),
    (ClosedAs.SOLD.value, "Sold to her"),
    (ClosedAs.LEFT.value, "Left, because"),
    (ClosedAs.LOST.value, "Lost"),
]


class Became(forms.Form):
    """One line. `told` is what `take_back` takes."""

    how = forms.ChoiceField(
        choices=ANSWERS,
        widget=forms.RadioSelect,
        label="What became of it",
        error_messages={"required": "Say what became of this line."},
    )
    reason = forms.CharField(
        required=False, max_length=200, label="Because", help_text="Needed where it was left."
    )
    condition = forms.CharField(required=False, max_length=100, label="How it looks")

    def __init__(self, data=None, *, use):
        super().__init__(data, prefix=f"use{use.pk}")
        self.use = use
        for name in ("reason", "condition"):
            self.fields[name].widget.attrs["autocomplete"] = "off"

    def clean(self):
        given = super().clean()
        if given.get("how") == ClosedAs.LEFT and not given.get("reason", "").strip():
            self.add_error("reason", "Say why it was left, and where it is.")
        return given

    @property
    def told(self):
        how = self.cleaned_data["how"]
        return {
            "closed_as": ClosedAs.RETURNED if how == BACK_WET else ClosedAs(how),
            "wet": how == BACK_WET,
            "reason": self.cleaned_data["reason"],
            "condition": self.cleaned_data["condition"],
        }


class Left(forms.Form):
    """When she left."""

    at = forms.DateTimeField(
        label="She left at",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )
    reason = forms.CharField(
        required=False, max_length=200, label="To be remembered", help_text="May be left empty."
    )

    def __init__(self, data=None):
        super().__init__(data, initial={"at": clock.local(clock.now())})
        self.fields["reason"].widget.attrs["autocomplete"] = "off"

    def clean_at(self):
        if self.cleaned_data["at"] > clock.now():
            raise ValidationError("That is still to come; write when she went.")
        return self.cleaned_data["at"]
