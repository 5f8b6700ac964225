"""Which line from which hook: the lines that are asked for against the ropes that are there, all at once.

Plain data in, plain data out. Every line is judged against every rope; what is left is an assignment problem,
solved as one, so that the first line does not take the only rope that would have served the second.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np
from scipy.optimize import linear_sum_assignment

from vessels import rope as ropes

# What a match costs: each figure outweighs all that follow it together, for the lines of some dozen boats. Lending
# weighs as two small compromises and less than a great one: her own lines go on first.
UNMET, UNMET_IF_WANTED = 1e9, 4e8
COMPROMISE, METRE, YEAR = 1e6, 1.0, 1e-5
LENDING, KEPT = 2.5, 4.5  # compromises; what is out to her stays before another is fetched
MOST_YEARS, MOST_SPARE, LONG_AGO = 100, 100, 1990

HARD = 0.2  # of strength: the pull at which two ropes' stretch is compared; common practice, no source
STIFF = 2.0  # x stretch: nylon beside low-stretch rope, the stiff one takes the load (R-CP-19)
SIZE = 2.0  # mm between two stock sizes
CLEAT_SPARE = 0.0255  # m that a cleat may lack of 16 diameters (R-CLEAT-1, which counts in inches)
NEVER = {  # common practice, no source; high-modulus rope is ten times as stiff as nylon (R-STR-6)
    "polypropylene": "polypropylene, which rots in the sun: for heaving lines only",
    "hmpe": "hardly stretches: never alone as a dock line",
}


@dataclass(frozen=True)
class Need:
    """One line that is asked for.

    `working` is from bearing point to bearing point, `cut` with what eye, turns and tail take [m]. `bears` is the
    strength that wet rope must have left [N]. `thickest` is what the cleats at its ends take, None: not known [mm].
    `whom` tells boats apart where several are served at once.
    """

    id: str
    working: float
    cut: float
    diameter: float
    material: str
    bears: float
    thickest: float | None = None
    role: str = ""
    optional: bool = False
    whom: str = ""


@dataclass(frozen=True)
class Rope:
    """One rope that may be there. None is 'not known' throughout.

    `barred` says why it must hold nothing, or holds somebody else. `doubts` are said beside it and count against
    it. `hers` is the boat it belongs to or is out to: it serves no other, and nothing has to be lent. `out`: it is
    out to her already, and stays before another is fetched.
    """

    tag: str
    total: float | None = None
    working: float | None = None
    diameter: float | None = None
    material: str = ""
    strength: float | None = None
    eyes: str = ""
    since: date | None = None
    place: str = ""
    hers: str | None = None
    lent: bool = True
    storm: bool = False
    drying: bool = False
    out: bool = False
    barred: str = ""
    doubts: tuple = ()
    notes: tuple = ()


@dataclass(frozen=True)
class Match:
    """How well one rope serves one line: `refused` says why not; `spare` is by how much it is longer. [m]"""

    refused: str = ""
    short_by: float = 0.0
    spare: float = 0.0
    compromises: tuple = ()
    weight: int = 0


@dataclass(frozen=True)
class Offer:
    """What one line gets, or what is to be fetched for it. Lengths in m, diameters in mm.

    `barred` are (tag, why) of ropes that would serve and must not; `lacking` is the nearest miss in words.
    """

    need: Need
    rope: Rope | None = None
    spare: float = 0.0
    compromises: tuple = ()
    nearest: Rope | None = None
    lacking: str = ""
    barred: tuple = ()

    @property
    def fetch(self):
        """What to fetch instead, in words; empty where a rope is offered."""
        if self.rope is not None:
            return ""
        return f"{half_up(self.need.cut):.1f} m of {self.need.diameter:g} mm, {plain(self.need.material)}"

    @property
    def fetch_words(self):
        """The same as a sentence."""
        return f"Fetch {self.fetch}" if self.fetch else ""


def serves(need, rope):
    """Whether and how a rope serves a line, whatever bars it.

    Examples
    --------
    >>> need = Need("1", working=9.5, cut=11.2, diameter=14, material="nylon_3strand", bears=20000)
    >>> serves(need, Rope("WH-7", total=12, diameter=14, material="nylon_3strand", strength=31000, eyes="one")).spare
    0.8
    """
    if rope.hers is not None and rope.hers != need.whom:
        return Match("another boat's")
    spare = _spare(need, rope)
    if spare is None:
        return Match("its length is not known")
    if spare < -1e-6:
        return Match(f"{-spare:.2f} m too short", short_by=-spare)
    refused = _size(need, rope) or _strength(need, rope)
    if refused:
        return Match(refused)
    told = [*_thinner_or_thicker(need, rope), *_stretch(need, rope), *_state(rope)]
    return Match(
        spare=round(spare, 4), compromises=tuple(w for w, _ in told), weight=sum(weight for _, weight in told)
    )


def _spare(need, rope):
    """By how much it is longer, with what eye, turns and tail take; to its band where its whole is not known."""
    if rope.total is not None:
        return rope.total - need.cut
    return None if rope.working is None else rope.working - need.working


def _size(need, rope):
    if rope.material in NEVER:
        return NEVER[rope.material]
    if rope.diameter is None:
        return "its diameter is not known"
    if (
        need.thickest is not None
        and rope.diameter > need.thickest + 1e-9
        and rope.diameter > need.diameter + 1e-9
    ):
        return f"{rope.diameter:g} mm is too thick for the cleats"
    return ""


def _strength(need, rope):
    if rope.strength is None:
        return "its strength is not known"
    left = rope.strength * _wet(rope.material)
    return "" if left >= need.bears * (1 - 1e-9) else "too weak"


def _wet(material):
    """Of a rope that nobody knows the least of all factors."""
    known = [material] if material in ropes.MATERIALS else ropes.MATERIALS
    return min(ropes.wet_factor(name) for name in known)


def _thinner_or_thicker(need, rope):
    more = rope.diameter - need.diameter
    asked = f"{rope.diameter:g} mm where {need.diameter:g} mm was worked out"
    if more < -1e-9:
        yield f"{asked}: strong enough, wears faster and stretches more", 2
    elif more > 1e-9:
        yield f"{asked}: stretches less, her fittings feel more of it", 1 if more <= SIZE else 2
        if need.thickest is None:
            yield "whether the cleats take it is not known", 2


def _stretch(need, rope):
    if rope.material not in ropes.MATERIALS:
        yield "what rope it is is not known: how it stretches is a guess", 2
        return
    ratio = _give(need.material) / _give(rope.material)
    # Where one stiff line must be put on it goes along her: springs are the longest; common practice, no source.
    weight = 3 if need.role.startswith("spring") else 4
    if ratio >= STIFF:
        yield (
            f"{plain(rope.material)} where {plain(need.material)} was worked out: stretches less, takes most of the pull",
            weight,
        )
    elif ratio <= 1 / STIFF:
        yield (
            f"{plain(rope.material)} where {plain(need.material)} was worked out: stretches more, she moves farther",
            weight,
        )


def _give(material):
    """Strain at a hard pull."""
    strain, share = np.array(ropes.stretch(material)).T
    return float(np.interp(HARD, share, strain))


def _state(rope):
    if rope.eyes == "none":
        yield "no eye: a hitch ashore", 1
    if rope.drying:
        yield "hangs to dry", 1
    if rope.storm:
        yield "storm gear: to be back before the season of storms", 3
    for words in rope.doubts:
        yield words, 4


def cost(need, match, rope, *, short):
    """What a match costs, the less the better; infinite where it is none."""
    if match.refused or rope.barred:
        return np.inf
    # For a short stay the oldest good one goes out first; one of unknown age is no old one.
    years = 0.0
    if short:
        years = MOST_YEARS if rope.since is None else min(MOST_YEARS, max(0, rope.since.year - LONG_AGO))
    return (
        COMPROMISE * (match.weight + LENDING * rope.lent - KEPT * rope.out)
        + METRE * round(min(match.spare, MOST_SPARE), 1)
        + YEAR * years
    )


def assign(needs, there, elsewhere=(), *, short=True):
    """Offer a rope for every line that is asked for, so that all of them together are served best.

    Parameters
    ----------
    needs : sequence of Need
    there : sequence of Rope
        In the store, on the boat, or out to her already.
    elsewhere : sequence of Rope
        Not in the store, but perhaps to be fetched; the nearest first.
    short : bool
        A short stay: of two that serve alike the older goes out.

    Returns
    -------
    list of Offer
        One for each line, in order.
    """
    matches = [[serves(need, rope) for rope in there] for need in needs]
    chosen = _solve(needs, there, matches, short)
    return [
        Offer(need, there[j], row[j].spare, row[j].compromises)
        if (j := chosen.get(i)) is not None
        else _unmet(need, there, row, elsewhere)
        for i, (need, row) in enumerate(zip(needs, matches, strict=True))
    ]


def _solve(needs, there, matches, short):
    """{index of need: index of rope}; each need may also stay unmet, at a price above all compromises."""
    if not needs:
        return {}
    table = np.full((len(needs), len(there) + len(needs)), np.inf)
    for i, need in enumerate(needs):
        for j, rope in enumerate(there):
            table[i, j] = cost(need, matches[i][j], rope, short=short)
        table[i, len(there) + i] = UNMET_IF_WANTED if need.optional else UNMET
    return {int(i): int(j) for i, j in zip(*linear_sum_assignment(table), strict=True) if j < len(there)}


def _unmet(need, there, row, elsewhere):
    would = [
        (rope.tag, rope.barred) for rope, m in zip(there, row, strict=True) if rope.barred and not m.refused
    ]
    nearest = next((rope for rope in elsewhere if not rope.barred and not serves(need, rope).refused), None)
    return Offer(need, nearest=nearest, lacking=_nearest_miss(there, row), barred=tuple(would))


def _nearest_miss(there, row):
    """The rope that lacks least, where only length is lacking."""
    short = [
        (m.short_by, rope.tag) for rope, m in zip(there, row, strict=True) if m.short_by and not rope.barred
    ]
    return "" if not short else "{1} is {0:.2f} m too short".format(*min(short))


def thickest_for(*cleats):
    """The thickest line that cleats of these lengths take; None where one of them is not known. [mm]

    >>> thickest_for(0.25, 0.30), thickest_for(0.25, None)
    (17.2, None)
    """
    if any(length is None for length in cleats) or not cleats:
        return None
    per_mm = ropes.cleat_length_for(1.0)
    return round(min(float(length) + CLEAT_SPARE for length in cleats) / per_mm, 1)


def plain(material):
    """'nylon three-strand': a key of the rope table as it is said."""
    return (material or "rope").replace("_", " ").replace("3strand", "three-strand")


def half_up(metres):
    """Up to the next half metre: rope is fetched, not measured out."""
    return float(np.ceil(metres * 2 - 1e-6) / 2)
