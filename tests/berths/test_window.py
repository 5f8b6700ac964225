"""The window of levels a stay meets, for each sort of water. Figures are those of the invented demo harbour,
taken from its tide (test_tide) by hand: a low of 0.41 with 0.30 of surge down is 0.11, and so on."""

from datetime import UTC, datetime, timedelta

import pytest

from berths import stations
from berths.curve import Curve, instant
from berths.models import Forecast
from berths.tieup import scenario
from berths.window import WaterSpan
from tests.berths.stations import BERGEN, SEATTLE, STATIONS
from tests.berths.waters import NOW, basin, local, lowered, read, sea


def window(water, start, end=None, *, now=NOW, storm=False, until=None, **rows):
    """The window of one stay, its water worked out for that stay alone."""
    start, end = local(start), end and local(end)
    until = end or max(start, now) + timedelta(days=3)
    outer = rows.pop("outer", None)
    beyond = outer and WaterSpan.of(outer, start, until)
    span = WaterSpan.of(water, start if end else max(start, now), until, outer=beyond, **rows)
    return span.window(start, end, now=now, storm=storm)


# --- tide ------------------------------------------------------------------------------------------------


def test_a_night_at_sea():
    found = window(sea(), "14 20:30", "15 12:00")
    assert (found.low, found.high) == pytest.approx((0.41, 2.43), abs=0.005)
    assert (found.lowest, found.highest) == pytest.approx((0.11, 3.03), abs=0.005)
    assert found.range == pytest.approx(2.43 - 0.41, abs=0.01)
    assert found.now == pytest.approx(1.43, abs=0.005)  # she is not there yet: the level when she arrives
    assert found.at == local("14 20:30")
    assert found.basis == "predicted"
    assert found.not_known == {}


def test_the_level_now_is_now_once_she_is_there():
    assert window(sea(), "14 12:00", "15 12:00").at == NOW
    assert window(sea(), "12 12:00", "13 12:00").at == local("13 12:00")  # gone by now


def test_a_stay_between_turns_has_its_ends():
    span = WaterSpan.of(sea(), local("15 00:00"), local("15 04:00"))
    found = span.window(local("15 00:00"), local("15 04:00"), now=NOW)
    assert found.high == pytest.approx(span.level(local("15 00:00")), abs=1e-4)
    assert found.low == pytest.approx(span.level(local("15 04:00")), abs=1e-4)


@pytest.mark.parametrize("end", [None, "400 days"])
def test_a_permanent_berth_meets_lat_to_hat(end):
    span = WaterSpan.of(sea(), NOW, NOW + timedelta(days=3))
    found = span.window(NOW, end and NOW + timedelta(days=400), now=NOW)
    assert (found.low, found.high, found.range) == pytest.approx((0.05, 2.77, 2.72))
    assert (found.lowest, found.highest) == pytest.approx((-0.25, 3.37))
    assert found.basis == "LAT to HAT"
    assert found.part.times[0] == instant(NOW)
    assert span.highest_ever == pytest.approx(3.37)


def test_storm_pair():
    found = window(sea(), "16 10:00", "16 14:00", storm=True)
    assert found.highest == pytest.approx(2.49 + 1.30, abs=0.005)
    assert found.surge_down == 0.50


def test_surge_that_nobody_set_is_not_known_and_never_nothing():
    found = window(sea(surge_up=None, surge_down=None), "14 20:30", "15 12:00")
    assert found.not_known == {"surge": "surge not known"}
    assert found.low is not None
    assert found.lowest is found.highest is None
    assert window(sea(storm_up=None), "14 20:30", storm=True).not_known == {"surge": "storm surge not known"}


# --- an allowance for a time -----------------------------------------------------------------------------


def expected(starts, ends, **sides):
    pair = {"surge_down": None, "surge_up": None} | sides
    return Forecast(starts=local(starts), ends=local(ends), source="gauge 0.45 m below prediction", **pair)


