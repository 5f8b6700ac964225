"""The list of berths for a boat: who fits, by how much, why not, and in which order.

Margins are checked against figures worked out by hand beside each test.
"""

from datetime import datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from berths.cards.words import Reader
from berths.fits import Asked
from berths.models import BerthFastening, Forecast, Notice
from berths.selectors.options import Teller, asked_for, options
from marina.base import house
from tests.cast import NOON, TWO_DAYS_ON, days, hours, make_berth, make_stay, make_vessel, make_water

pytestmark = pytest.mark.django_db
LONDON = ZoneInfo("Europe/London")
TELLER = Teller(Reader(zone=LONDON), NOON.date())
BOAT = Asked(loa=11.0, beam=3.6, draft=1.8)


@pytest.fixture(autouse=True)
def noon(clock_at):
    return clock_at(NOON)


def asked(**changes):
    return Asked(**{"loa": 11.0, "beam": 3.6, "draft": 1.8} | changes)


def one(berth, boat=BOAT, arrive=NOON, depart=TWO_DAYS_ON, **more):
    return options(boat, arrive, depart, TELLER, **more).at(berth.code)


def make_table(table, **fields):
    return make_water(kind="table", table=table, table_kind="levels", high=None, **fields)


def words(option, *kinds):
    return " | ".join(p.words for p in (option.fit.of(*kinds) if kinds else option.fit.points))


# --- does she fit ---


def test_a_boat_that_fits_is_told_what_is_left():
    """Berth 12 m + 0.6 allowed - 11 = 1.6; water 0.5 - surge 0.3 - bed -3 - draft 1.8 = 1.4 m under her keel."""
    option = one(make_berth(kind="fixed", tide_range="2.0", bed_z=Decimal(-3)))
    assert option.fit.fits is True and option.free and option.can_be_given
    assert option.fit.length_left == pytest.approx(1.6)
    assert option.fit.under_keel == pytest.approx(1.4)
    assert option.fit.width_left is None, "side-to there is no width to keep"


def test_too_long_says_by_how_much():
    """14.1 m over everything where 13.0 + 0.6 is the most: half a metre, as a boat with platform and davits."""
    option = one(
        make_berth(kind="slip", length=Decimal(13), clear_width=Decimal("5.0")), asked(loa=14.1, beam=4.2)
    )
    assert option.fit.fits is False
    assert option.why_not.startswith("0.50 m too long: 14.10 m over everything, 13.60 m at most here")


def test_just_as_long_as_allowed_fits():
    assert one(make_berth(kind="slip"), asked(loa=12.6)).fit.fits is True
    assert one(make_berth(kind="slip"), asked(loa=12.61)).fit.fits is False


def test_the_house_rule_counts_where_the_berth_has_no_figure():
    house.set_rule(key="H9", value={"basis": "percent_of_boat", "value": 10}, by=None)
    berth = make_berth(kind="fixed", overhang=None)
    assert one(berth, asked(loa=13.0)).fit.length_left == pytest.approx(12 + 1.3 - 13)


def test_width_counts_a_fender_each_side():
    """Clear 4.6 - beam 3.6 - 2 x 0.2 of fender = 0.6."""
    slip = make_berth(kind="slip", clear_width=Decimal("4.6"))
    assert one(slip).fit.width_left == pytest.approx(0.6)
    too_wide = one(slip, asked(beam=4.3))
    assert too_wide.fit.fits is False and "0.10 m too wide with her fenders" in too_wide.why_not


def test_depth_is_that_of_the_lowest_water_with_surge():
    """0.41 - 0.30 + 1.20 = 1.31 m of water for 1.90 m and 0.30 m to keep: 0.89 m too little."""
    water = make_water(low="0.41", tide_range="2.0")
    option = one(make_berth(kind="quay", water=water, bed_z=Decimal("-1.2")), asked(draft=1.9))
    assert option.fit.fits is False
    assert option.fit.under_keel == pytest.approx(-0.59)
    assert "0.90 m too shallow at the lowest water" in option.why_not
    assert "depth could be 1.30 m for a draught of 1.90 m" in option.why_not


