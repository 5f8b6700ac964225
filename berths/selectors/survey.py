"""What the pages of the survey read: what is there, where to begin, and which tie-ups a change touches."""

from django.db.models import Count, Q

from berths.models import Berth, Pier, TieUp, Water
from berths.services.stale import IN_USE


def overview(user):
    """Piers with their berths, and the waters. Staff only: the table of doors holds it."""
    piers = list(Pier.objects.prefetch_related("berths"))
    waters = list(Water.objects.annotate(number=Count("berths")).order_by("name"))
    found = [berth for pier in piers for berth in pier.berths.all()]
    return {"piers": piers, "waters": waters, "berths_surveyed": len(found)}


def layout_start(user):
    """What the form of a new berth begins with: beside the newest berth, else at the harbour's own zero."""
    last = Berth.objects.select_related("pier", "water").order_by("-pk").first()
    if last is None:
        return {"corner_east": 0, "corner_north": 0}
    return {"pier": last.pier_id, "water": last.water_id}


def touched(berth):
    """Tie-ups in use that rest on this berth, as stays; those that are out of date already are left out."""
    return _stays(Q(stay__berth=berth.pk))


def touched_by(fastening):
    """Tie-ups in use at every berth that uses a fastening."""
    return _stays(Q(stay__berth__fastenings__fastening=fastening.pk))


def _stays(where):
    rows = TieUp.objects.filter(where, IN_USE, stale=False).select_related("stay__berth", "stay__vessel")
    rows = rows.defer("verdict", "scenario").order_by("stay__berth__walking_order", "stay__arrive")
    return list({row.stay_id: row.stay for row in rows}.values())
