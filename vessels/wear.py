"""What is to be done with a line, from what a look at it found: advice, reason and source, the worst first.

The limits are data (`data/retirement.yaml`). Nothing here calls a line good: what was not looked at is named.
"""

from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from vessels.coefficients import read_coefficients

_DATA = Path(__file__).parent / "data" / "retirement.yaml"

ZONES = {
    "eye": "eye and throat of the splice",
    "chock": "at the boat's chock",
    "shore": "at the shore edge or pile",
    "cleat": "cleat turns",
    "free": "free length",
    "tail": "tail and whipping",
}
WEAR = {
    "fuzz": "fuzz",
    "heavy_fuzz": "heavy fuzz",
    "cut_yarns": "cut yarns",
    "cut_strand": "a strand cut, or a tenth of its fibres",
    "pulled_strand": "pulled strand",
    "flat_hard": "flat or hard",
    "melted": "glazed or melted",
    "stiff_rust_oil": "stiff, rust or oil",
    "grit": "grit or powder inside",
    "hockle": "a kink that stays",
}
ORDER = ("keep", "turn", "shift", "shorten", "light_use", "retire")  # of advice, from least to most


@dataclass(frozen=True)
class Found:
    """What is known of a line at a look. None: not known; a zone left out of `zones` was not looked at."""

    zones: dict = field(default_factory=dict)  # zone -> list of keys of WEAR
    diameter_new: float | None = None  # mm
    diameter_found: float | None = None  # mm
    length_new: float | None = None  # m, to the band
    length_found: float | None = None  # m, to the same band
    strength_new: float | None = None  # N
    strength_found: float | None = None  # N, of a piece that was broken
    greatest_pull: float | None = None  # N, that it is known to have borne
    shock: bool | None = None  # somebody saw it loaded near breaking
    tag_readable: bool | None = None
    material: str = ""
    years: float | None = None  # since it was put in service
    kept_for: str = "permanent"  # permanent, store or storm


class Finding(NamedTuple):
    """One reason for one advice."""

    advice: str
    reason: str
    source: str


@dataclass(frozen=True)
class Judged:
    """`advice` is the strongest of `findings`; `not_known` says what nobody looked at or measured."""

    advice: str
    findings: tuple
    not_known: tuple

    @property
    def why(self):
        """The findings that ask for what is advised."""
        return [finding for finding in self.findings if finding.advice == self.advice]


def judge(found, *, least_left=None):
    """What is to be done with a line.

    Parameters
    ----------
    found : Found
    least_left : float, optional
        Share of its new strength under which a line is done; the published one where the house has none. [-]

    Returns
    -------
    Judged

    Examples
    --------
    >>> judge(Found(diameter_new=16, diameter_found=14.1)).advice
    'retire'
    """
    rows = read_coefficients(_DATA)
    findings = [
        *_zones(found, rows),
        *_strength(found, rows, least_left),
        *_diameter(found, rows),
        *_lengthening(found, rows),
        *_shock(found, rows),
        *_age(found, rows),
    ]
    findings += _tag(found, rows, doubtful=any(f.advice != "keep" for f in findings))
    findings.sort(key=lambda finding: -ORDER.index(finding.advice))
    return Judged(findings[0].advice if findings else "keep", tuple(findings), tuple(_not_known(found)))


def _zones(found, rows):
    for zone, seen in found.zones.items():
        for wear in seen:
            row = rows[f"wear_{wear}"]
            advice = row.value.get("any") or row.value[zone]
            yield Finding(advice, f"{ZONES[zone].capitalize()}: {WEAR[wear]}.", row.source)
    worn = [zone for zone, seen in found.zones.items() if "heavy_fuzz" in seen]
    if len(worn) >= rows["most_zones"].value:
        yield Finding("retire", "Heavy fuzz over most of its length.", rows["wear_heavy_fuzz"].source)


def _strength(found, rows, least_left):
    if found.strength_found is None or found.strength_new is None:
        return
    row = rows["least_strength_left"]
    least, left = least_left or row.value, found.strength_found / found.strength_new
    if left < least:
        yield Finding(
            "retire",
            f"{left:.0%} of its strength is left, {least:.0%} is the least.".replace("%", " %"),
            row.source,
        )


def _diameter(found, rows):
    if found.diameter_found is None or found.diameter_new is None:
        return
    row = rows["most_diameter_lost"]
    new, now = float(found.diameter_new), float(found.diameter_found)
    if new - now > new * row.value * (1 + 1e-9):  # exactly a tenth is not yet more than a tenth
        yield Finding(
            "retire", f"{now:g} mm of {new:g} mm: {1 - now / new:.0%} down.".replace("%", " %"), row.source
        )


def _lengthening(found, rows):
    if found.length_found is None or found.length_new is None:
        return
    longer = float(found.length_found) / float(found.length_new) - 1
    words = f"{longer:.0%} longer than when it was new".replace("%", " %")
    over, usual = rows["lengthening_overload"], rows["lengthening_usual"]
    if longer >= over.value - 1e-9:
        yield Finding("retire", f"{words}: it was overloaded.", over.source)
    elif longer > usual.value + 1e-9:
        yield Finding("light_use", f"{words}, more than bedding-in explains.", usual.source)


def _shock(found, rows):
    row = rows["shock_share"]
    pulled = None
    if found.greatest_pull is not None and found.strength_new is not None:
        pulled = found.greatest_pull / found.strength_new > row.value
    if found.shock or pulled:
        yield Finding("retire", "Loaded once near breaking.", row.source)


def _age(found, rows):
    """Age alone asks for a look, not for the bin; but sun eats polypropylene."""
    if found.years is None:
        return
    outside, loss = found.kept_for == "permanent", rows["polypropylene_yearly_loss"]
    least = rows["least_strength_left"].value
    if outside and found.material == "polypropylene" and (1 - loss.value) ** found.years < least:
        yield Finding("retire", f"Polypropylene, {found.years:.0f} years in the sun.", loss.source)
    row = rows["age_asks_for_a_look"]
    if found.years >= row.value[found.kept_for]:
        yield Finding("keep", f"{found.years:.0f} years old: look more often.", row.source)
    elif outside and found.years >= rows["open_weather_years"].value:
        row = rows["open_weather_years"]
        yield Finding(
            "keep", f"{found.years:.0f} years in the open: a third of its strength may be gone.", row.source
        )


def _tag(found, rows, doubtful):
    if found.tag_readable is not False:
        return
    row = rows["no_tag_and_doubt" if doubtful else "no_tag"]
    words = (
        "No readable tag, and it looks doubtful."
        if doubtful
        else "No readable tag: its strength is not known."
    )
    yield Finding(row.value, words, row.source)


def _not_known(found):
    yield from (f"not looked at: {words}" for zone, words in ZONES.items() if zone not in found.zones)
    for name, words in (
        ("diameter_found", "diameter not measured"),
        ("length_found", "length not measured"),
        ("shock", "whether it was ever loaded near breaking"),
        ("tag_readable", "whether its tag can be read"),
    ):
        if getattr(found, name) is None:
            yield words


def looks_again_sooner(found):
    """Whether its age asks for a look twice as often."""
    rows = read_coefficients(_DATA)["age_asks_for_a_look"].value
    return found.years is not None and found.years >= rows[found.kept_for]
