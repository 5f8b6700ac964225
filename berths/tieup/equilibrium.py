"""Where a boat comes to lie: the balance of lines, contact, wind and stream, for many sets and cases at once.

The boat is a rigid body in the plane, loads are steady and stand still, contact has no friction: so there is
an energy, and she lies where it is least. Frames and signs: see the docstring of `berths.tieup`.
"""

from dataclasses import dataclass, field

import numpy as np

from berths.tieup.contact import Surroundings
from berths.tieup.descent import TOLERANCE, descend, matrix, residual
from berths.tieup.energy import Energy
from berths.tieup.lines import Lines
from berths.tieup.loads import coefficient, force

ROUNDS = 200
CHUNK = 20_000  # problems in one batch: about 2 kB each
UNSOLVED = 0.1  # N; more than this left over is not a balance
ANOTHER_PLACE = 0.25  # m; answers farther apart are different answers
CARRIES = 1.0  # N; a line with less counts as slack
CONTACT = np.dtype([
    ("row", int), ("kind", "U8"), ("id", "U60"),
    ("x", float), ("y", float), ("depth", float), ("force", float),
])  # fmt: skip
_RESCUE_LOADS = (0.05, 0.2, 0.4, 0.6, 0.8, 1.0)
_STEP_OFF = np.array([0.05, -0.05, 0.02])  # m, m, rad
_SECOND_START = np.array([[0.2], [-0.2], [0.2]])  # m
_CANT_GET_THERE = 0.1  # m deep
_SAME = 1e-3  # peak tensions nearer than this are the same: mirrored answers keep their order


@dataclass
class Solution:
    """Answers of M problems, set-major: problem k * N + n is set k in case n.

    Attributes
    ----------
    pose : ndarray, (M, 3)
        x, y [m] and heading [rad], not wrapped.
    residual : ndarray, (M,)
        Largest of the force and the moment / half length that is left over. [N]
    rounds : ndarray, (M,)
    energy : ndarray, (M,)
        [J]
    smallest_eigenvalue : ndarray, (M,)
        Of the stiffness in (x, y, heading x half length). [N/m]
    status : ndarray of str, (M,)
        ok, not_converged, bistable, parted or all_slack: the first that applies.
    others : dict of int to ndarray, (3,)
        The other place of each bistable problem; `pose` is the one with the worse peak tension.
    """

    pose: np.ndarray
    residual: np.ndarray
    rounds: np.ndarray
    energy: np.ndarray
    smallest_eigenvalue: np.ndarray
    status: np.ndarray
    others: dict = field(default_factory=dict)