def test_too_shallow_tells_when():
    """A table of highs and lows: below 1.4 m (bed -0.1, draft 1.2, 0.3 to keep, 0.2 of surge 0.0) around the low."""
    table = [["2027-10-14T06:00", 3.0], ["2027-10-14T18:00", 1.0], ["2027-10-15T06:00", 3.0]]
    water = make_table(table, surge_down=Decimal(0))
    berth = make_berth(kind="fixed", water=water, bed_z=Decimal("-0.1"))
    option = one(berth, asked(draft=1.2), NOON, NOON + hours(12))
    # Straight lines, 2 m in 12 h: 1.4 m is passed 0.4 / 2 x 12 h = 2.4 h before and after 18:00 UTC (19:00 there).
    assert "0.40 m too shallow at the lowest water, 19:00" in option.why_not
    assert "from 16:35 to 21:25" in option.why_not


def test_half_a_metre_is_kept_over_a_hard_bed():
    fitting = {"kind": "fixed", "tide_range": "2.0", "bed_z": Decimal("-2.0")}  # 0.2 + 2.0 - 1.8 = 0.4 left
    assert one(make_berth(bed_kind="soft", **fitting)).fit.fits is True
    assert one(make_berth(bed_kind="hard", **fitting)).fit.fits is False
    assert one(make_berth(bed_kind="", **fitting)).fit.fits is False, "an unknown bed is taken as hard"


@pytest.mark.parametrize(
    ("hole", "says"),
    [
        ({"bed_z": None}, "depth not surveyed"),
        ({"clear_width": None}, "width between the piles not surveyed"),
        ({"kind": "drying", "bed_z": Decimal("0.6")}, "whether she may take the ground is not told"),
    ],
)
def test_what_is_not_surveyed_never_fits(hole, says):
    berth = make_berth(**{"kind": "slip"} | hole)
    found = options(BOAT, NOON, TWO_DAYS_ON, TELLER)
    option = found.at(berth.code)
    assert option.fit.fits is None
    assert option not in found.fitting and option in found.doubtful
    assert says in words(option, "not_known")


def test_without_a_surge_allowance_the_depth_is_not_known():
    water = make_water(surge_up=None, surge_down=None, surge_reason="")
    option = one(make_berth(water=water))
    assert option.fit.fits is None and "surge not known" in words(option)


def test_a_drying_berth_is_for_boats_that_may_take_the_ground():
    berth = make_berth(kind="drying", bed_z=Decimal("0.6"), bed_kind="hard")
    assert one(berth, asked(takes_ground=True)).fit.fits is True
    no = one(berth, asked(takes_ground=False))
    assert no.fit.fits is False and "sit on the bed, and may not" in no.why_not


def test_guide_piles_are_told_and_at_nothing_left_nobody_is_put_there():
    """Highest 0.5 + 2.0 + surge 0.6 = 3.1, hoop 0.5: piles of 4.4 leave 0.8, of 3.9 leave 0.3, of 3.6 none."""
    plenty, little, none, unknown = (
        one(make_berth(kind="floating", guide_pile_top_z=top))
        for top in (Decimal("4.4"), Decimal("3.9"), Decimal("3.6"), None)
    )
    assert plenty.fit.piles_left == pytest.approx(0.8) and not plenty.fit.points
    assert little.fit.fits is True and "guide piles end 0.30 m above" in words(little, "note")
    assert none.fit.fits is False and "pile tops" in none.why_not
    assert unknown.fit.fits is True and "do not count on it" in words(unknown, "not_known")


def test_fastenings_nobody_vouches_for_are_counted():
    berth = make_berth(kind="floating")
    links = list(BerthFastening.objects.filter(berth=berth).select_related("fastening"))
    for link, change in zip(
        links,
        ({"strength": None}, {"strength": None}, {"in_use": False, "note": "bolt sheared"}),
        strict=False,
    ):
        for field, value in change.items():
            setattr(link.fastening, field, value)
        link.fastening.save()
    option = one(berth)
    assert "strength of 2 of its 6 fastenings not known" in words(option, "not_known")
    assert "1 of its 6 fastenings not to be used" in words(option, "note")
    assert "no fastening is recorded" in words(one(make_berth(fitted=False)), "not_known")


