"""What a batch of cards is made of: the stays of a day, a pier or the harbour, and old cards still in pockets."""

from datetime import datetime, time, timedelta

from django.db.models import Q

from berths.models import Card, CardBatch, Pier
from berths.selectors import visible
from marina.base import clock, house

BEFORE = 8  # batches that the page still offers


def arrivals(user, day):
    """Stays that are expected on a day of the harbour's calendar, in walking order; today also the overdue ones."""
    zone = house.rules().zone
    start = datetime.combine(day, time(), zone)
    expected = Q(state="booked", arrive__lt=datetime.combine(day + timedelta(days=1), time(), zone))
    if day != clock.today():
        expected &= Q(arrive__gte=start)
    return _in_order(visible.stays(user).filter(expected))


def lying(user, pier=None):
    """Stays of the boats that lie there now or come today, in walking order; of one pier or all."""
    tomorrow = datetime.combine(clock.today() + timedelta(days=1), time(), house.rules().zone)
    here = Q(state="fast") | Q(state="booked", arrive__lt=tomorrow)
    stays = visible.stays(user).filter(here)
    return _in_order(stays.filter(berth__pier=pier) if pier else stays)


def _in_order(stays):
    return stays.select_related("berth__water__outer", "vessel").order_by(
        "berth__walking_order", "raft_place", "arrive"
    )


def piers():
    return Pier.objects.all()


def batches(user):
    """The newest batches, without their bytes."""
    return list(CardBatch.objects.defer("pdf").select_related("by")[:BEFORE]) if not user.is_holder else []


def to_destroy(user):
    """Cards put out of use since the last batch, of stays that were moved or cancelled.

    A card that a newer one of the same berth replaces needs no slip: the new card says so itself.

    Returns
    -------
    list of Card, in walking order
    """
    last = CardBatch.objects.defer("pdf").first()
    old = Card.objects.defer("pdf").filter(
        stay__in=visible.stays(user), superseded__isnull=False, destroyed__isnull=True
    )
    if last:
        old = old.filter(superseded__gt=last.printed)
    old = old.select_related("stay__berth", "stay__vessel").order_by("stay__berth__walking_order", "number")
    newest = {
        row["stay"]: row["berth_code"]
        for row in Card.objects.filter(
            stay__in=[card.stay_id for card in old], superseded__isnull=True
        ).values("stay", "berth_code")
    }
    return [card for card in old if newest.get(card.stay_id) != card.berth_code or not card.berth_code]
