"""The constituents of the tide: what a name stands for, and the astronomy behind it.

Each constituent is a cosine whose angle V is a sum of whole multiples of the mean places of sun and moon.
The moon's 18.6-year swing scales it by a factor f and turns it by an angle u, both Schureman's [1]_, as the
US tide tables use them. `berths.tide` adds the cosines up.

Conventions: times are UTC `datetime64`; angles in degrees where `longitudes` gives them, u in radians.

References
----------
.. [1] P. Schureman, "Manual of Harmonic Analysis and Prediction of Tides", US Coast and Geodetic Survey,
   Special Publication 98, 1958. Equation numbers below are his.
.. [2] J. Meeus, "Astronomical Algorithms", 1991, chapters 21, 24 and 45: mean longitudes.
"""

import re
from functools import cache
from math import isfinite
from pathlib import Path
from typing import NamedTuple

import numpy as np
import yaml

TABLE = Path(__file__).parent / "data" / "constituents.yaml"


class Constituent(NamedTuple):
    """What a constituent's name stands for.

    `multiples`: of the seven rows of `longitudes`. `nodal`: (group, power) pairs; the factor takes the
    power's size, the angle its sign too.
    """

    multiples: np.ndarray
    nodal: tuple


# --- names -----------------------------------------------------------------------------------------------


@cache
def _table():
    rows = yaml.safe_load(TABLE.read_text(encoding="utf-8"))
    listed = {}
    for name, (*multiples, nodal) in rows["constituents"].items():
        groups = re.findall(r"([+-]?)([A-Z]\w*)", str(nodal))
        listed[name] = Constituent(
            np.array(multiples, float), tuple((g, -1 if sign == "-" else 1) for sign, g in groups)
        )
    return listed, rows["spellings"]


@cache
def constituent(name):
    """Look a constituent up, or build it from the parts its name is made of.

    Parameters
    ----------
    name : str
        Any spelling in use: letter case does not matter.

    Raises
    ------
    ValueError
        If the name means nothing; the message holds it.

    Examples
    --------
    >>> constituent("Mm").multiples
    array([ 0.,  1.,  0., -1.,  0.,  0.,  0.])
    >>> constituent("2MK3").nodal                        # two M2 forward, one K1 back
    (('M2', 2), ('K1', -1))
    """
    listed, spellings = _table()
    key = spellings.get(name.upper(), name.upper())
    if key in listed:
        return listed[key]
    parts = _parts(key)
    if not parts or any(part not in listed for part, _ in parts):
        raise ValueError(f"tide constituent {name!r} is not known: check how the station's list spells it")
    return Constituent(
        sum(power * listed[part].multiples for part, power in parts),
        tuple((group, power * sign) for part, power in parts for group, sign in listed[part].nodal),
    )


def _parts(key):
    """Take a compound name apart: 2MK3 -> [("M2", 2), ("K1", -1)]; empty if it cannot be done.

    The figure at the end says how often a day the compound comes. If the parts come oftener, parts run
    backwards, the last ones first. K may be K2 or K1: K2 wherever that works out.
    """
    whole = re.fullmatch(r"((?:\d*(?:\([A-Z]+\)|[A-Z]))+?)(\d+)", key)
    if not whole:
        return []
    wanted = int(whole[2])
    letters = [
        (letter, int(count or 1))
        for count, group, single in re.findall(r"(\d*)(?:\(([A-Z]+)\)|([A-Z]))", whole[1])
        for letter in group or single
    ]
    if len(letters) == 1 and letters[0][0] in "MSN":  # an overtide: M4 is M2 twice, M5 two and a half times
        return [(letters[0][0] + "2", wanted / 2)]
    for k in (2, 1):
        per_day = {**dict.fromkeys("MSNLTR", 2), **dict.fromkeys("OPQJ", 1), "K": k}
        if any(letter not in per_day for letter, _ in letters):
            return []
        powers = [count for _, count in letters]
        total = sum(count * per_day[letter] for letter, count in letters)
        for i in reversed(range(len(letters))):
            if total > wanted:
                total -= 2 * powers[i] * per_day[letters[i][0]]
                powers[i] = -powers[i]
        if total == wanted:
            return [(f"{letter}{per_day[letter]}", n) for (letter, _), n in zip(letters, powers, strict=True)]
    return []


def check_constants(constants):
    """Refuse harmonic constants that cannot be predicted from, all faults at once.

    Raises
    ------
    ValueError
        One line for each fault: an unknown or repeated constituent, an amplitude that is negative or no
        number, a phase that is no number.

    Examples
    --------
    >>> check_constants([("M2", 0.8, 322.0), ("m2", -0.1, 10.0)])
    Traceback (most recent call last):
    ValueError: m2: stands twice in the list; keep one
    m2: amplitude -0.1 m: must be 0 or more
    """
    faults, seen = [], set()
    for name, amplitude, phase in constants:
        try:
            found = constituent(name)
        except ValueError as error:
            faults.append(str(error))
            continue
        key = (tuple(found.multiples), found.nodal)
        if key in seen:
            faults.append(f"{name}: stands twice in the list; keep one")
        seen.add(key)
        if not (isfinite(amplitude) and amplitude >= 0):
            faults.append(f"{name}: amplitude {amplitude} m: must be 0 or more")
        if not isfinite(phase):
            faults.append(f"{name}: phase {phase}: must be a number of degrees")
    if faults:
        raise ValueError("\n".join(faults))


# --- sun and moon ----------------------------------------------------------------------------------------


