"""Where a boat lies in her berth, and where the berth lies on the harbour plan.

The plan is metres east and north; a berth's frame is its origin and the true bearing of +x, y to the left of it.
Everybody who draws or works out a boat in her berth asks here, so that all mean the same place.
"""

import math

import numpy as np

from berths.tieup.geometry import to_berth
from berths.tieup.scenario import Boat
from marina.base import house
from vessels import hull

END_ON = ("slip", "box", "stern_to")
OFF_THE_DOCK = 0.6  # m, end of a boat from the inner end of her slip: common practice, no source
PAST_LAST_PILE = 0.45  # m her stern reaches past the last pile she lies on: common practice, no source
MAY_SHIFT = 0.15  # m: 0.3 to 0.6 m past the pile is as it should be (R-CP-7)


class Frame:
    """A berth's frame on the harbour plan.

    Parameters
    ----------
    berth : Berth
        With `east`, `north` [m] and `bearing_deg`, the true bearing of +x.
    """

    def __init__(self, berth):
        self.origin = np.array([berth.east, berth.north], float)
        bearing = math.radians(float(berth.bearing_deg))
        self.axes = np.array(
            [[math.sin(bearing), math.cos(bearing)], [-math.cos(bearing), math.sin(bearing)]]
        )

    def of_plan(self, east, north):
        """(east, north) in the berth's frame, to 0.1 mm. [m]"""
        x, y = self.axes @ (np.array([east, north], float) - self.origin)
        return round(float(x), 4) + 0.0, round(float(y), 4) + 0.0  # + 0.0: no -0.0

    def to_plan(self, points):
        """Points of the berth's frame on the plan. (n, 2) [m]"""
        return self.origin + np.asarray(points, float) @ self.axes


def length_of(vessel, rules):
    """Length over everything as she lies, and what it rests on: measured, else declared with the house's doubt.

    Returns
    -------
    (float, str)
        [m]; for instance `(11.865, "declared + 5 %")`.
    """
    counts, rests_on = vessel.length_that_counts(rules | {"H4": "over_everything"})
    return float(counts), rests_on


def lying(stay, loa, piles, inside=0.0, rules=None):
    """Where she lies, unless a person said otherwise.

    End-on: on the centreline, her end 0.6 m from the dock. Side-to: one fender off the face and in the middle of
    the berth; at a face of piles so that her stern reaches 0.45 m past the last pile she lies on.

    Parameters
    ----------
    stay : Stay
        `lies_x`, `lies_y` and `heading_deg` are a person's word and go before the rule.
    loa : float
        [m]
    piles : list of float
        x of the piles of the face, where it is one of piles. [m]
    inside : float
        Width of the boats that lie between her and the dock. [m]
    rules : mapping, optional
        House rules, where they have been read already.

    Returns
    -------
    (x, y, heading) : float
        Pose in the berth's frame, as the engine has it. [m, m, degrees]
    """
    heading = heading_of(stay)
    if stay.berth.kind in END_ON:
        x, y = OFF_THE_DOCK + loa / 2, 0.0
    else:
        x = _stern_past_a_pile(float(stay.berth.length), loa, heading, piles)
        y = inside + float(stay.vessel.beam) / 2 + fender_of(stay.vessel, rules)
    x = x if stay.lies_x is None else float(stay.lies_x)
    return x, y if stay.lies_y is None else float(stay.lies_y), heading


def heading_of(stay):
    """Her heading from +x, counter-clockwise: as said, else from the end that is in or the side she lies on."""
    if stay.heading_deg is not None:
        return float(stay.heading_deg)
    if stay.berth.kind in END_ON:
        return 180.0 if "bow" in (stay.end_in, stay.side_to) else 0.0
    return 180.0 if stay.side_to == "port" else 0.0


def fender_of(vessel, rules=None):
    """Diameter of her fenders, else the house's. [m]"""
    if vessel.fender_diameter is not None:
        return float(vessel.fender_diameter)
    return float((rules or house.rules())["fender_gap"])


def _stern_past_a_pile(length, loa, heading, piles):
    """The x nearest the middle of the berth at which her stern reaches past one of its piles.

    Where that leaves an end of her nothing to spare in the berth, she is shifted by what the pile allows.
    """
    middle, sternward = length / 2, -1 if math.cos(math.radians(heading)) >= 0 else 1
    places = [pile + sternward * (PAST_LAST_PILE - loa / 2) for pile in piles]
    x = min(places, key=lambda x: abs(x - middle), default=middle)
    short, far = MAY_SHIFT - (x - loa / 2), x + loa / 2 - (length - MAY_SHIFT)
    out = max(0.0, short) - max(0.0, far)
    return x + max(-MAY_SHIFT, min(MAY_SHIFT, out)) if places else x


def piles_of(berth):
    """x of the piles of a face of piles, in the berth's frame; none at other berths. [m]

    Needs `fastenings` with their fastening and `faces` with their face.
    """
    if berth.kind in END_ON or all(row.face.continuous is not False for row in berth.faces.all()):
        return []
    frame = Frame(berth)
    piles = [row.fastening for row in berth.fastenings.all() if row.fastening.kind == "pile"]
    return [frame.of_plan(pile.east, pile.north)[0] for pile in piles]


def half_outline(vessel, loa):
    """Her outline in the boat frame as recorded, else the port half of that of her class, else None. [m]"""
    if vessel.outline:
        return [tuple(map(float, point)) for point in vessel.outline]
    kind = hull.CLASS_OF.get(vessel.hull_class)
    return hull.outline(loa, float(vessel.beam), kind) if kind else None


def outline_on_plan(stay, loa, inside=0.0, rules=None):
    """Her outline as she lies, on the plan. (n, 2) [m east, m north]"""
    beam = float(stay.vessel.beam)
    x, y, heading = lying(stay, loa, piles_of(stay.berth), inside, rules)
    half = half_outline(stay.vessel, loa) or hull.outline(loa, beam)
    mirrored = [(px, -py) for px, py in reversed(half) if py] if min(y for _, y in half) >= 0 else []
    boat = Boat(loa=loa, beam=beam, x=x, y=y, heading_deg=heading)
    return Frame(stay.berth).to_plan(to_berth(boat, [*half, *mirrored]))
