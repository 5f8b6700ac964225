"""Lay out what nobody has measured of a boat, from her kind and length, and say of each part that it is an estimate.

Only what is not given is filled in, and what was an estimate before follows when her measures are corrected.
Nothing here becomes a measure: `Vessel.estimated` names the parts, and every page that uses them says so.
"""

from decimal import Decimal

from django.db import transaction

from vessels import hull
from vessels.models import DeckFitting

HEIGHTS, WEIGHT, OUTLINE, WIND, FITTINGS = "heights", "displacement", "outline", "windage", "fittings"


def lay_out(vessel, *, loa):
    """Fill in and save heights of her side, weight, outline, wind areas and deck fittings, as far as not given.

    Parameters
    ----------
    vessel : Vessel
        Saved, with her beam; without it there is nothing to go by and nothing is done.
    loa : float
        Length over everything that she is worked out with. [m]

    Returns
    -------
    Vessel
        Outline and wind areas are estimated only for a boat whose kind is known. Without it the engine takes the
        worst of all kinds and says so itself.
    """
    if vessel.beam is None:
        return vessel
    beam, draft, kind = float(vessel.beam), _number(vessel.draft), hull.CLASS_OF.get(vessel.hull_class)
    estimates = set(vessel.estimated)
    if HEIGHTS in estimates or (vessel.rub_low is None and vessel.rub_high is None):
        vessel.rub_low, vessel.rub_high = map(_metres, hull.rub_band(loa))
        vessel.freeboard_estimated = True
        estimates.add(HEIGHTS)
    if WEIGHT in estimates or vessel.displacement is None:
        vessel.displacement = Decimal(str(round(hull.displacement(loa, beam, draft), -1)))
        estimates.add(WEIGHT)
    if kind and (OUTLINE in estimates or vessel.outline is None):
        vessel.outline = [[round(x, 3), round(y, 3)] for x, y in hull.outline(loa, beam, kind)]
        estimates.add(OUTLINE)
    if kind and (WIND in estimates or vessel.windage is None):
        vessel.windage = {name: round(v, 2) for name, v in hull.windage(loa, beam, kind).items()}
        estimates.add(WIND)
    rows = {row.code: row for row in vessel.fittings.all()}
    if FITTINGS in estimates or not rows:
        estimates.add(FITTINGS)
    vessel.estimated = sorted(estimates)
    vessel.full_clean()
    with transaction.atomic():
        vessel.save()
        if FITTINGS in estimates:
            _fit_out(vessel, loa, beam, rows)
    return vessel


def lay_out_again(vessel, *, loa):
    """Her measures were corrected: what was estimated from the old ones is estimated from the new ones."""
    return lay_out(vessel, loa=loa) if vessel.estimated else vessel


def _fit_out(vessel, loa, beam, rows):
    """Six cleats where most boats have them; one that is there already is moved, for lines may refer to it."""
    strength, source = hull.fitting_strength(loa)
    for place in hull.fittings(loa, beam):
        row = rows.get(place["id"]) or DeckFitting(vessel=vessel, code=place["id"])
        row.x, row.y, row.z = (_metres(place[axis]) for axis in "xyz")
        row.z_estimated = True
        if row.strength is None or row.strength_basis.startswith("estimate"):
            row.strength, row.strength_basis = strength, f"estimate: {source}"[:120]
        row.full_clean()
        row.save()


def said(vessel):
    """What of this boat is an estimate, in words for a page: a list of (what, from what)."""
    by = (
        f"her kind ({vessel.get_hull_class_display()}), length and beam"
        if vessel.hull_class
        else "length and beam"
    )
    words = {
        HEIGHTS: ("height of her side above the water", "her length"),
        WEIGHT: ("weight", "length, beam and draft"),
        OUTLINE: ("outline from above", by),
        WIND: ("area the wind catches", by),
        FITTINGS: ("places of her cleats, and what they bear", _basis(vessel)),
    }
    return [words[part] for part in vessel.estimated if part in words]


def _basis(vessel):
    bases = {
        row.strength_basis.removeprefix("estimate: ") for row in vessel.fittings.all() if row.strength_basis
    }
    return "; ".join(["length and beam", *sorted(bases)])


def _number(value):
    return None if value is None else float(value)


def _metres(value):
    return Decimal(str(round(value, 3)))
