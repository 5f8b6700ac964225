"""How a survey begins: a pier, a layout with its few figures, or a berth copied along the pier."""

from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError

from berths import layouts
from berths.models import Berth, Pier, Water
from berths.surveyfields import DAY, KILO
from berths.surveyrows import MOST
from berths.taping import Corner
from marina.base import clock
from vessels.forms import LengthField

LENGTHS = ["length", "width", "spacing", "dock_z", "bear_z", "pile_top_z", "corner_east", "corner_north"]


class InUnits(forms.Form):
    """A plain form with lengths in the reader's units."""

    def __init__(self, data=None, *, units="m", **options):
        super().__init__(data, **{"label_suffix": "", "use_required_attribute": False} | options)
        self.units = units
        for field in self.fields.values():
            if isinstance(field, LengthField):
                field.units = units
                field.widget.attrs["inputmode"] = "text"
            if field.required:
                field.error_messages["required"] = f"{field.label}: not given yet."

    def refuse(self, error):
        """Put a refusal of the records where it belongs."""
        told = error.message_dict if hasattr(error, "error_dict") else {None: error.messages}
        for name, faults in told.items():
            self.add_error(name if name in self.fields else None, faults)


GROUPS = [
    ("The berth", False, "layout code length width spacing pier water"),
    ("Its place: beside another, or on the plan", False, "beside outward corner_east corner_north"),
    ("Heights and strength, where they are known", True, "dock_z bear_z pile_top_z strength_kn strength_basis "
     "last_checked checked_by"),
]  # fmt: skip


class PierForm(InUnits):
    name = forms.CharField(
        max_length=60,
        label="What the pier is called",
        help_text="Also a quay or a wall: berths walked in one go.",
    )

    def clean_name(self):
        name = self.cleaned_data["name"].strip()
        if Pier.objects.filter(name__iexact=name).exists():
            raise ValidationError(f"There is a pier of that name: {name}.")
        return name


