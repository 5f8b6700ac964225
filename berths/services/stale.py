"""What a tie-up was worked out from has changed: say so at once, and why.

Signals of the models call `changed`. It compares the row as it was with the row as it is, so that saving
without a change marks nothing; columns that no tie-up rests on are listed in `NOT_IN_A_TIE_UP`, all others
count. Only tie-ups that are still in use are marked; what has been is evidence and stays as it was.
"""

import math
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db.models import Q
from django.db.models.signals import post_delete, post_save, pre_save

from berths.models import (
    Berth,
    BerthFace,
    BerthFastening,
    Face,
    Fastening,
    Forecast,
    LineSet,
    LineUse,
    Notice,
    Reading,
    SetPosition,
    Stay,
    TieUp,
    Water,
)
from berths.models.stay import Purpose
from berths.models.tieup import Sort
from berths.survey import HOW_SHE_LIES
from marina.base import clock
from marina.base.models import HouseRule
from marina.base.rulebook import book
from vessels.models import DeckFitting, GearZone, Inspection, Line, Vessel
from vessels.models.line import WORN

NOT_IN_A_TIE_UP = {
    Vessel: {"name", "mark", "owner_id", "contact", "note"},
    Line: {
        "second_tag",
        "colour",
        "certificate",
        "made_on",
        "in_service_on",
        "owner_kind",
        "owner_id",
        "home",
    }
    | {"kept_for", "next_inspection", "note", "diameter_label"}
    | {"certificate_on", "maker", "criteria", "replaces_id"},
    Berth: {"walking_order", "pier_id", "note"},
    Fastening: {"checked_by", "note"},
    Water: {"name", "note", "storm_up", "storm_down", "storm_reason", "surge_by", "surge_on"},
    Notice: {"published", "reason"},
    Stay: {"state_why", "client_id", "note", "side_told", "surge_reason", "surge_by"},
    LineUse: {"client_id", "by_id", "back_by_id", "due", "condition_out", "condition_in", "reason"},
    LineSet: {"owner_id", "why_closed", "note"},
    Forecast: {"client_id", "by_id", "source", "note", "reading_id", "wind_gust", "wind_from_deg"},
    HouseRule: {"reason", "by_id", "since"},
}
HERS = {"allowance down", "allowance up"}  # of a stay: they concern nobody beside her
SHE_LIES = {Stay._meta.get_field(name).verbose_name for name in HOW_SHE_LIES}
FARTHEST = (
    100  # m: no two origins of berths whose boats lie beside each other are farther apart, lengths aside
)
BESIDE = 10.0  # m: what lies farther off is nobody's neighbour
LIVE = ("booked", "fast")
IN_USE = Q(stay__state__in=LIVE) | Q(line_set__isnull=False, line_set__ends__isnull=True)


def connect():
    """Listen to every model that a tie-up rests on."""
    for model in AFFECTED:
        name = model._meta.label_lower
        pre_save.connect(_remember, sender=model, dispatch_uid=f"stale-before-{name}")
        post_save.connect(_saved, sender=model, dispatch_uid=f"stale-saved-{name}")
        post_delete.connect(_deleted, sender=model, dispatch_uid=f"stale-deleted-{name}")


def _remember(sender, instance, raw=False, **kwargs):
    """Keep the row as it is before a save, to compare it and to know where it belonged."""
    known = instance.pk is not None and not raw
    instance._before = sender._base_manager.filter(pk=instance.pk).first() if known else None


def _saved(sender, instance, raw=False, **kwargs):
    before = getattr(instance, "_before", None)
    fields = _differing(sender, before, instance)
    if raw or not fields:
        return
    words = "added" if before is None else f"{', '.join(fields)} changed"
    rows = [instance] if before is None or sender in BY_ITS_KEY else [before, instance]
    alone = sender is Stay and HERS.issuperset(fields)
    affected = Q(stay=instance.pk) if alone else _any(AFFECTED[sender](row) for row in rows)
    if sender is Stay and SHE_LIES.intersection(fields):  # her set is judged as she lies in her newest stay
        affected |= _any(Q(line_set__vessel=row.vessel_id, line_set__berth=row.berth_id) for row in rows)
    mark(affected, f"{_called(instance)}: {words}")