def test_what_the_harbour_has_written_of_a_berth_is_told_and_puts_it_after_the_others():
    fuel, plain = make_berth(kind="floating", note="Fuel berth."), make_berth(kind="floating")
    assert words(one(fuel), "note") == "Fuel berth"
    assert [o.berth for o in options(BOAT, NOON, TWO_DAYS_ON, TELLER).fitting] == [plain, fuel]


def test_a_wide_range_wants_somebody_by_her():
    assert "somebody must tend" in words(one(make_berth(kind="fixed", tide_range="3.2", bed_z=-4)), "fix")
    assert not words(one(make_berth(kind="floating", tide_range="3.2", bed_z=-4, guide_pile_top_z=9)), "fix")


def test_which_length_counts_is_the_houses_choice():
    told = make_vessel(loa="11.3", loa_measured=None, fitted=False)
    assert asked_for(told, house.rules()).loa == pytest.approx(11.3 * 1.05)
    assert asked_for(told, house.rules()).rests_on == "declared + 5 %"
    measured = make_vessel(loa="11.3", loa_measured=Decimal("11.9"), fitted=False)
    assert asked_for(measured, house.rules()).loa == pytest.approx(11.9)


# --- who is in it ---


def test_a_berth_is_free_until_the_next_boat_comes():
    berth = make_berth()
    make_stay(berth=berth, arrive=NOON + days(3), depart=NOON + days(4))
    assert one(berth).free_until == NOON + days(3)
    assert one(make_berth()).free_until is None


def test_a_berth_that_is_taken_says_by_whom_and_until_when():
    berth, vessel = make_berth(), make_vessel(name="Paper Comet")
    make_stay(berth=berth, vessel=vessel, arrive=NOON - days(1), depart=NOON + hours(24))
    found = options(BOAT, NOON, TWO_DAYS_ON, TELLER)
    option = found.at(berth.code)
    assert not option.free and option in found.taken
    assert option.why_not == "Paper Comet lies there until Fri 13:00."
    later = make_berth()
    make_stay(
        berth=later, vessel=make_vessel(name="Tin Whistle"), arrive=NOON + hours(24), depart=NOON + days(9)
    )
    assert one(later).why_not == "Booked for Tin Whistle from Fri 13:00 to Sat 23 Oct 13:00."


def test_a_cancelled_booking_is_in_nobodys_way():
    berth = make_berth()
    make_stay(berth=berth, state="cancelled", state_why="engine")
    assert one(berth).free


def test_one_who_should_have_left_is_in_the_way_until_somebody_says_she_has():
    berth = make_berth()
    stay = make_stay(
        berth=berth,
        vessel=make_vessel(name="Tin Whistle"),
        arrive=NOON - days(3),
        depart=NOON - hours(2),
        state="fast",
    )
    assert one(berth).why_not == "Tin Whistle was to leave 11:00 and is not recorded as gone."
    assert one(berth, arrive=NOON + days(1), depart=NOON + days(2)).free, "by tomorrow she will have gone"
    stay.state = "left"
    stay.save()
    assert one(berth).free


def test_a_boat_that_is_moved_is_not_in_her_own_way():
    """Outside of her in the raft, and by her own dock: both as if she were not there; her own berth is no offer."""
    stay, quay = make_stay(), make_berth(kind="quay", raft_depth=2)
    booked = make_stay(berth=quay, vessel=stay.vessel, arrive=NOON + days(5), depart=NOON + days(6))
    assert not one(stay.berth).free
    assert one(stay.berth, without=stay) is None
    assert one(quay, without=stay, arrive=NOON + days(5), depart=NOON + days(6)).raft_place == 1
    assert one(stay.berth, without=booked).free is False


def test_a_berth_out_of_use_is_told_as_such():
    assert one(make_berth(in_use=False)).why_not == "Out of use."


