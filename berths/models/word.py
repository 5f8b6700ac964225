"""What the owner of a boat tells the office: a worry, a line that was changed, or that somebody will come."""

from django.conf import settings
from django.db import models
from django.db.models import CheckConstraint, Q

from berths.models.harbour import Berth
from berths.models.lineset import LineSet, SetPosition
from marina.base.checks import one_of
from marina.base.constraints import Audited, Unchanging
from marina.base.models import Deed
from vessels.models import Vessel


class WordKind(models.TextChoices):
    WORRY = "worry", "a worry"
    CHANGED = "changed", "a line was changed"
    COMING = "coming", "will come"


class OwnersWord(Deed):
    """An owner's word about the own boat; it stands on the day until the office has answered."""

    kind = models.CharField(max_length=10, choices=WordKind)
    vessel = models.ForeignKey(Vessel, on_delete=models.PROTECT, related_name="owners_words")
    berth = models.ForeignKey(
        Berth, on_delete=models.PROTECT, null=True, blank=True, related_name="+", help_text="Where she was."
    )
    line_set = models.ForeignKey(
        LineSet, on_delete=models.PROTECT, null=True, blank=True, related_name="owners_words"
    )
    position = models.ForeignKey(
        SetPosition,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="owners_words",
        help_text="The place of the set it is about.",
    )
    text = models.CharField(max_length=500, blank=True)
    answer = models.CharField(max_length=500, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [
            models.Index(fields=["at"], condition=Q(answered_at__isnull=True), name="owners_word_open"),
            models.Index(fields=["vessel", "at"], name="owners_word_of_vessel"),
        ]
        constraints = [
            *one_of("owners_word", unknown=False, kind=WordKind),
            CheckConstraint(
                name="owners_word_says_what",
                condition=Q(kind="coming") | ~Q(text=""),
                violation_error_message="Say in a few words what it is.",
            ),
            CheckConstraint(
                name="owners_word_answered_with_words",
                condition=Q(answered_at__isnull=True, answer="")
                | Q(answered_at__isnull=False) & ~Q(answer=""),
                violation_error_message="An answer needs words.",
            ),
            Unchanging(
                name="owners_word_kept",
                fields=("kind", "vessel", "berth", "line_set", "position", "text", "at", "by"),
            ),
            Audited(name="owners_word_trail", label="word of an owner"),
        ]

    def __str__(self):
        return f"{self.vessel}: {self.get_kind_display()}"
