"""The register of lines: what each line is, what was done to it, and what a look at it found.

A line's row says what it is now; events and inspections are only ever added. Where a line is follows from its
open use (in `berths`), else from its home.
"""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import CheckConstraint, Q

from marina.base.asking import RefusedWhile
from marina.base.checks import one_of, within
from marina.base.constraints import Audited, Unchanging
from marina.base.fields import (
    metres_or_unknown,
    millimetres_or_unknown,
    newtons_or_unknown,
    one_of_or_unknown,
    yes_no_unknown,
)
from marina.base.models import Deed
from vessels import life
from vessels.models.people import Owner
from vessels.wear import WEAR, ZONES


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
    FAILED = "failed", "failed its inspection"
    MISSING = "missing", "missing"
    SOLD = "sold", "sold"
    RETIRED = "retired", "RETIRED"
    DESTROYED = "destroyed", "destroyed"


CONDEMNED = (LineState.RETIRED, LineState.DESTROYED, LineState.QUARANTINE, LineState.FAILED)
NEWEST_STATE = (
    "COALESCE((SELECT e.state FROM vessels_lineevent e WHERE e.line_id = NEW.id AND e.state <> ''"
    " ORDER BY e.at DESC, e.id DESC LIMIT 1), '')"
)


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
    certificate_on = models.DateField("date of the certificate", null=True, blank=True)
    maker = models.CharField(max_length=60, blank=True)
    criteria = models.CharField(
        "maker's own grounds for replacing it", max_length=300, blank=True, help_text="Or where they stand."
    )
    replaces = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by"
    )
    light_use = models.BooleanField("light use only", default=False)
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
            RefusedWhile(
                name="line_state_from_events",
                question=f"NEW.state <> OLD.state AND {NEWEST_STATE} <> NEW.state",
                insert=False,
                update=("state",),
                violation_error_message="The state of a line follows from what was done with it: enter the deed "
                "on the line's page.",
            ),
        ]

    def __str__(self):
        return self.tag

    @property
    def condemned(self):
        """True when this rope must not hold a boat."""
        return self.state in CONDEMNED

    @property
    def may_go_out(self):
        """Whether the loan book takes it: what `line_use_of_a_good_line` asks, where no lock is held."""
        if self.state in (*CONDEMNED, LineState.MISSING, LineState.ORDERED, LineState.SOLD):
            return False
        last = self.inspections.filter(withdrawn_by=None).order_by("-at", "-id").first()
        return last is None or last.advice != Advice.RETIRE


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
    SOLD = "sold", "sold"
    FAILED = "failed", "failed its inspection"
    CLEARED = "cleared", "looked at again, nothing found"
    CORRECTED = "corrected", "record corrected"


def _allowed():
    """The steps of `life.yaml` as a condition on one event; one without a state tells only what was done."""
    allowed = Q(state="") | Q(kind=LineEventKind.CORRECTED)
    for kind, step in life.steps().items():
        leads = Q()
        for before, after in sorted(step.leads.items()):
            leads |= Q(before=before, state__in=sorted(after))
        allowed |= Q(kind=kind) & leads
    return allowed


class LineEvent(Deed):
    """One step in the life of a line: what it was, what it is since, and what else it changed of its record."""

    line = models.ForeignKey(Line, on_delete=models.PROTECT, related_name="events")
    kind = models.CharField(max_length=12, choices=LineEventKind)
    before = models.CharField(max_length=10, choices=LineState, blank=True, help_text="State before.")
    state = models.CharField(
        max_length=10, choices=LineState, blank=True, help_text="State since; empty: it stayed as it was."
    )
    changes = models.JSONField(
        default=dict, blank=True, help_text="Field -> [old, new] of the line's record."
    )
    place = models.CharField(max_length=60, blank=True)
    witness = models.CharField(max_length=60, blank=True, help_text="Who saw the eye cut.")
    note = models.CharField(max_length=300, blank=True)
    corrects = models.OneToOneField(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="corrected_by",
        help_text="The entry that was a mistake; it stays, and counts no more.",
    )
    withdraws = models.OneToOneField(
        "vessels.Inspection",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="withdrawn_by",
        help_text="The inspection that was a mistake.",
    )

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [models.Index(fields=["line", "at"], name="line_event_of_line")]
        constraints = [
            *one_of("line_event", unknown=False, kind=LineEventKind),
            *one_of("line_event", before=LineState, state=LineState),
            CheckConstraint(
                name="line_event_is_a_step",
                condition=_allowed(),
                violation_error_message="That is no step from what the line is now.",
            ),
            CheckConstraint(
                name="line_event_destroyed_seen",
                condition=~Q(kind="destroyed") | Q(state="") | ~Q(witness=""),
                violation_error_message="Say who saw the eye cut.",
            ),
            Unchanging(name="line_event_kept"),
            RefusedWhile(
                name="line_event_from_its_state",
                question="NEW.before <> '' AND NEW.before <>"
                " (SELECT l.state FROM vessels_line l WHERE l.id = NEW.line_id)",
                holds=("vessels_line", "line_id"),
                violation_error_message="Somebody else entered something for this line a moment ago. "
                "Look at its page and try again.",
            ),
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


WORN = (Advice.LIGHT_USE, Advice.RETIRE)  # what a look at a line advises where rope has lost strength


class Inspection(Deed):
    """A look at a line, zone by zone: `{"eye": ["fuzz"], "free": []}`; a zone left out was not looked at."""

    line = models.ForeignKey(Line, on_delete=models.PROTECT, related_name="inspections")
    zones = models.JSONField(default=dict, blank=True)
    diameter_found_mm = millimetres_or_unknown()
    working_length_found = metres_or_unknown()
    strength_found = newtons_or_unknown(help_text="Of a piece that was broken.")
    shock = yes_no_unknown(help_text="Was it ever loaded near breaking?")
    tag_readable = yes_no_unknown()
    reasons = models.JSONField(
        default=list, blank=True, help_text="[advice, reason, source] of what was advised that day."
    )
    advice = models.CharField(max_length=10, choices=Advice)
    next_due = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [models.Index(fields=["line", "at"], name="inspection_of_line")]
        constraints = [
            *within("inspection", 0, 200, "mm", "diameter_found_mm", above=True),
            *within("inspection", 0, 1000, "m", "working_length_found", above=True),
            *within("inspection", 0, 2_000_000_000, "N", "strength_found", above=True),
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
