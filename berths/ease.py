"""How easy is it to get this boat into that berth, and which lines will she want? In words, by rules of thumb.

Pure, and without the solver: the words help to choose among berths that fit; the tie-up is worked out for the one
that is chosen.
"""

import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from berths.fits import END_ON, FIXED
from marina.base.units import KNOT
from vessels.coefficients import read_coefficients
from vessels.rope import house_diameter

WORKED_OUT = ("floating", "slip", "box", "fixed", "quay", "drying")
POINTS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


@dataclass(frozen=True)
class Wind:
    """What is forecast for her arrival: gust [m/s], and from where [true degrees]; None: not said."""

    gust: float | None
    from_deg: float | None

    @property
    def counts(self):
        return None not in (self.gust, self.from_deg) and self.gust >= _figure("wind_counts") * float(KNOT)

    @property
    def words(self):
        """'22 kn from the south-west', for a wind that is known."""
        return f"{self.gust / float(KNOT):.0f} kn from the {POINTS[round(self.from_deg / 45) % 8]}"


@cache
def _figures():
    return read_coefficients(Path(__file__).parent / "data" / "fits.yaml")


def _figure(name):
    return _figures()[name].value


def tell(fit, boat, berth, tide, rules, teller, *, wind=None):
    """Add to a Fit which side or end goes to the dock, what makes it easy or hard, and the lines by rule of thumb.

    Parameters
    ----------
    fit : Fit
    boat, berth, tide, rules, teller
        As `berths.fits.judge` takes them.
    wind : Wind, optional
        None: nothing is forecast.
    """
    _ends(fit, boat, berth)
    _wind(fit, berth, wind, teller)
    _propeller(fit, boat, berth)
    _room(fit, teller)
    _lock(fit, tide)
    _lines(fit, boat, berth, tide, rules, teller)
    return fit


def _ends(fit, boat, berth):
    """Which side or end of her lies to the dock, unless her skipper said so."""
    if berth.kind in END_ON:
        usual = "bow" if berth.kind == "box" else "stern"
        fit.side_to = fit.end_in = boat.side if boat.side in ("bow", "stern") else usual
    elif boat.side in ("port", "starboard"):
        fit.side_to = boat.side
    else:
        fit.side_to = _kick(boat) or "starboard"


def _kick(boat):
    """The side to which a single propeller pulls her stern when she stops; '' where none or not known."""
    if boat.propellers != "single":
        return ""
    return {"right": "port", "left": "starboard"}.get(boat.turn, "")


def _wind(fit, berth, wind, teller):
    if wind is None or not wind.counts:
        return
    told = f"wind {wind.words}"
    dock = teller.word(berth.kind if berth.kind in ("floating", "slip", "fixed", "quay") else "fixed")
    if berth.kind in END_ON:
        c = math.cos(math.radians(wind.from_deg - float(berth.bearing_deg)))
        if abs(c) < _figure("wind_end_on"):
            fit.easy(f"{told} blows across: windward line first", hard=2)
        else:
            fit.easy(f"{told} blows {f'her toward the {dock}' if c > 0 else 'straight out'}", hard=1)
        return
    c = math.cos(math.radians(wind.from_deg - (float(berth.bearing_deg) - 90)))  # water lies left of +x
    if abs(c) < _figure("wind_along"):
        fit.easy(f"{told} blows along the {dock}")
    elif c > 0:
        fit.easy(f"{told} blows her on to the {dock}", hard=1)
    else:
        fit.easy(f"{told} blows her off the {dock}: first line at once", hard=2)


def _propeller(fit, boat, berth):
    kick = _kick(boat)
    if boat.propellers == "twin":
        fit.easy("twin propellers: either side")
    if not kick:
        return
    if berth.kind in END_ON:
        if fit.end_in == "stern":
            fit.easy(f"going astern her stern walks to {kick}", hard=1)
    elif fit.side_to == kick:
        fit.easy(f"{kick} side to: her propeller pulls the stern in")
    else:
        fit.easy(f"{fit.side_to} side to: her propeller pulls the stern off", hard=1)


def _room(fit, teller):
    if fit.width_left is None or fit.width_left < 0:
        return
    each = fit.width_left / 2
    told = f"{teller.length(each, 'margin')} to spare each side outside her fenders"
    if each >= _figure("roomy"):
        fit.easy(f"roomy: {told}")
    else:
        tight = each < _figure("tight")
        fit.easy(f"{'tight' if tight else 'fair'}: {told}", hard=2 if tight else 1)


def _lock(fit, tide):
    at = tide.window.at
    if tide.passes and at is not None and not any(a <= at <= b for a, b in tide.passes):
        fit.easy("she must wait for the lock", hard=1)


# --- which lines ---


def _lines(fit, boat, berth, tide, rules, teller):
    """The house's least number for this kind, and lengths by rule of thumb until a tie-up is worked out."""
    fit.lines = rules["H5"].get(berth.kind)
    if berth.kind not in WORKED_OUT:
        fit.say("not_known", "no_tie_up", "no tie-up is worked out for this kind of berth")
    ends, springs = _figure("ends_share") * boat.loa, _figure("springs_share") * boat.loa
    if berth.kind in FIXED and tide.window.range is not None:
        ends, springs = (max(v, _figure("wall_share") * tide.window.range) for v in (ends, springs))
    size = house_diameter(boat.loa, rules["stock_diameters"]).mm
    count = f"{fit.lines} lines of {size:g} mm" if fit.lines else f"lines of {size:g} mm"
    fit.thumb = f"{count}: bow and stern about {teller.about(ends)}, springs about {teller.about(springs)}"
