"""The form of a boat on the radio. Four figures place her; the rest is there for those who know more."""

from datetime import datetime, time, timedelta
from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from marina.base import clock
from vessels.forms import LengthField
from vessels.models import Vessel
from vessels.models.vessel import HullClass

NOT_NAMED = "Not named yet"
MEASURES = ("loa", "beam", "draft")
LEAVES_AT = time(12)  # a night ends at noon of the next day: common practice, no source
LONGEST_NIGHTS = 366
BACK, AHEAD = timedelta(days=1), timedelta(days=730)  # how far from now an arrival may lie
FAR_TOO_LONG = 30  # m: from here on a reader in metres is asked whether it was feet

PROPELLERS = {
    "": ("not told", "", ""),
    "right": ("single, right-handed", "single", "right"),
    "left": ("single, left-handed", "single", "left"),
    "single": ("single, turn not known", "single", ""),
    "twin": ("twin", "twin", ""),
}
SIDES = [
    ("", "no wish"),
    ("port", "port side to"),
    ("starboard", "starboard side to"),
    ("bow", "bow in"),
    ("stern", "stern in"),
]
GROUND = {"": ("not told", None), "yes": ("yes", True), "no": ("no", False)}


def _choices(rows):
    return [(key, row[0]) for key, row in rows.items()]


