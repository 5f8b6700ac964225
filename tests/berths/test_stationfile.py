"""The shipped list of tide stations: every line of it, its oddities, and how one is found."""

import gzip
import json
from collections import Counter

import numpy as np
import pytest

from berths import stationfile, stations, tide
from berths.curve import Curve
from tests.berths.stations import BERGEN, BOSTON, EASTPORT, SEATTLE


@pytest.fixture(scope="module")
def raw():
    """The lines as they stand in the file."""
    with gzip.open(stationfile.FILE) as file:
        return [json.loads(line) for line in file]


@pytest.fixture(scope="module")
def rows():
    """Every station as it is read."""
    return {name: stationfile.station(name) for name in stationfile.index().lines}


def test_every_line_can_be_used(rows):
    """Counts: the list's own description (berths/data/README.md)."""
    assert stationfile.index().refused == {}
    assert len(rows) == len(stationfile.index().places) == 5842
    kinds = Counter((name.split("/")[0], "offsets" in row) for name, row in rows.items())
    assert kinds == {
        ("noaa", False): 1245,
        ("noaa", True): 2241,
        ("ticon", False): 2323,
        ("kartverket", False): 33,
    }
    assert len({row["country"] for row in rows.values()}) == 119


def test_every_licence_has_words_to_show(rows):
    for name, row in rows.items():
        words = stations.attribution(row)
        assert "not for navigation" in words
        assert "Neaps tide database" in words
        if name.startswith("ticon/"):
            assert "Hart-Davis" in words
        if not name.startswith("noaa/"):
            assert "CC BY 4.0, https://creativecommons.org/licenses/by/4.0/, changed in form" in words


# --- oddities --------------------------------------------------------------------------------------------


def test_phases_lie_within_one_turn(raw, rows):
    beyond = [
        (row["id"], name, phase)
        for row in raw
        for name, _, phase in row.get("constituents", ())
        if phase >= 360
    ]
    assert len(beyond) == 7
    for station, name, phase in beyond:
        read = {n: p for n, _, p in rows[station]["constituents"]}
        assert read[name] == pytest.approx(phase - 360, abs=1e-3)
    assert all(0 <= phase < 360 for row in rows.values() for _, _, phase in row.get("constituents", ()))


def test_waves_of_nothing_are_left_out_and_no_others(raw, rows):
    nothing = sum(size == 0 for row in raw for _, size, _ in row.get("constituents", ()))
    assert nothing == 1132
    kept = sum(len(row.get("constituents", ())) for row in rows.values())
    assert kept == sum(len(row.get("constituents", ())) for row in raw) - nothing


def test_ticons_m1_is_turned_to_where_everybody_else_has_it(raw, rows):
    """By a quarter turn, and no other wave and no other source."""
    turned = 0
    for row in raw:
        read = {name: phase for name, _, phase in rows[row["id"]].get("constituents", ())}
        for name, size, phase in row.get("constituents", ()):
            if size == 0:
                continue
            moved = (read[name] - phase) % 360
            if row["id"].startswith("ticon/") and name.upper() == "M1":
                assert moved == pytest.approx(90, abs=1e-3)
                turned += 1
            else:
                assert min(moved, 360 - moved) < 1e-3
    assert 2000 < turned <= 2296


def test_twin_gauges_agree_on_m1_once_it_is_turned(rows):
    """Two sources at one place: the turned M1 lags as NOAA's does, give or take the noise of a small wave."""
    lag = []
    ours = [p for p in stationfile.index().places if p.id.startswith("noaa/") and not p.reference]
    theirs = [p for p in stationfile.index().places if p.id.startswith("ticon/")]
    lat, lon = np.array([[p.lat, p.lon] for p in theirs]).T
    for place in ours:
        near = int(np.argmin(stations.kilometres(place.lat, place.lon, lat, lon)))
        if stations.kilometres(place.lat, place.lon, lat[near], lon[near]) > 1:
            continue
        both = [
            {name.upper(): (size, phase) for name, size, phase in rows[name_of]["constituents"]}
            for name_of in (place.id, theirs[near].id)
        ]
        if all(waves.get("M1", (0, 0))[0] >= 0.005 for waves in both):
            lag.append(np.exp(1j * np.radians(both[1]["M1"][1] - both[0]["M1"][1])))
    assert len(lag) > 10
    assert abs(np.degrees(np.angle(np.mean(lag)))) < 25


