"""Forms of a permanent set: one place of it, the line that fills it, and its end."""

from django import forms
from django.core.exceptions import ValidationError

from berths.models import BerthFastening, SetPosition
from vessels.forms import LengthField
from vessels.models import DeckFitting

WHY = [
    ("boat sold", "boat sold"),
    ("berth changed", "berth changed"),
    ("piles or cleats of the berth renewed", "piles or cleats of the berth renewed"),
    ("", "something else"),
]


class PlaceForm(forms.ModelForm):
    """Where a line of the set runs, and how long it is."""

    class Meta:
        model = SetPosition
        fields = ["role", "boat_end", "shore_end", "via", "via_turn", "length", "turn_z", "chafe_gear"]
        labels = {
            "role": "What it is for",
            "boat_end": "From, on her",
            "shore_end": "To, ashore",
            "via": "Round, on the way",
            "via_turn": "How it goes round",
            "chafe_gear": "Sleeve where it rubs",
        }

    def __init__(self, *args, units="m", **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["length"] = LengthField(
            units=units,
            label="Working length",
            help_text="From her fitting to where it bears ashore, unstretched. Empty: not known.",
        )
        self.fields["turn_z"] = LengthField(
            units=units,
            label="Height of the turn on the pile",
            help_text="Above chart datum, the zero of the tide table. Empty: not known.",
        )
        line_set = self.instance.line_set
        aboard = DeckFitting.objects.filter(vessel=line_set.vessel_id)
        ashore = BerthFastening.objects.filter(berth=line_set.berth_id).select_related("fastening")
        for name, rows in (("boat_end", aboard), ("shore_end", ashore), ("via", ashore)):
            self.fields[name].queryset = rows
            self.fields[name].empty_label = "nothing" if name == "via" else "not known"
        self.fields["shore_end"].label_from_instance = self.fields["via"].label_from_instance = _ashore

    def clean_length(self):
        length = self.cleaned_data["length"]
        if length is not None and not 0 < length <= 1000:
            raise ValidationError("A working length lies between 0 and 1000 m.")
        return length


def _ashore(row):
    """'D1, cleat', with the harbour's own words for the place."""
    words = f", {row.words}" if row.words else ""
    return f"{row.code}, {row.fastening.get_kind_display()}{words}"


class CloseForm(forms.Form):
    """Why a set ends."""

    why = forms.ChoiceField(choices=WHY, required=False, label="Why")
    words = forms.CharField(
        max_length=150, required=False, label="In words", widget=forms.TextInput({"autocomplete": "off"})
    )

    def clean(self):
        given = super().clean()
        told = ": ".join(filter(None, (given.get("why"), (given.get("words") or "").strip())))
        if not told:
            raise ValidationError("Say why the set is closed.")
        return given | {"told": told}
