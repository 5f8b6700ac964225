"""A level over time: crossings by hand, thinning, tables, places that follow another station."""

from datetime import datetime

import numpy as np
import pytest

from berths import tide
from berths.curve import Curve, instant, moment
from tests.berths.stations import SEATTLE, WENDLOW, WENDLOW_MEAN, harmonics

# Invented station: the demo's figures, held still.
SEA = Curve.predicted(WENDLOW, WENDLOW_MEAN, "2027-10-14T16:45", "2027-10-17T12:00")


def assert_times(found, local):
    """Within a minute of the harbour's clock, UTC+1 in October."""
    expected = np.array([f"2027-10-{time.replace(' ', 'T')}" for time in local], "datetime64[s]")
    late = np.array(found) + np.timedelta64(1, "h") - expected
    assert (np.abs(late) <= np.timedelta64(1, "m")).all(), late


def test_straight_between_points_by_hand():
    curve = Curve.of_points([("2027-01-01T00:00", 1.0), ("2027-01-01T04:00", 3.0), ("2027-01-01T05:00", 2.0)])
    assert curve.at("2027-01-01T01:00") == pytest.approx(1.5)
    assert [(str(t)[11:16], up) for t, up in curve.crossings(2.5)] == [("03:00", True), ("04:30", False)]
    assert [[str(t)[11:16] for t in span] for span in curve.below(2.5)] == [
        ["00:00", "03:00"],
        ["04:30", "05:00"],
    ]
    assert [[str(t)[11:16] for t in span] for span in curve.above(2.5)] == [["03:00", "04:30"]]
    assert curve.below(0.5) == curve.crossings(5) == []
    assert curve.below(9) == [(curve.times[0], curve.times[-1])]
    assert curve.window() == (1.0, 3.0)
    assert curve.largest_move() == 1.0  # no turn is marked in bare points: from end to end


def test_outside_is_refused_not_held():
    with pytest.raises(ValueError, match="2027-10-17T12:00:00Z"):
        SEA.at("2027-10-17T12:01")
    with pytest.raises(ValueError, match="known"):
        SEA.cut("2027-10-14T16:00", "2027-10-15T00:00")


def test_times_need_a_zone():
    with pytest.raises(ValueError, match="zone"):
        instant(datetime(2027, 10, 15, 5, 40))
    assert (
        moment(instant(datetime.fromisoformat("2027-10-15T05:40+01:00"))).isoformat()
        == "2027-10-15T04:40:00+00:00"
    )


def test_predicted_curve_is_the_prediction():
    waves, mean = harmonics(SEATTLE)
    curve = Curve.predicted(waves, mean, "2026-12-01T00:01:30", "2026-12-08T00:00")
    every_minute = np.arange("2026-12-01T00:02", "2026-12-08", np.timedelta64(1, "m"), "datetime64[s]")
    assert curve.at(every_minute) == pytest.approx(tide.levels(waves, mean, every_minute), abs=0.002)
    assert curve.levels[[0, -1]] == pytest.approx(tide.levels(waves, mean, curve.times[[0, -1]]), abs=1e-9)
    assert curve.window() == tide.window(waves, mean, "2026-12-01T00:01:30", "2026-12-08T00:00")
    expected = tide.extremes(waves, mean, "2026-12-01T00:01:30", "2026-12-08T00:00")
    for found, wanted in zip(curve.turns, expected, strict=True):
        assert (found == wanted).all()


def test_a_piece_is_the_same_as_a_prediction_of_its_own():
    """One prediction serves all stays of a harbour: cut out, each is what it would have been alone."""
    waves, mean = harmonics(SEATTLE)
    whole = Curve.predicted(waves, mean, "2026-12-01", "2026-12-31")
    for start, end in [("2026-12-03T05:07:09", "2026-12-05T11:00"), ("2026-12-09T01:00", "2026-12-09T02:00")]:
        piece, alone = whole.cut(start, end), Curve.predicted(waves, mean, start, end)
        assert piece.window() == pytest.approx(alone.window(), abs=0.002)
        assert (piece.turns.times == alone.turns.times).all()


def test_cut_on_a_turn_keeps_it():
    turn = SEA.turns.times[2]
    assert SEA.cut(turn, SEA.times[-1]).turns.times[0] == turn
    assert SEA.cut(SEA.times[0], turn).turns.times[-1] == turn
    assert len(SEA.cut(turn, turn).times) == 1


def test_thinned_curve_is_within_a_centimetre_of_the_prediction():
    waves, mean = harmonics(SEATTLE)
    thin = Curve.predicted(waves, mean, "2026-12-01", "2026-12-08").thinned()
    times = np.arange("2026-12-01", "2026-12-08", np.timedelta64(1, "m"), "datetime64[s]")
    assert thin.at(times) == pytest.approx(tide.levels(waves, mean, times), abs=0.010)
    assert len(thin.times) < 7 * 24 * 10 / 3  # of ten samples an hour
    assert thin.points()[0] == ["2026-12-01T00:00:00Z", round(float(thin.levels[0]), 3)]
    assert thin.window() == Curve.predicted(waves, mean, "2026-12-01", "2026-12-08").window()


