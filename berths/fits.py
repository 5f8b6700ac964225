"""Does a boat fit a berth, by how much, and how easy is it to get in? Plain rules over plain figures, no solver.

Takes rows of berths (anything with their fields), the water of the stay and the house rules, and asks no database.
What is not surveyed is 'not known' and never counts as fitting. Lengths in metres, levels above the datum of the
berth's water; sentences are in the units and words of their reader.
"""

from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal

from berths.curve import Curve, moment
from berths.window import WaterWindow

END_ON = ("slip", "box", "stern_to")
FIXED = ("fixed", "quay", "drying")  # side-to berths whose fastenings stay where they are
DECIDES = (
    "too_long",
    "too_wide",
    "grounds_at_low",
    "cannot_take_ground",
)  # not known here: not known if she fits
ALMOST = 1e-6


@dataclass(frozen=True)
class Asked:
    """A boat that wants a berth. None and '' are not known.

    loa : the length that counts [m], and what it rests on in `rests_on`. beam, draft, fender [m].
    side : what her skipper would like: port, starboard, bow, stern.
    """

    loa: float
    beam: float
    draft: float
    rests_on: str = "measured"
    displacement: float | None = None
    propellers: str = ""
    turn: str = ""
    side: str = ""
    takes_ground: bool | None = None
    fender: float = 0.2


@dataclass(frozen=True, eq=False)
class Tide:
    """The water of one stay, worked out once for all berths in it.

    passes : when boats come through the gate [(from, until), ...]; None: there is no gate.
    """

    window: WaterWindow
    low_at: datetime | None = None
    passes: list | None = None


@dataclass(frozen=True)
class Point:
    """One thing to say of a berth: `kind` is stop, fix, not_known or note, `code` that of the flag."""

    kind: str
    code: str
    words: str


@dataclass
class Fit:
    """How one boat would lie in one berth. A margin that is None is not known or does not matter there.

    length_left : to the end of what she may reach past the berth. width_left : between the fenders of both sides.
    under_keel : at the lowest water with surge down, at `low_at`. piles_left : guide piles over the hoops at the
    highest water. hard : greater where it is harder to get in; it sorts, and only its `ease` is ever shown.
    """

    points: list = field(default_factory=list)
    length_left: float | None = None
    width_left: float | None = None
    under_keel: float | None = None
    low_at: datetime | None = None
    piles_left: float | None = None
    ease: list = field(default_factory=list)
    hard: int = 0
    side_to: str = ""
    end_in: str = ""
    lines: int | None = None
    thumb: str = ""

    def say(self, kind, code, words):
        self.points.append(Point(kind, code, words))

    def easy(self, words, hard=0):
        self.ease.append(words)
        self.hard += hard

    @property
    def fits(self):
        """True, False, or None: not known."""
        if any(p.kind == "stop" for p in self.points):
            return False
        unknown = any(p.kind == "not_known" and p.code in DECIDES for p in self.points)
        return None if unknown else True

    def of(self, *kinds):
        return [p for p in self.points if p.kind in kinds]


def judge(boat, berth, tide, rules, teller, *, fastenings=None):
    """How this boat fits this berth; `berths.ease.tell` adds how easy it is to get in.

    Parameters
    ----------
    boat : Asked
    berth : Berth
    tide : Tide
    rules : mapping
        House rules.
    teller : callable pair
        `teller.length(metres, kind)`, `teller.time(moment)` and `teller.word(ours)`, in the reader's way.
    fastenings : (number, of unknown strength, not to be used), optional
        None: nobody has surveyed any.

    Returns
    -------
    Fit
    """
    fit = Fit()
    _length(fit, boat, berth, rules, teller)
    _width(fit, boat, berth, teller)
    _depth(fit, boat, berth, tide, rules, teller)
    _pile_tops(fit, berth, tide, rules, teller)
    _water(fit, berth, tide, rules, teller)
    _fastenings(fit, fastenings)
    _gate(fit, tide, teller)
    if berth.note:  # what the harbour has written of this berth: a fuel berth, the wash of a ferry
        fit.say("note", "berth_note", berth.note.rstrip(". "))
    return fit


# --- does she fit ---


def _length(fit, boat, berth, rules, teller):
    allowed = berth.length + berth.overhang_for(rules, Decimal(str(round(boat.loa, 4))))
    fit.length_left = float(allowed) - boat.loa
    if fit.length_left < -ALMOST:
        told = f"{teller.length(boat.loa, 'size')} over everything"
        fit.say(
            "stop",
            "too_long",
            f"{teller.length(-fit.length_left, 'size')} too long: {told}, "
            f"{teller.length(allowed, 'margin')} at most here",
        )


def _width(fit, boat, berth, teller):
    if berth.clear_width is None:
        if berth.kind in END_ON:
            fit.say("not_known", "too_wide", "width between the piles not surveyed")
        return
    fit.width_left = float(berth.clear_width) - boat.beam - 2 * boat.fender
    if fit.width_left < -ALMOST:
        fit.say(
            "stop",
            "too_wide",
            f"{teller.length(-fit.width_left, 'size')} too wide with her fenders: "
            f"clear width {teller.length(berth.clear_width, 'margin')}",
        )


