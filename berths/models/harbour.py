"""The survey: piers, berths, and what boats are made fast to or lie against.

Places on the plan are metres east and north of the harbour's own zero. Heights are metres above the datum of
the berth's water; what floats has its heights above the water surface. Null means not known.

A berth's frame (`east`, `north`, `bearing_deg`): its origin and the true bearing of +x; y lies left of +x.
In a slip: the middle of the inner end, +x out to the fairway. Side-to: one end of the face, +x along it, and
the water at y > 0.
"""

from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import CheckConstraint, F, Q, UniqueConstraint
from django.db.models.functions import Lower

from berths.models.water import Water
from marina.base.checks import SomeFields, one_of, within
from marina.base.constraints import Audited
from marina.base.fields import (
    degrees,
    metres,
    metres_or_unknown,
    newtons_or_unknown,
    one_of_or_unknown,
    yes_no_unknown,
)


class Pier(models.Model):
    """Berths that are walked in one go."""

    name = models.CharField(max_length=60, unique=True)
    walking_order = models.PositiveIntegerField(unique=True)

    class Meta:
        ordering = ["walking_order"]
        constraints = [
            UniqueConstraint(
                Lower("name"),
                name="pier_name_once",
                violation_error_message="There is a pier of that name already.",
            ),
            Audited(name="pier_trail", label="pier"),
        ]

    def __str__(self):
        return self.name


class BerthKind(models.TextChoices):
    FLOATING = "floating", "floating dock, side-to"
    SLIP = "slip", "finger slip with piles"
    FIXED = "fixed", "fixed dock, side-to"
    QUAY = "quay", "quay with rings and ladders"
    BOX = "box", "box with outer piles"
    DRYING = "drying", "drying berth"
    STERN_TO = "stern_to", "stern-to with laid line"
    OTHER = "other", "other, not computed here"


class BedKind(models.TextChoices):
    SOFT = "soft", "soft"
    HARD = "hard", "hard"


class Exposure(models.TextChoices):
    SHELTERED = "sheltered", "sheltered"
    NORMAL = "normal", "normal"
    OPEN = "open", "open"


class Berth(models.Model):
    pier = models.ForeignKey(Pier, on_delete=models.PROTECT, related_name="berths")
    water = models.ForeignKey(Water, on_delete=models.PROTECT, related_name="berths")
    code = models.CharField(max_length=12, unique=True)
    kind = models.CharField(max_length=10, choices=BerthKind)
    walking_order = models.PositiveIntegerField(unique=True)
    east = metres()
    north = metres()
    bearing_deg = degrees(help_text="True bearing of the berth's +x.")
    length = metres()
    overhang = metres_or_unknown(help_text="What a boat may reach past the end; empty: the house rule.")
    clear_width = metres_or_unknown("clear width, at the height of the rail")
    finger_length = metres_or_unknown()
    bed_z = metres_or_unknown("level of the bed")
    bed_kind = one_of_or_unknown(BedKind)
    sounded_on = models.DateField(null=True, blank=True)
    sounded_by = models.CharField(max_length=60, blank=True)
    exposure = one_of_or_unknown(Exposure)
    guide_pile_top_z = metres_or_unknown("top of the lowest guide pile")
    hoop_height = metres_or_unknown("sliding hoop above the water")
    edge_z = metres_or_unknown(
        "edge one steps from",
        help_text="Above the datum. Empty: the top of the face, where it is a closed one.",
    )
    gangway_length = metres_or_unknown()
    gangway_hinge_z = metres_or_unknown()
    power_east = metres_or_unknown("power post, east")
    power_north = metres_or_unknown("power post, north")
    power_z = metres_or_unknown("power post, height")
    power_lead = metres_or_unknown("length of the lead")
    ladders = models.JSONField(
        default=list, blank=True, help_text='[{"id", "x1", "x2", "y1", "y2"}, ...] in the berth\'s frame.'
    )
    raft_depth = models.PositiveSmallIntegerField(default=1, help_text="Boats abreast; 1: no raft.")
    in_use = models.BooleanField(default=True)
    note = models.CharField(max_length=300, blank=True, help_text="Wash of the ferry, a habit.")

    class Meta:
        ordering = ["walking_order"]
        constraints = [
            UniqueConstraint(  # a page finds its berth whatever letters are typed
                Lower("code"),
                name="berth_code_once",
                violation_error_message="There is a berth of that code already.",
            ),
            SomeFields(
                fields=("code",),
                passes=lambda code: code != "" and "/" not in code,
                name="berth_code_in_an_address",
                condition=~Q(code="") & ~Q(code__contains="/"),
                violation_error_message="A berth needs a code, without a / in it: it stands in addresses.",
            ),
            *one_of("berth", unknown=False, kind=BerthKind),
            *one_of("berth", bed_kind=BedKind, exposure=Exposure),
            *within("berth", -10_000, 10_000, "m", "east", "north", "power_east", "power_north"),
            *within("berth", 0, 360, "degrees", "bearing_deg"),
            *within("berth", 0, 500, "m", "length", "clear_width", "finger_length", above=True),
            *within("berth", 0, 500, "m", "gangway_length", "power_lead", above=True),
            *within("berth", 0, 500, "m", "overhang"),
            *within("berth", -100, 100, "m", "bed_z", "guide_pile_top_z", "gangway_hinge_z", "power_z"),
            *within("berth", -100, 100, "m", "edge_z"),
            *within("berth", -5, 10, "m", "hoop_height"),
            *within("berth", 1, 6, "boats", "raft_depth"),
            Audited(name="berth_trail", label="berth"),
        ]

    def __str__(self):
        return self.code

    def overhang_for(self, rules, boat_length=None):
        """How far a boat may reach past the end here [m]: the berth's own figure, else house rule H9."""
        if self.overhang is not None:
            return self.overhang
        value = Decimal(str(rules["H9"]["value"]))
        of = {"metres": 100, "percent_of_berth": self.length, "percent_of_boat": boat_length}
        basis = of[rules["H9"]["basis"]]
        return None if basis is None else value * basis / 100

    def clean(self):
        rows = self.ladders
        keys = {"id", "x1", "x2", "y1", "y2"}
        if not isinstance(rows, list) or not all(isinstance(r, dict) and set(r) == keys for r in rows):
            raise ValidationError({"ladders": "Give a list; each ladder has id, x1, x2, y1 and y2."})