def test_a_larger_allowance_counts_for_the_stays_of_its_time_and_no_others():
    """House: down 0.30, up 0.60."""
    today = [expected("14 17:00", "15 17:00", surge_down=0.45)]
    found = window(sea(), "14 20:30", "15 12:00", forecasts=today)
    assert (found.surge_down, found.surge_up) == (0.45, 0.60)
    assert found.lowest == pytest.approx(0.41 - 0.45, abs=0.005)
    assert found.surge_reason == "invented; from a forecast: gauge 0.45 m below prediction"
    for stay in (("15 17:00", "16 12:00"), ("13 12:00", "14 16:59")):
        assert window(sea(), *stay, forecasts=today).surge_down == 0.30
    assert window(sea(), "14 20:30", "15 12:00", storm=True, forecasts=today).surge_down == 0.50


def test_a_smaller_one_narrows_nothing():
    calm = [expected("14 17:00", "15 17:00", surge_down=0.1, surge_up=0.1)]
    found = window(sea(), "14 20:30", "15 12:00", forecasts=calm)
    assert (found.surge_down, found.surge_up, found.surge_reason) == (0.30, 0.60, "invented")


def test_a_permanent_berth_keeps_its_own():
    today = [expected("14 17:00", "15 17:00", surge_down=0.9)]
    assert window(sea(), "14 12:00", forecasts=today).surge_down == 0.30


def test_an_allowance_that_nobody_set_is_known_only_where_the_forecast_reaches():
    bare = sea(surge_up=None, surge_down=None, surge_reason="")
    both = [expected("14 17:00", "15 17:00", surge_down=0.4, surge_up=0.5)]
    assert window(bare, "14 20:30", "15 12:00", forecasts=both).not_known == {}
    assert window(bare, "14 20:30", "15 18:00", forecasts=both).not_known == {"surge": "surge not known"}
    half = [expected("14 17:00", "15 17:00", surge_down=0.4)]
    assert window(bare, "14 20:30", "15 12:00", forecasts=half).not_known == {"surge": "surge not known"}


def test_own_offsets_move_the_tide():
    late = window(sea(time_offset_min=30, height_offset=0.2), "15 05:00", "15 07:00")
    assert late.low == pytest.approx(0.412 + 0.2, abs=0.001)
    assert late.part.turns.times[0] - window(sea(), "15 05:00", "15 07:00").part.turns.times[0] == timedelta(
        minutes=30
    )


def test_lat_and_hat_come_from_the_station_with_the_offset():
    row = STATIONS[SEATTLE]
    water = sea(kind="station", station=row, low=None, high=None, height_offset=0.1, datum="")
    found = window(water, "14 20:30")
    assert (found.low, found.high) == pytest.approx((row["datums"]["LAT"] + 0.1, row["datums"]["HAT"] + 0.1))
    assert found.datum == "MLLW"


@pytest.mark.parametrize(
    ("changes", "code", "words"),
    [
        ({"station": None}, "prediction", "not known"),
        ({"station": {"name": "X", "constituents": []}}, "prediction", "constituents and msl_above_datum"),
        ({"station": {"msl_above_datum": 1, "constituents": [["ZZ9", 1, 0]]}}, "prediction", "'ZZ9'"),
        ({"station": {"msl_above_datum": 1, "constituents": [["M2", -1, 0]]}}, "prediction", "M2: amplitude"),
        ({"station": {"msl_above_datum": 1, "constituents": [["M2"]]}}, "prediction", "rows of name"),
        ({"station": {"msl_above_datum": "x", "constituents": [["M2", 1, 0]]}}, "prediction", "rows of name"),
        ({"station": {"name": "X", "reference": "noaa/1", "offsets": {}}}, "prediction", "offsets need"),
        ({"station": ["M2", 1, 0]}, "prediction", "are given as"),
        ({"station": {"msl_above_datum": 1, "constituents": [], "datums": [1]}}, "prediction", "datums"),
        ({"datum": ""}, "datum", "zero"),
    ],
)
def test_what_is_missing_is_told_under_its_code(changes, code, words):
    found = window(sea(**changes), "14 20:30", "15 12:00")
    assert words in found.not_known[code]
    with_cautions = window(sea(**{"kind": "station"} | changes), "14 20:30", "15 12:00")
    assert with_cautions.not_known == found.not_known
    if code == "prediction":
        assert found.low is found.now is found.part is None


