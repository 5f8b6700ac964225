"""What sets of lines do over a list of cases: the arrays of the solver, and the extremes read from them.

One `Outcome` holds K sets over the same N cases; its arrays start with (sets, cases).
"""

from dataclasses import dataclass

import numpy as np

from berths.tieup import equilibrium, geometry
from berths.tieup.verdict import Band

SOLVED = ("ok", "all_slack", "parted")
SLACK_BELOW = 1.0  # N: a line that pulls less counts as slack


@dataclass(frozen=True)
class Outcome:
    """Arrays (sets, cases, ...): pose, tension [N], vertical [N], distance [m], clearance [m], status."""

    scenario: object
    sets: list
    cases: list
    problem: object
    solution: object
    pose: np.ndarray
    tension: np.ndarray
    distance: np.ndarray
    slack: np.ndarray
    vertical: np.ndarray
    status: np.ndarray

    @property
    def levels(self):
        return np.array([c.level for c in self.cases])

    @property
    def calm(self):
        """Cases without wind, stream or moment. (cases,) bool"""
        return np.array([not (c.wind_speed or c.current_speed or c.yaw_moment) for c in self.cases])

    @property
    def mbs(self):
        """Breaking strengths, (sets, 1, lines); padded lines are never near theirs. [N]"""
        width = self.tension.shape[2]
        rows = [[line.mbs for line in s] + [np.inf] * (width - len(s)) for s in self.sets]
        return np.array(rows, float).reshape(len(self.sets), 1, width)

    def ratio(self):
        """Tension over strength of every line. (sets, cases, lines)"""
        return self.tension / self.mbs

    def unsolved(self):
        """Cases that were not solved, or have two answers. (sets, cases) bool"""
        return ~np.isin(self.status, SOLVED)

    def moved(self):
        """How far her middle moved from where she was put. (sets, cases) [m]"""
        boat = self.scenario.boat
        return np.hypot(self.pose[..., 0] - boat.x, self.pose[..., 1] - boat.y)

    def corners(self):
        """Corners of her hull in the berth frame. (sets, cases, corners, 2) [m]"""
        outline = np.array(self.scenario.boat.outline) - [self.scenario.boat.loa / 2, 0]
        c, s = np.cos(self.pose[..., 2, None]), np.sin(self.pose[..., 2, None])
        x = self.pose[..., 0, None] + c * outline[:, 0] - s * outline[:, 1]
        y = self.pose[..., 1, None] + s * outline[:, 0] + c * outline[:, 1]
        return np.stack([x, y], axis=-1)

    def faces(self):
        """Distance of her hull to each face along its normal, (sets, cases, faces), inf where not beside it."""
        flat = self.problem.clearance(self.pose.reshape(-1, 3))
        return flat.reshape(*self.pose.shape[:2], -1)

    def band(self, k=0):
        """The extremes of one set, with the cases that govern them."""
        ratio, moved = self.ratio()[k], self.moved()[k]
        band = Band(excursion=float(moved.max()), excursion_case=self.cases[int(moved.argmax())].id)
        if ratio.size and self.sets[k]:
            case, line = np.unravel_index(int(ratio.argmax()), ratio.shape)
            band.peak_ratio = float(ratio[case, line])
            band.peak_line, band.peak_case = self.sets[k][int(line)].id, self.cases[int(case)].id
        ends = end_faces(self.scenario)
        if ends.any():
            gap = self.faces()[k][:, ends].min(axis=1)
            if np.isfinite(gap).any():
                band.min_clearance = float(gap.min())
                band.clearance_case = self.cases[int(gap.argmin())].id
        return band


def end_faces(scenario):
    """Faces across her ends (not those she lies along). (faces,) bool"""
    heading = np.radians(scenario.boat.heading_deg)
    ahead = np.array([np.cos(heading), np.sin(heading)])
    out = []
    for face in scenario.berth.faces:
        t = np.array([face.x2 - face.x1, face.y2 - face.y1])
        out.append(abs(t @ ahead) / np.linalg.norm(t) < np.cos(np.radians(30)))
    return np.array(out, bool)


def run(scenario, sets, cases, slope=1.0, second="doubtful"):
    """Solve K sets of lines over N cases and return the `Outcome`.

    second : 'all', 'doubtful' or 'none': for which cases a second answer is looked for.
    """
    problem = equilibrium.Problem(scenario, sets, cases, slope=slope)
    solution = problem.solve(second_start=second)
    k, n = len(sets), len(cases)
    tension, distance, slack, vertical = (a.reshape(k, n, -1) for a in problem.lines(solution.pose))
    return Outcome(
        scenario=scenario,
        sets=sets,
        cases=cases,
        problem=problem,
        solution=solution,
        pose=solution.pose.reshape(k, n, 3),
        tension=tension,
        distance=distance,
        slack=slack,
        vertical=vertical,
        status=np.asarray(solution.status).reshape(k, n),
    )


def reach(outcome, k=0):
    """The rectangle her hull sweeps over all cases: x low, y low, x high, y high. [m]"""
    corners = outcome.corners()[k].reshape(-1, 2)
    return tuple(float(v) for v in (*corners.min(axis=0), *corners.max(axis=0)))


def neighbour_gaps(outcome, k=0):
    """Least gap to each neighbour over all cases, with the case: {id: (gap, case index)}. [m]"""
    hulls = outcome.corners()[k]
    gaps = {}
    for neighbour in outcome.scenario.berth.neighbours:
        if neighbour.outline and len(neighbour.outline) > 2:
            polygon = geometry.convex_hull(neighbour.outline)
            low, high = polygon.min(axis=0), polygon.max(axis=0)
            near = np.flatnonzero(
                ((hulls.min(axis=1) < high + 0.5) & (hulls.max(axis=1) > low - 0.5)).all(axis=1)
            )
            if near.size:
                gap = geometry.gap_between(hulls[near], polygon)
                gaps[neighbour.id] = (float(gap.min()), int(near[gap.argmin()]))
    return gaps
