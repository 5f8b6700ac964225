"""One tie-up while it is judged: what was asked, what was filled in, the lines, and what they do."""

from dataclasses import dataclass, field
from datetime import timedelta
from zoneinfo import ZoneInfo

import numpy as np

from berths.curve import Curve, moment
from berths.tieup.verdict import Flag


@dataclass
class Work:
    """Everything a judgement may look at.

    `asked` is the Scenario as it came (None is 'nobody told'), `scenario` the filled one. `picks` are the
    lines' geometry at the berthed pose, in the order of `lines`. The outcomes are None without lines; `still` is
    the stiff one with still water at every level of the window in it, whatever cases were given. `runs` are the straight pieces of
    each line, `lost` what one lost line would mean, `fenders` those recommended where hers are not recorded.
    """

    asked: object
    scenario: object
    figures: object
    levels: np.ndarray
    planned: bool
    lines: list = field(default_factory=list)
    picks: list = field(default_factory=list)
    soft: object = None
    middle: object = None
    stiff: object = None
    still: object = None
    broken: list = field(default_factory=list)
    chosen: object = None
    order: list = field(default_factory=list)
    pruned: list = field(default_factory=list)
    missing: list = field(default_factory=list)
    lost: list = field(default_factory=list)
    runs: list = field(default_factory=list)
    fenders: object = None

    @property
    def solved(self):
        return self.middle is not None

    @property
    def low(self):
        """Lowest level of the window with surge; None if it is not known. [m]"""
        water = self.scenario.water
        return None if water.low is None else water.low - (water.surge_down or 0.0)

    @property
    def high(self):
        water = self.scenario.water
        return None if water.high is None else water.high + (water.surge_up or 0.0)

    @property
    def curve(self):
        """The predicted level over the stay, or None."""
        points = self.scenario.water.curve
        return Curve.of_points(points) if points and len(points) > 1 else None

    @property
    def short_stop(self):
        """A short stop with somebody by her: short lines and few of them are allowed until it ends."""
        stay = self.scenario.stay
        return bool(stay and stay.attended and stay.short_until)

    def comes_near(self, face):
        """Whether in some case her side is within reach of the face with this index; supposed where unsolved."""
        if not self.solved:
            return True
        return bool((self.soft.faces()[0][:, face] <= self.figures.near_face).any())

    def below(self, level):
        """First span in which the predicted level is below this one: (from, until), or (None, None)."""
        return self._first(lambda curve: curve.below(level))

    def above(self, level):
        return self._first(lambda curve: curve.above(level))

    def _first(self, ask):
        curve = self.curve
        spans = ask(curve) if curve else []
        if not spans:
            return None, None
        start, until = spans[0]
        return moment(start), moment(until) if until < curve.times[-1] else None  # the curve's end is no turn

    def first_low(self, level):
        """Lowest predicted level, and when, the first time the water is below this one; else of the stay."""
        curve = self.curve
        if curve is None:
            return self.scenario.water.low, None
        spans = curve.below(level)
        inside = (
            (curve.times >= spans[0][0]) & (curve.times <= spans[0][1]) if spans else curve.levels < np.inf
        )
        at = int(np.where(inside, curve.levels, np.inf).argmin())
        return float(curve.levels[at]), moment(curve.times[at])

    def clock(self, time):
        """A time as it stands on the harbour's clock, to the nearest minute: 'Fri 05:40'."""
        return (time + timedelta(seconds=30)).astimezone(ZoneInfo(self.figures.zone)).strftime("%a %H:%M")

    def name(self, i):
        """A line in words: 'line L1 (stern port to D2)'."""
        line = self.lines[i]
        return f"line {line.tag or line.id} ({line.boat_fitting.replace('_', ' ')} to {line.shore_fitting})"


def raised(code, severity, message, do="", **more):
    return Flag(code=code, severity=severity, message=message, do=do, **_plain(more))


def not_known(code, severity, message, do="", **more):
    """A flag that could not be judged; it counts as not passed, at the rank it would have if raised."""
    return Flag(code=code, severity=severity, state="not_known", message=message, do=do, **_plain(more))


def _plain(values):
    return {k: round(float(v), 4) if isinstance(v, float | np.floating) else v for k, v in values.items()}
