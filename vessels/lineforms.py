"""Forms of a line's own record. They read what was typed; `vessels.services` writes it."""

from datetime import datetime
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import RegexValidator

from marina.base import house
from vessels import rope, wear
from vessels.forms import LengthField
from vessels.models import Line
from vessels.models.line import Advice, LineState
from vessels.services.lines import BEGINNINGS

TAG = RegexValidator(
    r"^[A-Za-z0-9._-]+\Z", "Letters, figures, dot and hyphen only: it is read off a wet tag."
)
COMES_AS = {
    "received": "received: measured and tagged",
    "ordered": "ordered, not here yet",
    "found": "found without a tag",
    "left_behind": "left behind by a visitor",
}
LENGTHS = ("total_length", "working_length", "working_length_2", "eye_length")
SAID = {
    "tag": ("Tag", "Engraved or shrunk on near the eye. Without the letters O and I: they read as 0 and 1."),
    "second_tag": ("Second tag", "At the far end of a line over 10 m."),
    "material": ("Rope", ""),
    "construction": ("How it is laid", "In words, where that says more."),
    "diameter_mm": ("Diameter when new [mm]", ""),
    "total_length": ("Whole length", ""),
    "working_length": (
        "Working length, to one band",
        "From inside the eye to the band, under a light pull of the hand, dry.",
    ),
    "working_length_2": ("Working length, to two bands", "For the storm set."),
    "strength": ("Strength [N]", "New, dry, without a knot. Kilograms times 9.81. Empty: not known."),
    "strength_basis": ("What the strength rests on", ""),
    "certificate_on": ("Date of the certificate", ""),
    "diameter_label": ("Diameter as sold", "For instance 5/8 in."),
    "criteria": ("The maker's own grounds for replacing it", "Or where they stand."),
    "replaces": ("Takes the place of", "The line that it replaces."),
    "owner_kind": ("Whose it is", ""),
    "home": ("Home", "Hook in the store, berth or boat."),
    "kept_for": ("Kept for", ""),
    "made_on": ("Made on", ""),
    "in_service_on": ("In service since", ""),
}


class MomentField(forms.CharField):
    """When it was done, by the harbour's clock; empty: now."""

    def __init__(self, **options):
        super().__init__(**{"required": False, "label": "When", "help_text": "Empty: now."} | options)
        self.widget.attrs |= {"autocomplete": "off"}
        self.widget.input_type = "datetime-local"

    def to_python(self, value):
        text = (super().to_python(value) or "").strip()
        if not text:
            return None
        try:
            return datetime.fromisoformat(text).replace(tzinfo=house.zone())
        except ValueError:
            raise ValidationError("Write day and time as 2027-10-14 17:45.") from None


class Once(forms.Form):
    """A form that names its deed, so that pressed twice is once."""

    client_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)


class LineRecord(forms.ModelForm):
    """What a line is. An empty field is not known."""

    class Meta:
        model = Line
        fields = [
            "tag", "second_tag", "material", "construction", "colour", "diameter_mm", "diameter_label",
            *LENGTHS, "eyes", "gear", "strength", "strength_basis", "certificate", "certificate_on", "maker",
            "criteria", "made_on", "in_service_on", "replaces", "owner_kind", "owner", "home", "kept_for", "note",
        ]  # fmt: skip
        widgets = {
            name: forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
            for name in ("certificate_on", "made_on", "in_service_on")
        }

    def __init__(self, *args, units="m", **kwargs):
        super().__init__(*args, **kwargs)
        for name in LENGTHS:
            self.fields[name] = LengthField(units=units, label=self.fields[name].label)
        known = [("", "not known"), *((m, m.replace("_", " ")) for m in rope.MATERIALS)]
        if self.instance.material and self.instance.material not in rope.MATERIALS:
            known.append((self.instance.material, self.instance.material))
        self.fields["material"] = forms.ChoiceField(choices=known, required=False)
        for name in ("eyes", "strength_basis"):
            self.fields[name].choices = [("", "not known"), *self.fields[name].choices[1:]]
        self.fields["owner"].empty_label, self.fields["replaces"].empty_label = (
            "the harbour, or nobody known",
            "none",
        )
        self.fields["tag"].validators.append(TAG)
        self.fields["tag"].widget.attrs |= {
            "autocapitalize": "characters",
            "autocomplete": "off",
            "spellcheck": "false",
        }
        for name, (label, words) in SAID.items():
            self.fields[name].label, self.fields[name].help_text = label, words

    def changes(self):
        """Field -> new value, of what was changed."""
        return {name: self.cleaned_data[name] for name in self.changed_data if name in self.Meta.fields}