class OnTheRadio(forms.Form):
    """What is heard on the radio.

    `vessel` is a boat that was here before: the figures recorded of her count, and only what is not recorded is
    asked for. `whole` is False while somebody is still typing: then nothing is asked to be there.
    """

    units = forms.ChoiceField(choices=[("m", "metres"), ("ft", "feet")], required=False)
    nights = forms.IntegerField(min_value=1, max_value=LONGEST_NIGHTS, label="Nights")
    measured = forms.BooleanField(required=False)
    name = forms.CharField(required=False, max_length=60, label="Her name")
    mark = forms.CharField(required=False, max_length=80, label="What to look for")
    contact = forms.CharField(required=False, max_length=60, label="Telephone or call sign")
    hull_class = forms.ChoiceField(
        required=False, choices=[("", "not told"), *HullClass.choices], label="Kind of boat"
    )
    arrive = forms.DateTimeField(
        required=False,
        label="Arrives",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )
    propellers = forms.ChoiceField(required=False, choices=_choices(PROPELLERS), label="Propeller")
    side = forms.ChoiceField(required=False, choices=SIDES, label="She would like")
    takes_ground = forms.ChoiceField(
        required=False, choices=_choices(GROUND), label="May she take the ground"
    )
    displacement = forms.DecimalField(
        required=False, min_value=Decimal("0.05"), max_value=Decimal(20_000), label="Weight, tonnes"
    )

    def __init__(self, data=None, *, units="m", vessel=None, draft_word="draft"):
        units = data.get("units") if data and data.get("units") in ("m", "ft") else units
        super().__init__(data, initial={"units": units, "nights": 1})
        self.vessel = vessel
        for name, label in (
            ("loa", "Length over everything"),
            ("beam", "Beam"),
            ("draft", draft_word.capitalize()),
        ):
            if vessel is None or getattr(vessel, name) is None:
                self.fields[name] = LengthField(units=units, label=label, required=True)
        self.fields["air_draft"] = LengthField(units=units, label=f"Air {draft_word}")
        if vessel is not None:
            for name in ("name", "mark", "contact", "hull_class", "propellers", "displacement", "air_draft"):
                del self.fields[name]
            if vessel.takes_ground is not None:
                del self.fields["takes_ground"]
        for name, field in self.fields.items():
            field.widget.attrs |= {"autocomplete": "off", "aria-describedby": f"{name}-help"}
            field.error_messages["required"] = f"{field.label or name}: not given yet."
            if isinstance(field, forms.IntegerField):  # DecimalField is one too
                said = f"{field.label}: from {field.min_value} to {field.max_value}."
                field.error_messages |= dict.fromkeys(("invalid", "min_value", "max_value"), said)

    @property
    def in_units(self):
        """What a bare number means: m or ft."""
        return self["units"].value() or self.initial["units"]

    @property
    def asked(self):
        """The figures of this form that come first."""
        return [self[name] for name in MEASURES if name in self.fields]

    @property
    def details(self):
        return [self[name] for name in self.fields if name not in (*MEASURES, "units", "nights", "measured")]

    @property
    def details_told(self):
        return any(field.value() for field in self.details) or bool(self["measured"].value())

    @property
    def faults(self):
        """What is wrong with what was typed; an empty field is not wrong while somebody is still typing."""
        told = {
            self.fields[name].label: errors
            for name, errors in self.errors.items()
            if name in self.fields and (self.data.get(name) or "").strip()
        }
        return [e if e.startswith(f"{of}: ") else f"{of}: {e}" for of, errors in told.items() for e in errors]

    # --- what is checked ---

    def clean_arrive(self):
        arrive, now = self.cleaned_data["arrive"], clock.now()
        if arrive is None:
            return None
        if arrive < now - BACK:
            raise ValidationError("That is more than a day ago; look at the date.")
        if arrive > now + AHEAD:
            raise ValidationError("That is more than two years ahead; look at the date.")
        return arrive

    def clean(self):
        given = super().clean()
        for name in MEASURES:
            value = given.get(name)
            if value is not None and value <= 0:
                self.add_error(
                    name, "A boat has more than nothing of that; write for instance 10.4 m or 34 ft."
                )
        loa, beam, draft = (given.get(name, getattr(self.vessel, name, None)) for name in MEASURES)
        if None not in (loa, beam) and beam > loa:
            self.add_error(
                "beam" if "beam" in self.fields else "loa", "Broader than she is long; look again."
            )
        if None not in (loa, draft) and draft > loa:
            self.add_error(
                "draft" if "draft" in self.fields else "loa", "Deeper than she is long; look again."
            )
        for name, most in (("loa", 500), ("beam", 100), ("draft", 30)):
            if given.get(name) is not None and given[name] >= most:
                self.add_error(name, f"More than {most} m; look at the decimal point and the unit.")
        return given

    # --- what it comes to ---

    @property
    def perhaps_feet(self):
        """A boat of 38 m is rarer than one of 38 ft."""
        loa = self.cleaned_data.get("loa")
        return loa is not None and loa >= FAR_TOO_LONG and self.in_units != "ft"

    @property
    def arrives(self):
        """When she comes: as said, else now."""
        return self.cleaned_data["arrive"] or clock.now().replace(second=0, microsecond=0)

    @property
    def departs(self):
        """Noon of the harbour after the last night."""
        here = timezone.localtime(self.arrives)
        last = here.date() + timedelta(days=self.cleaned_data["nights"])
        return datetime.combine(last, LEAVES_AT, here.tzinfo)

    def boat(self, by):
        """The boat as she was told, not saved; a boat that was here before with what was missing filled in."""
        vessel, given, today = self.vessel or Vessel(name=self._name()), self.cleaned_data, clock.today()
        told_by = f"her skipper, told to {by.get_username()}"[:60]
        how = "measured" if given.get("measured") else "declared"
        for name in MEASURES:
            if name in self.fields:
                kind = how if name == "loa" else "declared"
                for field, value in ((name, given[name]), (f"{name}_on", today), (f"{name}_by", told_by)):
                    setattr(vessel, field.replace(name, f"{name}_{kind}"), value)
        for name in ("mark", "contact", "hull_class", "air_draft"):
            if name in self.fields:
                setattr(vessel, name, given[name])
        if "displacement" in self.fields and given["displacement"] is not None:
            vessel.displacement = given["displacement"] * 1000
        if "propellers" in self.fields:
            _, vessel.propellers, vessel.propeller_turn = PROPELLERS[given["propellers"]]
        if "takes_ground" in self.fields:
            vessel.takes_ground = GROUND[given["takes_ground"]][1]
        return vessel

    def _name(self):
        """She needs a name in the record, if only the time she called."""
        given = self.cleaned_data
        if given.get("name"):
            return given["name"]
        return f"{NOT_NAMED}, called {timezone.localtime(clock.now()):%-d %b %H:%M}"


class Painted(forms.ModelForm):
    """Her name as painted, and what to look for: told late, or read off her hull."""

    class Meta:
        model = Vessel
        fields = ["name", "mark", "contact"]
        labels = {"name": "Her name", "mark": "What to look for", "contact": "Telephone or call sign"}


class Reason(forms.Form):
    """Why something is done all the same, or taken back; in writing, for it is kept."""

    reason = forms.CharField(
        max_length=200, label="Why", error_messages={"required": "Write why; it is kept."}
    )
