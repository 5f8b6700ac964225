"""Looks that are open: missed, and of the coming two weeks. What was missed is told in tides too."""

from datetime import timedelta

from berths.models import Recheck
from berths.selectors import visible
from berths.selectors.water import spans
from marina.base import clock

AHEAD = timedelta(days=15)
LONGEST_BACK = timedelta(days=7)  # for what was missed longer ago the tides are not counted
AT_LOW = ("first_low", "spring_low")
AT_HIGH = ("before_high",)


def open_looks(user):
    """Open looks in order of time, with stay, boat and berth; `turn` and `turns_since` where one was missed.

    One query, and those of the waters where a look that hangs on the water was missed.
    """
    rows = list(
        Recheck.objects.filter(
            done_at=None,
            due__lt=clock.now() + AHEAD,
            stay__in=visible.stays(user).filter(state="fast"),
        )
        .select_related("stay__vessel", "stay__berth__pier", "stay__berth__water__outer")
        .order_by("due", "stay__berth__walking_order")
    )
    count_tides(rows, clock.now())
    return rows


def count_tides(looks, now):
    """Set on each look that was missed: `turn`, the low or high it was for, and how many of them went by since."""
    missed = [look for look in looks if _hangs_on_a_turn(look, now)]
    waters = {look.stay.berth.water_id: look.stay.berth.water for look in missed if look.stay.berth.water_id}
    if not waters:
        return
    known = spans(waters.values(), min(look.due for look in missed), now)
    for look in missed:
        span = known.get(look.stay.berth.water_id)
        high = look.why in AT_HIGH
        turns = [turn for turn in span.turns() if turn.high is high and turn.time >= look.due] if span else []
        if turns:
            look.turn, look.turns_since = turns[0], len(turns) - 1


def _hangs_on_a_turn(look, now):
    return now - LONGEST_BACK < look.due < now and look.why in (*AT_LOW, *AT_HIGH)
