"""Lines at work: permanent sets with their positions, and the loan book that says where each line is."""

from django.conf import settings
from django.db import models
from django.db.models import CheckConstraint, F, Q, UniqueConstraint

from berths.models.harbour import Berth
from berths.models.stay import Lead, Stay, Turned
from marina.base.asking import RefusedWhile
from marina.base.checks import exactly_one, one_of, within
from marina.base.constraints import Audited, NoOverlap
from marina.base.models import Deed
from vessels.models import Line, Owner, Vessel


class LineSet(models.Model):
    """The lines that stay at a berth for one boat; it remains while she is away."""

    berth = models.ForeignKey(Berth, on_delete=models.PROTECT, related_name="line_sets")
    vessel = models.ForeignKey(Vessel, on_delete=models.PROTECT, related_name="line_sets")
    owner = models.ForeignKey(
        Owner,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="line_sets",
        help_text="Of the set.",
    )
    starts = models.DateField()
    ends = models.DateField(null=True, blank=True, help_text="Empty: still in use.")
    why_closed = models.CharField(max_length=200, blank=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["berth", "-starts"]
        indexes = [models.Index(fields=["berth", "starts"], name="line_set_of_berth")]
        constraints = [
            CheckConstraint(
                name="line_set_order",
                condition=Q(ends__isnull=True) | Q(starts__lt=F("ends")),
                violation_error_message="A line set must end after it starts.",
            ),
            NoOverlap(
                name="line_set_no_overlap",
                group=("berth", "vessel"),
                start="starts",
                end="ends",
                violation_error_message="This boat already has a line set at this berth then.",
            ),
            Audited(name="line_set_trail", label="line set"),
        ]

    def __str__(self):
        return f"{self.berth} {self.vessel}"


class SetPosition(Lead):
    """One place in a set that a line fills: its ends, its length and what it is for."""

    line_set = models.ForeignKey(LineSet, on_delete=models.PROTECT, related_name="positions")
    number = models.PositiveSmallIntegerField()
    role = models.CharField(max_length=30, blank=True, help_text="For instance stern line.")

    class Meta:
        ordering = ["line_set", "number"]
        constraints = [
            UniqueConstraint(fields=["line_set", "number"], name="set_position_once"),
            *within("set_position", 0, 1000, "m", "length", above=True),
            *within("set_position", -100, 100, "m", "turn_z"),
            *one_of("set_position", via_turn=Turned),
            Audited(name="set_position_trail", label="set position"),
        ]

    def __str__(self):
        return f"{self.line_set} position {self.number}"

    def clean(self):
        self.check_ends(self.line_set.berth_id, self.line_set.vessel_id)


class ClosedAs(models.TextChoices):
    RETURNED = "returned", "returned"
    SOLD = "sold", "sold"
    LEFT = "left", "left, because"
    REPLACED = "replaced", "replaced"
    MOVED = "moved", "moved with her"
    LOST = "lost", "lost"


NOT_TO_BE_USED = "('retired', 'destroyed', 'quarantine', 'failed', 'missing', 'ordered', 'sold')"
DONE_FOR = (
    "NEW.back IS NULL AND ("
    f"(SELECT l.state FROM vessels_line l WHERE l.id = NEW.line_id) IN {NOT_TO_BE_USED}"
    " OR (SELECT i.advice FROM vessels_inspection i WHERE i.line_id = NEW.line_id AND NOT EXISTS"
    " (SELECT 1 FROM vessels_lineevent e WHERE e.withdraws_id = i.id)"
    " ORDER BY i.at DESC, i.id DESC LIMIT 1) = 'retire')"
)


class LineUse(Deed):
    """A line out of the store: lent to a stay, or filling a position of a set. `at` is when it went out."""

    line = models.ForeignKey(Line, on_delete=models.PROTECT, related_name="uses")
    stay = models.ForeignKey(Stay, on_delete=models.PROTECT, null=True, blank=True, related_name="lines")
    position = models.ForeignKey(
        SetPosition, on_delete=models.PROTECT, null=True, blank=True, related_name="uses"
    )
    back = models.DateTimeField(null=True, blank=True, help_text="Empty: still out.")
    back_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    due = models.DateTimeField(null=True, blank=True)
    condition_out = models.CharField(max_length=100, blank=True)
    condition_in = models.CharField(max_length=100, blank=True)
    closed_as = models.CharField(max_length=10, choices=ClosedAs, blank=True)
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [models.Index(fields=["line", "at"], name="line_use_of_line")]
        constraints = [
            exactly_one(
                "line_use_stay_or_position",
                "stay",
                "position",
                "A line goes to a stay or to a place in a set.",
            ),
            CheckConstraint(
                name="line_use_order",
                condition=Q(back__isnull=True) | Q(at__lt=F("back")),
                violation_error_message="A line must come back after it went out.",
            ),
            CheckConstraint(
                name="line_use_closed_with_a_word",
                condition=Q(back__isnull=True, closed_as="") | Q(back__isnull=False) & ~Q(closed_as=""),
                violation_error_message="Say how the use ended: returned, sold, left and why ...",
            ),
            CheckConstraint(
                name="line_use_left_because",
                condition=~Q(closed_as="left") | ~Q(reason=""),
                violation_error_message="Say why the line was left.",
            ),
            *one_of("line_use", closed_as=ClosedAs),
            NoOverlap(
                name="line_use_no_overlap",
                group=("line",),
                start="at",
                end="back",
                violation_error_message="This line is already in use then. Look in the loan book where.",
            ),
            Audited(name="line_use_trail", label="line use"),
            RefusedWhile(
                name="line_use_of_a_good_line",
                question=DONE_FOR,
                update=("line", "back"),
                holds=("vessels_line", "line_id"),
                violation_error_message="This line may not go out: it is retired, failed its inspection, is held "
                "back or is not here. Its page says which.",
            ),
        ]

    def __str__(self):
        return f"{self.line} to {self.stay or self.position}"
