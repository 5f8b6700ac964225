"""Fields of a survey: lengths in the reader's units, unknown by name, and every fault of a column at its field."""

from decimal import Decimal

from django import forms
from django.forms.models import ModelForm

from marina.base import clock
from marina.base.checks import OneField
from vessels.forms import LengthField

DAY = {"widget": forms.DateInput({"type": "date"}, format="%Y-%m-%d")}
KILO = Decimal(1000)
YES_NO = [("", "not known"), ("true", "yes"), ("false", "no")]


class YesNo(forms.TypedChoiceField):
    """Yes, no, or nobody knows."""

    def __init__(self, **options):
        options |= {"choices": YES_NO, "coerce": lambda text: text == "true", "empty_value": None}
        super().__init__(**{"required": False} | options)

    def prepare_value(self, value):
        return {True: "true", False: "false", None: ""}.get(value, value)

    def has_changed(self, initial, data):
        return self.prepare_value(initial) != (data or "")


def field_of(column, **options):
    """The form field of a column: lengths as people type them, unknown by name."""
    name = column.get_internal_type()
    if name == "DecimalField" and not column.name.endswith("_deg"):
        return LengthField(required=not column.blank, label=options.get("label") or column.verbose_name)
    if name == "BooleanField" and column.null:
        return YesNo(label=options.get("label"))
    if name == "DateField":
        return column.formfield(**options | DAY)
    found = column.formfield(**options)
    if isinstance(found, forms.TypedChoiceField) and column.blank:
        found.choices = [("", "not known"), *column.choices]
    return found


class Surveyed(ModelForm):
    """A form whose lengths are in the reader's units, and whose faults of one column stand at that column."""

    between = {}  # field -> (name of the lower one, words): what must not stand above what
    quick = False  # only read what was typed: the records are not asked

    def __init__(self, data=None, *, units="m", **options):
        super().__init__(data, **{"label_suffix": "", "use_required_attribute": False} | options)
        for field in self.fields.values():
            if isinstance(field, LengthField):
                field.units = units
                field.widget.attrs["inputmode"] = "text"  # a minus must be on the keyboard
            if field.required:
                field.error_messages["required"] = f"{field.label}: not given yet."

    def clean(self):
        given = super().clean()
        for rule in self._meta.model._meta.constraints:
            value = given.get(rule.field) if isinstance(rule, OneField) else None
            if value not in (None, "") and not rule.passes(value):
                words = str(rule.violation_error_message).partition(" must be")[2]
                self.add_error(rule.field, f"{self.fields[rule.field].label} must be{words}")
        for above, (below, words) in self.between.items():
            low, high = given.get(below), given.get(above)
            if low is not None and high is not None and low > high:
                self.add_error(above, words)
        for name in ("sounded_on", "last_checked"):
            if given.get(name) and given[name] > clock.today():
                self.add_error(name, "That day is still to come; look at the date.")
        return given

    def _post_clean(self):
        if not self.quick:
            super()._post_clean()

    def told(self, name):
        """What could be read of a field so far; None where nothing or nothing good was typed."""
        return getattr(self, "cleaned_data", {}).get(name)
