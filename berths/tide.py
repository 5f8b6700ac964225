"""Tide prediction from harmonic constants, with numpy and without a network.

A level is the mean level plus a sum of cosines, one for each constituent of the tide::

    level(t) = mean_level + sum of  amplitude * f(t) * cos(V(t) + u(t) - phase)

`berths.constituents` gives V, f and u; this module adds them up and looks for highs and lows.

Conventions, for every function here:

- Times are UTC, `datetime64` or text without a zone that numpy reads as such.
- Levels are metres above the chart datum in which `mean_level` is given (a station's mean *sea* level, not
  its mean *tide* level: they differ by centimetres).
- Harmonic constants are a sequence of (name, amplitude [m], phase lag [degree, Greenwich]).
- A prediction is astronomy only: no wind, no air pressure, no river.
"""

from typing import NamedTuple

import numpy as np

from berths.constituents import constituent, daily_motion, longitudes, modulation

STEP = np.timedelta64(6, "m")  # of the samples between which a turn is looked for
PAD = np.timedelta64(26, "h")  # sampled beyond both ends, so that a turn near an end has its neighbours
RIPPLE = 0.01  # m; a rise or fall smaller than this is no tide
MANY = 1000  # days times clock times beyond which times that are not evenly spaced are taken one by one
BLOCK = 10_000  # times in one go: a long stay costs time, not memory
EPOCH_YEARS = (2020, 2038)  # 19 years: one whole swing of the moon's node


class Turns(NamedTuple):
    """Highs and lows in order of time: times (n,) [UTC], levels (n,) [m], high (n,) [bool]."""

    times: np.ndarray
    levels: np.ndarray
    high: np.ndarray


def utc64(times):
    """Times as `datetime64`; refuses what is empty of meaning.

    Raises
    ------
    ValueError
        If a time is missing (NaT) or is none.
    """
    t = np.asarray(times, "datetime64[us]")
    if np.isnat(t).any():
        raise ValueError("a time is missing: give UTC, such as 2027-10-15T04:40")
    return t


def levels(constants, mean_level, times):
    """Predicted levels.

    Parameters
    ----------
    constants : sequence of (str, float, float)
        Name, amplitude [m], phase lag [degree, Greenwich].
    mean_level : float
        Mean sea level above chart datum. [m]
    times : datetime64 or array_like of it
        UTC.

    Returns
    -------
    ndarray
        Metres above chart datum, one for each time, in the shape of `times`.

    Raises
    ------
    ValueError
        If a constituent is not known (named in the message) or a time is missing.

    Examples
    --------
    S2 follows the mean sun: with no lag it is high at noon and at midnight, by definition.

    >>> levels([("S2", 1.0, 0.0)], 2.0, ["2027-01-01T12:00", "2027-01-01T15:00", "2027-01-01T18:00"])
    array([3., 2., 1.])
    """
    t = utc64(times)
    if not len(constants):
        return np.full(t.shape, float(mean_level))
    names, amplitude, phase = zip(*constants, strict=True)
    found = [constituent(name) for name in names]
    amplitude, lag = np.array(amplitude, float)[:, None], np.radians(np.array(phase, float))[:, None]
    flat = t.ravel()
    total = np.empty(len(flat))
    for first in range(0, len(flat), BLOCK):
        block = slice(first, first + BLOCK)
        total[block] = _sum_of_cosines(found, amplitude, lag, flat[block])
    return float(mean_level) + total.reshape(t.shape)


def _sum_of_cosines(found, amplitude, lag, times):
    """The cosines added up, each as its angle at midnight and what it turns from then on.

    A day later every angle stands elsewhere, but turns on by the same amounts. So of evenly spaced times one
    day's worth of turns serves all days, and the two meet in cos(a + b) = cos a cos b - sin a sin b.
    """
    day, which = np.unique(times.astype("datetime64[D]"), return_inverse=True)
    clock, when = np.unique(times - day[which], return_inverse=True)
    f, u = modulation(found, day)
    multiples, size = np.array([c.multiples for c in found]), amplitude * f
    midnight = np.radians(multiples @ longitudes(day)) + u - lag  # (constituents, days)
    turn = np.outer(np.radians(multiples @ daily_motion()), clock / np.timedelta64(1, "D"))
    if len(day) * len(clock) > 2 * len(times) + MANY:
        return (size[:, which] * np.cos(midnight[:, which] + turn[:, when])).sum(axis=0)
    total = np.zeros((len(day), len(clock)))
    # One after the other, not as a product of matrices: a level then never hangs on what else was asked for.
    for even, odd, cos, sin in zip(
        size * np.cos(midnight), size * np.sin(midnight), np.cos(turn), np.sin(turn), strict=True
    ):
        total += even[:, None] * cos - odd[:, None] * sin
    return total[which, when]


