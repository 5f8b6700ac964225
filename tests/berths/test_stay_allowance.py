"""An allowance for weather that counts for one stay alone: set on its page, taken from the gauge by one press, given
back; who may, what it reaches, and that nothing happens by itself. The water is the invented one of the demo."""

import re
from decimal import Decimal
from html import unescape

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from berths import survey
from berths.cards.facts import card_of
from berths.cards.words import Reader
from berths.models import Forecast, Reading, Stay, TieUp
from berths.selectors.history import history
from berths.selectors.water import level_at, window_of_stay
from berths.services import stays, tieups
from berths.services import water as waters
from berths.window import Surge
from tests.berths.waters import HARBOUR, NOW, local, sea
from tests.cast import fix_clock, make_berth, make_stay, make_vessel

pytestmark = pytest.mark.django_db
WHY = "north-westerly gale is set to blow the water out"


@pytest.fixture(autouse=True)
def evening():
    fix_clock(NOW)


@pytest.fixture
def water():
    row = sea()
    row.save()
    return row


@pytest.fixture
def stay(water):
    berth = make_berth(water=water)
    return make_stay(berth=berth, vessel=make_vessel(), arrive=local("14 12:00"), depart=local("15 12:00"))


@pytest.fixture
def office(client, cast):
    client.force_login(cast.harbourmaster)
    return client


def words(answer):
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode())))


def allow(client, stay, **told):
    return client.post(f"/stays/{stay.pk}/allowance/", told, follow=True)


GIVEN = {"surge_down": "0.55", "surge_up": "0.60", "surge_reason": WHY}


# --- the record ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "fields",
    [
        {"surge_down": 1},
        {"surge_down": 1, "surge_up": 1},
        {"surge_up": 1, "surge_reason": "why"},
        {"surge_reason": "why"},
        {"surge_down": -1, "surge_up": 1, "surge_reason": "why"},
        {"surge_down": 21, "surge_up": 1, "surge_reason": "why"},
    ],
)
def test_half_an_allowance_is_refused_by_form_and_database(stay, cast, fields):
    named = {name.removeprefix("surge_"): value for name, value in fields.items()}
    with pytest.raises(ValidationError):
        stays.allow_for_stay(stay=stay, by=cast.harbourmaster, **named)
    with pytest.raises(IntegrityError), transaction.atomic():
        Stay.objects.filter(pk=stay.pk).update(**fields)


def test_none_and_both_with_a_reason_are_taken(stay, cast):
    done = stays.allow_for_stay(stay=stay, by=cast.harbourmaster, down=Decimal("0.55"), up=0, reason=WHY)
    assert (done.surge_down, done.surge_up, done.surge_by) == (Decimal("0.55"), 0, "harbourmaster")
    done = stays.allow_for_stay(stay=stay, by=cast.harbourmaster)
    assert (done.surge_down, done.surge_up, done.surge_reason, done.surge_by) == (None, None, "", "")


def test_a_stay_that_is_over_is_left_as_it_was(stay, cast):
    stays.cancel_stay(stay=stay, by=cast.harbourmaster, reason="did not come")
    with pytest.raises(ValidationError, match="book a new stay"):
        stays.allow_for_stay(stay=stay, by=cast.harbourmaster, down=1, up=1, reason=WHY)


# --- what it reaches -------------------------------------------------------------------------------------


def test_window_and_scenario_take_it_in_place_of_the_waters(stay, cast):
    before = window_of_stay(stay)
    assert (before.surge_down, before.surge_up, before.surge_own) == (0.30, 0.60, False)
    stay = stays.allow_for_stay(stay=stay, by=cast.harbourmaster, down=Decimal("0.1"), up=1, reason=WHY)
    found = window_of_stay(stay)
    assert (found.surge_down, found.surge_up, found.surge_own) == (0.1, 1.0, True)
    assert found.lowest == pytest.approx(before.low - 0.1)
    assert found.surge_reason == f"for this stay alone: {WHY}, harbourmaster"
    asked = survey.read(stay).scenario.water
    assert (asked.surge_down, asked.surge_up) == (0.1, 1.0)
    assert window_of_stay(make_stay(berth=make_berth(water=stay.berth.water))).surge_down == 0.30


def test_it_counts_for_a_permanent_berth_too_and_where_the_water_has_none(stay, cast):
    stay.berth.water.surge_down = stay.berth.water.surge_up = None
    assert window_of_stay(stay).not_known == {"surge": "surge not known"}
    stay.surge_down, stay.surge_up, stay.surge_reason = 1, 2, WHY
    assert window_of_stay(stay).not_known == {}
    stay.purpose = "permanent"
    assert window_of_stay(stay).highest == pytest.approx(2.77 + 2)


