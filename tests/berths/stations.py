"""Harmonic constants for the tests: some real stations and the demo's invented one.

The real ones come from the list that the site ships; its licences and attribution: berths/data/README.md.
"""

from berths import stationfile

BOSTON, SEATTLE, BERGEN = "noaa/8443970", "noaa/9447130", "kartverket/BGO"
MONTEREY, BRANDYWINE, EASTPORT = "noaa/9413450", "noaa/8555889", "noaa/8410140"
KINGS_POINT, KEY_WEST, NEWLYN = "noaa/8516945", "noaa/8724580", "ticon/newlyn-new-gbr-bodc"
STATIONS = {
    name: stationfile.station(name) for name in (BOSTON, SEATTLE, BERGEN, MONTEREY, BRANDYWINE, EASTPORT)
}

# 'Wendlow Bar' does not exist: these hold the demo's figures still and prove nothing about real tides.
WENDLOW_MEAN = 1.40
WENDLOW = [
    ("M2", 0.80, 322),
    ("S2", 0.26, 359),
    ("N2", 0.16, 302),
    ("K2", 0.07, 357),
    ("K1", 0.07, 97),
    ("O1", 0.05, 332),
    ("M4", 0.03, 218),
]


def harmonics(station):
    """Constants and mean sea level above chart datum, as the functions of `berths.tide` take them."""
    row = STATIONS.get(station) or stationfile.station(station)
    return row["constituents"], row["msl_above_datum"]