def test_invented_harbour_when_she_touches_and_when_the_lock_opens():
    """Bed -1.20 m and draft 1.90 m: she touches below 0.70 m; the lock opens above 1.60 m. Demo figures."""
    assert_times(SEA.below(0.70)[1], ["15 04:04", "15 07:13"])
    assert_times(SEA.below(1.00)[1], ["15 03:15", "15 07:54"])  # with the clearance of 0.30 m
    assert_times([time for time, _ in SEA.crossings(1.60)[:2]], ["14 20:52", "15 01:54"])
    assert_times(SEA.above(1.60)[3], ["16 09:36", "16 15:01"])
    # another draft and bed: aground below 1.50 m
    assert_times(SEA.below(1.50)[0][1:], ["14 20:38"])
    assert_times(SEA.below(1.50)[1], ["15 02:08", "15 08:53"])


def test_largest_single_rise_or_fall():
    """From low water 0.36 to high water 2.50 in the days shown; demo figures."""
    assert SEA.largest_move() == pytest.approx(2.503 - 0.362, abs=0.002)
    assert SEA.cut("2027-10-14T18:00", "2027-10-14T18:00").largest_move() == 0.0


# --- tables ----------------------------------------------------------------------------------------------


def test_table_of_highs_and_lows_is_half_a_cosine():
    """By hand: midway in time is midway in height; a third of the way is a quarter of it."""
    rows = [("2027-01-01T00:00", 1.0), ("2027-01-01T06:00", 3.0), ("2027-01-01T12:00", 1.2)]
    curve = Curve.of_table(rows, highs_and_lows=True)
    assert curve.at(["2027-01-01T03:00", "2027-01-01T02:00"]) == pytest.approx([2.0, 1.5], abs=0.01)
    assert curve.turns.high.tolist() == [False, True, False]
    assert curve.turns.levels.tolist() == [1.0, 3.0, 1.2]


def test_table_of_levels_is_straight():
    rows = [("2027-01-01", 1.0), ("2027-03-01", 3.0)]
    assert Curve.of_table(rows, highs_and_lows=False).at("2027-01-30T12:00") == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("rows", "fault"),
    [
        (["2027-01-01T00:00 1", "2027-01-01T00:00 2"], "stands twice"),
        (["2027-01-02T00:00 1", "2027-01-01T00:00 2"], "before the row above"),
        (["2027-01-01T00:00 1", "2027-01-02T07:00 2"], "more than 30 h"),
        (["2027-01-01T00:00 1", "2027-01-01T06:00 2", "2027-01-01T12:00 3"], "neither a high nor a low"),
        (["2027-01-01T00:00 1", "2027-01-01T06:00 nan"], "missing"),
        (["2027-01-01T00:00 1"], "two rows"),
        ([], "two rows"),
    ],
)
def test_bad_tables_are_refused(rows, fault):
    points = [(row.split()[0], float(row.split()[1])) for row in rows]
    with pytest.raises(ValueError, match=fault):
        Curve.of_table(points, highs_and_lows=True)


# --- a place that follows another ------------------------------------------------------------------------


def test_no_offsets_change_nothing():
    same, dropped = SEA.shifted(minutes=(0, 0), heights=(1, 1), ratio=True)
    assert not dropped.size
    assert same.levels == pytest.approx(SEA.at(same.times), abs=1e-9)


def test_highs_and_lows_move_by_their_own_offsets():
    place, dropped = SEA.shifted(minutes=(30, 45), heights=(1.1, 0.8), ratio=True)
    here, there = SEA.turns, place.turns
    assert not dropped.size
    assert ((there.times - here.times).astype(int) == np.where(here.high, 1800, 2700)).all()
    assert there.levels == pytest.approx(here.levels * np.where(here.high, 1.1, 0.8))
    higher, _ = SEA.shifted(minutes=(0, 0), heights=(0.2, 0.1), ratio=False)
    assert higher.turns.levels == pytest.approx(here.levels + np.where(here.high, 0.2, 0.1))


def test_between_turns_the_reference_keeps_its_shape():
    """Stretched by 1.5 about zero and ten minutes late all over: the same curve, at every point."""
    place, _ = SEA.shifted(minutes=(10, 10), heights=(1.5, 1.5), ratio=True)
    earlier = place.times - np.timedelta64(10, "m")
    assert place.levels == pytest.approx(1.5 * SEA.at(earlier), abs=1e-9)


def test_turns_out_of_order_are_dropped_and_told():
    """On a mixed tide the shortest rise takes 4 h; lows 2 h later and highs 2 h earlier turn it round."""
    whole = Curve.predicted(*harmonics(SEATTLE), "2026-12-01", "2026-12-10T12:00")
    rises = np.diff(whole.turns.times)[~whole.turns.high[:-1]]
    half = rises.min() / np.timedelta64(2, "m") + 1
    place, dropped = whole.shifted(minutes=(-half, half), heights=(1, 1), ratio=True)
    assert len(dropped) == 2
    assert dropped[1] - dropped[0] == rises.min()
    assert (np.diff(place.times).astype(int) > 0).all()
    assert not np.isin(dropped, place.turns.times).any()
