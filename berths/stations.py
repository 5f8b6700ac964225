"""What the row of a tide station says: its tide, its lowest and highest tide, and the words it asks for.

A row is a dict as the station file has it: `constituents` and `msl_above_datum`, or, for a place that
follows another station, `offsets` and that station's own row under `reference_row`. A harbour's own constants
have the form of the first kind. Levels are metres above the row's chart datum, times UTC.
"""

from functools import cache
from pathlib import Path

import numpy as np
import yaml

from berths.constituents import check_constants
from berths.curve import Curve

SOURCES = Path(__file__).parent / "data" / "sources.yaml"
EARTH = 6371.0088  # km, mean radius (IUGG)
FAR_NORTH = 5  # degrees of latitude from its reference: from here on a reader should know
IN_ORDER = ("LAT", "MLLW", "MLW", "MTL", "MHW", "MHHW", "HAT")  # lowest first, by their definitions
REFERENCE_PAD = np.timedelta64(2, "D")  # offsets reach half a day, and a diurnal tide has a turn every day


def tide_curve(row, start, end):
    """The predicted tide at a station.

    Parameters
    ----------
    row : dict
    start, end : datetime64

    Returns
    -------
    curve : Curve
    notes : list of str
        What the reader of this curve has to know.

    Raises
    ------
    ValueError
        If the row does not hold what a prediction needs; the message says what is missing or wrong.
    """
    check_row(row)
    if "offsets" not in row:
        return Curve.predicted(*harmonics(row), start, end), []
    reference = row["reference_row"]
    whole = Curve.predicted(*harmonics(reference), start - REFERENCE_PAD, end + REFERENCE_PAD)
    curve, dropped = whole.shifted(**_offsets(row))
    notes = []
    if ((dropped >= start) & (dropped <= end)).any():
        notes.append(
            f"{_name(row)}: weak highs and lows are left out where its offsets put them out of order"
        )
    return curve.cut(start, end), notes


def _offsets(row):
    """Offsets of a place that follows another, as `Curve.shifted` takes them."""
    try:
        minutes, heights = row["offsets"]["time_min"], row["offsets"]["height"]
        return {
            "minutes": (float(minutes["high"]), float(minutes["low"])),
            "heights": (float(heights["high"]), float(heights["low"])),
            "ratio": {"ratio": True, "fixed": False}[heights["kind"]],
        }
    except (KeyError, TypeError, ValueError):
        raise ValueError(
            f"{_name(row)}: offsets need time_min and height, each with high and low, and a kind of height"
        ) from None


def check_row(row):
    """Refuse a row that cannot be used, with what is wrong: for the entry of a station or own constants.

    Raises
    ------
    ValueError
    """
    if not isinstance(row, dict):
        raise ValueError(
            'constants are given as {"constituents": [["M2", 0.8, 322], ...], "msl_above_datum": 1.4}'
        )
    datums = row.get("datums") or {}
    if not isinstance(datums, dict) or not all(isinstance(z, int | float) for z in datums.values()):
        raise ValueError(f'{_name(row)}: datums are given as {{"LAT": 0.05, "HAT": 2.77}}')
    if "offsets" not in row:
        harmonics(row)
        return
    _offsets(row)
    if not row.get("reference_row"):
        raise ValueError(f"{_name(row)} follows {row.get('reference')}, whose constants are not at hand")
    check_row(row["reference_row"])


def harmonics(row):
    """Constants and mean level of a row, checked: (constituents, metres above datum)."""
    missing = [key for key in ("constituents", "msl_above_datum") if row.get(key) in (None, [])]
    if missing:
        raise ValueError(f"{_name(row)}: {' and '.join(missing)} not given")
    try:
        constants = [(str(name), float(size), float(phase)) for name, size, phase in row["constituents"]]
        mean_level = float(row["msl_above_datum"])
    except (TypeError, ValueError):
        raise ValueError(
            f'{_name(row)}: constituents are rows of name, amplitude and phase, such as ["M2", 0.8, 322]'
        ) from None
    check_constants(constants)
    return constants, mean_level


def lowest_and_highest(row):
    """LAT and HAT as the row's `datums` have them, or (None, None). [m]

    A place that follows another has none of its own: the reference's, with the offsets of lows and highs.
    """
    if "offsets" not in row:
        datums = row.get("datums") or {}
        return datums.get("LAT"), datums.get("HAT")
    lat, hat = lowest_and_highest(row.get("reference_row") or {})
    if lat is None or hat is None:
        return None, None
    by = _offsets(row)
    high, low = by["heights"]
    return (lat * low, hat * high) if by["ratio"] else (lat + low, hat + high)


def cautions(row):
    """What a reader of this station's predictions should be told. (list of str)"""
    reference = row.get("reference_row") or row
    size = {name.upper(): amplitude for name, amplitude, _ in reference.get("constituents") or []}
    told = []
    if size and max(size, key=size.get) in {"SA", "SSA", "SA_KV"}:
        told.append("flow or season outweighs the tide here")
    if size and sum(size.get(name, 0) for name in ("M2", "S2", "K1", "O1")) < 0.02:
        told.append("hardly any tide here")
    if size and not {"SA", "SA_KV"} & set(size):
        told.append("the season is not in these constants: allow more")
    if row.get("chart_datum") == "MSL":
        told.append("heights are counted from mean sea level: negative half of the time")
    datums = reference.get("datums") or {}
    known = [datums[name] for name in IN_ORDER if datums.get(name) is not None]
    if known != sorted(known):
        told.append("datums doubtful: they do not follow each other as they should")
    if "lat" in row and "lat" in reference and abs(row["lat"] - reference["lat"]) > FAR_NORTH:
        told.append(follows(row))
    return told


def follows(row):
    """'follows Humboldt Bay (noaa/9418767), 312 km away', or '' for a station with a tide of its own."""
    reference = row.get("reference_row")
    if not reference:
        return ""
    words = f"follows {_name(reference)} ({reference.get('id', 'no number')})"
    if not all(key in place for place in (row, reference) for key in ("lat", "lon")):
        return words
    return f"{words}, {kilometres(row['lat'], row['lon'], reference['lat'], reference['lon']):.0f} km away"


def kilometres(lat, lon, to_lat, to_lon):
    """Distance along the great circle, on a sphere of the earth's mean radius. [km]

    lat, lon, to_lat, to_lon : float or array_like, degrees.

    Examples
    --------
    A quarter of the way round, from the pole to the equator:

    >>> float(kilometres(90, 0, 0, 123))
    10007.557
    """
    north, to_north = np.radians(lat), np.radians(to_lat)
    east = np.radians(np.subtract(to_lon, lon))
    chord = np.sin((to_north - north) / 2) ** 2 + np.cos(north) * np.cos(to_north) * np.sin(east / 2) ** 2
    return 2 * EARTH * np.arcsin(np.sqrt(np.clip(chord, 0, 1)))


def attribution(row, *, short=False):
    """The words to show beside a prediction; `short` for a card."""
    words = _sources()
    source = words["sources"].get(str(row.get("id", "")).split("/")[0])
    if source is None:
        return words["own_short" if short else "own_wording"]
    if short:
        return words["short"].format(source=source["short_source"], licence=source["short_licence"])
    return words["wording"].format(source=source["source"], licence=source["licence"])


@cache
def _sources():
    return yaml.safe_load(SOURCES.read_text(encoding="utf-8"))


def _name(row):
    return row.get("name") or row.get("id") or "this station"
