"""Stays: a boat at a berth for a time, how she was made fast, when to look again, what was said."""

import uuid

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import CheckConstraint, F, Q, UniqueConstraint

from berths.models.harbour import Berth, BerthFastening
from marina.base.checks import one_of, within
from marina.base.constraints import Audited, NoOverlap, Unchanging
from marina.base.fields import (
    degrees,
    metres_or_unknown,
    millimetres_or_unknown,
    one_of_or_unknown,
    yes_no_unknown,
)
from marina.base.models import Deed
from vessels.models import DeckFitting, Line, Owner, Vessel


class Purpose(models.TextChoices):
    VISIT = "visit", "visit"
    PERMANENT = "permanent", "permanent berth"
    SHORT_STOP = "short_stop", "short stop"


class StayState(models.TextChoices):
    BOOKED = "booked", "booked"
    FAST = "fast", "made fast"
    LEFT = "left", "left"
    CANCELLED = "cancelled", "cancelled"


class SideTo(models.TextChoices):
    PORT = "port", "port side to"
    STARBOARD = "starboard", "starboard side to"
    EITHER = "either", "either side"
    BOW = "bow", "bow to"
    STERN = "stern", "stern to"


class EndIn(models.TextChoices):
    """Which end of her points to the inner end of a slip."""

    BOW = "bow", "bow in"
    STERN = "stern", "stern in"


TAKEN = "This berth is taken then. Pick another berth or other times."
ELSEWHERE = "This boat lies at another berth then. End or move that stay first."
COUNTS = ~Q(state="cancelled")


class Stay(models.Model):
    """A boat given a berth. `raft_place` 0 is at the dock, 1 and more are outside of her."""

    vessel = models.ForeignKey(Vessel, on_delete=models.PROTECT, related_name="stays")
    berth = models.ForeignKey(Berth, on_delete=models.PROTECT, related_name="stays")
    raft_place = models.PositiveSmallIntegerField(default=0)
    arrive = models.DateTimeField()
    depart = models.DateTimeField(null=True, blank=True, help_text="Empty: open.")
    purpose = models.CharField(max_length=10, choices=Purpose, default=Purpose.VISIT)
    state = models.CharField(max_length=10, choices=StayState, default=StayState.BOOKED)
    state_why = models.CharField(max_length=200, blank=True, help_text="Why cancelled or moved.")
    side_to = one_of_or_unknown(SideTo, "side to")
    side_told = one_of_or_unknown(SideTo, "side she was told")
    end_in = one_of_or_unknown(EndIn, "end in")
    heading_deg = degrees(null=True, blank=True, help_text="In the berth's frame; empty: from the end in.")
    lies_x = metres_or_unknown("where she lies, x", help_text="In the berth's frame; empty: as usual.")
    lies_y = metres_or_unknown("where she lies, y")
    attended = yes_no_unknown("somebody stays with her")
    short_until = models.DateTimeField(null=True, blank=True)
    tended_by = models.CharField(max_length=100, blank=True, help_text="Who eases her lines, and when.")
    surge_down = metres_or_unknown("allowance down", help_text="For this stay alone; empty: the water's.")
    surge_up = metres_or_unknown("allowance up", help_text="For this stay alone; empty: the water's.")
    surge_reason = models.CharField("why that allowance", max_length=200, blank=True)
    surge_by = models.CharField("who set it", max_length=60, blank=True)
    client_id = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["arrive", "id"]
        indexes = [
            models.Index(fields=["berth", "arrive"], name="stay_of_berth"),
            models.Index(fields=["vessel", "arrive"], name="stay_of_vessel"),
            models.Index(fields=["state", "arrive"], name="stay_by_state"),
        ]
        constraints = [
            CheckConstraint(
                name="stay_departs_after_arrival",
                condition=Q(depart__isnull=True) | Q(arrive__lt=F("depart")),
                violation_error_message="A stay must end after it starts.",
            ),
            CheckConstraint(
                name="stay_left_has_a_time",
                condition=~Q(state="left") | Q(depart__isnull=False),
                violation_error_message="Say when she left.",
            ),
            CheckConstraint(
                name="stay_short_stop_ends",
                condition=~Q(purpose="short_stop") | Q(short_until__isnull=False),
                violation_error_message="A short stop needs the time it ends.",
            ),
            CheckConstraint(
                name="stay_surge_both_or_none",
                condition=Q(surge_up__isnull=True, surge_down__isnull=True, surge_reason="")
                | Q(surge_up__isnull=False, surge_down__isnull=False) & ~Q(surge_reason=""),
                violation_error_message="Give the allowance down and up with a reason, or none of them.",
            ),
            *within("stay", 0, 20, "m", "surge_up", "surge_down"),
            *within("stay", 0, 5, "", "raft_place"),
            *within("stay", -360, 360, "degrees", "heading_deg"),
            *within("stay", -500, 500, "m", "lies_x", "lies_y"),
            *one_of("stay", unknown=False, purpose=Purpose, state=StayState),
            *one_of("stay", side_to=SideTo, side_told=SideTo, end_in=EndIn),
            NoOverlap(
                name="stay_no_overlap",
                group=("berth", "raft_place"),
                start="arrive",
                end="depart",
                condition=COUNTS,
                violation_error_message=TAKEN,
            ),
            NoOverlap(
                name="stay_one_berth_at_a_time",
                group=("vessel",),
                start="arrive",
                end="depart",
                condition=COUNTS & ~Q(purpose="short_stop"),
                violation_error_message=ELSEWHERE,
            ),
            Audited(name="stay_trail", label="stay"),
        ]

    def __str__(self):
        return f"{self.vessel} at {self.berth}"

    def clean(self):
        if self.berth_id and self.raft_place >= self.berth.raft_depth:
            raise ValidationError(
                {"raft_place": f"{self.berth}: a raft is at most {self.berth.raft_depth} deep here."}
            )


