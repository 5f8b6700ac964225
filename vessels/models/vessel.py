"""A vessel as the harbour knows her: what was declared, what was measured, and what is not known.

Boat frame: x forward from her aftmost point, y to port, z up from the waterline; metres. Every measure except
her name may be null, which means not known, never zero.
"""

from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import CheckConstraint, F, Q, UniqueConstraint

from marina.base.checks import one_of, within
from marina.base.constraints import Audited
from marina.base.fields import (
    metres,
    metres_or_unknown,
    newtons_or_unknown,
    one_of_or_unknown,
    yes_no_unknown,
)
from vessels.models.people import Owner


class HullClass(models.TextChoices):
    """Classes by which windage and freeboard are estimated when nobody has measured them."""

    SAIL_FIN_KEEL = "sail_fin_keel", "sail, fin keel"
    SAIL_LONG_KEEL = "sail_long_keel", "sail, long keel"
    SAIL_TWIN_KEEL = "sail_twin_keel", "sail, twin keel"
    SAIL_CATAMARAN = "sail_catamaran", "sailing catamaran"
    GAFF_LONG_KEEL = "gaff_long_keel", "gaff, long keel"
    MOTOR_OPEN = "motor_open", "open motor"
    MOTOR_CABIN = "motor_cabin", "cabin motor"
    MOTOR_FLYBRIDGE = "motor_flybridge", "flybridge motor"
    MOTOR_DISPLACEMENT = "motor_displacement", "displacement motor"
    MOTOR_TRAWLER = "motor_trawler", "motor, trawler form"
    FISHING = "fishing", "small fishing boat"


class Propellers(models.TextChoices):
    SINGLE = "single", "single"
    TWIN = "twin", "twin"


class Turn(models.TextChoices):
    RIGHT = "right", "right-handed"
    LEFT = "left", "left-handed"


class Thruster(models.TextChoices):
    NONE = "none", "none"
    BOW = "bow", "bow"
    STERN = "stern", "stern"
    BOTH = "both", "bow and stern"


class Side(models.TextChoices):
    PORT = "port", "port"
    STARBOARD = "starboard", "starboard"
    BOTH = "both", "both sides"


