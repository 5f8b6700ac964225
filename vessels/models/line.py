"""The register of lines: what each line is, what was done to it, and what a look at it found.

A line's row says what it is now; events and inspections are only ever added. Where a line is follows from its
open use (in `berths`), else from its home.
"""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import CheckConstraint, Q

from marina.base.checks import one_of, within
from marina.base.constraints import Audited, Unchanging
from marina.base.fields import (
    metres_or_unknown,
    millimetres_or_unknown,
    newtons_or_unknown,
    one_of_or_unknown,
)
from marina.base.models import Deed
from vessels.models.people import Owner


class StrengthBasis(models.TextChoices):
    CERTIFICATE = "certificate", "certificate"
    MAKER = "maker", "maker's table"
    GENERIC = "generic", "generic table"


class LineOwner(models.TextChoices):
    HARBOUR = "harbour", "harbour"
    HOLDER = "holder", "berth holder"
    VISITOR = "visitor", "left by a visitor"


class LineUseKind(models.TextChoices):
    PERMANENT = "permanent", "permanent set"
    STORE = "store", "store"
    STORM = "storm", "storm gear"


class Eyes(models.TextChoices):
    NONE = "none", "no eye"
    ONE = "one", "one eye"
    BOTH = "both", "an eye at both ends"


class LineState(models.TextChoices):
    ORDERED = "ordered", "ordered"
    RECEIVED = "received", "received"
    STORE = "store", "in store"
    OUT = "out", "in use"
    DRYING = "drying", "drying"
    QUARANTINE = "quarantine", "in quarantine"
    MISSING = "missing", "missing"
    RETIRED = "retired", "RETIRED"
    DESTROYED = "destroyed", "destroyed"


class Line(models.Model):
    tag = models.CharField(max_length=20, unique=True)
    second_tag = models.CharField(max_length=20, blank=True, help_text="At the far end of a long line.")
    material = models.CharField(
        max_length=30, blank=True, help_text="Key of the rope table: nylon_3strand ...; empty: not known."
    )
    construction = models.CharField(max_length=40, blank=True, help_text="In words, where it says more.")
    colour = models.CharField(max_length=40, blank=True)
    diameter_mm = millimetres_or_unknown("diameter, nominal [mm]")
    diameter_label = models.CharField(max_length=20, blank=True, help_text="As sold, for instance 5/8 in.")
    diameter_found_mm = millimetres_or_unknown("diameter, found [mm]")
    total_length = metres_or_unknown()
    working_length = metres_or_unknown("working length, to one band")
    working_length_2 = metres_or_unknown("working length, to two bands")
    eyes = one_of_or_unknown(Eyes)
    eye_length = metres_or_unknown("length of an eye")
    gear = models.CharField(max_length=100, blank=True, help_text="Chafe sleeve, snubber with its by-pass.")
    strength = newtons_or_unknown("strength [N]", help_text="New, dry, unknotted.")
    strength_basis = one_of_or_unknown(StrengthBasis, "what the strength rests on")
    certificate = models.CharField(max_length=60, blank=True)
    made_on = models.DateField(null=True, blank=True)
    in_service_on = models.DateField(null=True, blank=True)
    owner_kind = models.CharField(max_length=10, choices=LineOwner, default=LineOwner.HARBOUR)
    owner = models.ForeignKey(Owner, on_delete=models.PROTECT, null=True, blank=True, related_name="lines")
    home = models.CharField(max_length=60, blank=True, help_text="Hook in the store, berth or boat.")
    kept_for = models.CharField(max_length=10, choices=LineUseKind, default=LineUseKind.STORE)
    state = models.CharField(max_length=10, choices=LineState, default=LineState.STORE)
    next_inspection = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["tag"]
        constraints = [
            CheckConstraint(
                name="line_has_a_tag", condition=~Q(tag=""), violation_error_message="A line needs a tag."
            ),
            *within("line", 0, 200, "mm", "diameter_mm", "diameter_found_mm", above=True),
            *within("line", 0, 1000, "m", "total_length", "working_length", "working_length_2", above=True),
            *within("line", 0, 20, "m", "eye_length", above=True),
            *within("line", 0, 2_000_000_000, "N", "strength", above=True),
            *one_of("line", eyes=Eyes, strength_basis=StrengthBasis),
            *one_of("line", unknown=False, owner_kind=LineOwner, kept_for=LineUseKind, state=LineState),
            Audited(name="line_trail", label="line"),
        ]

    def __str__(self):
        return self.tag

    @property
    def condemned(self):
        """True when this rope must not hold a boat."""
        return self.state in (LineState.RETIRED, LineState.DESTROYED, LineState.QUARANTINE)


