"""Fastenings and faces of a berth, row by row, as they are taped on the dock."""

from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError
from django.forms.formsets import BaseFormSet, formset_factory
from django.utils.functional import cached_property

from berths.models import Face, Fastening
from berths.models.harbour import FasteningKind
from berths.surveyfields import KILO, Surveyed, field_of
from vessels.forms import LengthField

MOST_ROWS = 100
LEAST, MOST = Decimal(-500), Decimal(500)  # m along and out: beyond that the decimal point is wrong


class Row(Surveyed):
    """One fastening or face of a berth. `link` is what the berth calls it already, or None for a new one."""

    code = forms.CharField(required=False, max_length=20, label="Name")
    gone = forms.BooleanField(required=False, label="Take it off this berth")

    def __init__(self, data=None, *, link=None, start=None, **options):
        self.link, self.same = link, None
        thing = getattr(link, self.thing) if link else None
        own = {"code": link.code, "words": getattr(link, "words", "")} if link else {}
        super().__init__(data, instance=thing, initial=own | (start or {}), **options)
        if link:
            self.empty_permitted = False

    @property
    def called(self):
        """What stands at the head of the row."""
        return (self["code"].value() or "").strip() or "another"

    def clean_code(self):
        return self.cleaned_data["code"].strip()

    def need(self, given, **words):
        """Name what is missing at its field, unless something wrong was typed there."""
        for name, told in words.items():
            if given.get(name) in (None, "") and name not in self.errors:
                self.add_error(name, told)

    def within_reach(self, given, *names):
        for name in names:
            if given.get(name) is not None and not LEAST < given[name] < MOST:
                self.add_error(name, "That is 500 m or more: look at the decimal point and the unit.")

    @cached_property
    def shared_with(self):
        """Codes of the other berths that use it. Needs `berths__berth` fetched."""
        if self.link is None:
            return []
        others = (other.berth for other in getattr(self.link, self.thing).berths.all())
        others = sorted(others, key=lambda berth: berth.walking_order)
        return [berth.code for berth in others if berth.pk != self.link.berth_id]

    @property
    def typed(self):
        """Whether there is anything in this row."""
        return self.link is not None or self.has_changed()


class FasteningRow(Row):
    thing = "fastening"
    between = {
        "high_turn_z": ("low_turn_z", "The highest turn must not be below the lowest."),
        "top_z": ("high_turn_z", "The top of the pile must not be below the highest turn."),
    }

    class Meta:
        model = Fastening
        fields = [
            "kind",
            "z",
            "floats",
            "diameter",
            "cleat_length",
            "top_z",
            "stop",
            "low_turn_z",
            "high_turn_z",
            "takes",
            "strength_basis",
            "condition",
            "last_checked",
            "checked_by",
            "in_use",
            "note",
        ]
        formfield_callback = field_of
        labels = {
            "kind": "What it is",
            "z": "Height where a line bears",
            "floats": "It floats: heights are above the water",
            "diameter": "Diameter",
            "cleat_length": "Length of the cleat",
            "top_z": "Top of the pile",
            "stop": "What keeps a turn from sliding up",
            "low_turn_z": "Lowest sensible turn",
            "high_turn_z": "Highest sensible turn",
            "takes": "Lines it takes",
            "strength_basis": "What the strength rests on: who says so, and when",
            "last_checked": "Last checked",
            "checked_by": "Checked by",
            "in_use": "In use",
            "note": "Note, or why it is out of use",
        }

    along = LengthField(label="Along the dock, to the right")
    out = LengthField(label="Out from the dock")
    words = forms.CharField(required=False, max_length=60, label="As said")
    same_as = forms.CharField(required=False, max_length=30, label="Is the same as")
    strength_kn = forms.DecimalField(
        required=False, max_digits=10, decimal_places=3, min_value=0, label="Strength, kN"
    )

    def __init__(self, data=None, *, link=None, start=None, **options):
        start = dict(start or {})
        strength = start.pop("strength", None) or (link.fastening.strength if link else None)
        if strength is not None:
            start["strength_kn"] = (Decimal(strength) / KILO).normalize()
            start["strength_kn"] = f"{start['strength_kn']:f}"
        super().__init__(data, link=link, start=start, **options)
        self.fields["kind"].required = False
        self.fields["kind"].choices = [("", ""), *FasteningKind.choices]
        self.fields["strength_basis"].help_text = ""  # its label says it
        self.fields["same_as"].widget.attrs |= {"list": "stands-near", "autocomplete": "off"}
        if link:
            del self.fields["same_as"]

    def clean_same_as(self):
        label = self.cleaned_data["same_as"].strip()
        if not label:
            return ""
        self.same = Fastening.objects.filter(label__iexact=label).first()
        if self.same is None:
            raise ValidationError(f"The harbour has no fastening named {label}.")
        return self.same.label

    def clean(self):
        given = super().clean()
        if given.get("gone"):
            return given
        self.need(given, code="Give it a name: P1, D2.")
        self.within_reach(given, "along", "out")
        if self.same or "same_as" in self.errors:
            self._as_recorded(given)
            return given
        self.need(
            given,
            kind="Say what it is.",
            along="How far along the dock is it?",
            out="How far out from the dock is it? At its edge: 0.",
        )
        if given.get("in_use") is False and not given.get("note"):
            self.add_error("note", "Out of use: say why.")
        return given

    def _as_recorded(self, given):
        """A fastening that stands in the record already keeps what is recorded of it."""
        for name in self._meta.fields:
            if name in self.errors or name not in self.changed_data or given.get(name) in (None, "", False):
                continue
            if self.same and getattr(self.same, name) != given[name]:
                self.add_error(
                    name,
                    f"{self.same.label} is recorded otherwise: change it on its own page, or leave this.",
                )

    def _post_clean(self):
        if self.same is None and not self.told("gone"):
            super()._post_clean()

    @property
    def strength(self):
        """As stored. [N]"""
        kilo = self.told("strength_kn")
        return None if kilo is None else int((kilo * KILO).to_integral_value())

    def first(self):
        return [self[n] for n in ("code", "kind", "along", "out")]

    def rest(self):
        names = """same_as words z strength_kn strength_basis condition last_checked checked_by takes diameter top_z stop
            low_turn_z high_turn_z cleat_length floats note in_use gone"""
        return [self[n] for n in names.split() if n in self.fields]


