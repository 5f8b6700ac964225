"""Rounds on foot: what was looked at, what was found, and where each line was seen."""

from django.conf import settings
from django.db import models
from django.db.models import CheckConstraint, F, Q

from berths.models.harbour import Berth
from berths.models.lineset import SetPosition
from berths.models.stay import Stay
from marina.base.checks import one_of, within
from marina.base.constraints import Audited, Unchanging
from marina.base.fields import metres_or_unknown, millimetres_or_unknown
from marina.base.models import Deed
from vessels.models import Line


class Round(models.Model):
    """A walk over chosen berths; what has no look when it closes was not looked at."""

    name = models.CharField(max_length=60)
    started = models.DateTimeField()
    closed = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    berths = models.ManyToManyField(Berth, related_name="rounds", blank=True)

    class Meta:
        ordering = ["-started"]
        constraints = [
            CheckConstraint(
                name="round_order",
                condition=Q(closed__isnull=True) | Q(started__lte=F("closed")),
                violation_error_message="A round must close after it starts.",
            ),
            Audited(name="round_trail", label="round"),
        ]

    def __str__(self):
        return f"{self.name}, {self.started:%d %b %Y}"


class Mark(models.TextChoices):
    AS_PLANNED = "as_planned", "as planned"
    NOT_AS_PLANNED = "not_as_planned", "not as planned"
    COULD_NOT_LOOK = "could_not_look", "could not look"


class Look(Deed):
    """One person's look at one berth."""

    round = models.ForeignKey(Round, on_delete=models.PROTECT, null=True, blank=True, related_name="looks")
    berth = models.ForeignKey(Berth, on_delete=models.PROTECT, related_name="looks")
    stay = models.ForeignKey(Stay, on_delete=models.PROTECT, null=True, blank=True, related_name="looks")
    mark = models.CharField(max_length=15, choices=Mark)
    words = models.CharField(max_length=300, blank=True, help_text="What is otherwise, or why not looked at.")

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [models.Index(fields=["berth", "at"], name="look_at_berth")]
        constraints = [
            *one_of("look", unknown=False, mark=Mark),
            CheckConstraint(
                name="look_says_what",
                condition=Q(mark="as_planned") | ~Q(words=""),
                violation_error_message="Say what is not as planned, or why nobody could look.",
            ),
            Unchanging(name="look_kept"),
        ]

    def __str__(self):
        return f"{self.berth}: {self.get_mark_display()}"


class Sighting(Deed):
    """A line seen somewhere: on a round, in the store, by a scanned or typed tag; or one without a tag."""

    tag = models.CharField(max_length=20, blank=True, help_text="As read; empty: no readable tag.")
    line = models.ForeignKey(Line, on_delete=models.PROTECT, null=True, blank=True, related_name="sightings")
    berth = models.ForeignKey(
        Berth, on_delete=models.PROTECT, null=True, blank=True, related_name="sightings"
    )
    place = models.CharField(max_length=60, blank=True, help_text="Store hook or other place.")
    stay = models.ForeignKey(Stay, on_delete=models.PROTECT, null=True, blank=True, related_name="sightings")
    position = models.ForeignKey(
        SetPosition, on_delete=models.PROTECT, null=True, blank=True, related_name="sightings"
    )
    look = models.ForeignKey(Look, on_delete=models.PROTECT, null=True, blank=True, related_name="sightings")
    diameter_found_mm = millimetres_or_unknown()
    length_found = metres_or_unknown()
    material = models.CharField(max_length=30, blank=True)
    description = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [
            models.Index(fields=["line", "at"], name="sighting_of_line"),
            models.Index(fields=["berth", "at"], name="sighting_at_berth"),
        ]
        constraints = [
            CheckConstraint(
                name="sighting_has_a_place",
                condition=Q(berth__isnull=False) | ~Q(place=""),
                violation_error_message="Say where the line was seen: a berth or another place.",
            ),
            *within("sighting", 0, 200, "mm", "diameter_found_mm", above=True),
            *within("sighting", 0, 1000, "m", "length_found", above=True),
            Unchanging(name="sighting_kept"),
        ]

    def __str__(self):
        return f"{self.tag or 'untagged line'} at {self.berth or self.place}"
