"""One water over a time, and the window of levels that a stay in it meets.

Takes rows of water, notices and readings (anything with their fields) and asks no database. What is not known
stays so, under a code with a sentence: nothing here guesses a level. Levels are metres above the water's own
datum; times that come and go are aware `datetime`, inside they are `datetime64` in UTC.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import NamedTuple

from berths import stations
from berths.curve import Curve, instant, moment, to_minute
from berths.watercurve import TIDAL, curve_of, lat_hat, station_of

LONGEST = timedelta(days=370)  # a longer stay meets LAT and HAT, or as good as
AHEAD = timedelta(days=15)  # of a water without end this much is shown: springs and neaps both


@dataclass(frozen=True)
class Turn:
    """A high or a low: time (UTC), level [m above datum]."""

    time: datetime
    level: float
    high: bool


class Surge(NamedTuple):
    """What weather may add: both counted positive, None is not known and never 0. [m]

    own : set for one stay alone.
    told : some of it is a forecast, or was read at the gauge, for a time.
    """

    down: float | None
    up: float | None
    reason: str = ""
    own: bool = False
    told: bool = False

    def or_more(self, other):
        """The larger of each side; what is not known in `self` stays so."""
        if other is None:
            return self
        sides = [None if a is None else max(a, b) for a, b in zip(self[:2], other[:2], strict=True)]
        more = sides != [self.down, self.up]
        return Surge(*sides, "; ".join(filter(None, (self.reason, other.reason if more else ""))), more)

    @classmethod
    def of_stay(cls, stay):
        """What the harbourmaster allows for this stay alone; None: the water's own allowance counts."""
        if stay is None or None in (stay.surge_down, stay.surge_up):
            return None
        by = f", {stay.surge_by}" if stay.surge_by else ""
        reason = f"for this stay alone: {stay.surge_reason}{by}"
        return cls(float(stay.surge_down), float(stay.surge_up), reason, own=True)


@dataclass(frozen=True, eq=False)
class WaterWindow:
    """The water a boat meets. [m above datum]

    low, high : without surge; None: not known.
    range : the largest single rise or fall.
    surge_down, surge_up : allowances, both counted positive; None: not known, never 0.
    now, at : the level at the present moment, or at the moment of the stay nearest to it.
    basis : 'predicted', 'LAT to HAT', 'limits', 'table' or ''.
    source, attribution : where the levels come from; the words to show beside them.
    not_known : code (water, datum, level, lat_hat, table, prediction, surge, gate) -> sentence.
    notes : sentences a reader should see.
    part : the level over the stay, as far as it is known.
    """

    low: float | None = None
    high: float | None = None
    range: float | None = None
    surge_down: float | None = None
    surge_up: float | None = None
    surge_reason: str = ""
    surge_own: bool = False  # set for this stay alone
    surge_told: bool = False  # some of it is a forecast, or was read at the gauge, for a time
    now: float | None = None
    at: datetime | None = None
    datum: str = ""
    basis: str = ""
    source: str = ""
    attribution: str = ""
    not_known: dict = field(default_factory=dict)
    notes: list = field(default_factory=list)
    part: Curve | None = None

    @property
    def lowest(self):
        """Low water with surge down; None if either is not known."""
        return None if None in (self.low, self.surge_down) else self.low - self.surge_down

    @property
    def highest(self):
        """High water with surge up; None if either is not known."""
        return None if None in (self.high, self.surge_up) else self.high + self.surge_up

    @property
    def curve(self):
        """Points ["2027-10-15T04:40:25Z", 0.412]; straight lines between them are right to 1 cm."""
        return [] if self.part is None else self.part.thinned().points()

    def for_scenario(self):
        """The `water` of a Scenario."""
        names = ("low", "high", "range", "surge_down", "surge_up", "now")
        levels = {name: getattr(self, name) for name in names}
        return {**levels, "datum": self.datum or None, "curve": self.curve or None}


