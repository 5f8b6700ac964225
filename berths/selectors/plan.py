"""What lies where in the harbour at a moment, with the places on its plan. It shows every boat: for staff only."""

from django.db.models import prefetch_related_objects

from berths.lying import length_of, outline_on_plan
from berths.models import Face, Fastening
from berths.selectors.berths import walk
from marina.base import house


def harbour_on(user, moment):
    """Berths with `lying`, outlines of the boats, faces and fastenings. A fixed number of queries."""
    berths = walk(user, moment)
    prefetch_related_objects(berths, "fastenings__fastening", "faces__face")
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
