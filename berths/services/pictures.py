"""Photographs are kept with the stay they show."""

from berths.models import Picture
from marina.base import clock
from marina.base.writing import in_one_go


def keep_picture(*, stay, by, jpeg, words="", at=None, made_fast=None):
    """Keep one photograph of a stay.

    Parameters
    ----------
    stay : Stay
    by : User
    jpeg : bytes
        As `berths.pictures.as_kept` gives it.
    words : str
        What it shows.
    at : datetime, optional
        When it was taken or sent (default now).
    made_fast : MadeFast, optional
        The deed it belongs to.
    """
    fields = {"stay": stay, "by": by, "jpeg": jpeg, "words": words, "made_fast": made_fast}
    return in_one_go(lambda: Picture.objects.create(at=at or clock.now(), **fields), by=by)
