"""Finds the poses of least energy for many problems at once (Levenberg-Marquardt, damped Newton).

Unknowns are (x, y, heading x half her length), so that all three are in metres and every force in newtons.
"""

import numpy as np

TOLERANCE = 1e-3  # N; where a problem counts as solved to the end
LONGEST_STEP = 0.5  # m
_FIRST_DAMPING = 1e-2
_SHRINK_AT = 0.8  # solved problems are dropped from the arrays when fewer than this share is left
# a symmetric 3 x 3 matrix is kept as six entries, xx, xy, yy, xt, yt, tt
_SQUARE = np.array([[0, 1, 3], [1, 2, 4], [3, 4, 5]])  # where they stand
_DIAGONAL = np.array([[1.0], [0.0], [1.0], [0.0], [0.0], [1.0]])
_MINORS = np.array([  # entry of the adjugate = first x second - third x fourth
    [2, 3, 0, 1, 1, 0], [5, 4, 5, 4, 3, 2], [4, 1, 3, 3, 0, 1], [4, 5, 3, 2, 4, 1],
])  # fmt: skip


def residual(gradient):
    """Largest of the force left over and the moment left over / half length, (M,). [N]"""
    return np.maximum(np.hypot(gradient[0], gradient[1]), np.abs(gradient[2]))


def matrix(hessian):
    """The six entries (6, M) as full symmetric matrices (M, 3, 3)."""
    return hessian[_SQUARE].transpose(2, 0, 1)


def descend(energy, start, k_ref, rounds):
    """Go down from each start until the residual is under `TOLERANCE` or the rounds are used up.

    Parameters
    ----------
    energy : object
        `evaluate(q)` gives (10, M): energy, gradient (3), Hessian (6: xx, xy, yy, xt, yt, tt);
        `keep(which)` gives the same for some of the problems.
    start : ndarray, (3, M)
        [m]
    k_ref : float
        Stiffness that the damping is measured in: fixed, for the stiffness at the place is nearly 0 where all
        lines are slack. [N/m]
    rounds : int

    Returns
    -------
    q : ndarray, (3, M)
    terms : ndarray, (10, M)
        At q.
    used : ndarray, (M,)
        Rounds until solved.
    """
    total = start.shape[1]
    end, end_terms, used = start.copy(), np.empty((10, total)), np.full(total, rounds)
    rows, q, terms = np.arange(total), start.copy(), energy.evaluate(start)
    damping = np.full(total, _FIRST_DAMPING)
    left = residual(terms[1:4])
    for turn in range(rounds):
        live = ~(left <= TOLERANCE)
        count = np.count_nonzero(live)
        if count <= _SHRINK_AT * len(rows):
            done = rows[~live]
            end[:, done], end_terms[:, done] = q[:, ~live], terms[:, ~live]
            used[done] = np.minimum(used[done], turn)
            if not count:
                return end, end_terms, used
            energy, rows, q, terms = energy.keep(live), rows[live], q[:, live], terms[:, live]
            damping, left, live = damping[live], left[live], np.ones(count, bool)
        elif count < len(rows):
            used[rows[~live]] = np.minimum(used[rows[~live]], turn)
        q, terms, damping, left = _one_round(energy, (q, terms, damping, left), live, k_ref)
    end[:, rows], end_terms[:, rows] = q, terms
    return end, end_terms, used


def _one_round(energy, state, live, k_ref):
    """The same state (place, terms, damping, residual) after one step was tried and taken or refused."""
    q, terms, damping, left = state
    shift = damping * k_ref
    step, clipped, sound = _step(terms, shift)
    tried = q + np.where(sound & live, step, 0.0)
    new = energy.evaluate(tried)
    new_left = residual(new[1:4])
    fall = terms[0] - new[0]
    # what the undamped quadratic model promises, by way of (H + shift) full step = -gradient
    promised = 0.5 * shift * (step * step).sum(axis=0) - (1 - 0.5 * clipped) * (terms[1:4] * step).sum(axis=0)
    gain = fall / np.maximum(promised, 1e-200)
    rounding = 1e-12 * (1.0 + np.abs(terms[0]))
    polished = (new_left < left) & (fall >= -rounding)
    taken = sound & live & ((fall > 0) | polished)
    change = np.where((gain > 0.75) | (polished & (fall <= rounding)), 0.3, np.where(gain > 0.25, 0.5, 2.0))
    damping = np.clip(damping * np.where(taken, change, np.where(live, 6.0, 1.0)), 1e-12, 1e12)
    return (
        np.where(taken, tried, q),
        np.where(taken, new, terms),
        damping,
        np.where(taken, new_left, left),
    )


def _step(terms, shift):
    """Damped Newton step (3, M) [m], the share it was clipped to, and whether it surely leads down."""
    h = terms[4:] + _DIAGONAL * shift
    # by its adjugate: a general solver for thousands of 3 x 3 systems costs more than the physics
    a, b, c, d = h[_MINORS]
    adjugate = a * b - c * d
    first = _SQUARE[0]
    det = (h[first] * adjugate[first]).sum(axis=0)
    sound = (h[0] > 0) & (adjugate[5] > 0) & (det > 0)
    step = (adjugate[_SQUARE] * terms[1:4]).sum(axis=1)
    step /= -np.where(sound, det, 1.0)
    longest = np.maximum(np.hypot(step[0], step[1]), np.abs(step[2]))
    clipped = LONGEST_STEP / np.maximum(longest, LONGEST_STEP)
    return step * clipped, clipped, sound