class Turned(models.TextChoices):
    FIXED = "fixed", "made fast by its turn"
    SLIDES = "slides", "free to slide"


_END = {"on_delete": models.PROTECT, "null": True, "blank": True, "related_name": "+"}


class Lead(models.Model):
    """Where a line runs: from the boat, perhaps round something, to the shore."""

    boat_end = models.ForeignKey(DeckFitting, **_END)
    shore_end = models.ForeignKey(BerthFastening, **_END)
    via = models.ForeignKey(BerthFastening, verbose_name="round", **_END)
    via_turn = one_of_or_unknown(Turned)
    turn_z = metres_or_unknown("height of the turn")
    chafe_gear = yes_no_unknown()
    length = metres_or_unknown("working length")

    class Meta:
        abstract = True

    def check_ends(self, berth_id, vessel_id):
        """Refuse ends that belong to another boat or berth."""
        if self.boat_end and self.boat_end.vessel_id != vessel_id:
            raise ValidationError({"boat_end": "This fitting is on another boat."})
        for field in ("shore_end", "via"):
            end = getattr(self, field)
            if end and end.berth_id != berth_id:
                raise ValidationError({field: "This fastening belongs to another berth."})


class MadeFast(Deed):
    """A hand's word that she is made fast: when, at which level, and what was done otherwise than planned."""

    stay = models.ForeignKey(Stay, on_delete=models.PROTECT, related_name="made_fast")
    planned = models.ForeignKey(
        "berths.TieUp",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="made_fast",
        help_text="The tie-up on the card.",
    )
    level = metres_or_unknown("level on the gauge")
    side_to = one_of_or_unknown(SideTo)
    as_planned = models.BooleanField(default=False)
    differed = models.CharField(max_length=300, blank=True, help_text="What was done differently.")

    class Meta:
        ordering = ["-at", "-id"]
        verbose_name_plural = "made fast"
        indexes = [models.Index(fields=["stay", "at"], name="made_fast_of_stay")]
        constraints = [
            *within("made_fast", -100, 100, "m", "level"),
            *one_of("made_fast", side_to=SideTo),
            Unchanging(name="made_fast_kept"),
        ]

    def __str__(self):
        return f"{self.stay} made fast {self.at:%d %b %H:%M} UTC"


