"""Who signs in, what the house has decided, and the trail of every change."""

import uuid

from django.contrib.auth.models import AbstractUser, UserManager
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import CheckConstraint, Q
from django.utils import timezone

from marina.base import rulebook
from marina.base.checks import one_of
from marina.base.constraints import Audited, Unchanging


class Role(models.TextChoices):
    HARBOURMASTER = "harbourmaster", "harbourmaster"
    HAND = "hand", "dock hand"
    HOLDER = "holder", "berth holder"


class Units(models.TextChoices):
    METRES = "m", "metres"
    FEET = "ft", "feet and inches"


class Words(models.TextChoices):
    UK = "uk", "UK"
    US = "us", "US"


class Users(UserManager):
    def create_superuser(self, username, email=None, password=None, **fields):
        """The first harbourmaster: `manage.py createsuperuser`."""
        return super().create_superuser(username, email, password, role=Role.HARBOURMASTER, **fields)


class User(AbstractUser):
    """A person who signs in. The role decides everything; Django's own flags only follow it."""

    role = models.CharField(max_length=20, choices=Role, default=Role.HOLDER)
    units = models.CharField(
        max_length=2, choices=Units, blank=True, help_text="Empty: as the house rules have it."
    )
    words = models.CharField(
        max_length=2, choices=Words, blank=True, help_text="Empty: as the house rules have it."
    )

    objects = Users()

    class Meta(AbstractUser.Meta):
        ordering = ["username"]
        constraints = [
            *one_of("user", unknown=False, role=Role),
            *one_of("user", units=Units, words=Words),
            CheckConstraint(
                name="user_flags_follow_role",
                condition=Q(role="harbourmaster", is_staff=True, is_superuser=True)
                | (~Q(role="harbourmaster") & Q(is_staff=False, is_superuser=False)),
                violation_error_message="Only a harbourmaster works in the back office.",
            ),
            Audited(name="user_trail", label="user", leave_out=("password", "last_login")),
        ]

    def clean(self):
        super().clean()
        self._follow_role()

    def save(self, *args, **kwargs):
        self._follow_role()
        if kwargs.get("update_fields") is not None:
            kwargs["update_fields"] = {*kwargs["update_fields"], "is_staff", "is_superuser"}
        super().save(*args, **kwargs)

    def _follow_role(self):
        self.is_staff = self.is_superuser = self.role == Role.HARBOURMASTER

    @property
    def is_harbourmaster(self):
        return self.role == Role.HARBOURMASTER

    @property
    def is_hand(self):
        return self.role == Role.HAND

    @property
    def is_holder(self):
        return self.role == Role.HOLDER


class HouseRule(models.Model):
    """A rule that this harbour has changed; `house.yaml` holds the defaults and what each may be."""

    key = models.CharField(max_length=40, unique=True)
    value = models.JSONField(null=True, blank=True)
    reason = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    since = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["key"]
        constraints = [Audited(name="house_rule_trail", label="house rule")]

    def __str__(self):
        return self.key

    def clean(self):
        try:
            rulebook.check(self.key, self.value)
        except ValueError as fault:
            raise ValidationError({"value": str(fault)}) from None


class Trail(models.Model):
    """One change of one row, written by the database (see `constraints.Audited`), in real time on purpose:
    a demonstration's clock moves the harbour, never the record of who wrote what.

    Every other table's triggers name this one, so it stands first in the migrations and points to nothing.
    """

    table = models.CharField(max_length=60)
    row = models.CharField(max_length=40)
    old = models.JSONField(null=True, blank=True)
    new = models.JSONField(null=True, blank=True)
    who = models.BigIntegerField(
        null=True, blank=True, help_text="Number of the user; null: nobody was signed in."
    )
    when = models.DateTimeField()

    class Meta:
        ordering = ["-id"]
        verbose_name_plural = "trail"
        indexes = [models.Index(fields=["table", "row"], name="trail_of_row")]
        constraints = [Unchanging(name="trail_kept")]

    def __str__(self):
        deed = "new" if self.old is None else "deleted" if self.new is None else "changed"
        return f"{self.table} {self.row} {deed}"


class Deed(models.Model):
    """What a person did at a moment, perhaps out of signal: the phone names it once, so twice is once."""

    client_id = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    at = models.DateTimeField(help_text="When it was done, not when it was sent.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        abstract = True
