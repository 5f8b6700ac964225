"""The form of a berth in its survey. Its fastenings and faces are rows of their own: `berths.surveyrows`."""

from django import forms
from django.core.exceptions import ValidationError

from berths.models import Berth, Pier, Water
from berths.surveyfields import Surveyed, field_of
from vessels.forms import LengthField


class BerthForm(Surveyed):
    """The berth itself. Where it lies is told by its left-hand corner and the look out from the dock."""

    class Meta:
        model = Berth
        fields = [
            "pier",
            "water",
            "code",
            "kind",
            "length",
            "clear_width",
            "finger_length",
            "overhang",
            "bed_z",
            "bed_kind",
            "sounded_on",
            "sounded_by",
            "exposure",
            "edge_z",
            "guide_pile_top_z",
            "hoop_height",
            "gangway_length",
            "gangway_hinge_z",
            "power_z",
            "power_lead",
            "raft_depth",
            "in_use",
            "note",
        ]
        formfield_callback = field_of
        labels = {
            "code": "Code of the berth",
            "kind": "Kind",
            "length": "Length of the berth",
            "clear_width": "Clear width at the height of the rail",
            "finger_length": "Length of the finger",
            "overhang": "A boat may reach past its end by",
            "bed_z": "Level of the bed",
            "bed_kind": "The bed is",
            "sounded_on": "Sounded on",
            "sounded_by": "Sounded by",
            "edge_z": "Edge one steps from",
            "guide_pile_top_z": "Top of the lowest guide pile",
            "hoop_height": "Sliding hoop above the water",
            "gangway_length": "Length of the gangway",
            "gangway_hinge_z": "Height of the gangway's hinge",
            "power_z": "Power post: height",
            "power_lead": "Length of the power lead",
            "raft_depth": "Boats abreast, at most",
            "in_use": "In use",
            "note": "Note",
        }

    corner_east = LengthField(required=True, label="Left-hand corner, east")
    corner_north = LengthField(required=True, label="Left-hand corner, north")
    outward = forms.DecimalField(
        min_value=0, max_value=360, decimal_places=2, label="Straight out from the dock, true bearing"
    )
    to_middle = LengthField(label="From the corner to the middle of the berth")
    power_along = LengthField(label="Power post: along the dock")
    power_out = LengthField(label="Power post: out from it")
    ladders_at = forms.CharField(required=False, max_length=200, label="Ladders, along the dock")
    pier = forms.ModelChoiceField(Pier.objects.all(), label="Pier", empty_label=None)
    water = forms.ModelChoiceField(Water.objects.order_by("name"), label="Water", empty_label=None)

    HELP = {
        "clear_width": "Slip and box: between the piles, at the height where a boat's rubbing strake passes: piles lean.",
        "overhang": "Empty: the house rule.",
        "bed_z": "Above chart datum (zero of the tide table); with a minus below it. Empty: not known.",
        "edge_z": "Above the datum. Empty: the top of the face, where that is a closed one.",
        "corner_east": "Metres or feet on the harbour's own plan. Of the first berth say 0 and 0.",
        "outward": "As you stand on the dock and look out over the water: 0 is north, 90 is east.",
        "to_middle": "Along the dock, for a berth entered end-on: as a rule half its width. Tape from the middle: 0.",
        "ladders_at": "From and to, one after the other: 7.60 to 8.20; 12 to 12.60.",
        "guide_pile_top_z": "Above the datum.",
        "in_use": "Without the tick no boat is placed here.",
    }

    def __init__(self, data=None, **options):
        super().__init__(data, **options)
        for name, words in self.HELP.items():
            self.fields[name].help_text = words
        self.fields["outward"].widget.attrs["inputmode"] = "decimal"
        self.fields["raft_depth"].widget.attrs["min"] = 1

    def clean_code(self):
        code = self.cleaned_data["code"].strip()
        if "/" in code:
            raise ValidationError("No / in a berth's code, please: it stands in addresses.")
        others = Berth.objects.filter(code__iexact=code).exclude(pk=self.instance.pk)
        if not self.quick and (twin := others.first()):
            raise ValidationError(f"There is a berth {twin.code} already.")
        return code

    def clean(self):
        given = super().clean()
        if (given.get("power_along") is None) != (given.get("power_out") is None) and not (
            {"power_along", "power_out"} & set(self.errors)
        ):
            self.add_error(
                "power_out", "Say where the power post stands both along the dock and out from it."
            )
        return given

    def groups(self):
        """Fields by what they are about: (words, whether folded, fields)."""
        return [(words, folded, [self[name] for name in names.split()]) for words, folded, names in GROUPS]


GROUPS = [
    ("The berth", False, "code kind pier water length clear_width"),
    ("The bed", False, "bed_z bed_kind sounded_on sounded_by"),
    ("Its place on the plan", False, "corner_east corner_north outward to_middle"),
    ("Edge, floating dock, ladders, power and more", True, "edge_z finger_length overhang exposure "
     "guide_pile_top_z hoop_height gangway_length gangway_hinge_z ladders_at power_along power_out power_z "
     "power_lead raft_depth note in_use"),
]  # fmt: skip