def longitudes(times):
    """Mean places of sun and moon, which the tide's angles are multiples of [2]_.

    Parameters
    ----------
    times : datetime64, (n,)
        UTC. The minute by which UTC lags the astronomers' time moves no tide by a second that counts.

    Returns
    -------
    ndarray, (7, n)
        Degrees, not reduced to 360: mean lunar time tau; moon s; sun h; moon's perigee p; ascending node,
        negative, N'; sun's perigee p1; and 90.
    """
    day = (times - np.datetime64("2000-01-01T12:00")) / np.timedelta64(86_400_000_000, "us")
    c = day / 36525
    s = 218.3164591 + 481267.88134236 * c - 0.0013268 * c**2
    h = 280.46645 + 36000.76983 * c + 0.0003032 * c**2
    p = 83.353243 + 4069.0137111 * c - 0.0103238 * c**2
    node = 125.044555 - 1934.1361849 * c + 0.0020762 * c**2
    p1 = 282.93735 + 1.71946 * c
    return np.array([360 * (day % 1) + h - s, s, h, p, -node, p1, np.full_like(c, 90.0)])


@cache
def daily_motion():
    """How far the rows of `longitudes` move in a day. (7,) [degrees]

    The same for all times: in a century it changes by less than a ten-millionth of a degree.
    """
    start = np.datetime64("2000-01-01T00:00", "s")
    moved = longitudes(start + np.timedelta64(1, "D")) - longitudes(start)
    moved[0] += 360  # there the day begins anew at each noon
    return moved


def nodal_factors(lon):
    """Factor f and angle u of each nodal group.

    Parameters
    ----------
    lon : ndarray, (7, n)
        From `longitudes`.

    Returns
    -------
    dict
        group -> (f, u), arrays (n,): f without unit, u in radians.
    """
    obliquity, tilt = np.radians(23.452), np.radians(5.145)  # of the ecliptic; of the moon's path to it
    half_node = np.radians((180 - lon[4]) % 360 - 180) / 2

    # The triangle of equator, ecliptic and the moon's path: I is the path's slope to the equator, nu the
    # right ascension and xi the longitude in the path of their intersection.
    incline = np.arccos(
        np.cos(tilt) * np.cos(obliquity) - np.sin(tilt) * np.sin(obliquity) * np.cos(2 * half_node)
    )
    less, more = (obliquity - tilt) / 2, (obliquity + tilt) / 2
    a = np.arctan(np.cos(less) / np.cos(more) * np.tan(half_node)) - half_node
    b = np.arctan(np.sin(less) / np.sin(more) * np.tan(half_node)) - half_node
    xi, nu = -(a + b), a - b
    perigee = np.radians(lon[3]) - xi  # reckoned from that intersection

    sin_i, cos_i, sin_2i = np.sin(incline), np.cos(incline), np.sin(2 * incline)
    cos_half, tan_half = np.cos(incline / 2), np.tan(incline / 2)
    o1, m2 = sin_i * cos_half**2 / 0.38, cos_half**4 / 0.9154

    # eq. 202-207 and 213-215: M1 and L2 are pairs of waves, taken as one that swings with the perigee
    m1 = np.sqrt(0.25 + 1.5 * cos_i / cos_half**2 * np.cos(2 * perigee) + 2.25 * cos_i**2 / cos_half**4)
    q = np.arctan2((5 * cos_i - 1) * np.sin(perigee), (7 * cos_i + 1) * np.cos(perigee))
    l2 = np.sqrt(1 - 12 * tan_half**2 * np.cos(2 * perigee) + 36 * tan_half**4)
    r = np.arctan2(np.sin(2 * perigee), 1 / (6 * tan_half**2) - np.cos(2 * perigee))

    # eq. 224-235: K1 and K2 are partly the sun's
    k1 = np.sqrt(0.8965 * sin_2i**2 + 0.6001 * sin_2i * np.cos(nu) + 0.1006)
    nu_k1 = np.arctan2(sin_2i * np.sin(nu), sin_2i * np.cos(nu) + 0.3347)
    k2 = np.sqrt(19.0444 * sin_i**4 + 2.7702 * sin_i**2 * np.cos(2 * nu) + 0.0981)
    two_nu_k2 = np.arctan2(sin_i**2 * np.sin(2 * nu), sin_i**2 * np.cos(2 * nu) + 0.0727)

    still = np.zeros_like(nu)
    return {
        "MM": ((2 / 3 - sin_i**2) / 0.5021, still),  # eq. 73, and so on to 78 for M2
        "MF": (sin_i**2 / 0.1578, -2 * xi),
        "O1": (o1, 2 * xi - nu),
        "J1": (sin_2i / 0.7214, -nu),
        "OO1": (sin_i * np.sin(incline / 2) ** 2 / 0.0164, -2 * xi - nu),
        "M2": (m2, 2 * xi - 2 * nu),
        "ETA2": (sin_i**2 / 0.1565, -2 * nu),
        "M3": (cos_half**6 / 0.8758, 3 * xi - 3 * nu),  # eq. 149
        "M1": (o1 * m1, xi - nu + q),
        "L2": (m2 * l2, 2 * xi - 2 * nu - r),
        "K1": (k1, -nu_k1),
        "K2": (k2, -two_nu_k2),
    }


def modulation(found, days):
    """f [-] and u [rad] of each constituent, (constituents, days), at noon of each UTC day."""
    groups = nodal_factors(longitudes(days.astype("datetime64[h]") + np.timedelta64(12, "h")))
    f, u = np.ones((len(found), len(days))), np.zeros((len(found), len(days)))
    for row, (_, nodal) in enumerate(found):
        for group, power in nodal:
            f[row] *= groups[group][0] ** abs(power)  # running backwards, a part is not weaker for it
            u[row] += groups[group][1] * power
    return f, u
