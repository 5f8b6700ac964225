"""The tide stations that come with this site: found by name or place, and read one by one.

`data/tide-stations.jsonl.gz` is read as it stands, once, into an index in memory; no table, so it works before
any migration. What is odd in the file is put right here, on reading; `data/README.md` lists it.
"""

import gzip
import json
import unicodedata
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import NamedTuple
from zoneinfo import available_timezones

import numpy as np

from berths import stations

FILE = Path(__file__).parent / "data" / "tide-stations.jsonl.gz"
HEAD_START = (
    2.0  # km: as much nearer a national service's station counts, where another source has a twin of it
)
TICON = "ticon/"
QUARTER = 90  # degrees: TICON's M1 lags everybody else's by so much less
LETTERS = str.maketrans("øæœðđłı", "oaoddli")  # those that do not come apart into a letter and its mark


class Place(NamedTuple):
    """What is shown of a station before it is chosen. `reference`: the id of the station it follows, or ''."""

    id: str
    name: str
    region: str
    country: str
    lat: float
    lon: float
    datum: str
    reference: str

    @property
    def where(self):
        return ", ".join(filter(None, (self.region, self.country)))


class Found(NamedTuple):
    """A station that was looked for. km: how far away; None where no place was given."""

    place: Place
    km: float | None


@dataclass
class Index:
    """Every line as it stands, what is shown of it, and the lines that cannot be read."""

    lines: dict = field(default_factory=dict)  # id -> (number of the line, its bytes)
    places: list = field(default_factory=list)
    refused: dict = field(default_factory=dict)  # number of the line -> what is wrong with it

    @property
    def spots(self):
        """Latitudes and longitudes of all places. (2, n) [degrees]"""
        return np.array([[p.lat for p in self.places], [p.lon for p in self.places]])


# --- one station -----------------------------------------------------------------------------------------


def station(station_id):
    """The row of a station, put right and checked; with the row it follows under `reference_row`.

    Parameters
    ----------
    station_id : str
        For instance 'noaa/8443970'.

    Returns
    -------
    dict
        As `berths.stations` takes it. A fresh one: the caller may change it.

    Raises
    ------
    ValueError
        If there is no such station, or its line cannot be used: with the number of the line.
    """
    row = _row(station_id)
    if "reference" in row:
        row["reference_row"] = _row(row["reference"])
    try:
        stations.check_row(row)
    except ValueError as error:
        number, _ = index().lines[station_id]
        raise ValueError(f"line {number}, {station_id}: {error}") from None
    return row


def _row(station_id):
    try:
        _, line = index().lines[station_id]
    except KeyError:
        raise ValueError(f"there is no tide station {station_id!r} in the list: look for its name") from None
    return _put_right(json.loads(line))


def _put_right(row):
    """Phases within one turn, no waves of nothing, and TICON's M1 turned to where everybody else has it."""
    if "constituents" in row:
        turn = QUARTER if row["id"].startswith(TICON) else 0
        row["constituents"] = [
            [name, size, round((phase + (turn if name.upper() == "M1" else 0)) % 360, 4)]
            for name, size, phase in row["constituents"]
            if size != 0
        ]
    return row


# --- looking for one -------------------------------------------------------------------------------------


def search(words, *, near=None, most=20):
    """Stations whose name, region, country or id has all these words, in any letters.

    Parameters
    ----------
    words : str
    near : (float, float), optional
        Latitude and longitude [degrees]; with it the nearest come first, else the best name.
    most : int

    Returns
    -------
    list of Found

    Examples
    --------
    >>> [found.place.id for found in search("alesund no")]
    ['kartverket/AES', ...]
    """
    parts = _folded(words).split()
    if not parts:
        return []
    hits = [i for i, text in enumerate(_texts()) if all(part in text for part in parts)]
    if near is not None:
        return _nearest(near, hits, most)
    places, whole = index().places, " ".join(parts)

    def order(i):
        name = _folded(places[i].name)
        return (name != whole, not name.startswith(whole), name, places[i].id)

    return [Found(places[i], None) for i in sorted(hits, key=order)[:most]]


def near(lat, lon, *, most=10):
    """The stations nearest to a place, nearest first. (list of Found)

    Of two at one place the national service's comes first.
    """
    return _nearest((lat, lon), range(len(index().places)), most)


def distance(row, place):
    """From a station's row to (latitude, longitude). [km]; None where no place is given."""
    return None if place is None else float(stations.kilometres(*place, row["lat"], row["lon"]))


def _nearest(spot, which, most):
    rows = np.array(which, int)
    places = [index().places[i] for i in rows]
    far = stations.kilometres(*spot, *index().spots[:, rows])
    rank = far - [0.0 if p.id.startswith(TICON) else HEAD_START for p in places]
    return [Found(places[i], float(far[i])) for i in np.argsort(rank, kind="stable")[:most]]


def _folded(text):
    """Small letters without their marks: 'Ålesund' is found by 'alesund'."""
    apart = unicodedata.normalize("NFKD", text.casefold().translate(LETTERS))
    return " ".join("".join(c for c in apart if not unicodedata.combining(c)).split())


@cache
def _texts():
    """What is searched, place by place."""
    return [_folded(f"{p.name} {p.region} {p.country} {p.id}") for p in index().places]


# --- the file --------------------------------------------------------------------------------------------


@cache
def index():
    """The index of the file, made once."""
    with gzip.open(FILE) as file:
        return index_of(file)


def index_of(lines):
    """Make the index of lines of bytes; a line that cannot be read is refused and the others stay.

    Returns
    -------
    Index
    """
    made = Index()
    for number, line in enumerate(lines, start=1):
        try:
            place = _place(json.loads(line, parse_constant=_no_number))
            if place.id in made.lines:
                raise ValueError(f"{place.id} stands in line {made.lines[place.id][0]} already")
        except (ValueError, KeyError, TypeError) as error:
            what = f"{error.args[0]!r} is missing" if isinstance(error, KeyError) else error
            made.refused[number] = f"line {number}: {what}"
            continue
        made.lines[place.id] = (number, line)
        made.places.append(place)
    return made


def _place(row):
    lat, lon = float(row["lat"]), float(row["lon"])
    if not (abs(lat) <= 90 and abs(lon) <= 180):
        raise ValueError(f"{row['id']}: no place on earth: {lat} N, {lon} E")
    if row["tz"] not in _zones():
        raise ValueError(f"{row['id']}: zone {row['tz']!r} is not known")
    words = (str(row[key]) for key in ("id", "name", "region", "country"))
    return Place(*words, lat, lon, str(row["chart_datum"]), str(row.get("reference", "")))


@cache
def _zones():
    return frozenset(available_timezones())


def _no_number(name):
    raise ValueError(f"{name} is no number")