def test_marks(rows):
    """Counts: the list's own description; places that follow another one have its marks."""
    marks = Counter()
    for row in rows.values():
        for words in stations.cautions(row):
            if "offsets" not in row or words.startswith("follows"):
                marks[words.split(":")[0].split(" ")[0]] += 1
    assert marks == {"flow": 488, "hardly": 34, "the": 243, "heights": 112, "datums": 59, "follows": 68}
    assert (
        sum(stations.lowest_and_highest(row) == (None, None) for row in rows.values() if "offsets" not in row)
        == 8
    )


def test_a_far_reference_is_told_with_its_distance():
    """Nonopapa follows Honolulu, 253 km off: too near in latitude for a caution."""
    row = stationfile.station("noaa/1610367")
    assert stations.follows(row) == "follows Honolulu (noaa/1612340), 253 km away"
    assert stations.cautions(row) == []
    assert stations.follows(stationfile.station(BOSTON)) == ""


# --- a place that follows another ------------------------------------------------------------------------


def test_a_follower_has_its_references_turns_with_its_offsets():
    """By hand, turn by turn, and heights from the follower's own zero."""
    row = stationfile.station("noaa/1610367")
    reference = stationfile.station(row["reference"])
    start, end = np.datetime64("2027-03-01T00:00"), np.datetime64("2027-03-20T00:00")
    curve, notes = stations.tide_curve(row, start, end)
    assert notes == []
    around = tide.extremes(
        *stations.harmonics(reference), start - np.timedelta64(1, "D"), end + np.timedelta64(1, "D")
    )
    minutes, factor = row["offsets"]["time_min"], row["offsets"]["height"]
    assert factor["kind"] == "ratio"
    expected = [
        (
            t + np.timedelta64(60 * minutes["high" if high else "low"], "s"),
            z * factor["high" if high else "low"],
            high,
        )
        for t, z, high in zip(*around, strict=True)
    ]
    expected = [turn for turn in expected if start <= turn[0] <= end]
    assert len(expected) > 60
    for (time, level, high), found in zip(expected, zip(*curve.turns, strict=True), strict=True):
        assert found[0] == time
        assert found[1] == pytest.approx(level, abs=1e-9)
        assert found[2] == high


def test_fixed_offsets_are_added():
    row = next(
        stationfile.station(p.id)
        for p in stationfile.index().places
        if p.reference and stationfile.station(p.id)["offsets"]["height"]["kind"] == "fixed"
    )
    reference = Curve.predicted(*stations.harmonics(row["reference_row"]), "2027-02-26", "2027-03-12")
    curve, _ = stations.tide_curve(row, np.datetime64("2027-03-01"), np.datetime64("2027-03-10"))
    added = row["offsets"]["height"]
    shift = {
        high: np.timedelta64(60 * row["offsets"]["time_min"]["high" if high else "low"], "s")
        for high in (True, False)
    }
    known = {t + shift[bool(high)]: z for t, z, high in zip(*reference.turns, strict=True)}
    for time, level, high in zip(*curve.turns, strict=True):
        assert level == pytest.approx(known[time] + added["high" if high else "low"], abs=1e-9)


def test_turns_out_of_order_are_dropped_and_said():
    row = stationfile.station("noaa/TEC4723")
    curve, notes = stations.tide_curve(row, np.datetime64("2027-03-01"), np.datetime64("2027-04-01"))
    assert notes == [
        f"{row['name']}: weak highs and lows are left out where its offsets put them out of order"
    ]
    assert (np.diff(curve.times).astype(int) > 0).all()
    assert (curve.turns.high[1:] != curve.turns.high[:-1]).all()


# --- finding one -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("asked", ["Ålesund", "alesund", "  ALESUND  no ", "kartverket/aes"])
def test_found_by_name_in_any_letters(asked):
    """'Ny-Ålesund' has the word too, and comes after."""
    assert [found.place.id for found in stationfile.search(asked)][:1] == ["kartverket/AES"]


def test_one_name_many_stations_all_shown():
    found = stationfile.search("port sulphur", most=50)
    assert sum(each.place.name == "Port Sulphur" for each in found) == 19
    assert len({each.place.id for each in found}) == len(found)


def test_the_whole_name_comes_before_a_part_of_one():
    found = stationfile.search("seattle")
    assert found[0].place.id == SEATTLE
    assert stationfile.search("") == stationfile.search("no such place anywhere") == []