def samples(constants, mean_level, start, end):
    """Levels every 6 min from at least 26 h before `start` to 26 h after `end`: (times, levels).

    The samples stand at whole multiples of 6 min, so that a turn comes out the same from every window.
    """
    first, last = utc64([start, end])
    if last < first:
        raise ValueError(f"the time ends ({last}) before it starts ({first}): exchange them")
    times = np.arange((first - PAD).astype("datetime64[h]"), last + PAD + STEP, STEP).astype("datetime64[s]")
    return times, levels(constants, mean_level, times)


def turns_of(times, heights):
    """Highs and lows of an evenly sampled curve, ripples under 0.01 m left out.

    Each change of slope is refined by the parabola through three samples, good to seconds. While a high
    and a low next to each other differ by less than `RIPPLE`, the closest such pair goes.

    Returns
    -------
    Turns
    """
    rising = np.diff(heights) > 0
    at = np.flatnonzero(rising[1:] != rising[:-1]) + 1
    before, here, after = heights[at - 1], heights[at], heights[at + 1]
    shift = (before - after) / (2 * (before - 2 * here + after))  # in steps, -0.5 to 0.5
    step = (times[1] - times[0]) / np.timedelta64(1, "s")
    when = times[at].astype("datetime64[s]") + np.rint(shift * step).astype("timedelta64[s]")
    level, high = here - (before - after) * shift / 4, rising[at - 1]
    while len(level) > 1:
        height = np.abs(np.diff(level))
        least = int(np.argmin(height))
        if height[least] >= RIPPLE:
            break
        when, level, high = (np.delete(x, [least, least + 1]) for x in (when, level, high))
    return Turns(when, level, high)


def extremes(constants, mean_level, start, end):
    """Highs and lows between two times, both included.

    Parameters
    ----------
    constants, mean_level
        As for `levels`.
    start, end : datetime64 or str
        UTC.

    Returns
    -------
    Turns
        Times to the second, levels in metres above chart datum.

    Raises
    ------
    ValueError
        If a constituent is not known or `end` lies before `start`.

    Examples
    --------
    >>> found = extremes([("S2", 1.0, 0.0)], 2.0, "2027-01-01T01:00", "2027-01-01T13:00")
    >>> for t, level, high in zip(*found):
    ...     print(t, round(level, 3), "high" if high else "low")
    2027-01-01T06:00:00 1.0 low
    2027-01-01T12:00:00 3.0 high
    """
    found = turns_of(*samples(constants, mean_level, start, end))
    first, last = utc64([start, end])
    inside = (found.times >= first) & (found.times <= last)
    return Turns(*(x[inside] for x in found))


def window(constants, mean_level, start, end):
    """Lowest and highest predicted level of a stay, its two ends included.

    Returns
    -------
    tuple of float
        (lowest, highest), metres above chart datum.

    Examples
    --------
    >>> window([("S2", 1.0, 0.0)], 2.0, "2027-01-01T07:00", "2027-01-01T15:00")
    (1.13..., 3.0)
    """
    met = np.append(
        extremes(constants, mean_level, start, end).levels, levels(constants, mean_level, [start, end])
    )
    return float(met.min()), float(met.max())


def lat_hat(constants, mean_level, years=EPOCH_YEARS):
    """Lowest and highest astronomical tide: the extremes of 19 years.

    Takes seconds: for the entry of a station's constants, not for a page.

    Parameters
    ----------
    constants, mean_level
        As for `levels`.
    years : (int, int)
        First and last year, both whole.

    Returns
    -------
    tuple of float
        (LAT, HAT), metres above chart datum.
    """
    lowest, highest = np.inf, -np.inf
    for year in range(years[0], years[1] + 1):
        times = np.arange(f"{year}-01-01T00:00", f"{year + 1}-01-01T00:00", STEP, "datetime64[m]")
        level = levels(constants, mean_level, times)
        lowest, highest = min(lowest, level.min()), max(highest, level.max())
    return float(lowest), float(highest)
