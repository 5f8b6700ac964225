"""What was worked out, as it was then: the snapshot, its cards, and the flags somebody answers for."""

from django.conf import settings
from django.db import models
from django.db.models import CheckConstraint, F, Q, UniqueConstraint

from berths.models.lineset import LineSet
from berths.models.stay import Stay
from marina.base.checks import exactly_one, one_of
from marina.base.constraints import Audited, Unchanging


class Sort(models.TextChoices):
    PLANNED = "planned", "planned"
    FOUND = "found", "found"


class Answer(models.TextChoices):
    HOLDS = "holds", "holds in the stated cases"
    DOES_NOT_HOLD = "does_not_hold", "does not hold"
    NOT_KNOWN = "not_known", "not known"


class TieUp(models.Model):
    """One Scenario and its Verdict, never changed afterwards; only `stale` tells that an input has moved.

    Flags and their counts stand beside the Verdict, so that lists need not open it. Without a Verdict,
    `trouble` says why there is none, and the answer is 'not known'.
    """

    stay = models.ForeignKey(Stay, on_delete=models.PROTECT, null=True, blank=True, related_name="tie_ups")
    line_set = models.ForeignKey(
        LineSet, on_delete=models.PROTECT, null=True, blank=True, related_name="tie_ups"
    )
    sort = models.CharField(max_length=10, choices=Sort)
    scenario = models.JSONField(null=True, blank=True)
    scenario_hash = models.CharField(max_length=64, blank=True)
    verdict = models.JSONField(null=True, blank=True)
    trouble = models.CharField(max_length=300, blank=True)
    engine_version = models.CharField(max_length=20, blank=True)
    answer = models.CharField(max_length=15, choices=Answer, default=Answer.NOT_KNOWN)
    flags = models.JSONField(default=list, blank=True)
    compared = models.JSONField(
        null=True,
        blank=True,
        help_text="Against the one before: the ends of the water, and lines that got worse.",
    )
    stops = models.PositiveSmallIntegerField(default=0)
    fixes = models.PositiveSmallIntegerField(default=0)
    notes = models.PositiveSmallIntegerField(default=0)
    not_known = models.PositiveSmallIntegerField(default=0)
    made_at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    stale = models.BooleanField(default=False)
    stale_why = models.CharField(max_length=200, blank=True)
    stale_since = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at", "-id"]
        indexes = [
            models.Index(fields=["stay", "-made_at"], name="tie_up_of_stay"),
            models.Index(fields=["line_set", "-made_at"], name="tie_up_of_line_set"),
        ]
        constraints = [
            exactly_one(
                "tie_up_of_stay_or_set", "stay", "line_set", "A tie-up belongs to a stay or to a line set."
            ),
            *one_of("tie_up", unknown=False, sort=Sort, answer=Answer),
            CheckConstraint(
                name="tie_up_verdict_or_trouble",
                condition=Q(verdict__isnull=False, scenario__isnull=False)
                | (Q(verdict__isnull=True, answer="not_known") & ~Q(trouble="")),
                violation_error_message="Without a verdict the answer is 'not known', with the reason.",
            ),
            CheckConstraint(
                name="tie_up_holds_without_stops",
                condition=~Q(answer="holds") | Q(stops=0),
                violation_error_message="A tie-up with a STOP does not hold.",
            ),
            CheckConstraint(
                name="tie_up_stale_with_a_reason",
                condition=Q(stale=False) | (~Q(stale_why="") & Q(stale_since__isnull=False)),
                violation_error_message="Say why and since when a tie-up is out of date.",
            ),
            Unchanging(
                name="tie_up_kept",
                fields=(
                    "stay",
                    "line_set",
                    "sort",
                    "scenario",
                    "scenario_hash",
                    "verdict",
                    "engine_version",
                    "answer",
                    "compared",
                    "made_at",
                ),
            ),
            Audited(
                name="tie_up_trail", label="tie-up", leave_out=("scenario", "verdict", "flags", "compared")
            ),
        ]

    def __str__(self):
        return f"{self.get_sort_display()} tie-up of {self.stay or self.line_set}"


