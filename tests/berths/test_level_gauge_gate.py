"""The level page beside its figures: what the gauge read, and how she comes in over a sill or through a gate. The
invented harbour's figures: see test_level.
"""

import re
from decimal import Decimal

import pytest

from berths.models import Forecast, Reading, TieUp, Water
from berths.selectors.gate import needs, way_in
from berths.selectors.water import spans
from marina.base import house
from tests.berths.test_level import at_sea, gated, page, plum, timber
from tests.berths.waters import NOW, local
from tests.cast import days, fix_clock, hours, make_stay, make_tie_up

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(client, cast):
    fix_clock(NOW)
    house.set_rule(key="zone", value="Europe/London", by=cast.harbourmaster)
    client.force_login(cast.harbourmaster)
    return client


# --- the gauge ---


def test_what_the_gauge_read_stands_beside_the_prediction(office, cast):
    """Predicted at 17:10 a little over 0.57; 0.28 less was read."""
    berth = timber()
    plum(berth)
    at = local("14 17:10")
    predicted = spans([berth.water], at, at)[berth.water_id].level(at)
    level = Decimal(f"{predicted - 0.28:.2f}")
    Reading.objects.create(water=berth.water, level=level, at=at, by=cast.hand)
    words = page(office)
    assert re.search(
        rf"Gauge read {level} m at 17:10 by hand: 0\.2[789] m below prediction, within the allowance\.", words
    )
    assert "a reading changes none of them" in words
    assert "0.41 m above CD (chart datum: zero of the tide table); could be 0.11 m." in words
    assert "Allow for that today" not in words


def test_more_than_the_allowance_leads_to_where_it_is_allowed_for(office, cast, client):
    berth = timber()
    plum(berth)
    row = Reading.objects.create(water=berth.water, level="-0.20", at=NOW - hours(1), by=cast.hand)
    assert "more than the allowance" in page(office)
    link = f"/water/{berth.water_id}/weather/?reading={row.pk}"
    assert link in office.get("/berths/C4/level/").content.decode()
    client.force_login(cast.hand)
    assert link not in client.get("/berths/C4/level/").content.decode()


def test_a_reading_of_yesterday_says_nothing_of_a_tide_today(office, cast):
    berth = timber()
    plum(berth)
    Reading.objects.create(water=berth.water, level="0.30", at=NOW - hours(25), by=cast.hand)
    assert "Gauge read" not in page(office)


def test_a_basin_shows_how_old_its_level_is(office, cast):
    plum(gated())
    assert "Gauge read 2.40 m at 17:45." in page(office, "B3")
    Reading.objects.update(at=NOW - days(3))
    words = page(office, "B3")
    assert "Gauge read 2.40 m at Mon 11 Oct 17:45. That is more than a day ago." in words
    assert "prediction; a reading" not in words


def test_an_own_table_is_a_prediction_that_a_reading_is_held_against(office, cast):
    rows = [["2027-10-14T16:00:00Z", 1.0], ["2027-10-15T22:00:00Z", 1.0]]
    water = at_sea(kind="table", station=None, table=rows, table_kind="levels")
    berth = timber(water=water)
    plum(berth)
    make_tie_up(stay=make_stay(berth=berth, raft_place=1))
    TieUp.objects.update(stale=False, stale_why="", stale_since=None)
    Reading.objects.create(water=water, level="1.25", at=NOW, by=cast.hand)
    assert "Gauge read 1.25 m at 17:45 by hand: 0.25 m above prediction, within the allowance." in page(
        office
    )
    assert not TieUp.objects.filter(stale=True).exists()


# --- over the sill ---


def test_a_boat_of_little_draught_needs_no_more_than_any(office):
    """Sill -0.70, draught 1.60, 0.50 kept: 1.40, and boats pass above 1.60. With 0.30 down from 1.90 on."""
    plum(gated(), draft="1.6", deck="1.0")
    words = page(office, "B3")
    assert "Through the gate Boats pass the lock while Sea is above 1.60 m" in words
    assert (
        "She draws 1.60 m, and the house keeps 0.50 m under a keel: over this sill she needs no more" in words
    )
    assert re.search(r"Should weather take away as much as is allowed for: 21:\d\d to Fri 01:[012]\d,", words)


def test_a_deep_boat_waits_for_more_water_over_the_sill(office):
    """Sill -0.70, draught 2.10, 0.50 kept: 1.90."""
    plum(gated(), draft="2.1", deck="1.0")
    words = page(office, "B3")
    assert "she needs Sea at 1.90 m or more. She passes 21:" in words


def test_a_boat_no_tide_carries_over_the_sill(office):
    plum(gated(), draft="4.0", deck="1.0")
    words = page(office, "B3")
    assert "she needs Sea at 3.80 m or more. She passes not at all in the time shown." in words


def test_what_the_sill_asks_is_not_known_without_its_level_or_her_draught(office):
    berth = gated()
    stay = plum(berth, draft="1.6", deck="1.0")
    Water.objects.filter(pk=berth.water_id).update(sill_z=None)
    assert "NOT KNOWN Whether she clears the sill: its level is not recorded." in page(office, "B3")
    Water.objects.filter(pk=berth.water_id).update(sill_z=Decimal("-0.7"))
    stay.vessel.draft_declared = None
    stay.vessel.save()
    assert "NOT KNOWN Whether she clears the sill: her draught is not known." in page(office, "B3")


def test_without_an_allowance_outside_weather_is_not_known(office):
    berth = gated()
    plum(berth, draft="1.6", deck="1.0")
    outer = Water.objects.get(pk=berth.water.outer_id)
    outer.surge_up = outer.surge_down = None
    outer.surge_reason = ""
    outer.save()
    assert "NOT KNOWN When she passes if weather takes water away: surge not known." in page(office, "B3")


def test_the_house_says_how_much_is_kept_under_a_keel(office, cast):
    house.set_rule(key="H8", value={"soft": 0.6, "hard": 1.0}, by=cast.harbourmaster)
    plum(gated(), draft="1.6", deck="1.0")
    assert "keeps 1.00 m under a keel: she needs Sea at 1.90 m or more" in page(office, "B3")


def test_a_forecast_outside_shortens_the_sure_times():
    water = gated().water
    start, end = NOW, NOW + days(1)
    before = way_in(spans([water], start, end)[water.pk], start, end, draft=1.6, keep=0.5)
    Forecast.objects.create(at=NOW, water=water.outer, starts=NOW, ends=end, surge_down="0.70")
    after = way_in(spans([water], start, end)[water.pk], start, end, draft=1.6, keep=0.5)
    assert before.times == after.times
    assert after.sure[0][0] > before.sure[0][0]


def test_no_gate_no_way_in():
    water = at_sea()
    assert (
        way_in(spans([water], NOW, NOW + days(1))[water.pk], NOW, NOW + days(1), draft=1.6, keep=0.5) is None
    )
    assert needs(water, 1.6, 0.5) is None
