"""What a hand does next: who arrives, which look is due, which weak boat nobody has looked at.

What is due within the hour comes first, along the walk; then weak boats, along the walk; then what comes later,
by its time.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Exists, OuterRef

from berths.models import Look, Recheck, Stay
from marina.base import house

SOON = timedelta(
    hours=1
)  # nobody walks the docks twice for what is due a little later: common practice, no source
URGENT = ("stop", "fix")


@dataclass(frozen=True)
class Job:
    """One thing to do at one berth: `kind` is tie_up, look or weak; `at` is when, where it has a time."""

    kind: str
    stay: Stay
    at: datetime | None = None
    look: Recheck | None = None
    due: bool = True

    @property
    def along(self):
        berth = self.stay.berth
        return berth.walking_order, berth.code, self.stay.raft_place, self.kind


def jobs(stays, looks, now):
    """Jobs of a hand in the order of doing. No query.

    Parameters
    ----------
    stays : list of Stay
        With `standing`, berth, boat and `seen` (`looked_at_lately`).
    looks : list of Recheck
        Open ones, with stay, berth and boat.
    now : datetime

    Returns
    -------
    list of Job
    """
    timed = [Job("tie_up", s, s.arrive, due=s.arrive <= now + SOON) for s in stays if s.state == "booked"]
    timed += [Job("look", row.stay, row.due, row, due=row.due <= now + SOON) for row in looks]
    weak = [
        Job("weak", stay)
        for stay in stays
        if stay.state == "fast"
        and not stay.seen
        and stay.standing.worst
        and stay.standing.worst.kind in URGENT
    ]
    return [
        *sorted((job for job in timed if job.due), key=lambda job: job.along),
        *sorted(weak, key=lambda job: job.along),
        *sorted((job for job in timed if not job.due), key=lambda job: (job.at, job.along)),
    ]


def looked_at_lately(now):
    """Whether somebody looked at a stay's berth within the time a round is made again (house rule H18)."""
    since = now - timedelta(hours=house.value("H18")["hours"])
    return Exists(Look.objects.filter(berth=OuterRef("berth"), at__gt=since).exclude(mark="could_not_look"))
