"""The address at which a person's calendar fetches the looks that are due."""

import hashlib
import secrets

from django.conf import settings
from django.db import models

from marina.base.constraints import Audited


def digest(token):
    """What is kept of a token: nobody who reads the table can make up the address."""
    return hashlib.sha256(token.encode()).hexdigest()


class CalendarFeed(models.Model):
    """One address for one person; a new one takes the old one's place."""

    user = models.OneToOneField(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    token_hash = models.CharField(max_length=64, unique=True)
    made = models.DateTimeField()

    class Meta:
        constraints = [Audited(name="calendar_feed_trail", label="calendar", leave_out=("token_hash",))]

    def __str__(self):
        return f"calendar of {self.user}"

    @classmethod
    def new_token(cls):
        return secrets.token_urlsafe(32)