class Problem:
    """K sets of lines in N cases each, packed for solving.

    Parameters
    ----------
    scenario : Scenario
        Filled: every number that is used is there.
    sets : list of list of Line
        Each line with `length`, `mbs` and stiffness (or material).
    cases : list of Case
        With `level`.
    slope : float
        Times the stiffness of every line: below 1 for soft rope, above for stiff.

    Raises
    ------
    ValueError
        Naming the case, line, fitting or face and what it lacks.
    """

    def __init__(self, scenario, sets, cases, slope=1.0):
        for case in cases:
            if case.level is None:
                raise ValueError(f"case {case.id!r}: level is missing, and needed")
        boat = scenario.boat
        self.half = boat.loa / 2
        self.berthed = np.array([boat.x, boat.y, np.radians(boat.heading_deg)])
        self.scenario, self.sets, self.cases = scenario, sets, cases
        self.size = len(sets) * len(cases)
        self.packed = Lines(scenario, sets, np.array([case.level for case in cases], float), slope)
        self.around = Surroundings(scenario)
        self.force = force(scenario, cases)
        self.k_ref = self.packed.stiffest() or max(self.around.point_k, default=1.0)

    # -- solving --

    def solve(self, start=None, second_start="all"):
        """Find every balance, and what kind it is.

        Parameters
        ----------
        start : ndarray, (M, 3), optional
            Poses to start from; without it the berthed pose.
        second_start : str or ndarray of bool, (M,)
            Which problems are solved again from either side of their answer, to see whether she could lie
            elsewhere as well: "all", "none", "doubtful" (with a contact, or without a taut line) or a mask.

        Returns
        -------
        Solution
        """
        q = self.scaled(np.broadcast_to(self.berthed, (self.size, 3)) if start is None else start)
        rows = np.arange(self.size)
        q, terms, used = self._descend(rows, q, ROUNDS)
        self._rescue(q, terms, used)
        left = residual(terms[1:4])
        lowest = np.zeros(self.size)
        if self.size:
            lowest = np.linalg.eigvalsh(matrix(terms[4:]))[:, 0]
        others = {}
        self._leave_saddles(np.flatnonzero((lowest <= 0) & (left <= UNSOLVED)), q, terms, others)
        self._look_beside(second_start, q, terms, others)
        left = residual(terms[1:4])
        if self.size:
            lowest = np.linalg.eigvalsh(matrix(terms[4:]))[:, 0]
        self._worse_first(q, terms, others)
        pose = self._pose(q)
        status = self._status(pose, left, others)
        others = {int(m): self._pose(q[:, None])[0] for m, q in others.items()}
        return Solution(pose, left, used, terms[0], lowest, status, others)

    def found(self, pose, rounds, status, others):
        """The `Solution` of poses that are known already, (M, 3)."""
        terms = Energy(self, np.arange(self.size)).evaluate(self.scaled(pose))
        lowest = np.linalg.eigvalsh(matrix(terms[4:]))[:, 0]
        return Solution(pose, residual(terms[1:4]), rounds, terms[0], lowest, status, others)

    def _descend(self, rows, q, rounds, load=1.0):
        ends = [np.empty((3, 0)), np.empty((10, 0)), np.empty(0, int)]
        parts = [
            descend(Energy(self, rows[i : i + CHUNK], load), q[:, i : i + CHUNK], self.k_ref, rounds)
            for i in range(0, len(rows), CHUNK)
        ]
        return [np.concatenate(part, axis=-1) for part in zip(ends, *parts, strict=True)]

    def _rescue(self, q, terms, used):
        """Give the unsolved ones more rounds; what is left starts again, the load raised bit by bit."""
        for loads in ((1.0,), _RESCUE_LOADS):
            rows = np.flatnonzero(~(residual(terms[1:4]) <= UNSOLVED))
            if not len(rows):
                return
            berthed = self.scaled(np.broadcast_to(self.berthed, (len(rows), 3)))
            now = q[:, rows] if len(loads) == 1 else berthed
            for load in loads:
                now, new, more = self._descend(rows, now, 2 * ROUNDS, load)
                used[rows] += more
            better = residual(new[1:4]) < residual(terms[1:4, rows])
            q[:, rows[better]], terms[:, rows[better]] = now[:, better], new[:, better]

    def _leave_saddles(self, rows, q, terms, others):
        """A balance that is not a minimum: step off both ways. Two ends far apart are two answers."""
        if not len(rows):
            return
        step = (_STEP_OFF * [1, 1, self.half])[:, None]
        (q1, t1, _), (q2, t2, _) = (self._descend(rows, q[:, rows] + sign * step, ROUNDS) for sign in (1, -1))
        solved1, solved2 = (residual(t[1:4]) <= UNSOLVED for t in (t1, t2))
        apart = solved1 & solved2 & (self._apart(q1, q2) > ANOTHER_PLACE)
        for i in np.flatnonzero(apart):
            others[rows[i]] = q2[:, i]
        first = solved1 & (apart | ~solved2 | (t1[0] <= t2[0]))
        q[:, rows], terms[:, rows] = np.where(first, q1, q2), np.where(first, t1, t2)

    def _look_beside(self, which, q, terms, others):
        """Solve again from either side of the answer; where a pile or face end holds her, of the berth too.

        She may pass such a point on one side or the other, and a start square on to it says nothing.
        """
        touching, pointed = np.zeros((2, self.size), bool)
        for touch in self.around.touches(*self._trig(q)):
            touching[touch.row] = True
            pointed[touch.row[touch.body >= len(self.around.face_ids)]] = True
        if isinstance(which, np.ndarray):
            chosen = which
        elif which == "doubtful":
            chosen = touching | ~(self.lines(self._pose(q))[0] > 0).any(axis=1)
        else:
            chosen = np.full(self.size, which == "all")
        beside, squared = np.flatnonzero(chosen), np.flatnonzero(chosen & pointed)
        berthed, step = self.scaled(self.berthed[None]), (_STEP_OFF * [1, 1, self.half])[:, None]
        for sign in (1, -1):
            self._start_again(beside, q[:, beside] + sign * _SECOND_START, q, terms, others)
            self._start_again(squared, np.repeat(berthed + sign * step, len(squared), 1), q, terms, others)

    def _start_again(self, rows, start, q, terms, others):
        """Keep an answer elsewhere that is as good a balance."""
        depth = np.zeros(len(rows))
        for touch in self.around.touches(*self._trig(start)):
            np.maximum.at(depth, touch.row, touch.depth)
        rows, start = rows[depth <= _CANT_GET_THERE], start[:, depth <= _CANT_GET_THERE]
        if not len(rows):
            return
        q2, t2, _ = self._descend(rows, start, ROUNDS)
        solved = residual(t2[1:4]) <= TOLERANCE
        far = solved & (self._apart(q2, q[:, rows]) > ANOTHER_PLACE)
        if far.any():
            far[far] = np.linalg.eigvalsh(matrix(t2[4:, far]))[:, 0] > 0
        loose = residual(terms[1:4, rows]) > TOLERANCE
        for i in np.flatnonzero(far & ~loose):
            others.setdefault(rows[i], q2[:, i])
        better = solved & loose
        q[:, rows[better]], terms[:, rows[better]] = q2[:, better], t2[:, better]

    def _worse_first(self, q, terms, others):
        """Of two answers report the one with the worse peak tension."""
        if not others:
            return
        rows = np.array(sorted(others))
        other = np.column_stack([others[m] for m in rows])
        swap = self._peaks(other, rows) > self._peaks(q[:, rows], rows) * (1 + _SAME)
        for i in np.flatnonzero(swap):
            others[rows[i]] = q[:, rows[i]].copy()
        rows, other = rows[swap], other[:, swap]
        q[:, rows] = other
        if len(rows):
            terms[:, rows] = Energy(self, rows).evaluate(other)

    def _peaks(self, q, rows):
        part = self.packed.rows(rows)
        return (part.tensions(*self._trig(q))[0] / part.mbs).max(axis=0, initial=0.0)

    def _status(self, pose, left, others):
        tension = self.lines(pose)[0]
        status = np.full(self.size, "ok", "U13")
        status[~(tension >= CARRIES).any(axis=1)] = "all_slack"
        mbs = self.packed.mbs.T.repeat(len(self.cases), axis=0)
        status[(tension > mbs).any(axis=1)] = "parted"
        status[list(others)] = "bistable"
        status[~(left <= UNSOLVED)] = "not_converged"
        return status

    # -- frames --

    def scaled(self, pose):
        """Poses (M, 3) as the unknowns of the solver, (3, M): x, y, heading x half length. [m]"""
        return np.array(pose, float).T * np.array([[1.0], [1.0], [self.half]])

    def _pose(self, q):
        return (q / np.array([[1.0], [1.0], [self.half]])).T

    def _trig(self, q):
        heading = q[2] / self.half
        return q[0], q[1], np.cos(heading), np.sin(heading)

    def _apart(self, q1, q2):
        away = q1 - q2
        return np.maximum(np.hypot(away[0], away[1]), np.abs(away[2]))

    # -- what a pose means --

    def lines(self, pose):
        """Tension [N], distance [m], slack [m] and vertical pull [N, up positive], each (M, L).

        The distance of a line that is led round a pile includes the part behind it. Where a set has fewer
        lines than L, the rest is 0.
        """
        return tuple(self._of_lines(pose)[:4])

    def pulls(self, pose):
        """Pull of every line on the boat (its shore end feels the opposite), (M, L, 3). [N]"""
        return self._of_lines(pose)[4]

    def _of_lines(self, pose):
        q = self.scaled(pose)
        tension, distance, slack, pull = self.packed.rows(np.arange(self.size)).tensions(*self._trig(q))
        real = self.packed.real.repeat(len(self.cases), axis=1)
        out = [np.where(real, a, 0.0).T for a in (tension, distance, slack, pull[2])]
        return [*out, np.where(real, pull, 0.0).transpose(2, 1, 0)]

    def contacts(self, pose):
        """Every contact point, as rows of `CONTACT` ordered by problem: row, kind, id, x, y, depth, force."""
        touches = self.around.touches(*self._trig(self.scaled(pose)))
        out = np.zeros(sum(len(t.row) for t in touches), CONTACT)
        if touches:
            for name in ("row", "x", "y", "depth", "force"):
                out[name] = np.concatenate([getattr(t, name) for t in touches])
            bodies = np.array(self.around.bodies)[np.concatenate([t.body for t in touches])]
            out["kind"], out["id"] = bodies.T
        return out[np.argsort(out["row"], kind="stable")]

    def clearance(self, pose):
        """Least distance of the hull from each face along its normal, (M, faces). [m]

        Negative where she presses on it, +inf where no part of her is beside it. Faces as in the Scenario.
        """
        return self.around.clearance(self.sweep(pose))

    def sweep(self, pose):
        """Corners of the hull in the berth frame, (M, corners, 2). [m]"""
        return self.around.sweep(*self._trig(self.scaled(pose)))

    def starts_in_contact(self):
        """Contact deeper than a survey's doubt at the berthed pose, before any load: rows of `CONTACT`."""
        found = self.contacts(self.berthed[None])
        return found[found["depth"] > coefficient("starts_in_contact").value]
