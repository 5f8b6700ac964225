"""A forecast of wind typed in, and offsets of a station shown before they are kept."""

import pytest
from django.urls import reverse

from berths import stationfile
from berths.cards.facts import _wind
from berths.models import Forecast, TieUp, Water
from berths.windtext import read_directions
from marina.base import house
from tests.cast import NOON, fix_clock, make_berth, make_stay, make_tie_up, make_water
from tests.marina.test_pages_things import text

pytestmark = pytest.mark.django_db
TOLD = {"starts": "2027-10-14T12:00", "ends": "2027-10-15T12:00", "source": "Coast radio"}


@pytest.fixture
def office(client, cast):
    fix_clock(NOON)
    house.set_rule(key="zone", value="Europe/London", by=cast.harbourmaster)
    client.force_login(cast.harbourmaster)
    return client


# --- wind ---


def test_wind_of_a_forecast_stands_on_the_record_and_as_an_arrow_on_the_card(office):
    water = make_water()
    berth = make_berth(water=water)
    tie_up = make_tie_up(stay=make_stay(berth=berth))
    TieUp.objects.update(stale=False, stale_why="", stale_since=None)
    answer = office.post(
        reverse("berths:water-weather", args=[water.pk]),
        TOLD | {"wind_gust": "30", "wind_from_deg": "SW"},
        follow=True,
    )
    words = text(answer)
    assert "Wind of that time kept. It moves no water." in words
    assert "gusts of 30 kn from south-west (225). Coast radio." in words
    row = Forecast.objects.get()
    assert (row.water, float(row.wind_gust), row.wind_from_deg) == (water, 15.44, [225.0])
    assert (row.surge_down, row.surge_up) == (None, None)
    assert _wind(berth, NOON) == (("wind forecast", 45.0),)
    tie_up.refresh_from_db()
    assert not tie_up.stale


def test_a_wind_that_shifts_is_no_arrow(office):
    water = make_water()
    told = TOLD | {"wind_from_deg": "200, 230 260"}
    office.post(reverse("berths:water-weather", args=[water.pk]), told)
    assert Forecast.objects.get().wind_from_deg == [200.0, 230.0, 260.0]
    assert _wind(make_berth(water=water), NOON) == ()


def test_a_forecast_for_every_water(office):
    water, other = make_water(), make_water()
    told = TOLD | {"wind_gust": "25", "wind_from_deg": "270", "surge_down": "0.5", "everywhere": "on"}
    office.post(reverse("berths:water-weather", args=[water.pk]), told)
    assert Forecast.objects.get().water is None
    words = text(office.get(reverse("berths:water-record", args=[other.pk])))
    assert "for every water: down 0.50 m, gusts of 25 kn from west (270). Coast radio." in words
    assert _wind(make_berth(water=other), NOON) == (("wind forecast", 90.0),)


@pytest.mark.parametrize("typed", ["uphill", "361", "-10", "2 30x"])
def test_no_direction(typed):
    with pytest.raises(ValueError, match="is no direction"):
        read_directions(typed)


# --- offsets ---


def shown(office, water, **told):
    url = reverse("berths:water-station", args=[water.pk]) + "?station=noaa/9447130"
    given = {"time_offset_min": "0", "height_offset": "0", "datum": "MLLW"} | told
    return office.post(url, given)


def test_what_offsets_do_is_shown_before_they_are_kept(office):
    water = make_water()
    answer = shown(office, water, show="1", time_offset_min="25", height_offset="0.40")
    assert answer.status_code == 200
    rows = answer.context["turns"]
    assert {row["high"] for row in rows} == {True, False}
    for row in rows:
        assert (row["here"] - row["there"]).total_seconds() == 25 * 60
        assert row["level_here"] == pytest.approx(row["level_there"] + 0.4)
        assert row["here"] >= NOON
    assert "nothing is kept yet" in text(answer)
    assert answer.context["form"]["time_offset_min"].value() == "25"
    assert Water.objects.get(pk=water.pk).kind == water.kind
    office.post(answer.request["PATH_INFO"] + "?station=noaa/9447130", answer.context["form"].data)
    assert Water.objects.get(pk=water.pk).kind == water.kind  # the button that shows was pressed again
    shown(office, water, time_offset_min="25", height_offset="0.40")
    row = Water.objects.get(pk=water.pk)
    assert (row.station_id, row.time_offset_min) == ("noaa/9447130", 25)


def test_offsets_that_cannot_be_read_show_nothing(office):
    answer = shown(office, make_water(), show="1", height_offset="two")
    assert answer.status_code == 422
    assert "NOT KNOWN What these offsets do" in text(answer)
    assert answer.context["form"]["height_offset"].value() == "two"


def test_a_station_just_picked_shows_its_own_turns(office):
    url = reverse("berths:water-station", args=[make_water().pk]) + "?station=noaa/9447130"
    rows = office.get(url).context["turns"]
    assert rows and all(row["here"] == row["there"] for row in rows)
    assert stationfile.station("noaa/9447130")["name"] == "Seattle"
