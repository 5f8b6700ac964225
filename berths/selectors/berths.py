"""Berths, and where boats and lines are: what the pages of single things show."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from django.db.models import Q

from berths.heights import depth_over
from berths.models import LineUse
from berths.reader import reader_of
from berths.selectors import visible
from berths.selectors.mine import own_lines, with_lines
from berths.selectors.standing import standings
from berths.selectors.water import spans
from berths.selectors.weak import fault_of_fastening, faults_of_berth
from marina.base import clock, house

A_DAY = timedelta(hours=25)  # two lows and two highs of any tide


# --- lists in walking order ------------------------------------------------------------------------------


def walk(user, moment):
    """All berths this person may see, in walking order, each with `lying` and `coming` at that moment."""
    berths = with_stays(user, moment, moment + timedelta(days=7))
    stays = [stay for berth in berths for stay in (*berth.lying, *berth.coming)]
    known = standings(stays, user)
    for stay in stays:
        stay.standing = known[stay.pk]
    return berths


def with_stays(user, moment, until, *, also_gone=False):
    """Berths in walking order, each with `lying` at the moment and `coming` until then. Two queries.

    A boat that is made fast lies there until somebody says that she has left, whatever was booked. With
    `also_gone` boats that have left since count too: for a day that is over.
    """
    here = Q(depart=None) | Q(depart__gt=moment)
    if moment <= clock.now():
        here |= Q(state="fast")
    berths = list(visible.berths(user).select_related("pier"))
    stays = (
        visible.stays(user)
        .filter(here, arrive__lte=until, berth__in=[b.pk for b in berths])
        .exclude(state__in=("cancelled",) if also_gone else ("cancelled", "left"))
        .select_related("vessel")
        .order_by("raft_place", "arrive")
    )
    places = {berth.pk: berth for berth in berths}
    for berth in berths:
        berth.lying, berth.coming = [], []
    for stay in stays:
        berth = places[stay.berth_id]
        (berth.lying if stay.arrive <= moment else berth.coming).append(stay)
    return berths


# --- one berth -------------------------------------------------------------------------------------------


def berth_page(user, berth):
    """What the page of one berth shows, for what this person may see of it."""
    now = clock.now()
    span = spans([berth.water], now, now + A_DAY)[berth.water_id]
    stays = list(
        visible.stays(user)
        .filter(berth=berth)
        .exclude(state="cancelled")
        .select_related("vessel__owner")
        .order_by("-arrive", "raft_place")[:20]
    )
    present = [
        s for s in stays if s.state != "left" and (s.depart is None or s.depart > now or s.state == "fast")
    ]
    known = standings(present, user)
    for stay in present:
        stay.standing = known[stay.pk]
    fastenings = list(berth.fastenings.select_related("fastening"))
    for link in fastenings:
        link.fault = fault_of_fastening(link.fastening)
    line_sets = list(
        with_lines(visible.line_sets(user).filter(berth=berth, ends=None)).select_related("vessel", "owner")
    )
    for line_set in line_sets:
        line_set.rows = own_lines(line_set)
    faults = faults_of_berth(berth, span.highest_ever, reader_of(user))
    return {
        "lying": [s for s in present if s.arrive <= now],
        "coming": sorted((s for s in present if s.arrive > now), key=lambda s: s.arrive),
        "past": [s for s in stays if s not in present],
        "faults": faults,
        "anything_wrong": bool(faults) or any(link.fault for link in fastenings),
        "fastenings": fastenings,
        "faces": list(berth.faces.select_related("face")),
        "line_sets": line_sets,
        "suits": what_it_suits(berth, span, now),
        "water": water_at(berth, span, now),
    }


@dataclass(frozen=True)
class Suits:
    """The largest boat that the survey allows. None: not known."""

    length: Decimal
    beam: Decimal | None
    draft_tonight: float | None
    draft_always: float | None


def what_it_suits(berth, span, now):
    """Length with the overhang allowed, beam with room for fenders, draft at the lowest water with surge."""
    rules = house.rules()
    gap = Decimal(str(rules["fender_gap"]))
    keel = rules["H8"].get(berth.bed_kind) if berth.bed_kind else max(rules["H8"].values())

    def draft(window):
        if berth.bed_z is None or window.lowest is None or berth.kind == "drying":
            return None
        return max(0.0, window.lowest - float(berth.bed_z) - keel)

    return Suits(
        length=_longest(berth, rules["H9"]),
        beam=None if berth.clear_width is None else berth.clear_width - 2 * gap,
        draft_tonight=draft(span.window(now, now + A_DAY, now=now)),
        draft_always=draft(span.window(now, None, now=now)),
    )


def _longest(berth, rule):
    """Longest boat: the berth and what may reach past its end, by its own figure or the house rule."""
    if berth.overhang is not None:
        return berth.length + berth.overhang
    value = Decimal(str(rule["value"]))
    if rule["basis"] == "metres":
        return berth.length + value
    share = value / 100
    return berth.length * (1 + share) if rule["basis"] == "percent_of_berth" else berth.length / (1 - share)


def water_at(berth, span, now):
    """Level and depth now and at the next turns: rows of (what, time, level, depth); None is not known."""

    def row(words, time, level):
        return {"words": words, "time": time, "level": level, "depth": depth_over(level, berth.bed_z)}

    rows = [row("now", now, span.level(now))]
    return rows + [row("high" if t.high else "low", t.time, t.level) for t in span.turns()[:4]]


# --- one boat, one line ----------------------------------------------------------------------------------


def boat_page(user, vessel):
    """Where she is, how she stands, her lines, her stays."""
    now = clock.now()
    stays = list(
        visible.stays(user).filter(vessel=vessel).select_related("berth__pier").order_by("-arrive")[:20]
    )
    present = [
        s for s in stays if s.state == "fast" or (s.state == "booked" and (not s.depart or s.depart > now))
    ]
    known = standings(present, user)
    for stay in present:
        stay.standing = known[stay.pk]
    line_sets = list(
        with_lines(visible.line_sets(user).filter(vessel=vessel, ends=None)).select_related("berth")
    )
    for line_set in line_sets:
        line_set.rows = own_lines(line_set)
    return {
        "present": sorted(present, key=lambda s: s.arrive),
        "past": [s for s in stays if s not in present],
        "line_sets": line_sets,
        "lent": list(LineUse.objects.filter(stay__in=present, back=None).select_related("line")),
        "fittings": list(vessel.fittings.all()),
        "zones": list(vessel.zones.all()),
    }