class Vessel(models.Model):
    name = models.CharField(max_length=60)
    mark = models.CharField(max_length=80, blank=True, help_text="What to look for: 'blue hull, two masts'.")
    owner = models.ForeignKey(
        Owner,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="vessels",
        help_text="Empty: visitor.",
    )
    contact = models.CharField(max_length=60, blank=True, help_text="Visitor's telephone, if given.")
    hull_class = one_of_or_unknown(HullClass, "class")

    loa_declared = metres_or_unknown("length over everything, declared")
    loa_declared_on = models.DateField(null=True, blank=True)
    loa_declared_by = models.CharField(max_length=60, blank=True)
    loa_measured = metres_or_unknown("length over everything, measured")
    loa_measured_on = models.DateField(null=True, blank=True)
    loa_measured_by = models.CharField(max_length=60, blank=True)
    hull_length = metres_or_unknown("maker's hull length")
    registered_length = metres_or_unknown()
    beam_declared = metres_or_unknown()
    beam_declared_on = models.DateField(null=True, blank=True)
    beam_declared_by = models.CharField(max_length=60, blank=True)
    beam_measured = metres_or_unknown()
    beam_measured_on = models.DateField(null=True, blank=True)
    beam_measured_by = models.CharField(max_length=60, blank=True)
    draft_declared = metres_or_unknown(help_text="Deepest, loaded, board or drives down.")
    draft_declared_on = models.DateField(null=True, blank=True)
    draft_declared_by = models.CharField(max_length=60, blank=True)
    draft_measured = metres_or_unknown()
    draft_measured_on = models.DateField(null=True, blank=True)
    draft_measured_by = models.CharField(max_length=60, blank=True)
    displacement = models.DecimalField(
        "displacement [kg]", max_digits=10, decimal_places=1, null=True, blank=True
    )

    air_draft = metres_or_unknown()
    mast_x = metres_or_unknown("mast, from aft")
    spreader_height = metres_or_unknown(help_text="Above the water.")
    rub_low = metres_or_unknown(help_text="Lowest part of her side that touches, above the water.")
    rub_high = metres_or_unknown(help_text="Highest part of her side that touches, above the water.")
    freeboard_estimated = models.BooleanField(default=False, help_text="Heights by class, not measured.")
    hull_gap = metres_or_unknown("between the inner hull sides", help_text="Of a multihull.")
    gm = metres_or_unknown("metacentric height")
    takes_ground = yes_no_unknown(help_text="May she take the ground?")
    outline = models.JSONField(
        null=True, blank=True, help_text="[[x, half breadth], ...] from aft, in metres."
    )
    windage = models.JSONField(
        null=True, blank=True, help_text="Areas [m2] and drag, instead of the class's."
    )
    underwater = models.JSONField(null=True, blank=True, help_text="Areas [m2] and drag below the water.")

    inlet_side = one_of_or_unknown(Side, "side of the power inlet")
    inlet_x = metres_or_unknown("power inlet, from aft")
    inlet_z = metres_or_unknown("power inlet, above the water")
    propellers = one_of_or_unknown(Propellers)
    propeller_turn = one_of_or_unknown(Turn)
    thruster = one_of_or_unknown(Thruster)
    fender_diameter = metres_or_unknown()
    fender_number = models.PositiveSmallIntegerField(null=True, blank=True)
    fender_low = metres_or_unknown(help_text="Lower end as hung, above the water.")
    fender_high = metres_or_unknown(help_text="Upper end as hung, above the water.")
    fender_board = yes_no_unknown()
    own_lines = models.JSONField(
        null=True,
        blank=True,
        help_text='[{"number": 2, "length": 10, "diameter_mm": 14, "material": ""}, ...]',
    )
    estimated = models.JSONField(
        default=list,
        blank=True,
        help_text='What was laid out from her kind and length, not measured: ["heights", "displacement", ...].',
    )
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["name", "id"]
        indexes = [models.Index(fields=["owner"], name="vessel_owner")]
        constraints = [
            *within("vessel", 0, 500, "m", "loa_declared", "loa_measured", "hull_length", above=True),
            *within("vessel", 0, 500, "m", "registered_length", above=True),
            *within("vessel", 0, 100, "m", "beam_declared", "beam_measured", above=True),
            *within("vessel", 0, 30, "m", "draft_declared", "draft_measured", above=True),
            *within("vessel", 0, 100_000_000, "kg", "displacement", above=True),
            *within("vessel", 0, 150, "m", "air_draft", "spreader_height", "hull_gap"),
            *within("vessel", 0, 500, "m", "mast_x", "inlet_x"),
            *within("vessel", -5, 30, "m", "rub_low", "rub_high", "inlet_z", "fender_low", "fender_high"),
            *within("vessel", 0, 50, "m", "gm", above=True),
            *within("vessel", 0, 5, "m", "fender_diameter", above=True),
            *within("vessel", 0, 100, "", "fender_number"),
            *one_of("vessel", hull_class=HullClass, propellers=Propellers, propeller_turn=Turn),
            *one_of("vessel", thruster=Thruster, inlet_side=Side),
            CheckConstraint(
                name="vessel_has_a_name",
                condition=~Q(name=""),
                violation_error_message="A vessel needs a name, if only 'the blue ketch'.",
            ),
            CheckConstraint(
                name="vessel_rub_order",
                condition=Q(rub_low__lt=F("rub_high")),
                violation_error_message="The lowest part of her side must be below the highest.",
            ),
            CheckConstraint(
                name="vessel_fender_order",
                condition=Q(fender_low__lt=F("fender_high")),
                violation_error_message="The lower end of a fender must be below its upper end.",
            ),
            Audited(name="vessel_trail", label="vessel"),
        ]

    def __str__(self):
        return self.name

    def clean(self):
        faults = {}
        for field, check in (("outline", outline_fault), ("own_lines", own_lines_fault)):
            value = getattr(self, field)
            if value is not None and (fault := check(value)):
                faults[field] = fault
        for field in ("windage", "underwater"):
            value = getattr(self, field)
            if value is not None and (fault := drag_fault(value)):
                faults[field] = fault
        if faults:
            raise ValidationError(faults)

    @property
    def loa(self):
        """Measured length over everything, else the declared one, else None. [m]"""
        return self.loa_declared if self.loa_measured is None else self.loa_measured

    @property
    def beam(self):
        """Measured, else declared, else None. [m]"""
        return self.beam_declared if self.beam_measured is None else self.beam_measured

    @property
    def draft(self):
        """Measured, else declared, else None. [m]"""
        return self.draft_declared if self.draft_measured is None else self.draft_measured

    def length_that_counts(self, rules):
        """The length berths are given by, and what it rests on.

        Parameters
        ----------
        rules : mapping
            House rules; H4 and `doubt` decide.

        Returns
        -------
        (Decimal or None, str)
            Length [m] and its basis, for instance `(Decimal("9.45"), "declared + 5 %")`.
        """
        if rules["H4"] == "hull" and self.hull_length is not None:
            return self.hull_length, "hull"
        if rules["H4"] != "declared_and_doubt" and self.loa_measured is not None:
            return self.loa_measured, "measured"
        if self.loa_declared is not None:
            doubt = Decimal(str(rules["doubt"]))
            return self.loa_declared * (1 + doubt / 100), f"declared + {doubt:g} %"
        return self.loa_measured, "not known" if self.loa_measured is None else "measured"


