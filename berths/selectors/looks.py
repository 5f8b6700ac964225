"""Looks that are open: missed, and of the coming two weeks."""

from datetime import timedelta

from berths.models import Recheck
from berths.selectors import visible
from marina.base import clock

AHEAD = timedelta(days=15)


def open_looks(user):
    """Open looks in order of time, with stay, boat and berth. One query."""
    return list(
        Recheck.objects.filter(
            done_at=None,
            due__lt=clock.now() + AHEAD,
            stay__in=visible.stays(user).filter(state="fast"),
        )
        .select_related("stay__vessel", "stay__berth__pier")
        .order_by("due", "stay__berth__walking_order")
    )