class LayoutForm(InUnits):
    """The few figures a common layout is filled in from. It is sent with GET: the start has an address."""

    layout = forms.ChoiceField(choices=list(layouts.NAMES.items()), label="Most like")
    code = forms.CharField(max_length=12, label="Code of the berth", help_text="As painted: A7.")
    pier = forms.ModelChoiceField(Pier.objects.all(), label="Pier", empty_label=None)
    water = forms.ModelChoiceField(Water.objects.order_by("name"), label="Water", empty_label=None)
    length = LengthField(required=True, label="Length of the berth")
    width = LengthField(label="Clear width", help_text="For a slip or box: between its piles.")
    spacing = LengthField(label="One every", help_text="Face piles, rings or cleats. Empty: the usual.")
    beside = forms.CharField(
        required=False,
        max_length=12,
        label="Berth on its left",
        help_text="As you look out over the water. Its place and bearing are taken from there, and shared piles.",
    )
    corner_east = LengthField(
        label="Left-hand corner, east", help_text="On the harbour's own plan. First berth: 0."
    )
    corner_north = LengthField(label="Left-hand corner, north")
    outward = forms.DecimalField(
        required=False,
        min_value=0,
        max_value=360,
        decimal_places=2,
        label="Straight out from the dock, true bearing",
        help_text="As you look out over the water: 0 is north, 90 is east.",
    )
    dock_z = LengthField(
        label="Top of the dock", help_text="Above chart datum; of a floating dock above the water."
    )
    bear_z = LengthField(label="Height where lines bear", help_text="Empty: the top of the dock.")
    pile_top_z = LengthField(label="Top of the piles")
    strength_kn = forms.DecimalField(
        required=False,
        max_digits=10,
        decimal_places=3,
        min_value=Decimal("0.001"),
        label="Strength of each, kN",
    )
    strength_basis = forms.CharField(required=False, max_length=100, label="Who says so, and when")
    last_checked = forms.DateField(required=False, label="Last checked", **DAY)
    checked_by = forms.CharField(required=False, max_length=60, label="Checked by")

    def groups(self):
        """Fields by what they are about: (words, whether folded, fields)."""
        return [(words, folded, [self[name] for name in names.split()]) for words, folded, names in GROUPS]

    def clean_code(self):
        code = self.cleaned_data["code"].strip()
        if "/" in code:
            raise ValidationError("No / in a berth's code, please: it stands in addresses.")
        if twin := Berth.objects.filter(code__iexact=code).first():
            raise ValidationError(f"There is a berth {twin.code} already.")
        return code

    def clean_beside(self):
        code = self.cleaned_data["beside"].strip()
        if not code:
            return None
        rows = Berth.objects.prefetch_related("fastenings__fastening")
        found = rows.filter(code__iexact=code).first()
        if found is None:
            raise ValidationError(f"There is no berth {code}.")
        return found

    def clean_last_checked(self):
        day = self.cleaned_data["last_checked"]
        if day and day > clock.today():
            raise ValidationError("That day is still to come; look at the date.")
        return day

    def clean(self):
        given = super().clean()
        layout = given.get("layout")
        for name in LENGTHS:
            value = given.get(name)
            if value is not None and name in ("length", "width", "spacing") and not 0 < value < MOST:
                self.add_error(
                    name, "More than nothing and less than 500 m: look at the decimal point and the unit."
                )
        if layout in layouts.END_ON and given.get("width") is None and "width" not in self.errors:
            self.add_error("width", "How wide is it, between its piles?")
        if layout == "shared_piles" and given.get("beside") is None and "beside" not in self.errors:
            self.add_error("beside", "Which berth does it share piles with?")
        if layout in layouts.SPACING and given.get("spacing") is None:
            given["spacing"] = layouts.SPACING[layout]
        if given.get("spacing") and given["spacing"] < Decimal("0.3"):
            self.add_error(
                "spacing", "Nearer than 0.3 m to each other: look at the decimal point and the unit."
            )
        place = [given.get(name) for name in ("corner_east", "corner_north", "outward")]
        if None in place and given.get("beside") is None:
            for name, value in zip(("corner_east", "corner_north", "outward"), place, strict=True):
                if value is None and name not in self.errors:
                    self.add_error(name, "Not given yet. Or name the berth on its left.")
        return given

    def start(self):
        """(berth, fastenings, faces) in the terms of the survey's forms. Only of a form that is valid."""
        given = dict(self.cleaned_data)
        given["strength"] = None if given["strength_kn"] is None else int(given["strength_kn"] * KILO)
        layout, beside = given["layout"], given["beside"]
        rows, faces = layouts.start(layout, given, beside)
        east, north, outward = self._place(given, beside, layout)
        berth = {
            "code": given["code"],
            "pier": given["pier"],
            "water": given["water"],
            "kind": layouts.KINDS.get(layout, ""),
            "length": given["length"],
            "clear_width": given["width"] if layout in layouts.END_ON else None,
            "corner_east": east,
            "corner_north": north,
            "outward": outward,
            "to_middle": given["width"] / 2 if layout in layouts.END_ON else None,
        }
        return berth, rows, faces

    def _place(self, given, beside, layout):
        """As told, else beside the berth on its left: a pile's width on in a row of slips, else where that ends."""
        told = given["corner_east"], given["corner_north"], given["outward"]
        if beside is None or None not in told:
            return told
        corner = Corner.of(beside)
        along = corner.to_middle * 2 + layouts.PILE if layout in layouts.END_ON else beside.length
        return (*corner.place(along, 0), corner.outward)


class CopyForm(InUnits):
    """n berths of a survey, a pitch apart along the dock."""

    number = forms.IntegerField(min_value=1, max_value=60, label="How many more")
    pitch = LengthField(required=True, label="From one to the next, along the dock")
    side = forms.ChoiceField(
        choices=[("right", "to the right"), ("left", "to the left")],
        label="Which way",
        help_text="As you look out over the water.",
    )
    first = forms.CharField(
        max_length=12, label="Code of the first", help_text="The rest are counted up from it."
    )
    same_bed = forms.BooleanField(required=False, label="The bed was sounded there too and is the same")
    same_strength = forms.BooleanField(
        required=False, label="Strength, condition and checks of the fastenings count there too"
    )

    def clean_pitch(self):
        pitch = self.cleaned_data["pitch"]
        if not Decimal("0.5") <= pitch <= MOST:
            raise ValidationError("Between 0.5 m and 500 m: look at the decimal point and the unit.")
        return pitch

    def clean_first(self):
        code = self.cleaned_data["first"].strip()
        if "/" in code:
            raise ValidationError("No / in a berth's code, please: it stands in addresses.")
        return code