class FasteningKind(models.TextChoices):
    PILE = "pile", "pile"
    CLEAT = "cleat", "cleat"
    RING = "ring", "ring"
    BOLLARD = "bollard", "bollard"
    LAID_LINE = "laid_line", "laid line to ground gear"


class Condition(models.TextChoices):
    SOUND = "sound", "sound"
    WORN = "worn", "worn"
    LOOSE = "loose", "loose"
    ROTTEN = "rotten", "rotten"


class Stop(models.TextChoices):
    """What keeps a turn from sliding up a pile."""

    NONE = "none", "none"
    CLEAT = "cleat", "cleat"
    BOLT = "bolt", "bolt"
    BATTEN = "batten", "batten"


class Fastening(models.Model):
    """One pile, cleat, ring or bollard; berths beside each other share it."""

    label = models.CharField(max_length=30, unique=True, help_text="The harbour's own name: B3/P1.")
    kind = models.CharField(max_length=10, choices=FasteningKind)
    east = metres()
    north = metres()
    z = metres_or_unknown("height where a line bears", help_text="Above the water where it floats.")
    floats = models.BooleanField(default=False)
    diameter = metres_or_unknown()
    cleat_length = metres_or_unknown()
    top_z = metres_or_unknown("top of the pile")
    stop = one_of_or_unknown(Stop)
    low_turn_z = metres_or_unknown("lowest sensible turn")
    high_turn_z = metres_or_unknown("highest sensible turn")
    takes = models.PositiveSmallIntegerField("lines it takes", default=2)
    strength = newtons_or_unknown("strength [N]")
    strength_basis = models.CharField(max_length=100, blank=True, help_text="Who says so, and when.")
    condition = one_of_or_unknown(Condition)
    in_use = models.BooleanField(default=True)
    last_checked = models.DateField(null=True, blank=True)
    checked_by = models.CharField(max_length=60, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["label"]
        constraints = [
            *one_of("fastening", unknown=False, kind=FasteningKind),
            *one_of("fastening", stop=Stop, condition=Condition),
            *within("fastening", -10_000, 10_000, "m", "east", "north"),
            *within("fastening", -100, 100, "m", "z", "top_z", "low_turn_z", "high_turn_z"),
            *within("fastening", 0, 5, "m", "diameter", above=True),
            *within("fastening", 0, 3, "m", "cleat_length", above=True),
            *within("fastening", 0, 2_000_000_000, "N", "strength", above=True),
            *within("fastening", 0, 20, "lines", "takes"),
            SomeFields(
                fields=("low_turn_z", "high_turn_z"),
                passes=lambda low, high: low <= high,
                name="fastening_turn_order",
                condition=Q(low_turn_z__lte=F("high_turn_z")),
                violation_error_message="The lowest turn must not be above the highest.",
            ),
            SomeFields(
                fields=("in_use", "note"),
                passes=lambda in_use, note: in_use or note != "",
                name="fastening_out_of_use_says_why",
                condition=Q(in_use=True) | ~Q(note=""),
                violation_error_message="Out of use: say why, in the note.",
            ),
            Audited(name="fastening_trail", label="fastening"),
        ]

    def __str__(self):
        return self.label


class Face(models.Model):
    """A straight edge that a hull can lie against: dock, quay or a row of piles."""

    label = models.CharField(max_length=30, unique=True)
    east1 = metres()
    north1 = metres()
    east2 = metres()
    north2 = metres()
    top_z = metres_or_unknown()
    underside_z = metres_or_unknown()
    floats = models.BooleanField(default=False)
    continuous = yes_no_unknown(help_text="No: piles with gaps.")
    sharp = yes_no_unknown(help_text="Would the edge saw a rope?")
    fender_stiffness = models.DecimalField(
        "fender stiffness [N/m]", max_digits=12, decimal_places=1, null=True, blank=True
    )
    fender_give = metres_or_unknown("give of the fenders")
    in_use = models.BooleanField(default=True)

    class Meta:
        ordering = ["label"]
        constraints = [
            *within("face", -10_000, 10_000, "m", "east1", "north1", "east2", "north2"),
            *within("face", -100, 100, "m", "top_z", "underside_z"),
            *within("face", 0, 1_000_000_000, "N/m", "fender_stiffness", above=True),
            *within("face", 0, 3, "m", "fender_give", above=True),
            SomeFields(
                fields=("underside_z", "top_z"),
                passes=lambda under, top: under < top,
                name="face_underside_below_top",
                condition=Q(underside_z__lt=F("top_z")),
                violation_error_message="The underside of a face must be below its top.",
            ),
            SomeFields(
                fields=("east1", "north1", "east2", "north2"),
                passes=lambda e1, n1, e2, n2: (e1, n1) != (e2, n2),
                name="face_has_length",
                condition=~Q(east1=F("east2"), north1=F("north2")),
                violation_error_message="Both ends of the face are at the same place.",
            ),
            Audited(name="face_trail", label="face"),
        ]

    def __str__(self):
        return self.label


class BerthFastening(models.Model):
    """What one berth calls a fastening it can use."""

    berth = models.ForeignKey(Berth, on_delete=models.CASCADE, related_name="fastenings")
    fastening = models.ForeignKey(Fastening, on_delete=models.PROTECT, related_name="berths")
    code = models.CharField(max_length=20, help_text="For instance P1, D2.")
    words = models.CharField(max_length=60, blank=True, help_text="As said: 'outer pile, sea side'.")

    class Meta:
        ordering = ["berth", "code"]
        constraints = [
            UniqueConstraint(
                fields=["berth", "code"],
                name="berth_fastening_code_once",
                violation_error_message="This berth already has a fastening of that name.",
            ),
            UniqueConstraint(
                fields=["berth", "fastening"],
                name="berth_fastening_once",
                violation_error_message="This fastening already has a name at this berth.",
            ),
            CheckConstraint(name="berth_fastening_has_a_code", condition=~Q(code="")),
            Audited(name="berth_fastening_trail", label="berth fastening"),
        ]

    def __str__(self):
        return f"{self.code}"


class BerthFace(models.Model):
    """What one berth calls a face its boat can touch."""

    berth = models.ForeignKey(Berth, on_delete=models.CASCADE, related_name="faces")
    face = models.ForeignKey(Face, on_delete=models.PROTECT, related_name="berths")
    code = models.CharField(max_length=20, help_text="For instance dock.")

    class Meta:
        ordering = ["berth", "code"]
        constraints = [
            UniqueConstraint(
                fields=["berth", "code"],
                name="berth_face_code_once",
                violation_error_message="This berth already has a face of that name.",
            ),
            UniqueConstraint(
                fields=["berth", "face"],
                name="berth_face_once",
                violation_error_message="This face already has a name at this berth.",
            ),
            CheckConstraint(name="berth_face_has_a_code", condition=~Q(code="")),
            Audited(name="berth_face_trail", label="berth face"),
        ]

    def __str__(self):
        return f"{self.code}"