def test_lat_not_known_leaves_no_curve_to_guess_from():
    found = window(sea(low=None, high=None), "14 20:30")
    assert found.low is found.part is None
    assert "LAT and HAT" in found.not_known["lat_hat"]
    assert found.for_scenario()["curve"] is None


def test_reversed_or_foreign_stay_is_refused():
    span = WaterSpan.of(sea(), local("14 00:00"), local("15 00:00"))
    for start, end in [("14 12:00", "14 11:00"), ("14 12:00", "15 00:01"), ("13 23:00", "14 12:00")]:
        with pytest.raises(ValueError, match="ends before it starts, or was not worked out"):
            span.window(local(start), local(end), now=NOW)


def test_scenario_takes_the_window():
    given = window(sea(), "14 20:30", "15 12:00").for_scenario()
    water = scenario.Water(**given)
    assert water.low == given["low"]
    assert water.curve[0] == (local("14 20:30").astimezone(UTC), pytest.approx(1.43, abs=0.005))
    assert min(z for _, z in water.curve) == pytest.approx(given["low"], abs=0.001)
    times = [time for time, _ in water.curve]
    assert times == sorted(set(times))


# --- places that follow another station ------------------------------------------------------------------


def follower(**height):
    offsets = {"time_min": {"high": 12, "low": 20}, "height": height}
    return {"id": "noaa/0", "name": "Follower", "reference": SEATTLE, "reference_row": STATIONS[SEATTLE]} | {
        "offsets": offsets,
        "chart_datum": "MLLW",
    }


def test_a_follower_has_the_turns_of_its_reference_with_offsets():
    """The reference's turns: pyTMD, see test_tide."""
    water = sea(kind="station", station=follower(high=0.9, low=1.1, kind="ratio"), low=None, high=None)
    start = datetime(2026, 12, 1, tzinfo=UTC)
    turns = WaterSpan.of(water, start, start + timedelta(days=1)).turns()
    expected = [
        ("00:58", 1.775 * 1.1),
        ("05:22", 2.509 * 0.9),
        ("11:52", 0.347 * 1.1),
        ("19:09", 3.722 * 0.9),
    ]
    for turn, (clock, level) in zip(turns, expected, strict=True):
        assert abs(turn.time - datetime.fromisoformat(f"2026-12-01T{clock}Z")) <= timedelta(seconds=90)
        assert turn.level == pytest.approx(level, abs=0.01)
    low, high = stations.lowest_and_highest(water.station)
    assert (low, high) == pytest.approx((-1.31 * 1.1, 4.035 * 0.9))


def test_a_follower_without_its_reference_or_with_odd_offsets_is_refused():
    start, end = instant(local("14 00:00")), instant(local("15 00:00"))
    with pytest.raises(ValueError, match="not at hand"):
        stations.tide_curve(follower(high=1, low=1, kind="ratio") | {"reference_row": None}, start, end)
    with pytest.raises(ValueError, match="kind of height"):
        stations.tide_curve(follower(high=1, low=1, kind="share"), start, end)


def test_attribution_names_source_and_licence():
    noaa, bergen = stations.attribution(STATIONS[SEATTLE]), stations.attribution(STATIONS[BERGEN])
    assert "NOAA, National Ocean Service, CO-OPS, public domain" in noaa
    assert "© Kartverket" in bergen
    assert "creativecommons.org/licenses/by/4.0" in bergen
    for words in (noaa, bergen, stations.attribution({})):
        assert "not for navigation" in words
    assert "TICON-4" in stations.attribution({"id": "ticon/x"}, short=True)