def test_a_forecast_still_widens_it_and_a_storm_is_no_smaller_for_it(stay, cast):
    stay = stays.allow_for_stay(stay=stay, by=cast.harbourmaster, down=Decimal("0.1"), up=2, reason=WHY)
    storm = window_of_stay(stay, storm=True)
    assert (storm.surge_down, storm.surge_up) == (0.50, 2.0)
    waters.allow_for(
        water=stay.berth.water,
        by=cast.harbourmaster,
        starts=local("15 00:00"),
        ends=local("15 06:00"),
        surge_down=Decimal("0.7"),
        source="coast radio",
    )
    found = window_of_stay(stay)
    assert (found.surge_down, found.surge_up, found.surge_told) == (0.7, 2.0, True)
    assert found.surge_reason.endswith("; from a forecast: coast radio")


def test_a_storm_pair_nobody_set_stays_unknown():
    own = Surge(1.0, 1.0, WHY, own=True)
    assert Surge(None, 0.5).or_more(own)[:2] == (None, 1.0)


def test_her_tie_up_goes_out_of_date_and_nobody_elses(stay, cast):
    pier, water = stay.berth.pier, stay.berth.water
    beside = make_berth(water=water, pier=pier, east=stay.berth.east + 13, north=stay.berth.north)
    other = make_stay(berth=beside, arrive=stay.arrive, depart=stay.depart)
    for one in (stay, other):
        tieups.work_out(one, stands=False)
    stays.allow_for_stay(stay=stay, by=cast.harbourmaster, down=1, up=1, reason=WHY)
    hers, theirs = (TieUp.objects.filter(stay=one).latest("made_at") for one in (stay, other))
    assert hers.stale and "allowance down, allowance up changed" in hers.stale_why
    assert not theirs.stale


def test_another_reason_alone_changes_no_tie_up(stay, cast):
    stays.allow_for_stay(stay=stay, by=cast.harbourmaster, down=1, up=1, reason=WHY)
    tieups.work_out(stay, stands=False)
    stays.allow_for_stay(stay=stay, by=cast.harbourmaster, down=1, up=1, reason="another word for it")
    assert not TieUp.objects.get(stay=stay).stale


def test_moved_to_another_water_it_is_left_behind_and_in_the_same_it_goes_along(stay, cast):
    stays.allow_for_stay(stay=stay, by=cast.harbourmaster, down=1, up=1, reason=WHY)
    near = stays.move_stay(stay=stay, by=cast.harbourmaster, berth=make_berth(water=stay.berth.water))
    assert near.surge_down == 1
    far = stays.move_stay(stay=stay, by=cast.harbourmaster, berth=make_berth())
    assert (far.surge_down, far.surge_reason, far.surge_by) == (None, "", "")


def test_made_fast_and_moved_to_another_water(stay, cast):
    stays.allow_for_stay(stay=stay, by=cast.harbourmaster, down=1, up=1, reason=WHY)
    stays.make_fast(stay=stay, by=cast.hand)
    far = stays.move_stay(stay=stay, by=cast.harbourmaster, berth=make_berth())
    assert far.pk != stay.pk and far.surge_down is None
    assert Stay.objects.get(pk=stay.pk).surge_down == 1


def test_card_and_history_tell_it(stay, cast):
    reader = Reader(units="m", words="uk", clock="24", zone=HARBOUR)
    tieups.work_out(stay, stands=False)
    card = card_of(stay, reader=reader, address="/", number=1)
    assert not any("this stay alone" in told for told in card.water)
    stay = stays.allow_for_stay(stay=stay, by=cast.harbourmaster, down=Decimal("0.55"), up=1, reason=WHY)
    tieups.work_out(stay, stands=False)
    card = card_of(stay, reader=reader, address="/", number=2)
    assert "For weather, this stay alone: down 0.55 m, up 1.00 m." in card.water
    assert any(WHY in event.words and event.who == "harbourmaster" for event in history(stay))


# --- its page --------------------------------------------------------------------------------------------


def test_set_on_the_page_of_the_stay(office, stay):
    tieups.work_out(stay, stands=False)
    answer = allow(office, stay, **GIVEN)
    page = words(answer)
    assert "Her tie-up is out of date until it is worked out again" in page
    assert (
        f"down 0.55 m, up 0.60 m (for this stay alone: {WHY}, harbour master)" in page
    )  # as the UK reads it
    assert "That allowance was set for this stay alone. The water's own is down 0.30 m, up 0.60 m." in page
    assert "Out of date" in page
    office.post(f"/stays/{stay.pk}/work-out/")
    assert TieUp.objects.filter(stay=stay).latest("pk").scenario["water"]["surge_down"] == 0.55


def test_it_is_typed_in_the_readers_units(office, stay, cast):
    cast.harbourmaster.units = "ft"
    cast.harbourmaster.save()
    allow(office, stay, surge_down="2 ft", surge_up="3 ft", surge_reason=WHY)
    stay.refresh_from_db()
    assert float(stay.surge_down) == pytest.approx(0.6096)


@pytest.mark.parametrize("field", ["surge_down", "surge_up", "surge_reason"])
def test_a_gap_is_named_and_nothing_typed_is_lost(office, stay, field):
    answer = allow(office, stay, **GIVEN | {field: ""})
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "not given yet" in page and '<details id="allowance" open>' in page
    for name, typed in GIVEN.items():
        assert (typed in page) == (name != field or field == "surge_up")  # 0.60 stands elsewhere too
    stay.refresh_from_db()
    assert stay.surge_down is None