def test_nearest_first_and_across_the_date_line():
    bergen = stationfile.station(BERGEN)
    found = stationfile.near(bergen["lat"] + 0.001, bergen["lon"])
    assert found[0].place.id == BERGEN
    assert found[0].km == pytest.approx(0.111, abs=0.001)  # a thousandth of a degree of latitude
    west, east = (stationfile.near(-17.0, lon)[0] for lon in (179.999, -179.999))
    assert west.place == east.place
    assert west.km == pytest.approx(east.km, abs=0.3)
    by_name = stationfile.search("port", near=(50.37, -4.18), most=5)
    assert [each.km for each in by_name] == sorted(each.km for each in by_name)


def test_of_two_at_one_place_the_national_service_comes_first():
    """Eastport's gauge is in two sources; asked from the very place that the other source gives."""
    place = stationfile.station(EASTPORT)
    (twin,) = [
        p
        for p in stationfile.index().places
        if p.id.startswith("ticon/") and stations.kilometres(place["lat"], place["lon"], p.lat, p.lon) < 1
    ]
    found = stationfile.near(twin.lat, twin.lon)
    assert [each.place.id for each in found[:2]] == [EASTPORT, twin.id]
    assert found[1].km == 0


def test_distances():
    """Closed forms: a quarter and half of the way round, and one degree of a meridian (2 pi R / 360)."""
    assert stations.kilometres(90, 0, 0, 57) == pytest.approx(10007.557, abs=0.001)
    assert stations.kilometres(10, 20, -10, -160) == pytest.approx(20015.115, abs=0.001)
    assert stations.kilometres(45, 7, 46, 7) == pytest.approx(111.195, abs=0.001)
    assert stations.kilometres(0, 179.5, 0, -179.5) == pytest.approx(111.195, abs=0.001)


# --- a file that is not as it should be ------------------------------------------------------------------

GOOD = {
    **{"id": "x/1", "name": "One", "region": "", "country": "XX", "lat": 1, "lon": 2, "tz": "Europe/Oslo"},
    **{"chart_datum": "CD", "msl_above_datum": 1, "datums": {}, "constituents": [["M2", 1, 0]]},
}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"tz": "Mars/Olympus"}, "zone 'Mars/Olympus' is not known"),
        ({"lat": 91}, "no place on earth"),
        ({"lon": None}, "line 2"),
        ({"lat": float("nan")}, "NaN is no number"),
    ],
)
def test_a_bad_line_is_refused_with_its_number_and_the_others_stay(changes, words):
    lines = [GOOD, GOOD | {"id": "x/2"} | changes, GOOD | {"id": "x/3"}]
    made = stationfile.index_of(json.dumps(line).encode() for line in lines)
    assert list(made.lines) == ["x/1", "x/3"]
    assert words in made.refused[2]
    assert made.refused[2].startswith("line 2: ")


def test_no_json_a_missing_field_and_a_number_given_twice():
    without = {key: value for key, value in GOOD.items() if key != "tz"}
    lines = [json.dumps(GOOD), "{", json.dumps(without), json.dumps(GOOD)]
    made = stationfile.index_of(line.encode() for line in lines)
    assert list(made.refused) == [2, 3, 4]
    assert made.refused[3] == "line 3: 'tz' is missing"
    assert made.refused[4] == "line 4: x/1 stands in line 1 already"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"constituents": [["M2", -1, 0]]}, "M2: amplitude -1.0 m"),
        ({"constituents": [["ZZ9", 1, 0]]}, "'ZZ9' is not known"),
        ({"constituents": [["LAM2", 1, 0], ["lambda2", 1, 0]]}, "stands twice"),
        ({"msl_above_datum": None}, "msl_above_datum not given"),
        ({"constituents": None, "reference": "x/9", "offsets": {}}, "there is no tide station 'x/9'"),
    ],
)
def test_a_station_that_cannot_be_used_is_refused_not_mended(monkeypatch, changes, words):
    row = {key: value for key, value in (GOOD | changes).items() if value is not None}
    made = stationfile.index_of([json.dumps(row).encode()])
    monkeypatch.setattr(stationfile, "index", lambda: made)
    with pytest.raises(ValueError, match="x/") as refused:
        stationfile.station("x/1")
    assert words in str(refused.value)
