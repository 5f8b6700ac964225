"""The energy of many problems at once: lines, contact, load, and a weak pull home."""

import copy

import numpy as np

RESTORING = 0.1  # N/m; makes the answer unique when all is slack, too weak to matter where anything holds
_SPRING = RESTORING * np.array([[1.0], [0.0], [1.0], [0.0], [0.0], [1 / 3]])  # LOA^2 / 12 in heading


class Energy:
    """Energy of some of a Problem's rows, with gradient and Hessian in (x, y, heading x half length)."""

    def __init__(self, problem, rows, load=1.0):
        self.lines, self.around, self.half = problem.packed.rows(rows), problem.around, problem.half
        self.home = problem.scaled(problem.berthed[None])
        self.load = problem.force.T[:, rows % len(problem.cases)] * load / [[1.0], [1.0], [self.half]]
        turns = np.array([0, 0, 0, 1, 0, 0, 0, 1, 1, 2])  # how often each term is taken by the heading
        self.per_turn = self.half ** -turns[:, None].astype(float)

    def keep(self, which):
        out = copy.copy(self)
        out.lines, out.load = self.lines.keep(which), self.load[:, which]
        return out

    def evaluate(self, q):
        heading = q[2] / self.half
        at = (q[0], q[1], np.cos(heading), np.sin(heading))
        terms = self.lines.evaluate(*at)
        contact = self.around.evaluate(*at)
        if contact is not None:
            terms += contact
        terms *= self.per_turn
        away = q - self.home
        back = _SPRING[[0, 2, 5]] * away - self.load
        terms[0] += (away * (back - self.load)).sum(axis=0) / 2
        terms[1:4] += back
        terms[4:] += _SPRING
        return terms