def test_a_figure_that_cannot_be(office, stay):
    answer = allow(office, stay, **GIVEN | {"surge_down": "25"})
    assert answer.status_code == 422
    assert "at least 0 and at most 20 m" in words(answer) and WHY in words(answer) + answer.content.decode()


def test_the_waters_own_counts_again(office, stay):
    allow(office, stay, **GIVEN)
    page = words(allow(office, stay, clear="yes"))
    assert "The water's own allowance counts for her again." in page
    assert "down 0.30 m, up 0.60 m (invented)" in page


def test_a_hand_reads_it_and_may_not_set_it(client, cast, stay):
    client.force_login(cast.hand)
    assert client.post(f"/stays/{stay.pk}/allowance/", GIVEN).status_code == 403
    page = client.get(f"/stays/{stay.pk}/").content.decode()
    assert "Change the allowance for this stay" not in page


def test_a_holder_reads_that_it_counts_for_her_and_sees_no_form_and_no_gauge(client, cast, stay):
    stays.allow_for_stay(stay=stay, by=cast.harbourmaster, down=1, up=1, reason=WHY)
    stay.vessel.owner = cast.holder.owner
    stay.vessel.save()
    Reading.objects.create(water=stay.berth.water, level="0.2", at=local("14 17:10"))
    client.force_login(cast.holder)
    page = words(client.get(f"/stays/{stay.pk}/"))
    assert "for this stay alone" in page and "The gauge read" not in page and "Allow for" not in page
    assert client.post(f"/stays/{stay.pk}/allowance/", GIVEN).status_code == 403


def test_a_stay_that_is_over_shows_no_form(office, stay, cast):
    stays.cancel_stay(stay=stay, by=cast.harbourmaster, reason="did not come")
    assert "Change the allowance" not in words(office.get(f"/stays/{stay.pk}/"))
    answer = allow(office, stay, **GIVEN)
    assert answer.status_code == 422 and "book a new stay" in words(answer)


# --- the gauge -------------------------------------------------------------------------------------------


def gauge(water, level, at="14 17:10"):
    return Reading.objects.create(water=water, level=Decimal(level), at=local(at))


def test_a_reading_far_below_is_offered_and_changes_nothing_by_itself(office, stay, water):
    predicted = waters_level(water)
    read = gauge(water, f"{predicted - 0.40:.2f}")
    page = words(office.get(f"/stays/{stay.pk}/"))
    assert "below prediction, more than the allowance" in page
    assert re.search(
        r"Nothing was changed by that\. As her allowance it would be down 0\.4[01] m, up 0\.60 m\.", page
    )
    stay.refresh_from_db()
    assert stay.surge_down is None
    page = words(allow(office, stay, reading=str(read.pk)))
    assert "What the gauge showed is now allowed for, for this stay alone." in page
    stay.refresh_from_db()
    assert float(stay.surge_down) == pytest.approx(0.40, abs=0.011) and float(stay.surge_up) == 0.60
    assert stay.surge_reason.startswith("gauge ") and stay.surge_reason.endswith("below prediction")
    assert Forecast.objects.count() == 0  # and it reaches nobody else
    assert "As her allowance it would be" not in words(office.get(f"/stays/{stay.pk}/"))


def waters_level(water):
    return level_at(water, local("14 17:10"))


def test_one_within_the_allowance_is_shown_and_offers_nothing(office, stay, water):
    gauge(water, f"{waters_level(water) - 0.10:.2f}")
    page = words(office.get(f"/stays/{stay.pk}/"))
    assert "below prediction, within the allowance" in page and "As her allowance" not in page


def test_an_old_one_is_not_offered(office, stay, water):
    gauge(water, "0.1", at="12 17:10")
    assert "The gauge read" not in words(office.get(f"/stays/{stay.pk}/"))


def test_one_of_another_water_or_none_is_refused(office, stay):
    other = sea(name="Another sea")
    other.save()
    for asked in (str(gauge(other, "0.1").pk), "0", "x"):
        answer = allow(office, stay, reading=asked)
        assert answer.status_code == 422 and "asks for no larger allowance" in words(answer)
    stay.refresh_from_db()
    assert stay.surge_down is None


def test_where_the_waters_allowance_is_not_known_one_side_alone_is_not_offered(office, stay, water):
    water.surge_down = water.surge_up = None
    water.surge_reason = ""
    water.save()
    gauge(water, "0.2")
    page = words(office.get(f"/stays/{stay.pk}/"))
    assert "The gauge read" in page and "As her allowance" not in page


def test_the_level_page_of_her_berth_takes_it(office, stay, cast):
    allow(office, stay, **GIVEN)
    page = words(office.get(f"/berths/{stay.berth.code}/level/?stay={stay.pk}&at=2027-10-15T05:40"))
    assert "House allowance down 0.55 m, up 0.60 m (for this stay alone" in page
    later = words(office.get(f"/berths/{stay.berth.code}/level/?stay={stay.pk}&at=2027-10-16T05:40"))
    assert "House allowance down 0.30 m" in later
