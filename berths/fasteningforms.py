"""What is found of one fastening on the dock. A hand says how it looks; the office also what it bears."""

from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError

from berths.layoutforms import InUnits
from berths.models.harbour import Condition, Stop
from berths.surveyfields import DAY, KILO
from marina.base import clock
from vessels.forms import LengthField


class Found(InUnits):
    """What a hand may record: how it looks, and whether it may be used."""

    condition = forms.ChoiceField(
        required=False, choices=[("", "not known"), *Condition.choices], label="Condition"
    )
    last_checked = forms.DateField(required=False, label="Last checked", **DAY)
    checked_by = forms.CharField(required=False, max_length=60, label="Checked by")
    use = forms.ChoiceField(
        choices=[("yes", "in use"), ("no", "out of use: nothing is made fast to it")], label="Use"
    )
    note = forms.CharField(required=False, max_length=200, label="Note, or why it is out of use")

    NAMES = ("condition", "last_checked", "checked_by", "note")

    def __init__(self, data=None, *, fastening, by, **options):
        start = {name: getattr(fastening, name) for name in self.NAMES}
        start["use"] = "yes" if fastening.in_use else "no"
        self.fastening, self.by = fastening, by
        super().__init__(data, initial=start | self.more_start(fastening), **options)

    def more_start(self, fastening):
        return {}

    def clean_last_checked(self):
        day = self.cleaned_data["last_checked"]
        if day and day > clock.today():
            raise ValidationError("That day is still to come; look at the date.")
        return day

    def clean(self):
        given = super().clean()
        given["in_use"] = given.pop("use", "yes") == "yes"
        if not given["in_use"] and not (given.get("note") or "").strip() and "note" not in self.errors:
            self.add_error("note", "Out of use: say why.")
        if given.get("last_checked") and not given.get("checked_by"):
            given["checked_by"] = self.by.get_username()
        return given


class Known(Found):
    """What the office records besides: what it bears, and what it rests on."""

    strength_kn = forms.DecimalField(
        required=False,
        max_digits=10,
        decimal_places=3,
        min_value=Decimal("0.001"),
        max_value=Decimal(2_000_000),
        label="Strength, kN",
        help_text="Empty: not known.",
    )
    strength_basis = forms.CharField(
        required=False, max_length=100, label="What the strength rests on: who says so, and when"
    )
    takes = forms.IntegerField(min_value=0, max_value=20, label="Lines it takes")
    top_z = LengthField(label="Top of the pile")
    stop = forms.ChoiceField(
        required=False, choices=[("", "not known"), *Stop.choices], label="What keeps a turn from sliding up"
    )

    def more_start(self, fastening):
        strength = fastening.strength
        kilo = None if strength is None else f"{(Decimal(strength) / KILO).normalize():f}"
        own = {name: getattr(fastening, name) for name in ("strength_basis", "takes", "top_z", "stop")}
        return own | {"strength_kn": kilo}

    def __init__(self, data=None, **options):
        super().__init__(data, **options)
        if self.fastening.kind != "pile":
            del self.fields["top_z"], self.fields["stop"]

    def clean(self):
        given = super().clean()
        kilo = given.pop("strength_kn", None)
        given["strength"] = None if kilo is None else int((kilo * KILO).to_integral_value())
        return given