class MadeFastLine(Lead):
    """One line as it was found or put on; untagged ones carry a description."""

    made_fast = models.ForeignKey(MadeFast, on_delete=models.PROTECT, related_name="lines")
    number = models.PositiveSmallIntegerField()
    line = models.ForeignKey(Line, on_delete=models.PROTECT, null=True, blank=True, related_name="made_fast")
    description = models.CharField(max_length=100, blank=True)
    material = models.CharField(max_length=30, blank=True)
    diameter_mm = millimetres_or_unknown()

    class Meta:
        ordering = ["made_fast", "number"]
        constraints = [
            UniqueConstraint(fields=["made_fast", "number"], name="made_fast_line_once"),
            CheckConstraint(
                name="made_fast_line_named",
                condition=Q(line__isnull=False) | ~Q(description=""),
                violation_error_message="Give the tag of the line, or describe it.",
            ),
            *within("made_fast_line", 0, 1000, "m", "length", above=True),
            *within("made_fast_line", 0, 200, "mm", "diameter_mm", above=True),
            *within("made_fast_line", -100, 100, "m", "turn_z"),
            *one_of("made_fast_line", via_turn=Turned),
            Unchanging(name="made_fast_line_kept"),
        ]

    def __str__(self):
        return f"{self.number}: {self.line or self.description}"

    def clean(self):
        self.check_ends(self.made_fast.stay.berth_id, self.made_fast.stay.vessel_id)


class RecheckWhy(models.TextChoices):
    FIRST_LOW = "first_low", "first low after making fast"
    SPRING_LOW = "spring_low", "first spring low"
    BEFORE_HIGH = "before_high", "before high water with surge"
    WIND = "wind", "wind above the limit"
    RAFT = "raft", "an outer boat came or left"
    NEW_ROPE = "new_rope", "a month after new rope"
    TEND = "tend", "ease or take in lines"
    OTHER = "other", "other"


class Recheck(models.Model):
    """Look again at a stay: hangs on the water, so `due` moves when the stay or the prediction moves."""

    stay = models.ForeignKey(Stay, on_delete=models.PROTECT, related_name="rechecks")
    why = models.CharField(max_length=12, choices=RecheckWhy)
    words = models.CharField(max_length=200, blank=True)
    due = models.DateTimeField()
    level = metres_or_unknown("level then")
    named = models.CharField(max_length=60, blank=True, help_text="Who looks.")
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(
        "base.User", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    found = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["due", "id"]
        indexes = [models.Index(fields=["due"], condition=Q(done_at__isnull=True), name="recheck_open")]
        constraints = [
            *one_of("recheck", unknown=False, why=RecheckWhy),
            *within("recheck", -100, 100, "m", "level"),
            Audited(name="recheck_trail", label="re-check"),
        ]

    def __str__(self):
        return f"{self.stay}: {self.get_why_display()}"


class Message(Deed):
    """What an owner was told, and what came back."""

    owner = models.ForeignKey(Owner, on_delete=models.PROTECT, related_name="messages")
    stay = models.ForeignKey(Stay, on_delete=models.PROTECT, null=True, blank=True, related_name="messages")
    vessel = models.ForeignKey(
        Vessel, on_delete=models.PROTECT, null=True, blank=True, related_name="messages"
    )
    text = models.CharField(max_length=500)
    answer = models.CharField(max_length=500, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at", "-id"]
        constraints = [
            CheckConstraint(name="message_has_text", condition=~Q(text="")),
            Audited(name="message_trail", label="message"),
        ]

    def __str__(self):
        return f"to {self.owner}, {self.at:%d %b %Y}"
