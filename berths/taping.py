"""What a person tapes on the dock, as places on the harbour plan, and back.

One stands on the dock, looks out over the water and tapes from the left-hand corner of the berth: along the
edge of the dock to the right, and out from the edge (back from it: below nothing). In a berth that a boat
enters end-on the frame of the record begins in the middle of the inner end, so the distance from the corner to
that middle belongs to it; alongside the corner is where the frame begins.
"""

import math
from dataclasses import dataclass
from decimal import Decimal

from berths.lying import END_ON
from marina.base.units import STEP

HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True)
class Corner:
    """The left-hand corner of a berth.

    Parameters
    ----------
    kind : str
        Stored kind of the berth.
    east, north : Decimal
        Place of the corner on the plan. [m]
    outward : Decimal
        True bearing in which one looks straight out from the dock. [degrees]
    to_middle : Decimal
        Along the dock from the corner to the middle of the berth; it counts end-on only. [m]
    """

    kind: str
    east: Decimal
    north: Decimal
    outward: Decimal
    to_middle: Decimal = Decimal(0)

    @classmethod
    def of(cls, berth):
        """The corner of a stored berth; end-on it is half the clear width from the middle, where that is known."""
        if berth.kind not in END_ON:
            return cls(berth.kind, berth.east, berth.north, (berth.bearing_deg - 90) % 360)
        half = ((berth.clear_width or Decimal(0)) / 2).quantize(STEP)
        at_middle = cls(berth.kind, berth.east, berth.north, berth.bearing_deg % 360)
        east, north = at_middle.place(-half, Decimal(0))
        return cls(berth.kind, east, north, at_middle.outward, half)

    @property
    def frame(self):
        """`east`, `north` and `bearing_deg` as the berth stores them."""
        if self.kind in END_ON:
            east, north = self.place(self.to_middle, Decimal(0))
            return {"east": east, "north": north, "bearing_deg": self.outward.quantize(HUNDREDTH)}
        bearing = ((self.outward + 90) % 360).quantize(HUNDREDTH)
        return {"east": self.east, "north": self.north, "bearing_deg": bearing}

    def place(self, along, out):
        """(east, north) of what is so far along the dock and out from it, to 0.1 mm. [m]"""
        sin, cos = self._turn()
        along, out = float(along), float(out)
        east = float(self.east) + along * cos + out * sin
        north = float(self.north) - along * sin + out * cos
        return _metres(east), _metres(north)

    def taped(self, east, north):
        """(along, out) of a place on the plan, to 0.1 mm. [m]"""
        sin, cos = self._turn()
        de, dn = float(east) - float(self.east), float(north) - float(self.north)
        return _metres(de * cos - dn * sin), _metres(de * sin + dn * cos)

    def in_frame(self, along, out):
        """(x, y) of the berth's frame. [m]"""
        if self.kind in END_ON:
            return float(out), float(self.to_middle) - float(along)
        return float(along), float(out)

    def from_frame(self, x, y):
        """(along, out) of a point of the berth's frame. [m]"""
        x, y = Decimal(str(x)), Decimal(str(y))
        return (self.to_middle - y, x) if self.kind in END_ON else (x, y)

    def _turn(self):
        angle = math.radians(float(self.outward))
        return math.sin(angle), math.cos(angle)


def _metres(value):
    return Decimal(str(round(value, 4))).quantize(STEP) + 0


def distance(one, other):
    """Between two places on the plan. [m]"""
    return ((one[0] - other[0]) ** 2 + (one[1] - other[1]) ** 2).sqrt()
