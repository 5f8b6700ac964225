"""Forms of a water that is worked out from constants typed by hand, and of the gate it lies behind."""

import re

from django import forms
from django.core.exceptions import ValidationError

from berths import constituents
from berths.models import Water
from berths.waterforms import WaterForm
from vessels.forms import LengthField

PLAIN = re.compile(r"-?\d+(?:[.,]\d+)?")


class OwnConstants(WaterForm):
    """Tidal constants from the harbour's own survey, one to a row."""

    source = forms.CharField(
        max_length=60, label="Whose constants", help_text="Name of the gauge or survey, and its year."
    )
    datum = forms.CharField(
        max_length=60, label="Heights here are counted from", help_text="The name of the zero."
    )
    mean = LengthField(required=True, label="Mean level above that zero")
    text = forms.CharField(
        label="The constants",
        help_text="A row for each: name, size in metres, phase in degrees at Greenwich. For instance: M2 0.80 322",
        widget=forms.Textarea(attrs={"rows": 10, "spellcheck": "false", "autocomplete": "off"}),
    )
    low = LengthField(
        label="Lowest astronomical tide (LAT)", help_text="For permanent berths. Empty: not known."
    )
    high = LengthField(label="Highest astronomical tide (HAT)", help_text="As above.")

    def clean_text(self):
        """[[name, metres, degrees], ...]; each bad row is named, and none is taken unless all can be."""
        rows, faults, seen = [], [], {}
        for number, line in enumerate(self.cleaned_data["text"].splitlines(), start=1):
            if not line.strip():
                continue
            parts = [part for part in re.split(r"[\s;]+", line.strip()) if part]
            fault = self._fault(parts, seen, number)
            if fault:
                faults.append(f"Row {number}, “{line.strip()[:40]}”: {fault}.")
            else:
                rows.append([parts[0], *(float(part.replace(",", ".")) for part in parts[1:])])
        if not rows and not faults:
            faults.append("No constant was given.")
        if faults:
            raise ValidationError(faults)
        return rows

    def _fault(self, parts, seen, number):
        if len(parts) != 3 or not all(PLAIN.fullmatch(part) for part in parts[1:]):
            return "must be a name, a size in metres and a phase in degrees"
        name, size = parts[0].upper(), float(parts[1].replace(",", "."))
        try:
            constituents.constituent(parts[0])
        except ValueError:
            return f"no constituent “{parts[0]}” is known here; check how it is spelt"
        if not 0 <= size <= 15:
            return "a size lies between 0 and 15 m"
        if name in seen:
            return f"stands in row {seen[name]} already"
        seen[name] = number
        return ""

    def clean(self):
        given = super().clean()
        low, high = given.get("low"), given.get("high")
        if not self.errors and (low is None) != (high is None):
            raise ValidationError("Give the lowest and the highest astronomical tide, or neither.")
        return given


class Gate(WaterForm):
    """What lies beyond the gate, sill or lock, and when boats pass it."""

    outer = forms.ModelChoiceField(
        Water.objects.none(), required=False, empty_label="no gate", label="The water beyond the gate"
    )
    passes_above = LengthField(
        label="Boats pass while the water outside is above",
        help_text="Through the gate or over the sill; above the zero of the water outside.",
    )
    sill_z = LengthField(label="Level of the sill", help_text="Above the zero of the water outside.")
    holds_to = LengthField(
        label="The gate holds out the water outside up to",
        help_text="Empty: not known, and then no tie-up inside is found to hold.",
    )

    def __init__(self, *args, water, **options):
        super().__init__(*args, **options)
        # Not one that lies behind a gate itself: the level is worked out one gate deep.
        self.fields["outer"].queryset = Water.objects.filter(outer=None).exclude(pk=water.pk)
        self.water = water

    def clean(self):
        given = super().clean()
        levels = [name for name in ("passes_above", "sill_z", "holds_to") if given.get(name) is not None]
        if given.get("outer") is None and levels and not self.errors:
            self.add_error("outer", "Say which water lies beyond, or leave the levels empty.")
        if given.get("outer") is not None and self.water.inner.exists():
            self.add_error(
                "outer", "This water lies outside another gate itself; it cannot lie behind one too."
            )
        return given
