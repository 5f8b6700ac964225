"""A level over time, wherever it comes from: a prediction, a table, or notices of a regulated basin.

`Curve` answers what a dock asks: how high now, how low and high in this stay, when does she touch. Between
its points the level runs straight; its points lie close enough for that.

Conventions: times are UTC, `datetime64[s]`; levels in metres above chart datum.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np

from berths.tide import Turns, levels, samples, turns_of, utc64

LONGEST_GAP = np.timedelta64(30, "h")  # between a high and a low; a diurnal tide has long ones
ALMOST = 0.008  # m: with the 1 or 2 mm that 6-minute samples cost, straight lines stay within 1 cm


def instant(time):
    """A time of the harbour as `datetime64[s]` in UTC.

    Raises
    ------
    ValueError
        If the time carries no zone.

    Examples
    --------
    >>> str(instant(datetime.fromisoformat("2027-10-15T05:40+01:00")))
    '2027-10-15T04:40:00'
    """
    if time.tzinfo is None:
        raise ValueError(f"the time {time} has no zone: add one, such as +01:00 or Z")
    return np.datetime64(time.astimezone(UTC).replace(tzinfo=None), "s")


def moment(instant):
    """The other way: an aware `datetime` in UTC."""
    return instant.astype("datetime64[s]").item().replace(tzinfo=UTC)


def to_minute(moment):
    """A time to the nearest minute, as tables and pages tell it.

    Examples
    --------
    >>> to_minute(datetime(2027, 10, 15, 4, 39, 50, tzinfo=UTC)).isoformat()
    '2027-10-15T04:40:00+00:00'
    """
    return (moment + timedelta(seconds=30)).replace(second=0, microsecond=0)


@dataclass(frozen=True, eq=False)
class Curve:
    """A level over time, straight between the points.

    Attributes
    ----------
    times : ndarray of datetime64[s], (n,)
        UTC, rising.
    levels : ndarray, (n,)
        Metres above chart datum.
    turn : ndarray of int, (n,)
        1 at a high, -1 at a low, 0 elsewhere.

    Examples
    --------
    A basin let down from 2.4 to 1.6 m within two hours:

    >>> basin = Curve.of_points([("2027-10-15T05:00", 2.4), ("2027-10-15T07:00", 1.6)])
    >>> [(str(time), rising) for time, rising in basin.crossings(2.0)]
    [('2027-10-15T06:00:00', False)]
    >>> basin.window()
    (1.6, 2.4)
    """

    times: np.ndarray
    levels: np.ndarray
    turn: np.ndarray

    # --- where it comes from ---

    @classmethod
    def predicted(cls, constants, mean_level, start, end):
        """The tide between two times: every 6 min and at each high and low. See `berths.tide.levels`."""
        times, heights = samples(constants, mean_level, start, end)
        found = turns_of(times, heights)
        curve = _distinct(
            np.concatenate([times, found.times]),
            np.concatenate([heights, found.levels]),
            np.concatenate([np.zeros(len(times), int), np.where(found.high, 1, -1)]),
        )
        first, last = utc64([start, end]).astype("datetime64[s]")
        return curve.cut(first, last, ends=levels(constants, mean_level, [first, last]))

    @classmethod
    def of_points(cls, points):
        """Points (time, level) as they are: times `datetime` with a zone, or UTC as numpy reads it."""
        points = list(points)
        times = np.array(
            [instant(t) if isinstance(t, datetime) else np.datetime64(t, "s") for t, _ in points],
            "datetime64[s]",
        )
        heights = np.array([level for _, level in points], float)
        return cls(times, heights, np.zeros(len(times), int))

    @classmethod
    def of_table(cls, points, *, highs_and_lows):
        """A harbour's own table: highs and lows with half a cosine between, or levels with straight lines.

        Raises
        ------
        ValueError
            If rows are out of order or stand twice; if highs and lows lie more than 30 h apart or do not
            take turns (one is missing or mistyped); the message names the row's time.
        """
        bare = cls.of_points(points)
        _check_rows(bare, highs_and_lows)
        if not highs_and_lows:
            return bare
        rising = np.diff(bare.levels) > 0
        kind = np.where(np.append(rising, not rising[-1]), -1, 1)
        steps = np.arange(20) / 20  # 20 to a half cosine: straight lines between miss it by 0.3 % at most
        seconds, height = bare.times.astype(int), bare.levels
        times = (seconds[:-1, None] + np.diff(seconds)[:, None] * steps).ravel()
        heights = (height[:-1, None] + np.diff(height)[:, None] * (1 - np.cos(np.pi * steps)) / 2).ravel()
        turn = np.zeros((len(rising), len(steps)), int)
        turn[:, 0] = kind[:-1]
        return cls(
            np.append(times.astype("datetime64[s]"), bare.times[-1:]),
            np.append(heights, height[-1]),
            np.append(turn.ravel(), kind[-1]),
        )

    def shifted(self, *, minutes, heights, ratio):
        """The tide at a place that follows this one.

        Each high and low moves by its own offset; between them the curve is stretched, so that its shape
        stays that of the reference.

        Parameters
        ----------
        minutes : (float, float)
            Later than here, at highs and at lows. [min]
        heights : (float, float)
            At highs and at lows: factors if `ratio`, else metres to add. [- or m]
        ratio : bool

        Returns
        -------
        curve : Curve
            From this curve's first turn to its last one: ask for two days more than you need.
        dropped : ndarray of datetime64
            Turns left out because their offsets would put them after the next one. Tell the reader.
        """
        at = np.flatnonzero(self.turn)
        high = self.turn[at] > 0
        delay = np.rint(60 * np.where(high, *minutes)).astype(int)
        seconds = self.times.astype(int)
        new_times = seconds[at] + delay
        offset = np.where(high, *heights)
        new_levels = self.levels[at] * offset if ratio else self.levels[at] + offset
        dropped = np.array([], "datetime64[s]")
        while (out_of_order := np.flatnonzero(np.diff(new_times) <= 0)).size:
            pair = [out_of_order[0], out_of_order[0] + 1]
            dropped = np.append(dropped, self.times[at[pair]])
            at, new_times, new_levels = (np.delete(x, pair) for x in (at, new_times, new_levels))
        if len(at) < 2:
            raise ValueError("fewer than two highs and lows are left: nothing to stretch between")
        inside = np.arange(at[0], at[-1] + 1)
        times = np.rint(np.interp(seconds[inside], seconds[at], new_times)).astype("datetime64[s]")
        k = np.minimum(np.searchsorted(at, inside, side="right") - 1, len(at) - 2)
        from_level, to_level = self.levels[at[k]], self.levels[at[k + 1]]
        share = (self.levels[inside] - from_level) / (to_level - from_level)
        stretched = new_levels[k] + share * (new_levels[k + 1] - new_levels[k])
        turn = np.where(np.isin(inside, at), self.turn[inside], 0)
        return _distinct(times, stretched, turn), dropped

    def moved(self, minutes, metres):
        """The same curve so much later and higher."""
        return Curve(self.times + np.timedelta64(int(60 * minutes), "s"), self.levels + metres, self.turn)

    # --- what it says ---

    def at(self, times):
        """Levels at one or more times. [m]

        Raises
        ------
        ValueError
            If a time lies outside: no last value is ever held.
        """
        t = np.asarray(times, "datetime64[s]")
        if not len(self.times) or (t.size and (t.min() < self.times[0] or t.max() > self.times[-1])):
            known = f"{self.times[0]}Z to {self.times[-1]}Z" if len(self.times) else "at no time"
            raise ValueError(f"the level is known {known}, not for all of the time asked for")
        if not t.size:
            return np.empty(t.shape)
        i = np.searchsorted(self.times, t.min(), side="right") - 1  # a year is not looked through for a day
        some = slice(i, np.searchsorted(self.times, t.max()) + 1)
        return np.interp(t.astype(float), self.times[some].astype(float), self.levels[some])

    def cut(self, start, end, *, ends=None):
        """The part between two times, with a point at each of them.

        `ends` gives the two levels where they are known better than by a straight line.
        """
        limits = np.array([start, end], "datetime64[s]")
        if ends is None:
            ends = self.at(limits)
        i, j = np.searchsorted(self.times, limits[0]), np.searchsorted(self.times, limits[1], side="right")
        if limits[0] < limits[1]:  # the curve has one point a second; only its ends could meet the new ones
            head = int(i == j or self.times[i] != limits[0])
            j -= int(j > i and self.times[j - 1] == limits[1] and self.turn[j - 1] == 0)
            tail = int(j == i or self.times[j - 1] != limits[1])
        else:
            head = tail = 1
        times = np.concatenate([limits[:head], self.times[i:j], limits[2 - tail :]])
        heights = np.concatenate([ends[:head], self.levels[i:j], ends[2 - tail :]])
        turn = np.concatenate([np.zeros(head, int), self.turn[i:j], np.zeros(tail, int)])
        if limits[0] < limits[1]:
            return Curve(times, heights, turn)
        return _distinct(times, heights, turn)

    def window(self):
        """Lowest and highest level, both ends included. [m, m]"""
        return float(self.levels.min()), float(self.levels.max())

    def largest_move(self):
        """The largest single rise or fall between its ends and its turns. [m]"""
        told = self.turn != 0
        told[[0, -1]] = True
        return float(np.abs(np.diff(self.levels[told])).max(initial=0.0))

    @property
    def turns(self):
        """Its highs and lows, as `berths.tide.Turns`."""
        told = self.turn != 0
        return Turns(self.times[told], self.levels[told], self.turn[told] > 0)

    def crossings(self, level):
        """When the level is passed: a list of (time, rising), in order."""
        below = self.levels < level
        i = np.flatnonzero(below[1:] != below[:-1])
        share = (level - self.levels[i]) / (self.levels[i + 1] - self.levels[i])
        seconds = (self.times[i + 1] - self.times[i]).astype(int)
        when = self.times[i] + np.rint(share * seconds).astype("timedelta64[s]")
        return list(zip(when, below[i].tolist(), strict=True))

    def below(self, level):
        """When it lies below a level: a list of (from, until); the curve's ends count as such."""
        edges = [time for time, _ in self.crossings(level)]
        if self.levels[0] < level:
            edges.insert(0, self.times[0])
        if self.levels[-1] < level:
            edges.append(self.times[-1])
        return list(zip(edges[::2], edges[1::2], strict=True))

    def above(self, level):
        """When it lies at or above a level: a list of (from, until)."""
        return Curve(self.times, -self.levels, -self.turn).below(-level)

    def thinned(self, within=ALMOST):
        """Fewer points, from which straight lines miss this curve by no more than `within` [m]."""
        keep = self.turn != 0
        keep[[0, -1]] = True
        seconds = self.times.astype(float)
        while True:
            starts = np.flatnonzero(keep)
            miss = np.abs(self.levels - np.interp(seconds, seconds[starts], self.levels[starts]))
            if miss.max() <= within:
                return Curve(self.times[keep], self.levels[keep], self.turn[keep])
            worst = np.maximum.reduceat(miss, starts)  # between each point kept and the next
            segment = np.searchsorted(starts, np.arange(len(miss)), side="right") - 1
            keep |= (miss > within) & (miss == worst[segment])

    def points(self):
        """Points ["2027-10-15T04:40:25Z", 0.412], as a Scenario takes them; millimetres."""
        return [[f"{t}Z", round(float(z), 3)] for t, z in zip(self.times, self.levels, strict=True)]


