"""What pages ask of the water, from the database, in a fixed number of queries. Invented demo figures."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError

from berths.models import Forecast, Stay, Water
from berths.selectors import water as waters
from tests.berths.waters import NOW, basin, local, lowered, read, sea
from tests.cast import make_berth, make_stay

pytestmark = pytest.mark.django_db


@pytest.fixture
def harbour():
    """Sea and basin, saved, with the demo's readings and notice."""
    outside = sea()
    outside.save()
    inside = basin(outer=outside)
    inside.save()
    for level, at in ((2.40, "12 10:30"), (2.40, "14 17:45"), (2.55, "11 09:00")):
        read(level, at, water=inside).save()
    lowered(water=inside).save()
    lowered(low=1.0, high=1.0, starts="01 06:00", ends="02 06:00", water=inside).save()  # long over
    return Water.objects.select_related("outer").get(pk=outside.pk), Water.objects.select_related(
        "outer"
    ).get(pk=inside.pk)


def test_window_of_a_stay_at_sea(harbour, django_assert_num_queries):
    with django_assert_num_queries(
        1
    ):  # notices and forecasts; no reading is needed where a tide is predicted
        found = waters.window_of(harbour[0], local("14 20:30"), local("15 12:00"), now=NOW)
    assert (found.low, found.high) == pytest.approx((0.41, 2.43), abs=0.005)


def test_window_of_the_basin(harbour, django_assert_num_queries):
    with django_assert_num_queries(2):
        found = waters.window_of(harbour[1], local("12 10:30"), now=NOW)
    assert (found.low, found.high, found.now) == pytest.approx((1.60, 2.80, 2.40))
    assert found.not_known == {}
    ((when, rising),) = found.part.crossings(2.04)
    assert (str(when)[:16], rising) == ("2027-10-15T05:00", False)  # 06:00 by the harbour's clock
    storm = waters.window_of(harbour[1], local("16 10:00"), local("16 14:00"), now=NOW, storm=True)
    assert "3.79" in storm.not_known["gate"]


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"station": {"msl_above_datum": 1, "constituents": [["ZZ9", 1, 0]]}}, "station", "ZZ9"),
        ({"station": "M2"}, "station", "are given as"),
        ({"kind": "table", "table": [["soon", 1]]}, "table", "row 1"),
    ],
)
def test_constants_and_tables_are_refused_at_entry(changes, field, words):
    with pytest.raises(ValidationError) as refused:
        sea(**changes).full_clean()
    assert words in str(refused.value.message_dict[field])


def test_forecasts_of_surge_come_with_the_notices_each_to_its_own_water(harbour, django_assert_num_queries):
    outside, inside = harbour
    for water, down in ((outside, 0.45), (None, 0.35), (inside, 0.25)):
        Forecast.objects.create(
            water=water, starts=local("14 17:00"), ends=local("15 17:00"), surge_down=down, at=NOW, source="x"
        )
    Forecast.objects.create(starts=local("14 17:00"), ends=local("15 17:00"), wind_gust=20, at=NOW)
    Forecast.objects.create(starts=local("13 17:00"), ends=local("14 17:00"), surge_down=3, at=NOW)
    times = local("14 20:30"), local("15 12:00")
    with django_assert_num_queries(1):
        assert waters.window_of(outside, *times, now=NOW).surge_down == 0.45
    with django_assert_num_queries(2):
        found = waters.window_of(inside, *times, now=NOW)
    assert found.surge_down == 0.35
    assert "lowered for work on the sill" in found.notes


def test_no_water_is_not_known():
    assert "not known" in waters.window_of(None, NOW, now=NOW).not_known["water"]


def test_the_clock_is_asked_where_no_moment_is_given(harbour, monkeypatch):
    monkeypatch.setattr(waters.clock, "now", lambda: NOW)
    assert waters.window_of(harbour[0], local("01 00:00")).at == NOW


def test_level_and_turns(harbour, django_assert_num_queries):
    outside, inside = harbour
    with django_assert_num_queries(1):
        assert waters.level_at(outside, local("14 20:40")) == pytest.approx(1.51, abs=0.005)
    assert waters.level_at(inside, NOW) == pytest.approx(2.40)
    assert waters.level_at(inside, local("12 09:00")) == pytest.approx(2.55)  # the last one read by then
    with django_assert_num_queries(1):
        found = waters.next_turns(outside, NOW)
    assert [(turn.high, round(turn.level, 1)) for turn in found] == [(True, 2.3), (False, 0.4)]
    assert abs(found[1].time - local("15 05:40")) <= timedelta(minutes=1)
    assert waters.next_turns(inside, NOW) == []


