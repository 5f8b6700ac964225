"""What goes next when a line parts: it is taken away and the rest is solved again, until none parts.

A warning, never the state: the pose and the pulls that are reported are those of unbroken lines.
"""

import numpy as np

from berths.tieup import outcome as outcomes


def words(work, i):
    """What happens once line `i` has parted, in the weakest wind that breaks it; None where it never parts."""
    cases = work.middle.cases
    parted = rows(work, i)
    if not len(parted):
        return None
    first = min(parted, key=lambda n: (cases[n].wind_speed or 0.0, cases[n].current_speed or 0.0, n))
    gone, left, moved = follow(work, cases[first])
    together, *later = gone
    also = [name for name in together if name != work.lines[i].id]
    told = [f"{_and(also)} part{'' if len(also) > 1 else 's'} with it"] if also else []
    told += [f"then {_and(names)}" for names in later]
    if left and moved <= work.figures.lost_line_movement * work.scenario.boat.beam:
        told.append(
            f"the other{'s' if len(left) > 1 else ''} hold{'' if len(left) > 1 else 's'} her, {moved:.1f} m away"
        )
    else:
        told.append("nothing holds her in her place")
    return f"when it does, {', '.join(told)} ({cases[first].id})"


def rows(work, i):
    """Cases in which line `i` parts, as it would with rope of the middle stretch."""
    broken = (work.middle.tension[0, :, i] > work.lines[i].mbs) & ~work.middle.unsolved()[0]
    return np.flatnonzero(broken)


def follow(work, case):
    """Take away what parts in one case, again and again.

    Returns
    -------
    gone : list of list of str
        Ids of the lines that part together, in the order they go.
    left : list of Line
    moved : float
        How far she is from where she was put when no more part; inf where that could not be worked out. [m]
    """
    left, gone = list(work.lines), []
    while left:
        outcome = outcomes.run(work.scenario, [left], [case], second="none")
        pulls = outcome.tension[0, 0]
        broken = [line for line, pull in zip(left, pulls, strict=True) if pull > line.mbs]
        if not broken:
            solved = not outcome.unsolved()[0, 0]
            return gone, left, float(outcome.moved()[0, 0]) if solved else float("inf")
        gone.append([line.id for line in broken])
        left = [line for line in left if line not in broken]
    return gone, [], float("inf")


def _and(names):
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
