"""What rope of a material and diameter can carry, how it stretches, and which size a boat wants.

These are fallbacks: a line's own certificate or maker's sheet always comes first.
"""

from pathlib import Path
from typing import NamedTuple

import numpy as np

from vessels.coefficients import read_coefficients

INCH = 25.4  # mm
LBF = 4.4482216  # N

_DATA = Path(__file__).parent / "data" / "ropes.yaml"
MATERIALS = ("nylon_3strand", "nylon_braid", "polyester_3strand", "polyester_braid", "polypropylene", "hmpe")


class Strength(NamedTuple):
    """Least breaking strength of new dry rope, and what that figure rests on."""

    mbs: float  # N
    rests_on: str


class HouseDiameter(NamedTuple):
    """A stock diameter, and what was said about choosing it; empty `note` where there is nothing to say."""

    mm: float
    note: str


def _coefficients():
    return read_coefficients(_DATA)


def _known(material):
    if material not in MATERIALS:
        raise ValueError(f"no rope called {material!r} (there are: {', '.join(MATERIALS)})")
    return material


def strength(material, diameter_mm):
    """Breaking strength of a line that comes without a certificate: the lowest of the tables at hand.

    Between the rows of a table strength / diameter**2 is interpolated, so that every row comes back as
    printed; beyond its ends that ratio is kept.

    Parameters
    ----------
    material : str
        One of the materials of a Scenario.
    diameter_mm : float
        Above 0. [mm]

    Returns
    -------
    Strength
        [N], new, dry, unknotted.

    Raises
    ------
    ValueError
        For an unknown material or a diameter that is not above 0.

    Examples
    --------
    >>> round(strength("nylon_3strand", 12.7).mbs)
    25221
    """
    if not diameter_mm > 0:
        raise ValueError(f"rope diameter {diameter_mm:g} mm: must be above 0")
    rows = _coefficients()
    if (law := rows.get(f"law_{_known(material)}")) is not None:
        return Strength(law.value * diameter_mm**2, law.source)
    return min(_table_strengths(rows, material, diameter_mm))


def _table_strengths(rows, material, diameter_mm):
    """What every table says; a table is stretched past its ends only where none covers this diameter."""
    d, inside, beyond = diameter_mm / INCH, [], []
    for kind, least in (("strength", 1.0), ("average_strength", rows["average_to_least"].value)):
        for name in (n for n in rows if n.startswith(f"{kind}_{material}_")):
            inches, pounds = np.array(rows[name].value, float).T
            ratio = float(np.interp(d, inches, pounds / inches**2))
            found = Strength(ratio * d**2 * LBF * least, rows[name].source)
            (inside if inches[0] <= d <= inches[-1] else beyond).append(found)
    if material == "nylon_braid":
        on, laid = rows["nylon_braid_on_3strand"], strength("nylon_3strand", diameter_mm)
        inside.append(Strength(laid.mbs * on.value, f"{on.source}; on {laid.rests_on}"))
    return inside or beyond


def stretch(material):
    """Middle stretch curve of a material: rows of strain and tension as a share of breaking strength.

    One name covers rope of very different age and make: about 30 % stiffer or softer is common.

    Returns
    -------
    tuple of (float, float)
        Strain rising from 0, tension / strength rising to 1. [-]

    Examples
    --------
    >>> stretch("hmpe")
    ((0.0, 0.0), (0.017857, 1.0))
    """
    return tuple((float(e), float(t)) for e, t in _coefficients()[f"stretch_{_known(material)}"].value)


def wet(kind):
    """Share of its dry strength that wet rope of this fibre keeps, as a `Coefficient` with its source. [-]

    Not for a strength that is already stated wet.
    """
    return _coefficients()[f"wet_{kind}"]


def wet_factor(material):
    """The share that wet rope of a material keeps. [-]

    >>> wet_factor("nylon_braid"), wet_factor("polypropylene")
    (0.85, 1.0)
    """
    return wet(_known(material).split("_")[0]).value


def house_diameter(loa, stock_mm=None):
    """The stock size for a boat's length: length / 864, at least 3/8 in, then the next size up.

    Parameters
    ----------
    loa : float
        Length over everything, above 0. [m]
    stock_mm : list of float, optional
        Sizes on the shelf; the usual metric ones where nobody says. [mm]

    Returns
    -------
    HouseDiameter
        [mm], with a note where even the largest size on the shelf is under the rule.

    Raises
    ------
    ValueError
        For a length that is not above 0.

    Examples
    --------
    >>> house_diameter(11.0).mm
    14.0
    >>> house_diameter(30.0, [12, 16])
    HouseDiameter(mm=16.0, note='the rule asks for 34.7 mm and the largest in stock is 16 mm')
    """
    if not loa > 0:
        raise ValueError(f"boat length {loa:g} m: must be above 0")
    rows = _coefficients()
    wanted = max(loa / rows["house_diameter"].value * 1000, rows["house_diameter_least"].value)
    shelf = sorted(stock_mm or rows["stock_diameters"].value)
    for size in shelf:
        if size >= wanted * (1 - 1e-9):  # 36 ft asks for exactly 1/2 in: rounding must not push her a size up
            return HouseDiameter(float(size), "")
    return HouseDiameter(
        float(shelf[-1]), f"the rule asks for {wanted:.1f} mm and the largest in stock is {shelf[-1]:g} mm"
    )


def cleat_length_for(diameter_mm):
    """Length of cleat that a line of this diameter wants. [m]

    >>> cleat_length_for(12.5)
    0.2
    """
    return _coefficients()["cleat_length"].value * diameter_mm / 1000