def _deleted(sender, instance, **kwargs):
    mark(AFFECTED[sender](instance), f"{_called(instance)}: deleted")


def _differing(model, before, now):
    """Names of the fields that differ and count; all of them for a new row."""
    left_out = NOT_IN_A_TIE_UP.get(model, set())
    fields = [f for f in model._meta.concrete_fields if f.attname not in left_out and not f.primary_key]
    return [f.verbose_name for f in fields if before is None or _differs(f, before, now)]


def _differs(field, before, now):
    if field.name == "state" and isinstance(now, Stay):  # booked or made fast: she counts either way
        return (before.state in LIVE) != (now.state in LIVE)
    try:  # code may hold '1.80' where the column holds 1.8000: compared as the column would have it
        return field.to_python(getattr(before, field.attname)) != field.to_python(getattr(now, field.attname))
    except ValidationError:
        return True  # an expression that the database works out


def _called(row):
    kind, name = row._meta.verbose_name, str(row)
    return name if name.startswith(kind) else f"{kind} {name}"


def mark(affected, why):
    """Mark the tie-ups that `affected` (a Q on TieUp) picks and that are in use; returns how many."""
    tie_ups = TieUp.objects.filter(affected, IN_USE, stale=False).values("pk")
    return TieUp.objects.filter(pk__in=list(tie_ups.values_list("pk", flat=True))).update(
        stale=True, stale_why=why[:200], stale_since=clock.now()
    )


def mark_berths(berths, why):
    """Mark what is tied up at these berths (primary keys), for rows that were written all at once."""
    return mark(_of_berths(pk__in=list(berths)), why) if berths else 0


def resting_on_rule(key):
    """Tie-ups in use that a house rule would make stale, for the count shown before it is saved."""
    return TieUp.objects.filter(_of_rule(HouseRule(key=key)), IN_USE, stale=False)


NOTHING, EVERYTHING = Q(pk__in=[]), Q(pk__isnull=False)


def _any(conditions):
    whole = NOTHING
    for condition in conditions:
        whole |= condition
    return whole


def _of_vessel(vessel_id):
    """Her own tie-ups, and those of the boats beside her, for she is their neighbour."""
    own = Q(stay__vessel=vessel_id) | Q(line_set__vessel=vessel_id)
    stays = Stay.objects.filter(vessel=vessel_id, state__in=LIVE).select_related("berth")
    return _any([own, *(_beside(stay) for stay in stays)])


def _of_stay(stay):
    return Q(stay=stay.pk) | _beside(stay)


def _beside(stay):
    """Stays at the same time in the same berth (the raft) or in one near it on the same pier."""
    reach = stay.berth.length + FARTHEST
    around = Berth.objects.filter(
        pier=stay.berth.pier_id,
        east__range=(stay.berth.east - reach, stay.berth.east + reach),
        north__range=(stay.berth.north - reach, stay.berth.north + reach),
    )
    near = [
        b.pk
        for b in around.only("length", "east", "north", "bearing_deg", "clear_width")
        if _near(b, stay.berth)
    ]
    then = Q(stay__depart__isnull=True) | Q(stay__depart__gt=stay.arrive)
    if stay.depart is not None:
        then &= Q(stay__arrive__lt=stay.depart)
    return Q(stay__berth__in=near) & then & ~Q(stay=stay.pk)


def _near(one, other):
    """Whether boats in two berths may count as neighbours: rather one too many than one too few."""
    bearing = math.radians(one.bearing_deg)
    turned = abs(math.sin(bearing - math.radians(other.bearing_deg)))  # 0: side by side or in a row
    (x1, y1), (x2, y2) = _middle(one), _middle(other)
    east, north = x2 - x1, y2 - y1
    along = abs(east * math.sin(bearing) + north * math.cos(bearing))
    across = abs(east * math.cos(bearing) - north * math.sin(bearing))
    long, wide = (one.length + other.length) / 2, (_width(one) + _width(other)) / 2
    reach = max(long, wide) if turned > 0.3 else wide
    return along <= float(long) + BESIDE and across <= float(reach) + BESIDE


def _middle(berth):
    """East and north of the middle of a berth's length. [m]"""
    bearing, half = math.radians(berth.bearing_deg), float(berth.length) / 2
    return float(berth.east) + half * math.sin(bearing), float(berth.north) + half * math.cos(bearing)


