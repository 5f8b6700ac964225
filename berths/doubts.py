"""What in a survey is possible but looks like a slip of the pen. Thresholds: common practice, no source."""

import math

import numpy as np

from berths.models import Berth, Face, Fastening
from berths.models.harbour import BerthKind
from marina.base import clock

FAR_BERTH = 500.0  # m from the nearest other berth
FAR_FASTENING = 40.0  # m from the berth that uses it
WEAK, STRONG = 3_000, 500_000  # N
FEET = 40.0  # m: few boats of a small harbour are longer, but many are in feet
DEEP, HIGH = -20.0, 20.0  # m above datum


def of_berth(berth, was, known):
    """(column, words) of what is doubtful about a berth."""
    if berth.length > FEET:
        yield "length", f"{berth.length:.1f} m is long for a small harbour. Is it in feet?"
    if berth.clear_width is not None and berth.clear_width > berth.length:
        yield "clear_width", "It is wider than it is long."
    yield from _bed(berth)
    yield from _heights(berth, "guide_pile_top_z", "edge_z", "gangway_hinge_z", "power_z")
    yield from _to_come(berth, "sounded_on")
    far = _nearest(berth, known)
    if far is not None and far > FAR_BERTH:
        yield "east", f"The nearest other berth is {far:,.0f} m away. Look at east and north."


def _bed(berth):
    if berth.bed_z is None or berth.kind == BerthKind.DRYING:
        return
    lowest = berth.water.low if berth.water.kind == "limits" and berth.water.low is not None else 0
    if berth.bed_z > lowest:
        yield (
            "bed_z",
            f"The bed lies {berth.bed_z - lowest:.2f} m above the lowest water, and boats here stay afloat. Is a minus "
            "missing?",
        )
    elif berth.bed_z < DEEP:
        yield "bed_z", f"{-berth.bed_z:.1f} m is deep for a berth. Is it in feet?"


def _nearest(berth, known):
    """Distance to the nearest other berth, in metres; None when there is no other."""
    rows = known.rows(Berth)
    places = known.extra("places of berths", lambda: np.array([[b.east, b.north] for b in rows], float))
    if len(places) < 2:
        return None
    apart = np.hypot(*(places - [float(berth.east), float(berth.north)]).T)
    return float(np.partition(apart, 1)[1])  # [0] is the berth itself


def of_fastening(fastening, known):
    if fastening.strength is not None and fastening.strength < WEAK:
        yield (
            "strength",
            f"{fastening.strength:,} N is what {fastening.strength / 9.81:,.0f} kg weigh. Is the figure in "
            "kilograms? Times 9.81 it is in newtons.",
        )
    if fastening.strength is not None and fastening.strength > STRONG:
        yield "strength", f"{fastening.strength:,} N is the weight of {fastening.strength / 9810:,.0f} t."
    if fastening.diameter is not None and fastening.diameter > 1:
        yield "diameter", f"{fastening.diameter:g} m across. Is it in centimetres or inches?"
    if fastening.cleat_length is not None and fastening.cleat_length > 1:
        yield "cleat_length", f"A cleat of {fastening.cleat_length:g} m. Is it in centimetres or inches?"
    if None not in (fastening.z, fastening.top_z) and not fastening.floats and fastening.z > fastening.top_z:
        yield "z", "A line would bear above the top of the pile."
    if fastening.kind == "pile" and fastening.floats:
        yield "floats", "A pile that floats. Piles stand; the cleats on a floating dock float."
    yield from _heights(fastening, "z", "top_z", "low_turn_z", "high_turn_z")
    yield from _to_come(fastening, "last_checked")
    yield from _far(fastening, [(fastening.east, fastening.north)], "east", known)


def of_face(face, known):
    long = math.hypot(face.east2 - face.east1, face.north2 - face.north1)
    if not 0.5 <= long <= 300:
        yield "east2", f"The face is {long:.1f} m long. Look at its two ends."
    yield from _heights(face, "top_z", "underside_z")
    ends = [(face.east1, face.north1), (face.east2, face.north2)]
    middle = [((float(ends[0][n]) + float(ends[1][n])) / 2 for n in (0, 1))]
    yield from _far(face, [*ends, *(tuple(m) for m in middle)], "east1", known, spare=long / 2)


def _far(row, points, column, known, spare=0.0):
    """Farther from a berth that uses it than any line reaches."""
    for link in row.links:
        for berth in known.named(Berth, "code", link.berth.code):
            away = min(_away(berth, *map(float, point)) for point in points)
            if away > FAR_FASTENING + spare:
                yield column, f"It is {away:,.0f} m away from berth {berth}. Look at east and north."


def _away(berth, east, north):
    """Distance of a point from the berth's middle line. [m]"""
    bearing, long = math.radians(berth.bearing_deg), float(berth.length)
    across, up = east - float(berth.east), north - float(berth.north)
    along = min(max(across * math.sin(bearing) + up * math.cos(bearing), 0.0), long)
    return math.hypot(across - along * math.sin(bearing), up - along * math.cos(bearing))


def _heights(row, *names):
    for name in names:
        value = getattr(row, name)
        if value is not None and not DEEP <= value <= HIGH:
            yield name, f"{value:g} m above the datum. Is it in feet, or from another zero?"


def _to_come(row, name):
    if getattr(row, name) and getattr(row, name) > clock.today():
        yield name, "This day is still to come."


OF = {Fastening: of_fastening, Face: of_face}