@dataclass(frozen=True, eq=False)
class WaterSpan:
    """A water between two times, worked out once.

    curve : its level; None where nothing is known of it.
    notices, readings : of this water, in order of time.
    forecasts : surge expected for a time, of this water or of all. They widen the house's allowance for the
        stays of that time and narrow none; LAT to HAT is not of a time, and stays.
    outer : the WaterSpan beyond the gate.
    """

    water: object
    start: datetime
    end: datetime
    notices: list
    readings: list
    forecasts: list = field(default_factory=list)
    curve: Curve | None = None
    fault: str = ""  # why there is no curve
    notes: tuple = ()
    outer: "WaterSpan | None" = None

    @classmethod
    def of(cls, water, start, end, *, notices=(), readings=(), forecasts=(), outer=None):
        """Work a water out between two aware times."""
        curve, fault, notes = None, "", ()
        try:
            curve, notes = curve_of(water, start, end, notices=notices, readings=readings)
        except ValueError as error:
            fault = str(error)
        rows = [list(some) for some in (notices, readings, forecasts)]
        return cls(water, start, end, *rows, curve, fault, tuple(notes), outer)

    def level(self, time):
        """The best knowledge of the level at a time, or None. [m]"""
        if self.water.kind == "limits" and self.readings and time >= self.readings[-1].at:
            last = self.readings[-1]
            if not any(last.at < notice.starts <= time for notice in self.notices):
                return float(last.level)
        if self.curve is None or not self.curve.times[0] <= instant(time) <= self.curve.times[-1]:
            return None
        return float(self.curve.at(instant(time)))

    def turns(self, start=None, end=None):
        """Highs and lows in order, to the minute, of the whole time or a part of it; empty without a tide."""
        part = self._part(start or self.start, end or self.end)
        if part is None:
            return []
        return [
            Turn(to_minute(moment(t)), float(z), bool(high)) for t, z, high in zip(*part.turns, strict=True)
        ]

    def window(self, start, end=None, *, now, storm=False, own=None):
        """The water window of a stay in this time.

        Parameters
        ----------
        start, end : aware datetime
            `end` None: a permanent berth or an open stay, judged on LAT to HAT from now on.
        now : aware datetime
            What ended before counts no more for a permanent berth.
        storm : bool
            Take the storm pair of allowances.
        own : Surge, optional
            Set for this stay alone, in place of the water's allowance.
        """
        water, row = self.water, station_of(self.water)
        always = end is None or end - start > LONGEST
        if not always and not self.start <= start <= end <= self.end:
            raise ValueError(f"the stay {start} to {end} ends before it starts, or was not worked out")
        first = max(start, now) if end is None else start
        part = self._part(max(first, self.start), min(self.end, first + AHEAD) if always else end)
        basis, low, high, not_known = self._reach(part, first, end, always)
        if low is None:
            part = None  # nobody shall take the known piece of a table for all of the stay
        announced = self._notices_of(first, end) if low is not None else []
        for notice in announced:  # it widens any window and narrows none
            low, high = min(low, float(notice.low)), max(high, float(notice.high))
        moves = part is not None and basis in {"predicted", "table"} and not announced
        surge = self.surge(first, None if always else end, storm, own)
        if surge.down is None or surge.up is None:
            not_known["surge"] = f"{'storm ' if storm else ''}surge not known"
        datum = water.datum or row.get("chart_datum", "")
        if not datum:
            not_known["datum"] = f"from which zero the levels of {water} are counted is not known"
        at = max(now, first) if end is None else min(max(now, first), end)
        return WaterWindow(
            low=_tenth(low),
            high=_tenth(high),
            range=_tenth(part.largest_move() if moves else None if low is None else high - low),
            surge_down=surge.down,
            surge_up=surge.up,
            surge_reason=surge.reason,
            surge_own=surge.own,
            surge_told=surge.told,
            now=_tenth(self.level(at)) if self.start <= at <= self.end else None,
            at=at,
            datum=datum,
            basis=basis,
            source=source_of(water),
            attribution=stations.attribution(row) if water.kind in TIDAL else "",
            not_known=not_known | self._gate(start, end, now, storm),
            notes=self._notes(first, end),
            part=part,
        )

    @property
    def highest_ever(self):
        """HAT or the upper limit, with surge up; None if either is not known. [m above datum]"""
        return self.window(self.start, None, now=self.start).highest

    def surge(self, start, end, storm=False, own=None):
        """The allowances for a time, as a `Surge`; `end` None: for always.

        What was set for one stay stands in the water's place, but makes no storm smaller. A forecast widens
        either for the stays of its time, and narrows none.
        """
        base = own or self._house(storm=False)
        if storm:
            base = self._house(storm=True).or_more(own)
        pair, reasons, told = [base.down, base.up], [base.reason], False
        for row in self.forecasts:
            if end is None or not row.starts <= end or not row.ends > start:
                continue
            whole = row.starts <= start and end <= row.ends  # else it says nothing of the rest of the time
            for side, value in enumerate((row.surge_down, row.surge_up)):
                more = value is not None and (whole if pair[side] is None else float(value) > pair[side])
                if more:
                    pair[side], told = float(value), True
                    reasons.append(said_of(row))
        return Surge(*pair, "; ".join(dict.fromkeys(filter(None, reasons))), base.own, told)

    def _house(self, storm):
        """The water's own allowance, as always or in a storm."""
        water = self.water
        if storm:
            return Surge(_number(water.storm_down), _number(water.storm_up), water.storm_reason)
        return Surge(_number(water.surge_down), _number(water.surge_up), water.surge_reason)

    # --- parts of a window ---

    def _reach(self, part, start, end, always):
        """(basis, low, high, not_known) without surge."""
        water = self.water
        if water.kind in TIDAL:
            not_known = {"prediction": self.fault} if self.fault else {}
            if not always:
                return "predicted", *(part.window() if part else (None, None)), not_known
            low, high = lat_hat(water)
            if low is None:
                not_known["lat_hat"] = f"LAT and HAT of {water} not known"
            return "LAT to HAT", low, high, not_known
        if water.kind == "table":
            return self._table_reach(part, start, end, always)
        return self._limits_reach(part)

    def _table_reach(self, part, start, end, always):
        if self.curve is None:
            return "table", None, None, {"table": self.fault}
        if always:
            low, high = _number(self.water.low), _number(self.water.high)
            if low is not None and high is not None:
                return "limits", low, high, {}
        begins, ends = moment(self.curve.times[0]), moment(self.curve.times[-1])
        if start < begins:
            return "table", None, None, {"table": f"the table begins on {begins:%-d %B %Y, %H:%M} UTC"}
        if always or end > ends:
            return "table", None, None, {"table": f"the table ends on {ends:%-d %B %Y, %H:%M} UTC"}
        return "table", *part.window(), {}

    def _limits_reach(self, part):
        """The limits, and what was read beyond them."""
        low, high = _number(self.water.low), _number(self.water.high)
        if low is None or high is None:
            return "limits", None, None, {"level": f"the limits of {self.water} are not known"}
        if part is None:
            return "limits", low, high, {"level": f"the level of {self.water} now: not read"}
        lowest, highest = part.window()
        return "limits", min(low, lowest), max(high, highest), {}

    def _notices_of(self, start, end):
        return [
            notice
            for notice in self.notices
            if (end is None or notice.starts < end) and (notice.ends is None or notice.ends > start)
        ]

    def _gate(self, start, end, now, storm):
        """Whether the water beyond the gate stays below what the gate holds."""
        if self.outer is None:
            return {}
        holds, beyond = _number(self.water.holds_to), self.outer.water
        if holds is None:
            return {"gate": f"up to which level of {beyond} the gate holds is not known"}
        outside = self.outer.window(start, end, now=now, storm=storm)
        if outside.highest is None:
            why = "; ".join(outside.not_known.values())
            return {"gate": f"whether the gate holds out {beyond} is not known: {why}"}
        if outside.highest > holds:
            return {
                "gate": f"not known above {holds:.2f} m: {beyond} may reach {outside.highest:.2f} m "
                "and pass the gate"
            }
        return {}

    def _notes(self, start, end):
        told = list(self.notes)
        if self.water.kind == "station" and not self.fault:
            told += stations.cautions(self.water.station)
        low, high = _number(self.water.low), _number(self.water.high)
        if self.water.kind == "limits" and low is not None and high is not None:
            beyond = [r for r in self.readings if r.at >= start and not low <= float(r.level) <= high]
            told += [f"{float(r.level):.2f} m was read, beyond the limits" for r in beyond[-1:]]
        told += [notice.reason for notice in self._notices_of(start, end) if notice.reason]
        return told

    def _part(self, start, end):
        """The curve between two times as far as it is known; None if it is not known at all there."""
        if self.curve is None:
            return None
        first = max(instant(start), self.curve.times[0])
        last = min(instant(end), self.curve.times[-1])
        return self.curve.cut(first, last) if first <= last else None


def said_of(forecast):
    """Where an allowance for a time comes from, in words."""
    origin = "from a forecast" if forecast.reading_id is None else "from the gauge"
    return ": ".join(filter(None, (origin, forecast.source)))


def source_of(water):
    """Where the levels of a water come from, in a few words."""
    row = station_of(water)
    if water.kind == "station":
        words = f"tide station {row.get('name', '')} ({water.station_id or row.get('id', 'no number')})"
        km = (row.get("taken") or {}).get("km")
        told = [stations.follows(row), "" if km is None else f"{km:.1f} km from the harbour"]
        return ", ".join(filter(None, [words, *told]))
    if water.kind == "constants":
        return f"the harbour's own tidal constants, {row.get('name') or water}"
    words = "the harbour's own table" if water.kind == "table" else "limits set"
    return f"{words} for {water}"


def _tenth(metres):
    """To 0.1 mm, as metres are kept: no machine's last bit makes a stored tie-up look changed."""
    return None if metres is None else round(metres, 4)


def _number(value):
    return None if value is None else float(value)