def _numbers(values):
    return all(isinstance(v, int | float) and not isinstance(v, bool) and abs(v) < 1e6 for v in values)


def outline_fault(value):
    """What is wrong with an outline, or nothing."""
    rows = isinstance(value, list) and len(value) >= 3 and value
    if not rows or not all(isinstance(r, list) and len(r) == 2 and _numbers(r) for r in rows):
        return "Give at least three points [x, half breadth], numbers in metres."
    return None


def drag_fault(value):
    """What is wrong with areas and drag, or nothing."""
    known = {"frontal_area", "side_area", "cd_front", "cd_side"}
    if not isinstance(value, dict) or not set(value) <= known or not _numbers(value.values()):
        return f"Give numbers for some of: {', '.join(sorted(known))}."
    return "Areas and drag are not below zero." if any(v < 0 for v in value.values()) else None


def own_lines_fault(value):
    """What is wrong with the list of a boat's own lines, or nothing."""
    if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
        return "Give a list of lines, each with number, length and diameter_mm."
    for row in value:
        if not set(row) <= {"number", "length", "diameter_mm", "material"}:
            return "A line has number, length, diameter_mm and material."
        if not _numbers([row[k] for k in ("number", "length", "diameter_mm") if row.get(k) is not None]):
            return "Number, length [m] and diameter [mm] of a line are numbers."
    return None


class DeckFittingKind(models.TextChoices):
    CLEAT = "cleat", "cleat"
    BOLLARD = "bollard", "bollard"
    CHOCK = "chock", "chock"
    RING = "ring", "ring"


class DeckFitting(models.Model):
    """Where a line leaves the boat."""

    vessel = models.ForeignKey(Vessel, on_delete=models.PROTECT, related_name="fittings")
    code = models.CharField(max_length=40, help_text="For instance stern_port.")
    kind = models.CharField(max_length=10, choices=DeckFittingKind, default=DeckFittingKind.CLEAT)
    x = metres(help_text="From aft.")
    y = metres(help_text="To port.")
    z = metres_or_unknown(help_text="Above the water.")
    z_estimated = models.BooleanField(default=False)
    strength = newtons_or_unknown("strength [N]")
    strength_basis = models.CharField(
        max_length=120, blank=True, help_text="Who says so, or the estimate's source."
    )
    cleat_length = metres_or_unknown()
    takes = models.PositiveSmallIntegerField("lines it takes", default=2)
    in_use = models.BooleanField(default=True)

    class Meta:
        ordering = ["vessel", "x", "code"]
        constraints = [
            UniqueConstraint(
                fields=["vessel", "code"],
                name="deck_fitting_code_once",
                violation_error_message="This boat already has a fitting of that name.",
            ),
            *within("deck_fitting", 0, 500, "m", "x"),
            *within("deck_fitting", -50, 50, "m", "y"),
            *within("deck_fitting", -5, 30, "m", "z"),
            *within("deck_fitting", 0, 2_000_000_000, "N", "strength", above=True),
            *within("deck_fitting", 0, 3, "m", "cleat_length", above=True),
            *within("deck_fitting", 0, 20, "lines", "takes"),
            *one_of("deck_fitting", unknown=False, kind=DeckFittingKind),
            Audited(name="deck_fitting_trail", label="deck fitting"),
        ]

    def __str__(self):
        return self.code.replace("_", " ")


class GearKind(models.TextChoices):
    PROPELLER = "propeller", "propeller"
    DRIVE = "drive", "stern drive"
    OUTBOARD = "outboard", "outboard"
    RUDDER = "rudder", "rudder"
    LADDER = "ladder", "ladder"
    GATE = "gate", "boarding gate"


class GearZone(models.Model):
    """A rectangle on the boat that lines keep clear of."""

    vessel = models.ForeignKey(Vessel, on_delete=models.PROTECT, related_name="zones")
    code = models.CharField(max_length=40)
    kind = models.CharField(max_length=10, choices=GearKind)
    x1 = metres()
    x2 = metres()
    y1 = metres()
    y2 = metres()

    class Meta:
        ordering = ["vessel", "code"]
        constraints = [
            UniqueConstraint(fields=["vessel", "code"], name="gear_zone_code_once"),
            *within("gear_zone", -10, 500, "m", "x1", "x2"),
            *within("gear_zone", -50, 50, "m", "y1", "y2"),
            *one_of("gear_zone", unknown=False, kind=GearKind),
            CheckConstraint(
                name="gear_zone_order",
                condition=Q(x1__lt=F("x2"), y1__lt=F("y2")),
                violation_error_message="x1 must be below x2 and y1 below y2.",
            ),
            Audited(name="gear_zone_trail", label="gear zone"),
        ]

    def __str__(self):
        return f"{self.code} ({self.kind})"