def test_cautions_of_stations():
    tide = [["M2", 0.5, 0], ["SA", 0.1, 0]]
    assert stations.cautions({"constituents": tide}) == []
    assert "flow" in stations.cautions({"constituents": [["M2", 0.1, 0], ["SA", 0.3, 0]]})[0]
    assert "hardly" in stations.cautions({"constituents": [["M2", 0.01, 0], ["SA", 0.001, 0]]})[0]
    assert "season" in stations.cautions({"constituents": [["M2", 1, 0]]})[0]
    assert "negative" in stations.cautions({"constituents": tide, "chart_datum": "MSL"})[0]


# --- regulated water -------------------------------------------------------------------------------------

READINGS = [read(2.40, "12 10:30"), read(2.40, "14 17:45")]


def test_the_basin_on_the_demo_clock():
    found = window(basin(), "12 10:30", notices=[lowered()], readings=READINGS, outer=sea())
    assert (found.low, found.high, found.range) == pytest.approx((1.60, 2.80, 1.20))
    assert (found.lowest, found.highest) == pytest.approx((1.40, 3.00))
    assert found.now == pytest.approx(2.40)
    assert found.not_known == {}
    assert "lowered for work on the sill" in found.notes


def test_the_basin_falls_when_the_notice_says():
    found = window(basin(), "12 10:30", notices=[lowered()], readings=READINGS)
    curve = Curve.of_points((datetime.fromisoformat(t), z) for t, z in found.curve)
    assert curve.at(instant(local("15 05:59"))) == pytest.approx(2.40)
    assert curve.at(instant(local("15 06:01"))) == pytest.approx(1.60)
    ((when, rising),) = curve.crossings(2.04)
    assert not rising
    assert abs(when.item() - instant(local("15 06:00")).item()) <= timedelta(seconds=1)
    assert curve.below(2.04)[0][1] == curve.times[-1]


def test_the_best_knowledge_of_a_basin_is_its_last_reading():
    times = local("12 00:00"), local("16 00:00")
    span = WaterSpan.of(basin(), *times, notices=[lowered()], readings=READINGS)
    assert span.level(local("14 20:00")) == pytest.approx(2.40)
    assert span.level(local("15 07:00")) == pytest.approx(1.60)  # nothing was read since the notice began
    late = [*READINGS, read(2.20, "15 08:00")]
    span = WaterSpan.of(basin(), *times, notices=[lowered()], readings=late)
    assert span.level(local("15 07:59")) == pytest.approx(2.20, abs=0.001)  # straight between two readings
    assert span.level(local("15 09:00")) == pytest.approx(2.20)
    assert span.curve.at(instant(local("15 09:00"))) == pytest.approx(1.60)  # where it may be by then
    assert span.level(local("12 09:00")) is None  # before it was first read


def test_after_a_notice_has_ended_the_level_is_not_known():
    ended = [lowered(ends="15 18:00")]
    span = WaterSpan.of(basin(), NOW, local("17 00:00"), notices=ended, readings=READINGS)
    assert span.curve.times[-1] == instant(local("15 18:00"))
    assert span.window(NOW, local("17 00:00"), now=NOW).low == pytest.approx(1.60)


def test_notices_widen_the_limits_of_the_stays_they_touch():
    deep = lowered(low=1.20, high=1.30, starts="15 06:00", ends="15 18:00")
    assert window(basin(), "14 18:00", "15 05:00", notices=[deep], readings=READINGS).low == 1.60
    assert window(basin(), "14 18:00", "15 07:00", notices=[deep], readings=READINGS).low == 1.20
    assert window(basin(), "15 19:00", "15 20:00", notices=[deep], readings=READINGS).low == 1.60
    after = local("16 00:00")
    assert window(basin(), "12 10:30", now=after, notices=[deep], readings=READINGS).low == 1.60


def test_a_notice_counts_for_a_tide_too():
    barrier = lowered(low=-0.5, high=1.0, starts="14 22:00", ends="15 02:00")
    found = window(sea(), "14 20:30", "15 12:00", notices=[barrier])
    assert (found.low, found.high, found.range) == pytest.approx((-0.5, 2.43, 2.93), abs=0.005)


