"""How a set of lines behaves over the heights of the water and round the compass: arrays for drawings.

One batch of cases on the middle stretch curve answers both questions, so that what is drawn can be asked for
while a reader waits.
"""

from dataclasses import dataclass

import numpy as np

from berths.tieup import outcome as outcomes
from berths.tieup.scenario import Case

LEVELS = 25  # heights along the water axis
EVERY = 10.0  # degrees between winds round the compass
ROUND = 30.0  # degrees between the winds that a pull over the water is the greatest of


@dataclass(frozen=True)
class Curves:
    """Arrays of one set of lines.

    Over the water: `levels` [m above datum], `calm` and `windy` (levels, lines) [N], the pull of each line without
    wind and the greatest in the strongest stated gust from all round. Over the wind: `directions` [true degrees,
    from], `speeds` [m/s] and `moved` (speeds, directions) [m], how far her middle can come from where she was put,
    at the worst of three heights. What was not solved is NaN. `cases` is how many were worked out.
    """

    lines: tuple
    levels: np.ndarray
    calm: np.ndarray
    windy: np.ndarray
    gust: float
    directions: np.ndarray
    speeds: np.ndarray
    moved: np.ndarray
    cases: int


def over_water_and_wind(work):
    """The `Curves` of a solved `Work`; None if nothing was solved.

    Parameters
    ----------
    work : Work
    """
    if not work.solved:
        return None
    levels = _levels(work)
    speeds = np.unique([v for v in work.scenario.weather.wind_speeds if v > 0])
    gust = float(speeds.max()) if speeds.size else 0.0
    some, all_round = np.arange(0, 360, ROUND), np.arange(0, 360, EVERY)
    ends = np.unique(levels[[0, len(levels) // 2, -1]])
    over_water = [(z, v, d) for z in levels for v, d in ((0.0, 0.0), *((gust, d) for d in some))]
    over_wind = [(z, v, d) for v in speeds for d in all_round for z in ends]
    found = outcomes.run(work.scenario, [work.lines], _cases([*over_water, *over_wind]), second="none")
    n, lost = len(over_water), found.unsolved()[0]
    pull = np.where(lost[:, None], np.nan, found.tension[0, :, : len(work.lines)])
    moved = np.where(lost, np.nan, found.moved()[0])
    by_level = pull[:n].reshape(len(levels), 1 + len(some), -1)
    return Curves(
        lines=tuple(line.id for line in work.lines),
        levels=levels,
        calm=by_level[:, 0],
        windy=by_level.max(axis=1),
        gust=gust,
        directions=all_round,
        speeds=speeds,
        moved=moved[n:].reshape(len(speeds), len(all_round), len(ends)).max(axis=2),
        cases=len(found.cases),
    )


def _levels(work):
    """Even heights over the window of the water; where it does not move, that one. [m]"""
    low, high = float(work.levels.min()), float(work.levels.max())
    return np.linspace(low, high, LEVELS) if high - low > 0.01 else np.array([low])


def _cases(rows):
    """Cases for (level, gust, direction it is from), without stream."""
    return [
        Case.model_construct(
            id=f"{n}", level=float(z), wind_speed=float(v), wind_from_deg=float(d), current_speed=0.0,
            current_toward_deg=0.0, yaw_moment=0.0,
        )
        for n, (z, v, d) in enumerate(rows)
    ]  # fmt: skip
