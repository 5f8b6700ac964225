"""Forms for a vessel's own records. Lengths are typed and read back in the reader's units."""

from django import forms
from django.core.exceptions import ValidationError

from marina.base import clock, house
from marina.base.units import parse_length, write_length
from vessels.models import Vessel
from vessels.services.layout import lay_out_again


class LengthField(forms.CharField):
    """A length as people type it: '10.4', '10,4 m', '34 ft 6 in'. Empty stays empty: not known."""

    def __init__(self, *, units="m", **options):
        super().__init__(**{"required": False} | options)
        self.units = units
        # Not `max_length`: that would measure the number which the text becomes.
        self.widget.attrs |= {
            "maxlength": 30,
            "inputmode": "decimal" if units == "m" else "text",
            "autocomplete": "off",
        }

    def prepare_value(self, value):
        return value if isinstance(value, str) else write_length(value, self.units)

    def to_python(self, value):
        text = super().to_python(value)
        if not text:
            return None
        if len(text) > 40:
            raise ValidationError("That is more than a length; write for instance 10.4 m or 34 ft 6 in.")
        try:
            return parse_length(text, self.units)
        except ValueError as fault:
            raise ValidationError(str(fault)) from None

    def has_changed(self, initial, data):
        """Not changed when what comes back is what was shown, so that no digit drifts."""
        return (data or "").strip() != self.prepare_value(initial)


class Measured(forms.ModelForm):
    """What a hand measured on her, as she lies; each figure that changes gets today's date and this name."""

    class Meta:
        model = Vessel
        fields = ["loa_measured", "beam_measured", "draft_measured"]

    LABELS = {
        "loa_measured": (
            "Length over everything",
            "From her foremost to her aftmost point as she lies: anchor, bowsprit, platform, davits, outboard tilted.",
        ),
        "beam_measured": ("Beam", "Over the rubbing strakes, without fenders."),
        "draft_measured": ("Draft", "Deepest point, loaded, board or drives down."),
    }

    def __init__(self, *args, units="m", words="uk", by, **kwargs):
        super().__init__(*args, **kwargs)
        self.by = by
        for name, (label, help_text) in self.LABELS.items():
            self.fields[name] = LengthField(units=units, label=label, help_text=help_text)
        if words == "uk":
            self.fields["draft_measured"].label = "Draught"

    def clean(self):
        cleaned = super().clean()
        if not self.errors and not any(name in self.changed_data for name in self.LABELS):
            raise ValidationError("Nothing was changed. Enter what was measured, or go back.")
        return cleaned

    def save(self, commit=True):
        for name in self.LABELS:
            if name in self.changed_data:
                known = self.cleaned_data[name] is not None
                setattr(self.instance, f"{name}_on", clock.today() if known else None)
                setattr(self.instance, f"{name}_by", self.by.get_username() if known else "")
        vessel = super().save(commit)
        loa, _ = vessel.length_that_counts(house.rules() | {"H4": "over_everything"})
        return lay_out_again(vessel, loa=float(loa)) if commit and loa is not None else vessel
