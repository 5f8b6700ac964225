"""What is taken of a boat that nobody has measured: areas, fittings, outline, weight. All are estimates.

Boat frame: x forward from her aftmost point, y to port, z up from the waterline. SI units.
"""

import math
from pathlib import Path

import numpy as np

from vessels import rope
from vessels.coefficients import read_coefficients

SEA_WATER = 1025.0  # kg/m3
_DATA = Path(__file__).parent / "data" / "hulls.yaml"
_PLACES = ("bow", "mid", "stern")
CLASSES = ("sail", "motor", "open", "catamaran", "work")
CLASS_OF = {  # kinds of the register -> classes of the estimates
    "sail_fin_keel": "sail",
    "sail_long_keel": "sail",
    "sail_twin_keel": "sail",
    "gaff_long_keel": "sail",
    "sail_catamaran": "catamaran",
    "motor_open": "open",
    "motor_cabin": "motor",
    "motor_flybridge": "motor",
    "motor_displacement": "motor",
    "motor_trawler": "motor",
    "fishing": "work",
}


def _take(name):
    return read_coefficients(_DATA)[name].value


def _class(hull_class):
    if hull_class is None:
        return "any"
    if hull_class not in CLASSES:
        raise ValueError(f"no class of hull called {hull_class!r} (there are: {', '.join(CLASSES)})")
    return hull_class


def windage(loa, beam, hull_class=None):
    """Estimated areas above water and their drag coefficients; right to about 40 %.

    Parameters
    ----------
    loa, beam : float
        Length (of the hull, where it is known to be shorter) and beam. [m]
    hull_class : str, optional
        One of `CLASSES`; without it the boat is taken as a cabin motorboat, which catches most wind.

    Returns
    -------
    dict
        frontal_area, side_area [m2], cd_front, cd_side [-].
    """
    kind = _class(hull_class)
    mast = _take("mast_area")[kind] * loa
    return {
        "frontal_area": _take("front_fill") * beam * _take("house_height")[kind] * loa + mast,
        "side_area": _take("side_area")[kind] * loa**2 + mast,
        "cd_front": _take("cd_front"),
        "cd_side": _take("cd_side"),
    }


def underwater(loa, draft=None, depth=None):
    """Estimated areas under water and their drag coefficients, raised in shallow water.

    Parameters
    ----------
    loa : float
        Length of the hull. [m]
    draft, depth : float, optional
        With both, the coefficient across is raised by `shallow_factor`. [m]

    Returns
    -------
    dict
        frontal_area, side_area [m2], cd_front, cd_side [-].
    """
    shallow = 1.0 if draft is None or depth is None else shallow_factor(draft, depth)
    return {
        "frontal_area": _take("wet_front_area") * loa**2,
        "side_area": _take("wet_side_area") * loa**2,
        "cd_front": _take("wet_cd_front"),
        "cd_side": _take("wet_cd_side") * shallow,
    }


def shallow_factor(draft, depth):
    """How much harder a cross stream presses where there is little water under the keel. [-]

    Holds from deep water to draft / depth 0.96, where the published table ends and the factor stays.
    Source: UFC 4-159-03, eq. 11 to 13 with exponent 2.

    >>> round(shallow_factor(1.8, 2.0), 2)
    3.25
    """
    share = _take("shallow_limit") if depth <= 0 else min(draft / depth, _take("shallow_limit"))
    return 1 + (_take("shallow_touching") / _take("shallow_deep") - 1) * share**2


def fittings(loa, beam):
    """Six fittings where most boats have them: pairs forward, amidships and aft. Strength is not known.

    Returns
    -------
    list of dict
        id, x, y, z in the boat frame. [m]
    """
    return [
        {
            "id": f"{place}_{side}",
            "x": _take("fitting_x")[place] * loa,
            "y": sign * _take("fitting_y")[place] * beam,
            "z": _take("fitting_z")[place] * loa,
        }
        for place in _PLACES
        for side, sign in (("port", 1), ("starboard", -1))
    ]


