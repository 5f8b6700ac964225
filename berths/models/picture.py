"""Photographs from the dock: what somebody saw, and when."""

from django.db import models

from berths.models.round import Look
from berths.models.stay import MadeFast, Stay
from berths.models.word import OwnersWord
from marina.base.checks import exactly_one
from marina.base.constraints import Unchanging
from marina.base.models import Deed


class Picture(Deed):
    """A photograph of a stay, or one that came with an owner's word: small, without the camera's notes on place and owner.

    Its bytes lie in the database as a card's do: who may see the row may see the picture, and one back-up has both.
    """

    stay = models.ForeignKey(Stay, on_delete=models.PROTECT, null=True, blank=True, related_name="pictures")
    word = models.ForeignKey(
        OwnersWord, on_delete=models.PROTECT, null=True, blank=True, related_name="pictures"
    )
    made_fast = models.ForeignKey(
        MadeFast, on_delete=models.PROTECT, null=True, blank=True, related_name="pictures"
    )
    look = models.ForeignKey(Look, on_delete=models.PROTECT, null=True, blank=True, related_name="pictures")
    words = models.CharField(max_length=100, blank=True, help_text="What it shows.")
    jpeg = models.BinaryField()

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [models.Index(fields=["stay", "at"], name="picture_of_stay")]
        constraints = [
            exactly_one(
                "picture_of_stay_or_word",
                "stay",
                "word",
                "A picture is of a stay or comes with an owner's word.",
            ),
            Unchanging(name="picture_kept"),
        ]

    def __str__(self):
        return f"picture of {self.stay or self.word}, {self.at:%d %b %H:%M} UTC"
