"""What needs somebody over the whole harbour: every stay that counts, and every set of lines without its boat."""

from dataclasses import dataclass

from django.db.models import Exists, OuterRef

from berths.models import LineSet, Stay
from berths.models.stay import StayState
from berths.selectors.standing import Mark, Standing, standings, standings_of_sets
from marina.base import house

UNWORKED = "no_tie_up"  # a set whose boat is away is not worked out; her stay is, once she comes


@dataclass(frozen=True)
class Needs:
    """One boat at one berth, and the flags that ask for somebody."""

    code: str
    name: str
    standing: Standing
    marks: list[Mark]


@house.read_once()
def needs():
    """Everything that asks for somebody now, worst first; one cause is told once. A fixed number of queries.

    The lines of a permanent set are told with the stay of its boat; a set whose boat is away stands for itself.
    """
    live = Stay.objects.filter(state__in=(StayState.BOOKED, StayState.FAST))
    here = live.filter(vessel=OuterRef("vessel"), berth=OuterRef("berth"))
    alone = LineSet.objects.filter(~Exists(here), ends=None)
    found = [
        *_rows(
            live.select_related("vessel", "berth").order_by("berth__walking_order", "raft_place", "arrive"),
            standings,
        ),
        *_rows(alone.select_related("vessel", "berth").order_by("berth__walking_order"), standings_of_sets),
    ]
    return sorted(found, key=lambda row: row.standing.order)


def _rows(things, standing_of):
    things = list(things)
    known = standing_of(things)
    for thing in things:
        standing = known[thing.pk]
        sets = isinstance(thing, LineSet)
        marks = [mark for mark in standing.marks if mark.urgent and not (sets and mark.code == UNWORKED)]
        if marks:
            yield Needs(thing.berth.code, thing.vessel.name, standing, marks)
