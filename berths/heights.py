"""Heights of a boat, a dock and a gangway, from their rows. What is not recorded stays None: not known.

Levels are metres above the datum of the berth's water; what floats has its heights above the water.
"""

from dataclasses import dataclass
from math import floor, sqrt

FLAT = 20  # a gangway that rises less than 1 in so many is told as nearly level (common practice, no source)


@dataclass(frozen=True)
class Her:
    """What of a boat the level asks for. [m]; heights above the water."""

    draft: float | None
    rests_on: str
    deck: float | None
    rail: float | None
    estimated: bool
    takes_ground: bool

    @classmethod
    def of(cls, vessel):
        fittings = [f for f in vessel.fittings.all() if f.z is not None and f.in_use]
        heights = [float(f.z) for f in fittings]
        rail = None if vessel.rub_high is None else float(vessel.rub_high)
        deck = min(heights) if heights else rail
        return cls(
            draft=None if vessel.draft is None else float(vessel.draft),
            rests_on="measured" if vessel.draft_measured is not None else "declared",
            deck=deck,
            rail=deck if rail is None else rail,
            estimated=any(f.z_estimated for f in fittings) if fittings else vessel.freeboard_estimated,
            takes_ground=bool(vessel.takes_ground),
        )


@dataclass(frozen=True)
class Edge:
    """The dock's edge. `top`: above datum, or above the water where it floats [m]; None: not known."""

    top: float | None
    floats: bool


def edge_of(berth, faces):
    """The edge one steps from: the berth's own figure, else the top of its dock or quay.

    Piles with gaps may stand higher than the dock behind them, so their tops tell nothing.
    """
    dock = next((f for f in faces if f.in_use and f.top_z is not None and f.continuous is not False), None)
    floats = dock.floats if dock else berth.kind == "floating"
    top = None if dock is None else float(dock.top_z)
    return Edge(top if floats or berth.edge_z is None else float(berth.edge_z), floats)


def depth_over(level, bed):
    """Depth over a bed, never below nothing; None where either is not known. [m]"""
    return None if level is None or bed is None else max(0.0, level - float(bed))


@dataclass(frozen=True)
class Gangway:
    """It rises 1 in `one_in`, to a tenth on the steeper side; None: nearly level. `up`: from the dock."""

    one_in: float | None
    up: bool


def gangway(berth, edge, level):
    """The gangway of a floating berth at a level; None where its length, hinge, dock or the level is not known."""
    figures = (berth.gangway_length, berth.gangway_hinge_z, edge.top, level)
    if not edge.floats or None in figures:
        return None
    length, hinge, dock, water = map(float, figures)
    rise = hinge - water - dock
    if abs(rise) >= length:
        return None
    run = sqrt(length**2 - rise**2)
    return Gangway(floor(10 * run / abs(rise)) / 10 if abs(rise) * FLAT >= run else None, rise > 0)