def test_basin_never_read():
    found = window(basin(), "14 18:00", "15 07:00")
    assert (found.low, found.high) == pytest.approx((1.60, 2.80))
    assert found.now is found.part is None
    assert "not read" in found.not_known["level"]


def test_a_reading_beyond_the_limits_counts():
    found = window(basin(), "14 18:00", "16 07:00", readings=[*READINGS, read(2.95, "15 08:00")])
    assert found.high == pytest.approx(2.95)
    assert any("2.95 m was read" in note for note in found.notes)


def test_the_gate_holds_until_the_sea_passes_it():
    """2.49 + 1.30 = 3.79 m on Saturday with the storm pair; the gate holds out 3.60 m."""
    args = ("16 10:00", "16 14:00")
    assert "gate" not in window(basin(), *args, readings=READINGS, outer=sea()).not_known
    storm = window(basin(), *args, readings=READINGS, outer=sea(), storm=True)
    assert storm.not_known["gate"] == "not known above 3.60 m: Sea may reach 3.79 m and pass the gate"
    always = window(basin(), "16 10:00", readings=READINGS, outer=sea(), storm=True)
    assert "4.07 m" in always.not_known["gate"]


def test_a_gate_that_cannot_be_judged_is_not_known():
    no_surge = window(basin(), "14 18:00", outer=sea(surge_up=None, surge_down=None), readings=READINGS)
    assert no_surge.not_known["gate"] == "whether the gate holds out Sea is not known: surge not known"
    no_height = window(basin(holds_to=None), "14 18:00", outer=sea(), readings=READINGS)
    assert "gate holds is not known" in no_height.not_known["gate"]


# --- own table -------------------------------------------------------------------------------------------

TIDES = [["2027-10-14T16:33Z", 0.56], ["2027-10-14T22:19Z", 2.28], ["2027-10-15T04:40Z", 0.41]]


def table(rows=TIDES, kind="extremes", **changes):
    return sea(kind="table", station=None, table=rows, table_kind=kind, low=None, high=None, **changes)


def test_table_of_highs_and_lows():
    found = window(table(), "14 20:30", "15 05:00")
    assert found.high == pytest.approx(2.28)
    assert found.basis == "table"
    assert window(table(height_offset=0.1), "14 20:30", "15 05:00").high == pytest.approx(2.38)


def test_table_of_levels_of_a_lake():
    rows = [["2027-10-01T00:00Z", 1.0], ["2027-10-31T00:00Z", 1.3]]
    found = window(table(rows, kind="levels"), "16 01:00", "16 13:00")
    assert (found.low, found.high) == pytest.approx((1.15, 1.155))
    assert found.range == pytest.approx(0.005)


def test_a_table_is_never_stretched():
    late = window(table(), "14 20:30", "15 12:00")
    assert late.not_known["table"] == "the table ends on 15 October 2027, 04:40 UTC"
    assert late.low is late.high is late.part is None
    assert "begins" in window(table(), "13 20:30", "14 20:00").not_known["table"]
    assert "ends on" in window(table(), "14 20:30").not_known["table"]
    limits = table()
    limits.low, limits.high = 0.0, 3.0
    assert window(limits, "14 20:30").high == 3.0


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([["2027-10-14T16:33Z", 0.56], ["soon", 2.28]], "row 2"),
        ([["2027-10-14T16:33Z", 0.56], 7], "row 2"),
        ({"2027-10-14T16:33Z": 0.56}, "two rows"),
        ([["2027-10-14T16:33Z", 0.56], ["2027-10-14T16:33Z", 2.28]], "stands twice"),
        (None, "two rows"),
    ],
)
def test_a_bad_table_is_told_with_its_row(rows, words):
    found = window(table(rows), "14 20:30", "15 12:00")
    assert words in found.not_known["table"]
    assert found.low is found.part is None
