"""What the night watch is handed: what is due, which boats are weak, the water until morning, and whom to call."""

from datetime import timedelta

from berths.models import LineUse, Look
from berths.selectors.board import day
from berths.selectors.looks import open_looks
from berths.selectors.rounds import last_closed, not_looked_at
from marina.base import clock
from vessels.models import Vessel

MOST_GAPS = 2  # of one boat, told in full: the sheet is carried on one or two pages
WATCH = timedelta(hours=14)  # from the evening to the office's morning


def hand_over(user):
    """Everything on the sheet, in a fixed number of queries.

    Returns
    -------
    dict
        `looks` due until the watch ends, `weak` boats in walking order with whom to call, `waters`, `coming` and
        `going` boats, `missed` berths of the last round with when they were last looked at, `lent` lines.
    """
    now = clock.now()
    until = now + WATCH
    known = day(user)
    missed = not_looked_at(last := last_closed())
    weak = sorted(known["needs"], key=lambda need: need.stay.berth.walking_order)
    return {
        "until": until,
        "looks": [look for look in open_looks(user) if look.due < until],
        "weak": _with_calls(weak),
        "waters": known["waters"],
        "docks": known["weak"],
        "coming": known["arrivals"],
        "going": known["departures"],
        "last": last,
        "missed": _last_seen(missed),
        "lent": _lent(),
    }


def _with_calls(needs):
    """Each boat with the marks that need somebody; her owner, or the number a visitor gave."""
    vessels = Vessel.objects.select_related("owner").in_bulk([need.stay.vessel_id for need in needs])
    for need in needs:
        vessel = vessels[need.stay.vessel_id]
        urgent = [mark for mark in need.standing.marks if mark.urgent]
        gaps = [mark for mark in urgent if mark.kind == "not_known"]
        need.marks = [mark for mark in urgent if mark not in gaps[MOST_GAPS:]]
        need.more = len(gaps[MOST_GAPS:])
        need.call = vessel.owner.telephone or vessel.owner.email if vessel.owner_id else vessel.contact
        need.whom = vessel.owner.name if vessel.owner_id else "skipper"
    return needs


def _last_seen(berths):
    newest = {}
    for look in Look.objects.filter(berth__in=berths).exclude(mark="could_not_look").order_by("at"):
        newest[look.berth_id] = look.at
    return [(berth, newest.get(berth.pk)) for berth in berths]


def _lent():
    rows = LineUse.objects.filter(back=None, stay__state="fast", line__owner_kind="harbour")
    return rows.select_related("line", "stay__berth", "stay__vessel").order_by(
        "stay__berth__walking_order", "line__tag"
    )