def test_outside_in_a_raft_is_an_option_of_its_own():
    quay = make_berth(kind="quay", raft_depth=2)
    inside = make_stay(
        berth=quay, vessel=make_vessel(name="Blue Ledger", beam="3.9", displacement=Decimal(8000))
    )
    option = one(quay, asked(displacement=4300))
    assert option.free and option.raft_place == 1 and option.fit.fits is True
    assert "outside Blue Ledger" in words(option, "fix") and "no tie-up is worked out" in words(
        option, "not_known"
    )
    assert "heavier" in words(one(quay, asked(displacement=9000)), "fix")
    assert one(quay, asked(beam=4.2)).fit.fits is False, "3.9 + 4.2 is broader than the 8 m of the house"
    make_stay(berth=quay, raft_place=1)
    assert not one(quay).free, "two deep is the house's limit"
    assert inside.raft_place == 0


# --- how easy is it ---


def blowing(from_deg, knots=22):
    gust = Decimal(str(round(knots * 1852 / 3600, 2)))
    Forecast.objects.create(
        at=NOON, starts=NOON - hours(1), ends=NOON + hours(6), wind_gust=gust, wind_from_deg=[from_deg]
    )


@pytest.mark.parametrize(
    ("from_deg", "says"),
    [
        (0, "on to the pontoon"),
        (180, "off the pontoon"),
        (90, "along the pontoon"),
        (270, "along the pontoon"),
    ],
)
def test_wind_at_a_dock_that_runs_east_with_its_water_to_the_north(from_deg, says):
    """+x is east, y (the water) lies to its left, north: a north wind pins her, a south wind blows her off."""
    blowing(from_deg)
    option = one(make_berth(kind="floating"))
    assert any(says in told for told in option.fit.ease), option.fit.ease
    assert "22 kn from the" in option.fit.ease[0]


def test_wind_in_a_slip_that_opens_to_the_east():
    berth = make_berth(kind="slip")
    blowing(0)
    assert "blows across" in one(berth).fit.ease[0]


def test_a_light_air_is_not_spoken_of_and_no_forecast_is_no_wind():
    berth = make_berth(kind="floating")
    assert not one(berth).fit.ease
    blowing(0, knots=6)
    assert not one(berth).fit.ease


def test_the_side_that_a_single_propeller_makes_easy_is_proposed():
    berth = make_berth(kind="floating")
    right = one(berth, asked(propellers="single", turn="right"))
    assert right.fit.side_to == "port" and "pulls the stern in" in right.fit.ease[0]
    wished = one(berth, asked(propellers="single", turn="right", side="starboard"))
    assert wished.fit.side_to == "starboard" and "pulls the stern off" in wished.fit.ease[0]
    assert one(berth, asked(propellers="twin", turn="right")).fit.side_to == "starboard"
    assert one(make_berth(kind="slip")).fit.end_in == "stern"
    assert one(make_berth(kind="slip"), asked(side="bow")).fit.end_in == "bow"


def test_room_beside_her_is_said_in_words_and_metres():
    """4.6 - 3.6 - 0.4 of fenders leaves 0.30 m each side, 5.2 leaves 0.60, 4.2 leaves 0.10."""
    told = [one(make_berth(kind="slip", clear_width=Decimal(w))).fit.ease[0] for w in ("4.6", "5.2", "4.2")]
    assert [t.split(":")[0] for t in told] == ["fair", "roomy", "tight"]
    assert told[0] == "fair: 0.30 m to spare each side outside her fenders"


def test_lines_by_the_rule_of_thumb():
    """2/3 of 11 m is 7.3, a length of her is 11 (R-RULE-10); at a wall 3 x 4 m of range is 12 (R-GEO-10)."""
    assert one(make_berth(kind="floating")).fit.thumb == (
        "3 lines of 14 mm: bow and stern about 7.5 m, springs about 11 m"
    )
    wall = one(make_berth(kind="fixed", tide_range="4.0", bed_z=-4)).fit.thumb
    assert wall == "4 lines of 14 mm: bow and stern about 12 m, springs about 12 m"


def test_a_kind_that_is_not_worked_out_says_so():
    assert "no tie-up is worked out for this kind" in words(one(make_berth(kind="stern_to")), "not_known")


# --- behind a gate ---