class LineEventKind(models.TextChoices):
    ORDERED = "ordered", "ordered"
    RECEIVED = "received", "received"
    TAGGED = "tagged", "tagged"
    MEASURED = "measured", "measured"
    STORED = "stored", "put in store"
    ISSUED = "issued", "issued"
    ASSIGNED = "assigned", "given to a set"
    RETURNED = "returned", "returned"
    DERATED = "derated", "derated"
    REPAIRED = "repaired", "repaired"
    RETIRED = "retired", "retired"
    DESTROYED = "destroyed", "destroyed"
    FOUND = "found", "found without tag"
    LEFT_BEHIND = "left_behind", "left behind by a visitor"
    MISSING = "missing", "missing"
    QUARANTINE = "quarantine", "put in quarantine"
    CORRECTED = "corrected", "record corrected"


class LineEvent(Deed):
    """One step in the life of a line."""

    line = models.ForeignKey(Line, on_delete=models.PROTECT, related_name="events")
    kind = models.CharField(max_length=12, choices=LineEventKind)
    place = models.CharField(max_length=60, blank=True)
    witness = models.CharField(max_length=60, blank=True, help_text="Who saw the eye cut.")
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [models.Index(fields=["line", "at"], name="line_event_of_line")]
        constraints = [
            *one_of("line_event", unknown=False, kind=LineEventKind),
            Unchanging(name="line_event_kept"),
        ]

    def __str__(self):
        return f"{self.line} {self.get_kind_display()}"


class Advice(models.TextChoices):
    KEEP = "keep", "keep"
    TURN = "turn", "turn end for end"
    SHIFT = "shift", "shift the chafe place by 1 m"
    SHORTEN = "shorten", "shorten and re-splice"
    LIGHT_USE = "light_use", "store and light use only"
    RETIRE = "retire", "retire"


ZONES = {
    "eye": "eye and throat of the splice",
    "chock": "at the boat's chock",
    "shore": "at the shore edge or pile",
    "cleat": "cleat turns",
    "free": "free length",
    "tail": "tail and whipping",
}
WEAR = {
    "fuzz": "fuzz",
    "cut_yarns": "cut yarns",
    "pulled_strand": "pulled strand",
    "flat_hard": "flat or hard",
    "melted": "glazed or melted",
    "stiff_rust_oil": "stiff, rust or oil",
}


class Inspection(Deed):
    """A look at a line, zone by zone: `{"eye": ["fuzz"], "free": []}`; a zone left out was not looked at."""

    line = models.ForeignKey(Line, on_delete=models.PROTECT, related_name="inspections")
    zones = models.JSONField(default=dict, blank=True)
    diameter_found_mm = millimetres_or_unknown()
    working_length_found = metres_or_unknown()
    advice = models.CharField(max_length=10, choices=Advice)
    next_due = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [models.Index(fields=["line", "at"], name="inspection_of_line")]
        constraints = [
            *within("inspection", 0, 200, "mm", "diameter_found_mm", above=True),
            *within("inspection", 0, 1000, "m", "working_length_found", above=True),
            *one_of("inspection", unknown=False, advice=Advice),
            Unchanging(name="inspection_kept"),
        ]

    def __str__(self):
        return f"{self.line}: {self.get_advice_display()}"

    def clean(self):
        if not isinstance(self.zones, dict) or not set(self.zones) <= set(ZONES):
            raise ValidationError({"zones": f"Zones are: {', '.join(ZONES)}."})
        for found in self.zones.values():
            if not isinstance(found, list) or not set(found) <= set(WEAR):
                raise ValidationError({"zones": f"What a zone can show: {', '.join(WEAR)}."})