def _depth(fit, boat, berth, tide, rules, teller):
    window, bed = tide.window, berth.bed_z
    if bed is None or window.lowest is None:
        why = "depth not surveyed" if bed is None else f"lowest water not known: {_why(window)}"
        fit.say("not_known", "grounds_at_low", why)
        return
    bed, keep = float(bed), keel_room(berth, rules)
    fit.under_keel, fit.low_at = window.lowest - bed - boat.draft, tide.low_at
    if fit.under_keel >= keep - ALMOST:
        return
    if berth.kind == "drying" or boat.takes_ground:
        _sits(fit, boat, bed, window, teller)
        return
    at = f", {teller.time(tide.low_at)}" if tide.low_at else ""
    spans = _spans(window, bed + boat.draft + keep, below=True)
    when = f"; from {teller.time(spans[0][0])} to {teller.time(spans[0][1])}" if spans else ""
    more = (
        f" and {len(spans) - 1} more times" if len(spans) > 2 else " and once more" if len(spans) == 2 else ""
    )
    fit.say(
        "stop",
        "grounds_at_low",
        f"{teller.length(keep - fit.under_keel, 'size')} too shallow at the lowest water{at}: depth could be "
        f"{teller.length(max(0.0, window.lowest - bed), 'margin')} for a {teller.word('draft')} of "
        f"{teller.length(boat.draft, 'size')} and {teller.length(keep, 'size')} to keep under her{when}{more}",
    )


def keel_room(berth, rules):
    """Clearance the house asks for under a keel here; the larger where nobody said what the bed is. [m]"""
    return float(rules["H8"].get(berth.bed_kind) or max(rules["H8"].values()))


def _sits(fit, boat, bed, window, teller):
    """A berth where she would sit on the bed: only for boats that may."""
    afloat = _spans(window, bed + boat.draft, below=False)
    when = (
        f"afloat from {teller.time(afloat[0][0])} to {teller.time(afloat[0][1])}"
        if afloat
        else "never afloat"
    )
    if boat.takes_ground:
        fit.say("note", "aground", f"she sits on the bed at low water; {when}")
    elif boat.takes_ground is None:
        fit.say("not_known", "cannot_take_ground", f"whether she may take the ground is not told; {when}")
    else:
        fit.say("stop", "cannot_take_ground", f"she would sit on the bed, and may not; {when}")


def _spans(window, level, *, below):
    """When the water with surge down lies below, or at or above, a level: [(from, until), ...]."""
    if window.part is None:
        return []
    part, level = window.part, level + (window.surge_down or 0.0)
    low, high = float(part.levels.min()), float(part.levels.max())
    if (below and level <= low) or (not below and level > high):
        return []
    found = part.below(level) if below else part.above(level)
    return [(moment(a), moment(b)) for a, b in found]


def _pile_tops(fit, berth, tide, rules, teller):
    """A floating dock that rises over its piles leaves with all its boats."""
    if berth.kind != "floating":
        return
    top, hoop, highest = berth.guide_pile_top_z, berth.hoop_height, tide.window.highest
    if None in (top, hoop, highest):
        fit.say(
            "not_known", "pile_top_low", "height of the guide piles not known: do not count on it in a surge"
        )
        return
    fit.piles_left = float(top - hoop) - highest
    if fit.piles_left <= 0:
        over = teller.length(-fit.piles_left, "size")
        words = (
            f"at the highest water with surge the {teller.word('floating')} stands {over} over its pile tops"
        )
        fit.say("stop", "pile_top_low", words)
    elif fit.piles_left < rules["pile_top_spare"]:
        left = teller.length(fit.piles_left, "margin")
        fit.say(
            "note", "pile_top_low", f"guide piles end {left} above the hoops at the highest water with surge"
        )


def _water(fit, berth, tide, rules, teller):
    """What the water asks for beside depth."""
    window = tide.window
    if "surge" in window.not_known and fit.under_keel is not None:
        fit.say("not_known", "surge_unknown", "surge not known")
    if "gate" in window.not_known:
        fit.say("not_known", "gate", window.not_known["gate"])
    if berth.kind in FIXED + END_ON and window.range is not None and window.range > rules["H7"]:
        told = teller.length(window.range, "level")
        fit.say("fix", "tend_her", f"range {told}: somebody must tend her lines")


def _gate(fit, tide, teller):
    """Boats come in only while the water beyond the gate is high enough."""
    if tide.passes is None:
        return
    if not tide.passes:
        fit.say("stop", "gate", "no way in or out: the gate does not pass her in this time")
        return
    told = " and ".join(f"{teller.time(a)} to {teller.time(b)}" for a, b in tide.passes[:3])
    fit.say("note", "gate", f"through the lock only, open {told}")


def _why(window):
    """Why the lowest water is not known, in the fewest words."""
    if window.low is not None:
        return "surge not known"
    return next(
        (words for code, words in window.not_known.items() if code != "surge"), "nobody has entered it"
    )


def _fastenings(fit, counts):
    number, unknown, unusable = counts or (0, 0, 0)
    if number - unusable <= 0:
        fit.say("not_known", "fastenings", "no fastening is recorded that can be used")
        return
    if unknown:
        fit.say("not_known", "fastening_out", f"strength of {unknown} of its {number} fastenings not known")
    if unusable:
        fit.say("note", "fastening_out", f"{unusable} of its {number} fastenings not to be used")


def tide_of(window, passes=None):
    """A Tide from the window of a stay."""
    low_at = None
    if isinstance(window.part, Curve):
        low_at = moment(window.part.times[int(window.part.levels.argmin())])
    return Tide(window, low_at, passes)
