"""How long a line must be: distances over the water range, working, card and cut length, and reach.

A boat fitting stands at `level + z`; a shore fitting at `z`, or at `level + z` where it floats. So the distance
between a fixed and a floating end has a least value where both are level, and its greatest at an end of the
range: tension from the water peaks at the ends, slack and movement in between.
"""

import itertools
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Run:
    """Where one line runs at the berthed pose: horizontal lead, height of the shore end over the boat's. [m]

    `rise` is that height when the level is at datum; `floats` says that it never changes. `extra` is the part
    beyond a pile the line is led round.
    """

    lead: float
    rise: float
    floats: bool
    extra: float = 0.0

    def height(self, levels):
        """Height of the shore end above the boat's at these levels. [m]"""
        levels = np.asarray(levels, float)
        return np.full(levels.shape, self.rise) if self.floats else self.rise - levels

    def distance(self, levels):
        """Distance along the line at these levels. [m]

        Examples
        --------
        >>> Run(lead=12.0, rise=0.0, floats=False).distance([0.0, 4.0]).round(3)
        array([12.   , 12.649])
        """
        return np.hypot(self.lead, self.height(levels)) + self.extra


def run_of(boat_xy, boat_z, shore, via=None):
    """The `Run` from a boat fitting (berth frame) to a shore fitting, led round `via` if there is one."""
    end = via or shore
    lead = float(np.hypot(end.x - boat_xy[0], end.y - boat_xy[1]))
    extra = (
        0.0 if via is None else float(np.hypot(np.hypot(shore.x - via.x, shore.y - via.y), shore.z - via.z))
    )
    return Run(lead, end.z - boat_z, bool(end.floats), extra)


def strain_at(table, share, slope=1.0):
    """Strain at which a stretch curve, its tensions times `slope`, reaches a share of strength. [-]

    table : rows of (strain, tension / mbs), starting at (0, 0) or above.

    Examples
    --------
    >>> strain_at([(0, 0), (0.1, 0.1), (0.2, 0.4)], 0.25)
    0.15
    """
    rows = [(0.0, 0.0), *[(e, t * slope) for e, t in table if e > 0]]
    for (e1, t1), (e2, t2) in itertools.pairwise(rows):
        if t2 >= share and t2 > t1:
            return e1 + (e2 - e1) * (share - t1) / (t2 - t1)
    (e1, t1), (e2, t2) = rows[-2:]
    return e2 + (share - t2) * (e2 - e1) / (t2 - t1) if t2 > t1 else e2


def curve_of(line):
    """The stretch curve of a line as a table, whichever way its stiffness was given."""
    if line.stiffness.table:
        return line.stiffness.table
    return [(0.0, 0.0), (0.01, 0.01 * line.stiffness.ea / line.mbs)]


def working_length(run, levels, calm_strain):
    """The shortest length that never pulls hard in calm: greatest distance / (1 + 0.6 calm strain). [m]"""
    return float(run.distance(levels).max() / (1 + 0.6 * calm_strain))


def least_length(run, levels, strain, movement):
    """Shortest length that reaches over these levels if she may move `movement` toward its fastening. [m]

    Returns the length and the level that asks for it.
    """
    reach = np.hypot(max(0.0, run.lead - movement), run.height(levels)) + run.extra
    worst = int(np.argmax(reach))
    return float(reach[worst] / (1 + strain)), float(np.asarray(levels)[worst])


def tight_level(run, levels, length):
    """The level beyond which a line of this length is tight within these levels, and on which side. [m]

    Returns
    -------
    (level, side)
        Side 'low': tight below the level; 'high': tight above it. (None, None) where it never comes tight, or
        is tight at every level.

    Examples
    --------
    >>> tight_level(Run(lead=1.0, rise=2.7, floats=False), [1.4, 3.0], 1.2)
    (2.037, 'low')
    """
    reach = length - run.extra
    if run.floats or reach <= run.lead:
        return None, None
    half = float(np.sqrt(reach**2 - run.lead**2))
    below, above = run.rise - half - np.min(levels), np.max(levels) - run.rise - half
    if max(below, above) <= 0:
        return None, None
    return (run.rise - half, "low") if below >= above else (run.rise + half, "high")


def set_level(run, levels, length):
    """Level at which the line is just straight, at its governing end; None where it never changes. [m]"""
    if run.floats:
        return None
    fine = np.linspace(float(np.min(levels)), float(np.max(levels)), 801)
    gap = run.distance(fine) - length
    end = 0 if gap[0] >= gap[-1] else -1
    if gap[end] <= 0:
        return float(fine[end])
    order = range(len(fine)) if end == 0 else range(len(fine) - 1, -1, -1)
    return next((float(fine[i]) for i in order if gap[i] <= 0), float(fine[end]))


def card_length(length, run, shore):
    """Length to a pile's near face, which is what a hand measures; elsewhere the working length. [m]"""
    if shore.kind != "pile" or not shore.diameter:
        return length
    slope = run.lead / max(float(np.hypot(run.lead, run.rise)), 1e-9)
    return max(0.0, length - shore.diameter / 2 * slope)


def cut_length(length, shore, boat_fitting, diameter_mm, figures):
    """Rope to cut for a working length: eye ashore, turns on her cleat, tail. [m]

    The parts are house figures; cleats of unknown size count as 16 rope diameters (R-CLEAT-1).
    """
    if shore.kind == "pile":
        eye = figures.eye_pile_share * np.pi * (shore.diameter or 0.3) + figures.eye_tucks
    else:
        eye = figures.eye_cleat
    cleat = boat_fitting.cleat_length or 16 * diameter_mm / 1000
    return float(length + eye + figures.cleat_turns * cleat + figures.tail)


def least_lead(height, span, strain):
    """Least lead for a line snug at mid-water whose strain at the ends of the range may be `strain`. [m]

    height : of the shore end above the boat's at mid-water. [m]
    span : range of water. [m]

    Examples
    --------
    >>> round(least_lead(0.0, 1.0, 0.05), 2), round(least_lead(1.0, 1.0, 0.05), 2)
    (1.56, 3.35)
    """
    over = (1 + strain) ** 2 - 1
    inner = (abs(height) + span / 2) ** 2 - (1 + strain) ** 2 * height**2
    return float(np.sqrt(max(inner, 0.0) / over)) if over > 0 else float("inf")
