"""The wind of a forecast as people write it and as it is said. Pure."""

import re
from decimal import ROUND_CEILING, Decimal

from berths.workings import compass
from marina.base.units import KNOT, knots

POINTS = ["N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"]
NAMES = {"north": "N", "east": "E", "south": "S", "west": "W"}
HUNDREDTH = Decimal("0.01")


def read_directions(text):
    """Where a wind comes from: true degrees or points, one or several.

    Parameters
    ----------
    text : str
        '230', 'SW', 'south-west', '200 230 260', 'S, SW'.

    Returns
    -------
    list of float
        True degrees, 0 to 360 without 360; empty for no text.

    Raises
    ------
    ValueError
        With one sentence that names what cannot be read.

    Examples
    --------
    >>> read_directions("SW"), read_directions("200, 230°"), read_directions("north-east 360")
    ([225.0], [200.0, 230.0], [45.0, 0.0])
    """
    return list(dict.fromkeys(_direction(part) for part in re.split(r"[\s,;]+", text.strip()) if part))


def _direction(part):
    point = part.upper()
    for name, letter in NAMES.items():
        point = point.replace(name.upper(), letter)
    point = point.replace("-", "")
    if point in POINTS:
        return 22.5 * POINTS.index(point)
    if re.fullmatch(r"\d{1,3}(\.\d+)?°?", part) and (degrees := float(part.rstrip("°"))) <= 360:
        return degrees % 360
    raise ValueError(f"“{part}” is no direction: write true degrees from 0 to 360, or a point such as SW.")


def gust_kept(gust):
    """A gust in knots as it is kept, up to a hundredth, so that 30 kn stay 30 kn. [m/s]

    >>> gust_kept(Decimal(30))
    Decimal('15.44')
    """
    return None if gust is None else (gust * KNOT).quantize(HUNDREDTH, ROUND_CEILING)


def wind_told(gust, directions):
    """'gusts of 30 kn from south-west (225)'; what nobody gave is 'not known'; '' without any wind.

    >>> wind_told(15.44, [225.0]), wind_told(None, [0.0, 90.0]), wind_told(5, None), wind_told(None, None)
    ('gusts of 30 kn from south-west (225)', 'wind from north (000) or east (090)', 'gusts of 10 kn', '')
    """
    force = f"gusts of {knots(gust):.0f} kn" if gust is not None else "wind" if directions else ""
    ways = " or ".join(compass(d) for d in directions or [])
    return f"{force} from {ways}" if ways else force