class CardBatch(models.Model):
    """Cards that left the printer in one go, with the list and the slips that went with them."""

    printed = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    words = models.CharField(max_length=100, help_text="What was asked for: 'Arrivals Thu 14 Oct'.")
    paper = models.CharField(max_length=60, help_text="On what, in words: 'A4, four cards to cut'.")
    pdf = models.BinaryField()

    class Meta:
        ordering = ["-printed", "-id"]
        verbose_name_plural = "card batches"
        constraints = [
            Unchanging(name="card_batch_kept"),
            Audited(name="card_batch_trail", label="card batch"),
        ]

    def __str__(self):
        return self.words


class Card(models.Model):
    """A card as printed. The number tells two cards of one stay apart."""

    tie_up = models.ForeignKey(TieUp, on_delete=models.PROTECT, related_name="cards")
    stay = models.ForeignKey(Stay, on_delete=models.PROTECT, related_name="cards")
    number = models.PositiveSmallIntegerField()
    berth_code = models.CharField(max_length=12, blank=True, help_text="As it stands on the paper.")
    batch = models.ForeignKey(
        CardBatch, on_delete=models.PROTECT, null=True, blank=True, related_name="cards"
    )
    printed = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    pdf = models.BinaryField()
    superseded = models.DateTimeField(null=True, blank=True)
    superseded_why = models.CharField(max_length=200, blank=True)
    destroyed = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["stay", "number"]
        indexes = [
            models.Index(  # a row holds the card's bytes: what is old is found without reading them
                fields=["stay", "superseded"],
                condition=Q(superseded__isnull=False, destroyed__isnull=True),
                name="card_to_destroy",
            )
        ]
        constraints = [
            UniqueConstraint(
                fields=["stay", "number"],
                name="card_number_once",
                violation_error_message="This stay already has a card of that number.",
            ),
            CheckConstraint(name="card_number_from_one", condition=Q(number__gte=1)),
            Unchanging(
                name="card_kept", fields=("tie_up", "stay", "number", "berth_code", "batch", "printed", "pdf")
            ),
            Audited(name="card_trail", label="card"),
        ]

    def __str__(self):
        return f"{self.berth_code or self.stay.berth}/{self.number}"


class FlagAccepted(models.Model):
    """One flag of one tie-up that a person answers for, with a reason; it goes with the snapshot.

    With `until` it counts to that time; then the flag asks again, and may be accepted anew beside the old word.
    """

    tie_up = models.ForeignKey(TieUp, on_delete=models.PROTECT, related_name="accepted")
    code = models.CharField(max_length=30)
    place = models.CharField(max_length=60, blank=True, help_text="Line or fitting the flag is about.")
    reason = models.CharField(max_length=300)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    until = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["tie_up", "code"]
        verbose_name_plural = "flags accepted"
        constraints = [
            UniqueConstraint(
                fields=["tie_up", "code", "place"],
                condition=Q(until__isnull=True),
                name="flag_accepted_once",
                violation_error_message="This flag has been accepted already.",
            ),
            UniqueConstraint(
                fields=["tie_up", "code", "place", "until"],
                name="flag_accepted_once_until",
                violation_error_message="This flag has been accepted until then already.",
            ),
            CheckConstraint(
                name="flag_accepted_until_later",
                condition=Q(until__isnull=True) | Q(at__lt=F("until")),
                violation_error_message="Accept it until a time that is still to come.",
            ),
            CheckConstraint(
                name="flag_accepted_with_a_reason",
                condition=~Q(reason=""),
                violation_error_message="Accepting a flag needs a reason.",
            ),
            Unchanging(name="flag_accepted_kept"),
        ]

    def __str__(self):
        return f"{self.code} {self.place}".strip()
