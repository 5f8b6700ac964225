"""Over what water and up to what wind a set of lines stands, and what gives first.

Both are looked for from what is present outward: the good levels need not be one span, and only the one she
lies in now is of use to her; a stronger wind is not always worse for every line, so each speed is tried.
"""

import numpy as np

from berths.tieup import cases as casework
from berths.tieup import limits
from berths.tieup import outcome as outcomes
from berths.tieup.scenario import Case
from berths.tieup.verdict import Stands, WaterEnd, WindLimit

LEVEL_STEP, LEVEL_FINE, LEVEL_BEYOND = 0.05, 0.01, 2.0  # m: grid, end result, how far past the window
SPEED_STEP, SPEED_MOST, HALVINGS = 2.0, 40.0, 4  # m/s; halved four times: to an eighth
OVER = 1 + 1e-6  # use of a limit that breaks it
DIRECTIONS = [10.0 * i for i in range(36)]


def how_far(work):
    """The span of water and the winds that the lines of a `Work` stand.

    Parameters
    ----------
    work : Work
        With lines and their outcomes.

    Returns
    -------
    Stands
    """
    return Stands(water=_water(work), wind=_wind(work))


def _use(work, cases):
    """Greatest use of any limit in each case, and its name. (cases,), (cases,)"""
    f = work.figures
    soft = outcomes.run(work.scenario, [work.lines], cases, f.stretch_soft, second="none")
    stiff = outcomes.run(work.scenario, [work.lines], cases, f.stretch_stiff, second="none")
    uses = {name: stiff.folded(u)[0] for name, u in limits.pulls(stiff, f).items()}
    uses |= {name: soft.folded(u)[0] for name, u in limits.moves(soft, f).items()}
    uses["solved"] = np.where(soft.folded(soft.unsolved())[0] | stiff.folded(stiff.unsolved())[0], 2.0, 0.0)
    table = np.array(list(uses.values()))
    names = np.array(list(uses))
    return table.max(axis=0), names[table.argmax(axis=0)], stiff


def _water(work):
    """Lowest and highest level at which every limit is kept in the strongest stated wind, or None."""
    present = work.scenario.water.now
    if present is None:
        present = float(np.mean([work.levels.min(), work.levels.max()]))
    low = min(work.levels.min(), present) - LEVEL_BEYOND
    high = max(work.levels.max(), present) + LEVEL_BEYOND
    ends = [
        _end(work, np.arange(present, low, -LEVEL_STEP)),
        _end(work, np.arange(present, high, LEVEL_STEP)),
    ]
    return None if None in ends else tuple(ends)


def _end(work, levels):
    """The last good level from the first of these outward; None if even the first breaks a limit."""
    use, names, lines = _by_level(work, levels)
    over = np.flatnonzero(use > OVER)
    if not over.size:
        return WaterEnd(level=float(levels[-1]), beyond=True)
    if over[0] == 0:
        return None
    level = _refine(work, float(levels[over[0] - 1]), float(levels[over[0]]))
    return WaterEnd(level=level, limit=str(names[over[0]]), line=lines[over[0]])


def _by_level(work, levels):
    """Worst use over the weather at each level, the limit and the line that pulls most there."""
    weather = work.scenario.weather
    winds = weather.wind_from_deg[:: max(1, len(weather.wind_from_deg) // 12)]
    grid = [casework.grid(work.scenario, [float(z)], winds, [max(weather.wind_speeds)]) for z in levels]
    each = len(grid[0])
    cases = [c.model_copy(update={"id": f"{n}"}) for n, c in enumerate(c for rows in grid for c in rows)]
    use, names, stiff = _use(work, cases)
    rows = use.reshape(-1, each)
    worst = rows.argmax(axis=1) + np.arange(len(rows)) * each
    pulls = stiff.ratio()[0][worst].argmax(axis=1)
    return use[worst], names[worst], [work.lines[i].id for i in pulls]


def _refine(work, good, bad):
    """The last good level between two, to 1 cm. [m]"""
    fine = np.arange(LEVEL_FINE, LEVEL_STEP, LEVEL_FINE) * np.sign(bad - good) + good
    use, _, _ = _by_level(work, fine)
    kept = np.cumprod(use <= OVER).astype(bool)
    return round(float(fine[kept][-1]) if kept.any() else good, 3)


def _wind(work):
    """For each direction the lowest gust that breaks a limit, at the worst of three levels."""
    levels = _worst_levels(work)
    speeds = np.arange(SPEED_STEP, SPEED_MOST + 0.1, SPEED_STEP)
    use, names, stiff = _use(work, _winds(levels, [(d, v) for d in DIRECTIONS for v in speeds]))
    shape = (len(DIRECTIONS), len(speeds), len(levels))
    over = (use > OVER).reshape(shape).any(axis=2)
    fails = over.any(axis=1)
    first = np.where(fails, over.argmax(axis=1), 0)
    low, high = speeds[first] - SPEED_STEP, speeds[first]
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        bad = _use(work, _winds(levels, zip(DIRECTIONS, middle, strict=True)))[0] > OVER
        bad = bad.reshape(len(DIRECTIONS), len(levels)).any(axis=1)
        low, high = np.where(bad, low, middle), np.where(bad, middle, high)
    out = []
    for d in np.flatnonzero(fails):
        row = use.reshape(shape)[d, first[d]]
        level = int(row.argmax())
        at = np.ravel_multi_index((d, first[d], level), shape)
        line = work.lines[int(stiff.ratio()[0][at].argmax())].id
        out.append(
            WindLimit(
                from_deg=DIRECTIONS[d],
                speed=float(low[d]),
                level=levels[level],
                limit=str(names[at]),
                line=line,
            )
        )
    return out


def _worst_levels(work):
    """Three levels: where pull is worst, where movement is, and where either is in calm water."""
    f, picked = work.figures, []
    for outcome, uses in ((work.stiff, limits.pulls(work.stiff, f)), (work.soft, limits.moves(work.soft, f))):
        worst = np.max([u[0] for u in uses.values()], axis=0)
        picked.append(float(outcome.levels[int(worst.argmax())]))
    picked.append(float(work.soft.levels[int(work.soft.moved()[0].argmax())]))
    return sorted(set(picked))


def _winds(levels, pairs):
    """Cases for each (direction, speed) at each of these levels, level by level."""
    return [
        Case(
            id=f"{n}", level=z, wind_speed=float(v), wind_from_deg=d, current_speed=0.0, current_toward_deg=0.0,
            yaw_moment=0.0,
        )
        for n, (d, v, z) in enumerate((d, v, z) for d, v in pairs for z in levels)
    ]  # fmt: skip
