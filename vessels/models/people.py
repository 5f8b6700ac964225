"""Who owns a vessel or a line."""

from django.conf import settings
from django.db import models
from django.db.models import CheckConstraint, Q

from marina.base.constraints import Audited


class Owner(models.Model):
    """A person or club; with a sign-in when they use the site themselves."""

    name = models.CharField(max_length=100)
    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="owner"
    )
    telephone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            CheckConstraint(
                name="owner_has_a_name",
                condition=~Q(name=""),
                violation_error_message="An owner needs a name.",
            ),
            Audited(name="owner_trail", label="owner"),
        ]

    def __str__(self):
        return self.name