def basin(**fields):
    """Behind a gate that passes boats while a table's sea stands above 1.6 m; it rises 0 to 4 m from 08:00 to 20:00."""
    table = [["2027-10-14T08:00", 0.0], ["2027-10-14T20:00", 4.0], ["2027-10-16T20:00", 0.0]]
    sea = make_table(table)
    gate = {"outer": sea, "sill_z": Decimal("-0.7"), "passes_above": Decimal("1.6"), "holds_to": Decimal(9)}
    return make_water(**gate | fields)


def test_the_times_of_the_gate_are_told():
    """1.6 of 4 m is reached after 1.6 / 4 x 12 h = 4.8 h, at 12:48 UTC, 13:48 there: 48 minutes after she comes."""
    option = one(make_berth(kind="slip", water=basin()))
    assert option.fit.fits is True
    assert "through the lock only, open 13:50" in words(option, "note")
    assert "she must wait for the lock" in option.fit.ease


def test_a_deep_boat_waits_for_more_water_over_the_sill():
    """Draft 2.5 m and 0.5 m to keep over a sill at -0.7: from 2.3 m up, 6.9 h after 08:00 UTC, 15:54 there."""
    option = one(make_berth(kind="slip", water=basin(), bed_z=-5), asked(draft=2.5))
    assert "open 15:55" in words(option, "note")


def test_a_gate_that_never_opens_for_her_is_no_way_in():
    option = one(make_berth(kind="slip", water=basin(passes_above=Decimal(6))))
    assert option.fit.fits is False and "No way in" in option.why_not


# --- in which order, at what cost ---


def test_best_first():
    """Fewest flags before ease, ease before length left over; doubtful, unfit and taken after all that fit."""
    taken, unfit = make_berth(kind="floating"), make_berth(kind="floating", length=Decimal(8))
    doubtful = make_berth(kind="floating", bed_z=None)
    flagged = make_berth(kind="floating", guide_pile_top_z=Decimal("3.9"))
    tight, long, fair = (
        make_berth(kind="slip", clear_width=Decimal("4.2")),
        make_berth(kind="floating", length=Decimal(16)),
        make_berth(kind="floating"),
    )
    make_stay(berth=taken)
    found = options(BOAT, NOON, TWO_DAYS_ON, TELLER)
    assert [o.berth for o in found.rows] == [fair, long, tight, flagged, doubtful, unfit, taken]
    assert [len(g) for g in (found.fitting, found.doubtful, found.unfit, found.taken)] == [4, 1, 1, 1]


def test_a_notice_that_lowers_the_basin_counts():
    berth = make_berth(
        kind="slip", bed_z=Decimal("-1.9")
    )  # lowest 0.2: 0.3 m under 1.8 of draft, just enough
    assert one(berth).fit.fits is True
    Notice.objects.create(
        water=berth.water, low=Decimal(0), high=1, starts=NOON + hours(6), reason="work on the sill"
    )
    assert one(berth).fit.fits is False


def test_feet_for_those_who_read_feet():
    teller = Teller(Reader(units="ft", words="us"), NOON.date())
    berth = make_berth(kind="floating", length=Decimal(10))
    option = options(BOAT, NOON, TWO_DAYS_ON, teller).at(berth.code)
    assert "1 ft 4 in too long: 36 ft 2 in over everything" in option.why_not
    assert "bow and stern about 25 ft" in option.fit.thumb


@pytest.mark.parametrize("berths", [4, 400])
def test_queries_do_not_grow_with_the_harbour(berths, django_assert_max_num_queries):
    water = make_water()
    for n in range(berths):
        berth = make_berth(water=water, fitted=False, kind=("floating", "slip", "fixed", "quay")[n % 4])
        if n % 2:
            make_stay(berth=berth, vessel=make_vessel(fitted=False))
    with django_assert_max_num_queries(11):
        assert len(options(BOAT, NOON, TWO_DAYS_ON, TELLER).rows) == berths


def test_times_are_the_harbours():
    berth = make_berth()
    make_stay(
        berth=berth, vessel=make_vessel(name="Tin Whistle"), depart=datetime(2027, 10, 15, 9, tzinfo=LONDON)
    )
    assert "until Fri 09:00" in one(berth).why_not
    assert one(berth, arrive=NOON + timedelta(days=1)).free
