"""Look again: set by itself after she is made fast, hung on the water, and moved with it."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from berths.models import Forecast, Notice, Reading, Recheck, Stay
from berths.selectors.looks import open_looks
from berths.selectors.water import next_turns
from berths.services import looks
from berths.services.stays import leave_stay, make_fast, move_stay
from tests.berths import waters
from tests.cast import NOON, days, hours, make_berth, make_line, make_stay, make_water


@pytest.fixture
def hand(cast, clock_at):
    clock_at(NOON)
    return cast.hand


@pytest.fixture
def sea():
    water = waters.sea()
    water.save()
    return water


def fast_at(hand, water, kind="fixed", **fields):
    stay = make_stay(berth=make_berth(kind=kind, water=water), **fields)
    make_fast(stay=stay, by=hand, at=NOON)
    return stay


def due(stay):
    return {look.why: look.due for look in stay.rechecks.filter(done_at=None)}


def test_the_first_low_and_the_first_high_half_an_hour_before(hand, sea):
    stay = fast_at(hand, sea)
    first = {turn.high: turn.time for turn in next_turns(sea, NOON)}
    assert due(stay)["first_low"] == first[False] - timedelta(minutes=30)
    assert due(stay)["before_high"] == first[True] - timedelta(minutes=30)


def test_a_floating_dock_asks_for_neither(hand, sea):
    assert due(fast_at(hand, sea, kind="floating")) == {}


def test_nobody_looks_after_she_has_left(hand, sea):
    assert due(fast_at(hand, sea, depart=NOON + timedelta(minutes=20))) == {}


def test_a_long_stay_is_looked_at_again_at_its_lowest_water(hand, sea):
    stay = fast_at(hand, sea, depart=NOON + days(14))
    assert due(stay)["spring_low"] > due(stay)["first_low"]


def test_a_shorter_stay_takes_it_back(hand, sea):
    stay = fast_at(hand, sea, depart=NOON + days(14))
    move_stay(stay=stay, by=hand, depart=NOON + hours(20))
    assert "spring_low" not in due(stay)


def test_it_moves_with_the_prediction(hand, sea):
    stay = fast_at(hand, sea)
    before = due(stay)["first_low"]
    sea.time_offset_min += 25
    sea.save()
    assert due(stay)["first_low"] == before + timedelta(minutes=25)


def test_water_that_is_let_down_is_met_on_the_spot(hand):
    water = make_water()
    Reading.objects.create(water=water, level=Decimal("2.40"), at=NOON - hours(1))
    stay = fast_at(hand, water, depart=NOON + days(3))
    assert "first_low" not in due(stay)
    Notice.objects.create(
        water=water,
        low=Decimal("0.5"),
        high=Decimal("0.5"),
        starts=NOON + hours(18),
        reason="work on the sill",
    )
    assert due(stay)["first_low"] == NOON + hours(18) - timedelta(minutes=30)


def test_what_was_done_is_not_asked_for_twice(hand, sea):
    stay = fast_at(hand, sea)
    look = stay.rechecks.get(why="first_low")
    looks.looked(look=look, by=hand, found="as it should be")
    looks.retime(Stay.objects.all())
    assert "first_low" not in due(stay)
    again = looks.looked(look=look, by=hand, found="something else")
    assert again.found == "as it should be"


def test_a_boat_of_last_month_is_not_called_missed(hand, sea):
    stay = make_stay(berth=make_berth(kind="fixed", water=sea), arrive=NOON - days(40), depart=None)
    make_fast(stay=stay, by=hand, at=NOON - days(40))
    looks.retime(Stay.objects.all())
    assert due(stay) == {}


def test_new_rope_is_measured_after_a_month(hand, sea):
    stay = make_stay(berth=make_berth(kind="fixed", water=sea), depart=None)
    line = make_line(in_service_on=NOON.date())
    make_fast(stay=stay, by=hand, at=NOON, lines=[{"line": line}])
    assert due(stay)["new_rope"].date() == NOON.date() + days(30)


def test_a_person_asks_for_one_and_it_stays_where_it_is(hand, sea):
    stay = fast_at(hand, sea)
    looks.set_look(stay=stay, by=hand, due=NOON + hours(3), words="spring chafes at the coping")
    looks.retime(Stay.objects.all())
    assert Recheck.objects.get(why="other").due == NOON + hours(3)


@pytest.mark.parametrize("found", ["", "   "])
def test_a_look_without_a_word_is_refused(hand, sea, found):
    look = fast_at(hand, sea).rechecks.first()
    with pytest.raises(ValidationError, match="Say what you found"):
        looks.looked(look=look, by=hand, found=found)


def test_a_time_that_is_over_is_refused(hand, sea):
    with pytest.raises(ValidationError, match="That time is over"):
        looks.set_look(stay=fast_at(hand, sea), by=hand, due=NOON - hours(1), words="x")


# --- what happens beside her, and wind ---


@pytest.fixture
def raft(hand, sea):
    """Two boats in a raft at a floating dock; the outer one is still to come."""
    berth = make_berth(kind="floating", water=sea, raft_depth=2)
    inner, outer = (make_stay(berth=berth, raft_place=n, depart=NOON + days(3)) for n in (0, 1))
    make_fast(stay=inner, by=hand, at=NOON)
    return inner, outer


def test_a_boat_that_comes_or_leaves_outside_asks_for_a_look_at_the_inner_one(hand, raft, clock_at):
    inner, outer = raft
    assert due(inner) == {}
    clock_at(NOON + hours(2))
    make_fast(stay=outer, by=hand, at=NOON + hours(2))
    assert due(inner) == {"raft": NOON + hours(2)}
    assert "came alongside her" in inner.rechecks.get().words
    assert due(outer) == {}
    looks.looked(look=inner.rechecks.get(), by=hand, found="both springs lie well")
    looks.retime(Stay.objects.all())
    assert due(inner) == {}
    clock_at(NOON + hours(5))
    leave_stay(stay=outer, by=hand, at=NOON + hours(5))
    assert due(inner) == {"raft": NOON + hours(5)}
    looks.retime(Stay.objects.all())
    assert inner.rechecks.filter(done_at=None).count() == 1


def gale(water, gust, starts):
    return Forecast.objects.create(
        water=water, starts=starts, ends=starts + hours(6), wind_gust=Decimal(gust), at=NOON
    )


def test_wind_above_the_houses_limit_is_met_half_an_hour_before(hand, raft, sea):
    inner, _ = raft
    gale(sea, "12.5", NOON + hours(9))  # 24 kn, under the 25 of the house
    assert due(inner) == {}
    gale(sea, "15.4", NOON + hours(9))
    assert due(inner) == {"wind": NOON + hours(9) - timedelta(minutes=30)}
    assert inner.rechecks.get().words == "Gusts of 30 kn are forecast"


def test_wind_over_another_water_asks_for_nothing(hand, raft):
    other = make_water()
    gale(other, "15.4", NOON + hours(9))
    assert due(raft[0]) == {}


def test_a_look_done_and_asked_for_again_stands_once(hand, sea, clock_at):
    stay = fast_at(hand, sea)
    looks.looked(look=stay.rechecks.get(why="first_low"), by=hand, found="fine lead")
    clock_at(NOON + hours(1))
    make_fast(stay=stay, by=hand, at=NOON + hours(1))
    for _ in range(3):
        looks.retime(Stay.objects.all())
    assert stay.rechecks.filter(why="first_low", done_at=None).count() == 1


def test_what_was_missed_is_told_in_tides(client, hand, sea, clock_at):
    stay = fast_at(hand, sea)
    lows = [turn for turn in next_turns(sea, NOON, 4) if not turn.high]
    clock_at(lows[1].time + timedelta(minutes=10))
    (look,) = [look for look in open_looks(hand) if look.why == "first_low"]
    assert look.turn.time == lows[0].time and look.turns_since == 1
    client.force_login(hand)
    for address in ("/looks/", "/hand-over/"):
        text = client.get(address).content.decode()
        assert "went by, and 1 more since" in text
    assert stay.rechecks.filter(done_at=None).exists()


def test_before_its_water_nothing_is_told_as_gone_by(hand, sea, clock_at):
    stay = fast_at(hand, sea)
    clock_at(due(stay)["first_low"] + timedelta(minutes=5))
    (look,) = [look for look in open_looks(hand) if look.why == "first_low"]
    assert not hasattr(look, "turn")
