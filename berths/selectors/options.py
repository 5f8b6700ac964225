"""Every berth for one boat and one time: whether she fits, what is left, who is in it, how easy it is to get in.

A fixed number of queries, whatever the size of the harbour, and no solver.
"""

import math
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from django.db.models import Count, Q

from berths import ease, fits
from berths.curve import moment
from berths.models import Berth, BerthFastening, Forecast
from berths.selectors.gate import needs
from berths.selectors.occupancy import lying_there, occupy
from berths.selectors.water import harbour_waters
from berths.window import LONGEST
from marina.base import clock, house
from marina.base.units import FOOT

BAD = ("loose", "rotten")
NOT_ASKED = (
    "ladders",
    "power_east",
    "power_north",
    "power_z",
    "power_lead",
    "gangway_length",
    "gangway_hinge_z",
)
AHEAD = timedelta(days=15)  # of water looked at for a stay without an end


@dataclass(frozen=True)
class Teller:
    """How lengths and times are said: a `cards.words.Reader` who knows which day it is."""

    reader: object
    today: object

    def length(self, metres, kind):
        return self.reader.length(metres, kind)

    def time(self, moment):
        return self.reader.time(moment, today=self.today, to=5)

    def word(self, ours):
        return self.reader.word(ours)

    def about(self, metres):
        """A rule-of-thumb length, up to the next half metre or foot."""
        if self.reader.units == "ft":
            return f"{math.ceil(metres / float(FOOT))} ft"
        return f"{math.ceil(2 * metres) / 2:g} m"


@dataclass
class Option:
    """One berth for her. `taken` says by whom and until when; '' is free, until `free_until` (None: no end known).

    `raft_place` is 0 at the dock, more outside of those who lie there.
    """

    berth: Berth
    fit: fits.Fit
    taken: str = ""
    free_until: datetime | None = None
    raft_place: int = 0
    names: list = field(default_factory=list)

    @property
    def free(self):
        return not self.taken

    @property
    def can_be_given(self):
        """Free, and in use; whether she fits is another matter."""
        return self.free and self.berth.in_use

    @property
    def why_not(self):
        """Why she is not put here, in one sentence: the berth first, then who is in it."""
        told = [p.words for p in self.fit.of("stop")] + ([self.taken] if self.taken else [])
        return _sentence("; ".join(told))

    @property
    def flags(self):
        return self.fit.of("fix", "note")

    @property
    def not_known(self):
        return self.fit.of("not_known")

    @property
    def order(self):
        """What fits and is free first; then fewest flags and not-knowns, easiest, least length left over.

        What cannot be given stands last, in walking order.
        """
        state = {True: 0, None: 1, False: 2}[self.fit.fits] if self.can_be_given else 3
        return (
            state,
            len(self.fit.points),
            self.fit.hard,
            self.fit.length_left or 0.0,
            self.berth.walking_order,
        )


def _sentence(text):
    return f"{text[:1].upper()}{text[1:]}." if text else ""


@dataclass
class Options:
    """All berths for a boat, best first, and what counts for all of them alike."""

    rows: list
    wind: str
    arrive: datetime
    depart: datetime | None

    def _group(self, *states):
        return [o for o in self.rows if o.order[0] in states]

    @property
    def fitting(self):
        return self._group(0)

    @property
    def doubtful(self):
        """Free, but not known whether she fits."""
        return self._group(1)

    @property
    def unfit(self):
        return self._group(2)

    @property
    def taken(self):
        """Somebody lies there or is booked, or the berth is out of use."""
        return self._group(3)

    def at(self, code):
        return next((o for o in self.rows if o.berth.code.casefold() == code.casefold()), None)


def asked_for(vessel, rules, side=""):
    """What a boat asks of a berth, by what is recorded of her or was typed; she need not be saved.

    Parameters
    ----------
    vessel : Vessel
        With length, beam and draft.
    rules : mapping
        House rules: H4 and the house's doubt decide which length counts.
    side : str
        What her skipper would like: port, starboard, bow, stern or ''.
    """
    loa, rests_on = vessel.length_that_counts(rules)
    fender = rules["fender_gap"] if vessel.fender_diameter is None else vessel.fender_diameter
    return fits.Asked(
        loa=float(loa),
        beam=float(vessel.beam),
        draft=float(vessel.draft),
        rests_on=rests_on,
        displacement=None if vessel.displacement is None else float(vessel.displacement),
        propellers=vessel.propellers,
        turn=vessel.propeller_turn,
        side=side,
        takes_ground=vessel.takes_ground,
        fender=float(fender),
    )