class NewLine(LineRecord):
    """How a line comes into the register, and what it is."""

    comes_as = forms.ChoiceField(
        choices=[(k, COMES_AS[k]) for k in ("received", "ordered", "found", "left_behind")]
    )
    client_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
    field_order = ["comes_as"]

    def __init__(self, *args, user, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["comes_as"].label = "How it comes"
        if not user.is_harbourmaster:
            self.fields["comes_as"].choices = [(k, COMES_AS[k]) for k in BEGINNINGS if k != "ordered"]


class ChangedLine(LineRecord):
    why = forms.CharField(max_length=300, required=False, label="Why", help_text="Kept in its history.")

    def clean(self):
        cleaned = super().clean()
        if not self.errors and not self.changes():
            raise ValidationError("Nothing was changed. Change a figure, or go back.")
        return cleaned


class Deed(Once):
    """One deed with a line, with the fields that this deed needs."""

    at = MomentField()
    note = forms.CharField(max_length=300, required=False, label="What happened")

    def __init__(self, *args, kind, leads, units="m", **kwargs):
        super().__init__(*args, **kwargs)
        if len(leads) > 1:
            choices = [(state, LineState(state).label) for state in leads]
            self.fields["state"] = forms.ChoiceField(choices=choices, label="From then on")
        if kind == "stored":
            self.fields["place"] = forms.CharField(max_length=60, required=False, label="Hook")
        if kind == "destroyed":
            self.fields["witness"] = forms.CharField(
                max_length=60, label="Who saw the eye cut", help_text="Somebody else than you."
            )
        if kind == "repaired":
            for name in ("working_length", "working_length_2", "total_length"):
                self.fields[name] = LengthField(units=units, label=f"New: {SAID[name][0].lower()}")
        if kind in ("derated", "quarantine", "retired", "missing", "sold", "repaired"):
            self.fields["note"].required = True
        self.order_fields(["note", "state", "place", "witness"])

    def changes(self):
        """New figures of the line's record."""
        names = ("working_length", "working_length_2", "total_length")
        given = {name: self.cleaned_data[name] for name in names if self.cleaned_data.get(name) is not None}
        return given | ({"home": self.cleaned_data["place"]} if self.cleaned_data.get("place") else {})

    def told(self):
        """Fields of the entry."""
        return {n: self.cleaned_data[n] for n in ("note", "place", "witness", "state", "at", "client_id")
                if self.cleaned_data.get(n)}  # fmt: skip


class Mistake(forms.Form):
    reason = forms.CharField(
        max_length=300, label="What was wrong", help_text="Kept beside the entry, which stays."
    )


YES_NO = [("", "not known"), ("yes", "yes"), ("no", "no")]


class Looked(Once):
    """A look at a line, part by part. A part that is not marked was not looked at."""

    tag_readable = forms.ChoiceField(choices=YES_NO, required=False, label="Can its tag be read?")
    shock = forms.ChoiceField(choices=YES_NO, required=False, label="Was it ever loaded near breaking?")
    diameter_found_mm = forms.DecimalField(
        required=False, min_value=1, max_value=200, decimal_places=1, label="Thinnest place [mm]",
        help_text="Across the rope, pressed lightly; or the way round it divided by 3.14. Empty: not measured.",
    )  # fmt: skip
    advice = forms.ChoiceField(
        required=False,
        choices=[("", "as the rules say"), *Advice.choices],
        label="What is to be done",
        help_text="You may be stricter than the rules, not milder.",
    )
    at = MomentField()
    note = forms.CharField(max_length=300, required=False, label="Anything else")

    def __init__(self, *args, units="m", **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["working_length_found"] = LengthField(
            units=units, label="Length to one band", help_text="As when it was new. Empty: not measured."
        )
        wear_choices = [("none", "looked: nothing found"), *wear.WEAR.items()]
        for zone, words in wear.ZONES.items():
            self.fields[f"zone_{zone}"] = forms.MultipleChoiceField(
                choices=wear_choices,
                required=False,
                label=words.capitalize(),
                widget=forms.CheckboxSelectMultiple,
            )
        self.order_fields(["tag_readable", "diameter_found_mm", "working_length_found", "shock"])

    def parts(self):
        """The parts of the line, in the order in which a hand goes along it: nothing found, or what."""
        for zone in wear.ZONES:
            field = self[f"zone_{zone}"]
            nothing, *found = field
            marked = set(field.value() or []) - {"none"}
            yield {"field": field, "nothing": nothing, "found": found, "open": bool(marked or field.errors)}

    def other_fields(self):
        return [f for f in self if not f.name.startswith("zone_") and not f.is_hidden]

    def clean(self):
        cleaned = super().clean()
        for zone in wear.ZONES:
            seen = cleaned.get(f"zone_{zone}") or []
            if "none" in seen and len(seen) > 1:
                self.add_error(f"zone_{zone}", "Either nothing was found here, or something: not both.")
        return cleaned

    def seen(self):
        """Keyword arguments of `inspect`."""
        data = self.cleaned_data
        zones = {z: [w for w in data[f"zone_{z}"] if w != "none"] for z in wear.ZONES if data[f"zone_{z}"]}
        told = {
            n: data[n]
            for n in ("diameter_found_mm", "working_length_found", "advice", "at", "note", "client_id")
        }
        yes = {"yes": True, "no": False}
        return told | {"zones": zones} | {n: yes.get(data[n]) for n in ("shock", "tag_readable")}