class FaceRow(Row):
    thing = "face"
    between = {"top_z": ("underside_z", "The underside of a face must be below its top.")}

    class Meta:
        model = Face
        fields = [
            "top_z",
            "underside_z",
            "floats",
            "continuous",
            "sharp",
            "fender_stiffness",
            "fender_give",
            "in_use",
        ]
        formfield_callback = field_of
        labels = {
            "top_z": "Top",
            "underside_z": "Underside",
            "floats": "It floats: heights are above the water",
            "continuous": "Closed, without gaps",
            "sharp": "Its edge would saw a rope",
            "fender_give": "Give of its fenders",
            "in_use": "In use",
        }

    along1 = LengthField(label="From, along the dock")
    out1 = LengthField(label="From, out")
    along2 = LengthField(label="To, along the dock")
    out2 = LengthField(label="To, out")

    fender_stiffness = forms.DecimalField(
        required=False, max_digits=12, decimal_places=1, label="Stiffness of its fenders, N/m"
    )

    def clean(self):
        given = super().clean()
        if given.get("gone"):
            return given
        ends = ("along1", "out1", "along2", "out2")
        self.need(given, code="Give it a name: dock.", **dict.fromkeys(ends, "Not given yet."))
        self.within_reach(given, *ends)
        at = [given.get(name) for name in ends]
        if None not in at and at[:2] == at[2:]:
            self.add_error("along2", "Both ends of the face are at the same place.")
        return given

    def _post_clean(self):
        if not self.told("gone"):
            super()._post_clean()

    def first(self):
        return [self[n] for n in ("code", "along1", "out1", "along2", "out2")]

    def rest(self):
        names = "top_z underside_z floats continuous sharp fender_stiffness fender_give in_use gone"
        return [self[n] for n in names.split()]


class Rows(BaseFormSet):
    """Rows that are new or belong to the berth already, in the order they were shown.

    links : dict
        pk -> what this berth calls its fastenings or faces now.
    starts : list of dict
        What the first rows begin with, where nothing was sent yet; `link` in one names its pk.
    """

    def __init__(self, data=None, *, links=None, starts=(), spare=1, units="m", **options):
        self.links, self.starts, self.units = links or {}, list(starts), units
        self.spare = spare
        super().__init__(data, **options)

    def initial_form_count(self):
        return 0

    def total_form_count(self):
        if self.is_bound:
            return super().total_form_count()
        return len(self.starts) + self.spare

    def get_form_kwargs(self, index):
        own = {"units": self.units}
        if index is None or (not self.is_bound and index >= len(self.starts)):
            return own
        start = {} if self.is_bound else dict(self.starts[index])
        pk = self.data.get(f"{self.prefix}-{index}-link") if self.is_bound else start.pop("link", None)
        own["link"] = self.links.get(int(pk)) if str(pk or "").isdecimal() else None
        if self.is_bound and own["link"]:
            start = self.places.get(own["link"].pk, {})
        return own | {"start": start}

    @cached_property
    def places(self):
        """Where the rows of the record stand as taped, by pk: what was not changed moves nothing."""
        return {start["link"]: start for start in self.starts if "link" in start}

    @property
    def told(self):
        """Rows in which something was typed."""
        return [form for form in self.forms if form.typed]


FasteningRows = formset_factory(
    FasteningRow, formset=Rows, max_num=MOST_ROWS, absolute_max=MOST_ROWS + 20, validate_max=True
)
FaceRows = formset_factory(FaceRow, formset=Rows, max_num=20, absolute_max=40, validate_max=True)


def with_more_rows(data):
    """What was sent, with empty rows more: three fastenings and a face, as they begin."""
    data = data.copy()
    for rows, more in ((FasteningRows(prefix="f"), 3), (FaceRows(prefix="e"), 1)):
        name = f"{rows.prefix}-TOTAL_FORMS"
        number = int(data.get(name)) if str(data.get(name)).isdecimal() else 0
        for index in range(number, min(number + more, rows.max_num)):
            begins = rows.empty_form
            for field in begins:
                value = field.value()
                if value not in (None, False, ""):
                    data[f"{rows.prefix}-{index}-{field.name}"] = "on" if value is True else str(value)
            data[name] = str(index + 1)
    return data