def test_reading_against_prediction(harbour):
    """Made fast 20:40, gauge 1.38: 0.13 below the 1.51 predicted."""
    assert waters.departure(read(1.38, "14 20:40", water=harbour[0])) == pytest.approx(-0.13, abs=0.005)
    assert waters.departure(read(2.40, "14 20:40", water=harbour[1])) is None


def test_when_boats_pass_the_gate(harbour):
    spans = waters.passages(harbour[1], NOW, local("16 16:00"))
    expected = [("14 20:52", "15 01:54"), None, None, ("16 09:36", "16 15:01")]
    assert len(spans) == 4
    for (opens, shuts), times in zip(spans, expected, strict=True):
        if times:
            assert abs(opens - local(times[0])) <= timedelta(minutes=1)
            assert abs(shuts - local(times[1])) <= timedelta(minutes=1)
    assert waters.passages(harbour[0], NOW, local("16 16:00")) is None


def test_source_words(harbour):
    assert "own tidal constants, Wendlow Bar" in waters.source_of(harbour[0])
    assert "not for navigation" in waters.source_of(harbour[0])
    assert waters.source_of(harbour[1]) == "limits set for Inner basin"


@pytest.mark.parametrize("copies", [1, 20])
def test_all_waters_at_once(harbour, copies, django_assert_num_queries):
    for n in range(1, copies):
        outside = sea(name=f"Sea {n}")
        outside.save()
        inside = basin(name=f"Basin {n}", outer=outside)
        inside.save()
        read(2.40, "14 17:45", water=inside).save()
    with django_assert_num_queries(3):
        spans = waters.harbour_waters(NOW, NOW + timedelta(days=2))
        levels = [span.level(NOW) for span in spans.values()]
        windows = [span.window(NOW, local("15 12:00"), now=NOW) for span in spans.values()]
    assert len(spans) == 2 * copies
    assert None not in levels
    assert all(window.not_known == {} for window in windows)


def many(waters_, copies):
    """Nights, an open stay, a permanent one and one with an allowance of its own, at each water."""
    kinds = (
        {"depart": local("15 12:00")},
        {"depart": local("19 12:00")},
        {"depart": None},
        {"depart": None, "purpose": "permanent"},
        {"depart": local("15 12:00"), "surge_down": 1, "surge_up": 2, "surge_reason": "a storm"},
    )
    for water in waters_:
        for fields in kinds * copies:
            make_stay(berth=make_berth(water=water, fitted=False), arrive=local("14 12:00"), **fields)
    return list(Stay.objects.select_related("berth__water__outer").order_by("pk"))


@pytest.mark.parametrize("copies", [1, 4])
def test_windows_of_many_stays_in_one_pass(harbour, copies, django_assert_num_queries):
    stays = many(harbour, copies)
    with django_assert_num_queries(2):
        found = waters.windows_of_stays(stays, now=NOW)
    assert len(found) == len(stays)
    for stay in stays[:: len(stays) // 10]:
        one, alone = found[stay.pk], waters.window_of_stay(stay, now=NOW)
        for name in ("low", "high", "range", "now", "surge_down", "surge_up"):
            assert getattr(one, name) == pytest.approx(getattr(alone, name), abs=0.002), (stay.purpose, name)
        assert (one.basis, one.not_known, one.notes) == (alone.basis, alone.not_known, alone.notes)
        assert len(one.curve) == pytest.approx(len(alone.curve), abs=2)


def test_windows_of_no_stays(django_assert_num_queries):
    with django_assert_num_queries(0):
        assert waters.windows_of_stays([], now=NOW) == {}


def test_a_harbour_and_a_stay_alone_give_the_same_window(harbour):
    spans = waters.harbour_waters(local("10 00:00"), local("20 00:00"))
    for water in harbour:
        alone = waters.window_of(water, local("14 20:30"), local("15 12:00"), now=NOW)
        cut = spans[water.pk].window(local("14 20:30"), local("15 12:00"), now=NOW)
        assert (cut.low, cut.high, cut.now) == pytest.approx((alone.low, alone.high, alone.now), abs=0.002)