def _width(berth):
    return (
        Decimal(12) if berth.clear_width is None else berth.clear_width
    )  # side-to: a boat each side of y = 0


def _of_line(line):
    """Tie-ups of the stays and sets where the line is at work, or was found when she was made fast."""
    return (
        Q(stay__lines__line=line.pk, stay__lines__back__isnull=True)
        | Q(stay__made_fast__lines__line=line.pk)
        | Q(line_set__positions__uses__line=line.pk, line_set__positions__uses__back__isnull=True)
    )


def _of_look(look):
    """Tie-ups that rest on a line's wear, where this look at it tells another wear than the one before."""
    others = Inspection.objects.filter(line=look.line_id).exclude(pk=look.pk)
    before = others.filter(at__lte=look.at).order_by("-at", "-id").values_list("advice", flat=True).first()
    return _of_line(look.line) if (before in WORN) != (look.advice in WORN) else Q(pk__in=[])


def _of_use(use):
    """What was found with the lines that are there; a plan asks for lines, whichever the store hands out."""
    if use.stay_id:
        return Q(stay=use.stay_id, sort=Sort.FOUND)
    return _of_set(use.position.line_set) if use.position_id else NOTHING


def _of_set(line_set):
    """The set's own tie-ups, and those of her stays at that berth."""
    here = Q(stay__vessel=line_set.vessel_id, stay__berth=line_set.berth_id)
    return Q(line_set=line_set.pk) | here


def _of_berths(**where):
    """Tie-ups at the berths that match, by stay or by line set."""
    berths = list(Berth.objects.filter(**where).values_list("pk", flat=True))
    return Q(stay__berth__in=berths) | Q(line_set__berth__in=berths)


def _of_water(water_id):
    return _of_berths(water=water_id) | _of_berths(water__outer=water_id)


def _of_reading(reading):
    """A reading says how high a regulated water stands; what is predicted stays, whatever somebody read."""
    return _of_water(reading.water_id) if reading.water.kind == "limits" else NOTHING


def _of_notice(notice):
    """The stays that it touches, and all that are judged for always."""
    then = Q(stay__depart__gt=notice.starts)
    if notice.ends is not None:
        then &= Q(stay__arrive__lt=notice.ends)
    always = Q(line_set__isnull=False) | Q(stay__depart__isnull=True) | Q(stay__purpose=Purpose.PERMANENT)
    return (then | always) & _of_water(notice.water_id)


def _of_forecast(forecast):
    """The stays of its time. LAT to HAT, on which permanent berths and open stays are judged, is of no time."""
    if forecast.surge_down is None and forecast.surge_up is None:
        return NOTHING  # wind alone: no tie-up rests on it
    then = Q(stay__arrive__lte=forecast.ends, stay__depart__gt=forecast.starts)
    then &= ~Q(stay__purpose=Purpose.PERMANENT)
    return then & (EVERYTHING if forecast.water_id is None else _of_water(forecast.water_id))


def _of_rule(rule):
    return EVERYTHING if book().get(rule.key, {}).get("tie_up", True) else NOTHING


# Whatever was changed of these, the same tie-ups rest on them before and after: asked for once.
BY_ITS_KEY = {Vessel, Line, Berth, Fastening, Face, Water}
AFFECTED = {
    Vessel: lambda vessel: _of_vessel(vessel.pk),
    DeckFitting: lambda fitting: _of_vessel(fitting.vessel_id),
    GearZone: lambda zone: _of_vessel(zone.vessel_id),
    Line: _of_line,
    Inspection: _of_look,
    LineUse: _of_use,
    LineSet: _of_set,
    SetPosition: lambda position: _of_set(position.line_set),
    Berth: lambda berth: _of_berths(pk=berth.pk),
    Fastening: lambda fastening: _of_berths(fastenings__fastening=fastening.pk),
    BerthFastening: lambda named: _of_berths(pk=named.berth_id),
    Face: lambda face: _of_berths(faces__face=face.pk),
    BerthFace: lambda named: _of_berths(pk=named.berth_id),
    Water: lambda water: _of_water(water.pk),
    Notice: _of_notice,
    Reading: _of_reading,
    Forecast: _of_forecast,
    HouseRule: _of_rule,
    Stay: _of_stay,
}