def fitting_strength(loa):
    """What a deck cleat nobody has looked at is taken to bear on a boat of this length, and what that rests on.

    The cleat is taken as long as the boat's usual line asks for, and its strength to grow with the square of its
    length, from the weakest make in its weakest direction of a published test.

    Parameters
    ----------
    loa : float
        Length over everything, above 0. [m]

    Returns
    -------
    (float, str)
        [N], to the hundred; source.

    Examples
    --------
    An 11 m boat wants 14 mm rope and 224 mm cleats:

    >>> fitting_strength(11.0)[0]
    11400.0
    """
    tested = read_coefficients(_DATA)["fitting_strength"]
    size = rope.cleat_length_for(rope.house_diameter(loa).mm) / _take("fitting_tested")
    return round(tested.value * size**2, -2), tested.source


def outline(loa, beam, hull_class=None):
    """Port half of her outline from above, stern to bow; without a class half of a rectangle.

    Returns
    -------
    list of (float, float)
        All y >= 0: to be mirrored. [m]
    """
    shares = _take(f"outline_{_class(hull_class)}")
    return [(x * loa, y * beam / 2) for x, y in shares]


def rub_band(loa):
    """The part of her side that can touch: height of its lower and upper edge above the water. [m]

    >>> rub_band(11.0)
    (0.3, 0.99)
    """
    low = _take("rub_low")
    return low, max(_take("rub_high") * loa, low + _take("rub_least"))


def displacement(loa, beam, draft=None):
    """Estimated weight of the water she displaces, as a mass. A keel is deep and displaces little. [kg]

    >>> round(displacement(10.0, 3.4), -2)
    5600.0
    """
    hull = _take("hull_draft") * loa
    return SEA_WATER * _take("block") * loa * beam * (hull if draft is None else min(draft, hull))


def closed_outline(points):
    """Her whole outline as a convex polygon, ready for contact.

    A port half (all y >= 0) is mirrored, a dented outline is filled (see `dent`), and points that lie within
    5 mm of a straight side are left out: each would add a contact point of its own and stiffen the side.

    Parameters
    ----------
    points : sequence of (float, float)
        At least 3 places, 2 for a port half; either turning sense, the last may repeat the first. [m]

    Returns
    -------
    ndarray, (vertices, 2)
        Counter-clockwise, the last point not repeated. [m]

    Raises
    ------
    ValueError
        Where the points enclose no area.

    Examples
    --------
    >>> closed_outline([(0, 1), (5, 1.001), (10, 1)])
    array([[10., -1.], [10.,  1.], [ 0.,  1.], [ 0., -1.]])
    """
    ring = _hull(_mirrored(points))
    start = max(range(len(ring)), key=lambda i: (ring[i][0], -ring[i][1]))
    ring = _straightened(ring[start:] + ring[:start])
    if len(ring) < 3:
        raise ValueError(
            "boat.outline: encloses no area; give at least three points that are not in one line"
        )
    return np.array(ring)


def dent(points):
    """How deep the deepest dent of an outline is, which `closed_outline` fills. [m]

    >>> dent([(0, 1.5), (4, 1.0), (8, 1.5)])
    0.5
    """
    ring = _hull(_mirrored(points))
    sides = list(zip(ring, ring[1:] + ring[:1], strict=True))
    return max(min(abs(_off_chord(p, a, b)) for a, b in sides) for p in _mirrored(points))


def _mirrored(points):
    points = [(float(x), float(y)) for x, y in points]
    return points + [(x, -y) for x, y in points] if all(y >= 0 for _, y in points) else points


def _hull(points):
    """Corners of the convex hull, counter-clockwise (Andrew's monotone chain)."""
    points = sorted(set(points))
    chains = []
    for run in (points, points[::-1]):
        chain = []
        for p in run:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], p) <= 0:
                chain.pop()
            chain.append(p)
        chains += chain[:-1]
    return chains


def _turn(a, b, p):
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])


def _off_chord(p, a, b):
    return _turn(a, b, p) / math.dist(a, b)


def _straightened(ring, tolerance=0.005):
    kept, i = [], 0
    closed = ring + ring[:1]
    while i < len(ring):
        kept.append(ring[i])
        j = i + 1
        while (
            j < len(ring)
            and closed[j + 1] != ring[i]
            and all(abs(_off_chord(p, ring[i], closed[j + 1])) < tolerance for p in ring[i + 1 : j + 1])
        ):
            j += 1
        i = j
    return kept
