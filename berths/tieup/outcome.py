"""What sets of lines do over a list of cases: the arrays of the solver, and the extremes read from them.

One `Outcome` holds K sets over the same N cases; its arrays start with (sets, cases). A case in which she could
come to lie in two places stands in it twice, the second time at the end: whatever is read from the arrays is then
the worse of the two.
"""

from dataclasses import dataclass, replace

import numpy as np

from berths.tieup import equilibrium, geometry
from berths.tieup.verdict import Band

SLACK_BELOW = 1.0  # N: a line that pulls less counts as slack


@dataclass(frozen=True)
class Outcome:
    """Arrays (sets, cases, ...): pose, tension [N], vertical [N], distance [m], clearance [m], status.

    The first `stated` cases are those that were asked; `second` says for each row after them which of those it is
    again, in the other place. A set that has one place only in such a case has the same numbers in both rows.
    """

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
    stated: int
    second: tuple = ()

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
        """Cases that were not solved. (sets, cases) bool"""
        return self.status == "not_converged"

    def folded(self, use):
        """The greater of the two rows of each case that stands here twice. (sets, stated cases)"""
        out = np.array(use[:, : self.stated])
        for row, n in enumerate(self.second, self.stated):
            out[:, n] = np.maximum(out[:, n], use[:, row])
        return out

    def rows_of(self, n):
        """Rows in which stated case `n` stands."""
        return [n, *(row for row, of in enumerate(self.second, self.stated) if of == n)]

    def only(self, n):
        """This for one stated case, in either place: for the limits, not for the solver."""
        rows = self.rows_of(n)
        names = ("pose", "tension", "distance", "slack", "vertical", "status")
        picked = {name: getattr(self, name)[:, rows] for name in names}
        cases = [self.cases[row] for row in rows]
        return replace(self, cases=cases, stated=1, second=(0,) * (len(rows) - 1), **picked)

    def two_places(self, k=0):
        """Cases in which she could lie in two places, with both poses: {case index: (pose, pose)}."""
        rows = enumerate(self.second, self.stated)
        return {
            n: (self.pose[k, n], self.pose[k, row]) for row, n in rows if self.status[k, row] == "bistable"
        }

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


def run(scenario, sets, cases, slope=1.0, second="doubtful", start=None):
    """Solve K sets of lines over N cases and return the `Outcome`.

    second : 'all', 'doubtful' or 'none': for which cases a second answer is looked for.
    start : poses to start from, (cases, 3), the same for every set; None starts where she was put.
    """
    problem = equilibrium.Problem(scenario, sets, cases, slope=slope)
    start = None if start is None else np.tile(start, (len(sets), 1))
    solution = problem.solve(start, second_start=second)
    again = tuple(sorted({m % len(cases) for m in solution.others})) if solution.others else ()
    if again:
        problem, solution = _twice(problem, solution, again, slope)
    k, n = len(sets), len(problem.cases)
    tension, distance, slack, vertical = (a.reshape(k, n, -1) for a in problem.lines(solution.pose))
    return Outcome(
        scenario=scenario,
        sets=sets,
        cases=problem.cases,
        problem=problem,
        solution=solution,
        pose=solution.pose.reshape(k, n, 3),
        tension=tension,
        distance=distance,
        slack=slack,
        vertical=vertical,
        status=np.asarray(solution.status).reshape(k, n),
        stated=len(cases),
        second=again,
    )


def _twice(problem, solution, again, slope):
    """The same problem and solution with a row more for each of these cases: her other place in it."""
    sets, cases, rows = problem.sets, problem.cases, list(again)
    wider = equilibrium.Problem(problem.scenario, sets, [*cases, *(cases[n] for n in rows)], slope=slope)

    def widened(values):
        each = values.reshape(len(sets), len(cases), *values.shape[1:])
        return np.concatenate([each, each[:, rows]], axis=1).reshape(-1, *values.shape[1:])

    pose, others = widened(solution.pose), {}
    for m, other in solution.others.items():
        k, n = divmod(m, len(cases))
        pose[k * len(wider.cases) + len(cases) + rows.index(n)] = other
        others[k * len(wider.cases) + n] = other
    return wider, wider.found(pose, widened(solution.rounds), widened(solution.status), others)


def in_all_curves(scenario, lines, cases, figures):
    """One set over all cases with soft, middle and stiff rope: three `Outcome`.

    Where she could lie in two places with the middle curve, both are followed with the other two.
    """
    middle = run(scenario, [lines], cases, second="all")
    start = None
    if middle.second:
        boat = scenario.boat
        start = np.tile([boat.x, boat.y, np.radians(boat.heading_deg)], (len(middle.cases), 1))
        both = [*middle.second, *range(middle.stated, len(middle.cases))]
        start[both] = middle.pose[0, both]
    soft, stiff = (
        _told_once(run(scenario, [lines], middle.cases, slope, "none", start), middle)
        for slope in (figures.stretch_soft, figures.stretch_stiff)
    )
    return soft, middle, stiff


def _told_once(outcome, middle):
    """An `Outcome` over the rows of `middle`: those that are second places there are second places here."""
    rows = [*range(middle.stated), *middle.second]
    second = (*middle.second, *(rows[n] for n in outcome.second))
    return replace(outcome, stated=middle.stated, second=second)


def reach(outcome, k=0):
    """The rectangle her hull sweeps over all cases: x low, y low, x high, y high. [m]"""
    corners = outcome.corners()[k].reshape(-1, 2)
    return tuple(float(v) for v in (*corners.min(axis=0), *corners.max(axis=0)))


def neighbour_gaps(outcome, k=0):
    """Least gap to each neighbour over all cases, with the case: {id: (gap, case index)}. [m]"""
    found = {name: gap for name, gap in _gaps(outcome, k).items() if np.isfinite(gap).any()}
    return {name: (float(gap.min()), int(gap.argmin())) for name, gap in found.items()}


def gap_beside(outcome, k=0):
    """Gap to the nearest neighbour in each case, inf where none is near. (cases,) [m]"""
    return np.min([np.full(len(outcome.cases), np.inf), *_gaps(outcome, k).values()], axis=0)


def _gaps(outcome, k):
    hulls, gaps = outcome.corners()[k], {}
    for neighbour in outcome.scenario.berth.neighbours:
        if neighbour.outline and len(neighbour.outline) > 2:
            polygon = geometry.convex_hull(neighbour.outline)
            low, high = polygon.min(axis=0), polygon.max(axis=0)
            near = np.flatnonzero(
                ((hulls.min(axis=1) < high + 0.5) & (hulls.max(axis=1) > low - 0.5)).all(axis=1)
            )
            gaps[neighbour.id] = np.full(len(hulls), np.inf)
            if near.size:
                gaps[neighbour.id][near] = geometry.gap_between(hulls[near], polygon)
    return gaps
