"""Once a night: what no longer answers today's question is worked out again, and looks are set anew."""

from dataclasses import dataclass

from django.db.models import Exists, OuterRef, Q, Subquery

from berths.models import LineSet, Stay, TieUp
from berths.models.stay import StayState
from berths.services import again, looks, stale, tieups
from berths.tieup.verdict import ENGINE_VERSION


@dataclass(frozen=True)
class Night:
    """What a night's run did.

    boats : stays that were gone through.
    renewed : (stay, why) of the tie-ups that were worked out again.
    sets : permanent sets whose tie-up was worked out, for the first time or again.
    looks : looks that were set, moved or taken back.
    """

    boats: int
    renewed: list
    looks: int
    sets: int = 0


def run(by=None):
    """Work out again what is out of date, and set the looks anew. Twice is the same as once.

    Parameters
    ----------
    by : User, optional
        Whom the trail names.

    Returns
    -------
    Night
    """
    live = Stay.objects.filter(state__in=(StayState.BOOKED, StayState.FAST))
    stays = list(
        live.select_related("vessel", "berth__water__outer").order_by("berth__walking_order", "raft_place")
    )
    renewed = [(stay, why) for stay in stays if (why := _renew(stay, by))]
    return Night(len(stays), renewed, looks.retime(live), _renew_sets(by))


def _renew_sets(by):
    """Work out the sets in use that have no tie-up, one that is out of date, or one of an older engine."""
    newest = TieUp.objects.filter(line_set=OuterRef(OuterRef("pk"))).order_by("-made_at", "-id")
    kept = TieUp.objects.filter(
        pk=Subquery(newest.values("pk")[:1]), stale=False, engine_version=ENGINE_VERSION
    )
    fresh = Exists(kept)
    sets = list(LineSet.objects.filter(~fresh, ends=None).select_related("berth", "vessel"))
    for line_set in sets:
        tieups.work_out_set(line_set, by, stands=False)
    return len(sets)


def _renew(stay, by):
    """Why this stay's tie-up was worked out again; empty where it was not, or nothing new came of it."""
    kept, why = tieups.newest(stay), again.why_again(stay)
    if not why:
        return ""
    if kept is not None and not kept.stale and why in (again.MOVED, again.WATER_ENDS):
        stale.mark(Q(pk=kept.pk), why)  # kept with the reason, and out of date should the working stop
    fresh = tieups.work_out(stay, by)
    return "" if kept is not None and fresh.pk == kept.pk else why
