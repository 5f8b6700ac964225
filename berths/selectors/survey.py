"""What the pages of the survey read: what is there, where to begin, and which tie-ups a change touches."""

from dataclasses import dataclass

from django.db.models import Count, Q
from django.urls import reverse

from berths.lying import END_ON, Frame
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


ON_THE_FACE = 0.5  # m from the line of a face: a berth alongside there is in the same place
TOLD = (
    *("stay", "line_set", "stay__vessel", "stay__berth", "line_set__vessel", "line_set__berth"),
    *("stay__vessel__name", "stay__berth__code", "line_set__vessel__name", "line_set__berth__code"),
)


def places(besides=None):
    """Where every berth lies, but one: for `lies_on`. One query."""
    rows = Berth.objects.only("code", "kind", "east", "north", "bearing_deg", "length")
    return list(rows if besides is None else rows.exclude(pk=besides))


def lies_on(corner, length, berths):
    """Codes of berths whose middle lies within the bounds of a berth as taped: it would lie on them.

    Parameters
    ----------
    corner : Corner
    length : Decimal
        [m]
    berths : iterable of Berth
    """
    return [berth.code for berth in berths if _within(berth, corner, float(length))]


def _within(berth, corner, length):
    end_on = corner.kind in END_ON
    if end_on != (berth.kind in END_ON):
        return False  # alongside, the water in front of a face is nobody's yet
    along, out = map(float, corner.taped(*_middle(berth)))
    wide = 2 * float(corner.to_middle) if end_on else length
    deep = (0.0, length) if end_on else (-ON_THE_FACE, ON_THE_FACE)
    return 0 < along < wide and deep[0] <= out <= deep[1]


def _middle(berth):
    """The middle of a berth's length, on the plan. [m east, m north]"""
    east, north = Frame(berth).to_plan([(float(berth.length) / 2, 0.0)])[0]
    return east, north


@dataclass(frozen=True)
class Touched:
    """A tie-up that is up to date and rests on something; where it is looked at."""

    words: str
    url: str


def touched(berth):
    """Tie-ups in use at this berth and at those that share something with it, but not those out of date already."""
    shares = Q(fastenings__fastening__berths__berth=berth.pk) | Q(faces__face__berths__berth=berth.pk)
    berths = {berth.pk, *Berth.objects.filter(shares).values_list("pk", flat=True)}
    return _rows(Q(stay__berth__in=berths) | Q(line_set__berth__in=berths))


def touched_by(fastening):
    """Tie-ups in use at every berth that uses a fastening."""
    berths = list(fastening.berths.values_list("berth", flat=True))
    return _rows(Q(stay__berth__in=berths) | Q(line_set__berth__in=berths))


def _rows(where):
    rows = (
        TieUp.objects.filter(where, IN_USE, stale=False)
        .select_related("stay__berth", "stay__vessel", "line_set__berth", "line_set__vessel")
        .only(*("stay__vessel__name", "stay__berth__code", "line_set__vessel__name", "line_set__berth__code"))
        .order_by("stay__berth__walking_order", "stay__arrive", "pk")
    )
    return list(dict.fromkeys(_touched(row) for row in rows))


def _touched(row):
    if row.stay:
        words = f"{row.stay.vessel.name} at {row.stay.berth.code}"
        return Touched(words, reverse("berths:stay", args=[row.stay_id]))
    line_set = row.line_set
    words = f"line set of {line_set.vessel.name} at {line_set.berth.code}"
    return Touched(words, reverse("berths:berth", args=[line_set.berth.code]))
