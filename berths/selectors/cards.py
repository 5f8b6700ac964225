"""What a batch of cards is made of: the stays of a day, a pier or the harbour, and old cards still in pockets."""

from collections import Counter
from datetime import datetime, time, timedelta

from django.db.models import Exists, OuterRef, Q

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


def old_cards():
    """Cards that were put out of use and are not told as destroyed, without their bytes.

    A card that a newer one of the same berth replaces is none of them: the new card says so itself.
    """
    replaced = Card.objects.filter(
        stay=OuterRef("stay"), berth_code=OuterRef("berth_code"), superseded__isnull=True
    )
    old = Card.objects.defer("pdf").filter(superseded__isnull=False, destroyed__isnull=True)
    return old.filter(Q(berth_code="") | ~Exists(replaced))


def still_out(user):
    """Old cards that may still be in somebody's pocket, in walking order. One query."""
    rows = old_cards().filter(stay__in=visible.stays(user)).select_related("stay__berth", "stay__vessel")
    return list(rows.order_by("stay__berth__walking_order", "number"))


def to_destroy(user, out=None):
    """Those of the cards still out (`still_out`) that were put out of use since the last batch: a slip for each."""
    out = still_out(user) if out is None else out
    last = CardBatch.objects.defer("pdf").first()
    return [card for card in out if last is None or card.superseded > last.printed]


def pier_counts(user):
    """{pier's pk: how many boats lie there or come today}. One query."""
    return Counter(lying(user).values_list("berth__pier_id", flat=True))
