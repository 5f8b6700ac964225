"""Where a line runs: over her gear, over the edge of a dock, across another line. Berth frame, at the berthed pose."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from berths.tieup import geometry

WET_GEAR = ("propeller", "drive", "rudder")
IN_THE_WAY = (
    "ladder",
    "gate",
)  # what people go through: blocked only by a line across it, not by one beside it
STEPS = 41  # points along a piece
CHAFE = 0.3  # m; ropes that cross nearer than this saw each other. Common practice, no source.
LIES_ON = 0.02  # m; a line that passes lower than this under an edge bends over it
AT_ITS_END = 0.05  # m; an edge nearer than this to the fitting is the fitting's own


@dataclass(frozen=True)
class Piece:
    """One straight piece of a line: from `start` to `end` in the plane; heights are those of its ends.

    An end that floats has its height above the water, one that does not above datum. [m]
    """

    start: np.ndarray
    end: np.ndarray
    heights: tuple
    floats: tuple

    def at(self, share):
        """Place at a share of its length, (n, 2) for n shares."""
        return self.start + np.asarray(share, float)[..., None] * (self.end - self.start)

    def height(self, share, levels):
        """Height above datum at these shares and levels, (shares, levels). [m]"""
        levels, share = (
            np.atleast_1d(np.asarray(levels, float)),
            np.atleast_1d(np.asarray(share, float))[:, None],
        )
        low, high = (
            z + (levels if f else 0.0 * levels) for z, f in zip(self.heights, self.floats, strict=True)
        )
        return (1 - share) * low + share * high

    @property
    def length(self):
        return float(np.linalg.norm(self.end - self.start))


def pieces(scenario, boat_fitting, shore, via=None):
    """The straight pieces of a line from her fitting to the shore fitting, round `via` if there is one."""
    start = geometry.to_berth(scenario.boat, [[boat_fitting.x, boat_fitting.y]])[0]
    ends = [(start, boat_fitting.z, True)]
    ends += [(np.array([f.x, f.y], float), f.z, bool(f.floats)) for f in (via, shore) if f is not None]
    return [Piece(a[0], b[0], (a[1], b[1]), (a[2], b[2])) for a, b in pairwise(ends)]


def over_gear(scenario, figures, levels, piece):
    """The gear that a piece passes over or too near to, as words; None where it is clear of everything.

    Gear under water counts only where the line comes low over it; what people pass through only where the line
    crosses it.
    """
    share = np.linspace(0, 1, STEPS)
    points = piece.at(share)
    hers = geometry.to_boat(scenario.boat, points)
    for zone, at, whose in (
        *((z, hers, "her ") for z in scenario.boat.zones),
        *((z, points, "the ") for z in scenario.berth.zones),
    ):
        if None in (zone.x1, zone.x2, zone.y1, zone.y2):
            continue
        clear = 0.0 if zone.kind in IN_THE_WAY else figures.gear_clearance
        near = _off(at, zone) < max(clear, 1e-9)
        if not near.any():
            continue
        above = piece.height(share[near], levels) - np.atleast_1d(levels)
        if zone.kind not in WET_GEAR or above.min() < figures.gear_clearance:
            return f"{whose}{zone.kind or zone.id}"
    return None


def _off(points, zone):
    """Distance of points from a zone's rectangle, 0 inside. (n,) [m]"""
    (x1, x2), (y1, y2) = sorted((zone.x1, zone.x2)), sorted((zone.y1, zone.y2))
    x, y = points.T
    return np.hypot(np.maximum(0, np.maximum(x1 - x, x - x2)), np.maximum(0, np.maximum(y1 - y, y - y2)))


def saw(one, other, levels):
    """Whether two pieces cross, away from their ends, so near that they saw each other at one of these levels."""
    at = geometry.cross(one.start, one.end, other.start, other.end)
    if at is None:
        return False
    shares = [float(np.linalg.norm(at - p.start)) / max(p.length, 1e-9) for p in (one, other)]
    if any(min(s, 1 - s) * p.length < CHAFE for s, p in zip(shares, (one, other), strict=True)):
        return False  # they meet at a fitting, which is not a crossing
    a, b = (p.height(s, levels)[0] for s, p in zip(shares, (one, other), strict=True))
    return bool(np.abs(a - b).min() < CHAFE or (np.ptp(np.sign(a - b)) > 0))


def bends_over(piece, face, levels):
    """Whether a piece is led behind a face so low that at some level it bends over the face's edge.

    None where the face's top is not known and the piece does pass behind it.
    """
    a, b = np.array([face.x1, face.y1], float), np.array([face.x2, face.y2], float)
    at = geometry.cross(piece.start, piece.end, a, b)
    if (
        at is None
        or np.linalg.norm(piece.end - at) < AT_ITS_END
        or np.linalg.norm(at - piece.start) < AT_ITS_END
    ):
        return False
    if face.top_z is None:
        return None
    share = float(np.linalg.norm(at - piece.start)) / piece.length
    levels = np.atleast_1d(np.asarray(levels, float))
    edge = face.top_z + (levels if face.floats else 0.0 * levels)
    return bool((piece.height(share, levels)[0] < edge - LIES_ON).any())


def sharp_edges(scenario, run, levels):
    """Ids of the sharp edges that the pieces of a line bend over: a sleeve goes on with it."""
    return [
        f.id for f in scenario.berth.faces if f.sharp and any(bends_over(piece, f, levels) for piece in run)
    ]