def options(boat, arrive, depart, teller, *, without=None):
    """Every berth of the harbour for this boat.

    Parameters
    ----------
    boat : fits.Asked
    arrive, depart : aware datetime
        `depart` None: open.
    teller : Teller
    without : Stay, optional
        A stay that is to be moved: she does not stand in her own way, and her own berth is not offered.

    Returns
    -------
    Options
        Eleven queries at 4 berths as at 400, two of them for house rules, which a web request reads once.
    """
    rules, now = house.rules(), clock.now()
    berths = list(Berth.objects.prefetch_related("pier").defer(*NOT_ASKED))
    tides = _tides(boat, arrive, depart, rules, now)
    winds = _winds(arrive, depart)
    lying, next_in = lying_there(arrive, depart, now, without)
    fastenings = _fastenings()
    rows = []
    for berth in berths:
        if without is not None and berth.pk == without.berth_id:
            continue
        tide, wind = tides[berth.water_id], winds.get(berth.water_id, winds.get(None))
        fit = fits.judge(boat, berth, tide, rules, teller, fastenings=fastenings.get(berth.pk))
        ease.tell(fit, boat, berth, tide, rules, teller, wind=wind)
        option = Option(berth, fit, free_until=next_in.get(berth.pk))
        occupy(option, boat, lying.get(berth.pk, []), depart, rules, teller, now)
        rows.append(option)
    said = winds.get(None) or next(iter(winds.values()), None)
    return Options(
        sorted(rows, key=lambda o: o.order),
        said.words if said and None not in (said.gust, said.from_deg) else "",
        arrive,
        depart,
    )


# --- water and wind ---


def _tides(boat, arrive, depart, rules, now):
    """The water of her stay, once for each water: {water's pk: Tide}."""
    until = min(depart, arrive + LONGEST) if depart else max(arrive, now) + AHEAD
    spans = harbour_waters(arrive, until)
    keel = max(rules["H8"].values())
    return {
        pk: fits.tide_of(span.window(arrive, depart, now=now), _passes(span, boat, keel, arrive, until))
        for pk, span in spans.items()
    }


def _passes(span, boat, keel, start, end):
    """When she can come through the gate of this water; None where there is none, or nobody knows when it opens."""
    water, outer = span.water, span.outer
    if outer is None or outer.curve is None or water.passes_above is None:
        return None
    return [(moment(a), moment(b)) for a, b in outer.curve.above(needs(water, boat.draft, keel))]


def _winds(arrive, depart):
    """What is forecast for her arrival: {water's pk, or None for all: Wind}; the newest forecast counts."""
    found = {}
    rows = Forecast.objects.filter(starts__lte=arrive, ends__gt=arrive).order_by("-at", "-id")
    for water, gust, directions in rows.values_list("water", "wind_gust", "wind_from_deg"):
        if gust is not None:
            found.setdefault(water, ease.Wind(float(gust), _middle(directions)))
    return found


def _middle(directions):
    """The middle of several directions; None where none is given or they cancel out. [true degrees]"""
    angles = [math.radians(d) for d in directions or []]
    east, north = sum(map(math.sin, angles)), sum(map(math.cos, angles))
    return math.degrees(math.atan2(east, north)) % 360 if math.hypot(east, north) > 1e-6 else None


def _fastenings():
    """{berth: (how many, of unknown strength, not to be used)}."""
    unusable = Q(fastening__in_use=False) | Q(fastening__condition__in=BAD)
    rows = BerthFastening.objects.order_by().values("berth")
    counted = rows.annotate(
        all=Count("id"),
        unknown=Count("id", filter=Q(fastening__strength=None) & ~unusable),
        unusable=Count("id", filter=unusable),
    )
    return {row["berth"]: (row["all"], row["unknown"], row["unusable"]) for row in counted}
