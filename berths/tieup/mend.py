"""What would mend it, where no set of lines keeps every limit: what can be done here first, another berth last."""

import numpy as np

from berths.tieup import cases as casework
from berths.tieup import limits
from berths.tieup import outcome as outcomes
from berths.tieup.loads import KNOT
from berths.tieup.roles import role_words


def words(work):
    """In the order in which they are worth trying; nothing where every limit is kept.

    Parameters
    ----------
    work : Work
        Of a recommendation.

    Returns
    -------
    list of str
    """
    if work.chosen is None:
        lacking = [f"a fastening where a {role_words(role)} can be led to" for role in work.missing]
        return [*lacking, "another berth"]
    if not work.broken:
        return []
    told = list(dict.fromkeys(b.mend for b in work.broken))
    told += [f"a fastening where a {role_words(role)} can be led to" for role in work.chosen.missing]
    if (knots := up_to(work)) is not None:
        told.append(f"not above {knots} kn of wind: up to there these lines keep every limit")
    return [*told, *(["another berth"] if "another berth" not in told else [])]


def up_to(work):
    """Greatest gust in whole knots up to which the set keeps every limit; None if not even a knot, or if none breaks one.

    Looked for between the stated speeds at every level and from every stated direction, knot by knot: a stronger
    wind is not always the worse one. Where the cases were stated only their own speeds count.
    """
    soft, stiff, figures = work.soft, work.stiff, work.figures
    kept = limits.holds_to(soft, stiff, figures)
    stated = np.unique(np.round([c.wind_speed or 0.0 for c in soft.cases], 6))
    if kept is None or kept >= stated[-1]:
        return None
    least = int(kept / KNOT + 1e-3)
    if work.asked.cases is not None:
        return least or None
    above = stated[stated > kept][0]
    speeds = [n for n in range(least + 1, int(np.ceil(above / KNOT - 1e-3)))]
    for knots in speeds:
        if not _keeps(work, knots * KNOT):
            break
        least = knots
    return least or None


def _keeps(work, speed):
    levels = sorted(set(work.soft.levels))
    cases = casework.grid(work.scenario, levels, work.scenario.weather.wind_from_deg, [speed])
    soft, stiff = (
        outcomes.run(work.scenario, [work.lines], cases, slope, second="none")
        for slope in (work.figures.stretch_soft, work.figures.stretch_stiff)
    )
    return bool((limits.worst_case(soft, stiff, work.figures) <= limits.OVER).all())
