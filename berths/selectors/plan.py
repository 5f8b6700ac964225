"""What lies where in the harbour at a moment, with the places on its plan. It shows every boat: for staff only."""

from django.db.models import Prefetch, prefetch_related_objects

from berths.lying import length_of, outline_on_plan
from berths.models import BerthFace, BerthFastening, Face, Fastening
from berths.selectors.berths import walk
from marina.base import house


def harbour_on(user, moment):
    """Berths with `lying`, outlines of the boats, faces and fastenings. A fixed number of queries."""
    berths = walk(user, moment)
    # Joined, not prefetched in two steps: on SQLite, Django asks for prefetched parents one OR at a time, and a
    # thousand of them are more than it takes.
    prefetch_related_objects(
        berths,
        Prefetch("fastenings", BerthFastening.objects.select_related("fastening")),
        Prefetch("faces", BerthFace.objects.select_related("face")),
    )
    faces, fastenings = Face.objects.filter(in_use=True), Fastening.objects.filter(in_use=True)
    return berths, list(_hulls(berths)), list(faces), list(fastenings)


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