def _distinct(times, heights, turn):
    """A Curve in order of time with one point a second: a turn where there is one, else the last."""
    order = np.lexsort((turn != 0, times))
    last = np.append(np.diff(times[order]) > np.timedelta64(0, "s"), True)
    pick = order[last]
    return Curve(times[pick], heights[pick], turn[pick])


def row_faults(times, heights, highs_and_lows):
    """What is wrong with the rows of a table: (number of the row from 0, words). None twice or out of order; in
    a table of highs and lows no gap over 30 h, and a high after each low.
    """
    gap = np.diff(times)
    at = np.flatnonzero(gap <= np.timedelta64(0)) + 1
    faults = [(i, "stands twice, or before the row above it") for i in at]
    faults += [(i, "the height is missing") for i in np.flatnonzero(~np.isfinite(heights))]
    if highs_and_lows and not faults:
        faults += [
            (i, "more than 30 h after the row above it") for i in np.flatnonzero(gap > LONGEST_GAP) + 1
        ]
        rising = np.diff(heights) > 0
        same = np.flatnonzero(rising[1:] == rising[:-1]) + 1
        faults += [
            (i, "neither a high nor a low between its neighbours; a row is missing or mistyped") for i in same
        ]
    return [(int(i), words) for i, words in faults]


def _check_rows(curve, highs_and_lows):
    if len(curve.times) < 2:
        raise ValueError("the table needs at least two rows")
    faults = row_faults(curve.times, curve.levels, highs_and_lows)
    if faults:
        raise ValueError("\n".join(f"{curve.times[i]}Z: {words}" for i, words in faults))
