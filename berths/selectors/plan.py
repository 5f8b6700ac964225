"""What lies where in the harbour at a moment, with the places on its plan. It shows every boat: for staff only."""

from django.db.models import Prefetch, prefetch_related_objects

from berths.lying import END_ON, length_of, outline_on_plan
from berths.models import BerthFace, BerthFastening, Face, Fastening
from berths.selectors.berths import with_stays
from marina.base import house


def harbour_on(user, moment, until=None):
    """Berths with `lying` and `coming` until then, outlines of the boats that lie there, faces and piles.

    A fixed number of queries.
    """
    berths = with_stays(user, moment, until or moment, also_gone=True)
    _piles_to_lie_at(berths)
    faces = Face.objects.filter(in_use=True).values_list("east1", "north1", "east2", "north2", named=True)
    piles = Fastening.objects.filter(in_use=True, kind="pile")
    piles = piles.values_list("label", "east", "north", "diameter", named=True)
    return berths, list(_hulls(berths)), list(faces), list(piles)


def _piles_to_lie_at(berths):
    """Fetch what decides where a boat lies, only where it does: at occupied faces made of piles."""
    side_to = [berth for berth in berths if berth.lying and berth.kind not in END_ON]
    prefetch_related_objects(side_to, Prefetch("faces", BerthFace.objects.select_related("face")))
    of_piles = [b for b in side_to if any(row.face.continuous is False for row in b.faces.all())]
    piles = BerthFastening.objects.filter(fastening__kind="pile").select_related("fastening")
    prefetch_related_objects(of_piles, Prefetch("fastenings", piles))


def _hulls(berths):
    """(name, outline) of every boat whose length and beam are known, those of a raft outside each other."""
    rules = house.rules()
    for berth in berths:
        inside = 0.0
        for stay in berth.lying:
            vessel = stay.vessel
            if vessel.loa is None or vessel.beam is None:
                continue
            stay.berth = berth  # with what was prefetched
            yield vessel.name, outline_on_plan(stay, length_of(vessel, rules)[0], inside)
            inside += float(vessel.beam)
