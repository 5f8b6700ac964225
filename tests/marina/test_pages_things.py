"""The pages of single things: berth, boat, line, water, plan, and the form for what was measured."""

import re
from datetime import timedelta
from decimal import Decimal
from html import unescape

import pytest
from django.urls import reverse

from berths.models import LineSet, LineUse, Notice, Reading, SetPosition, Sighting, Water
from marina.base import house
from tests.cast import (
    NOON,
    days,
    fix_clock,
    hours,
    make_berth,
    make_line,
    make_stay,
    make_tie_up,
    make_vessel,
    make_water,
)
from vessels.models import Inspection, LineEvent
from vessels.selectors.lines import can_be_used

pytestmark = pytest.mark.django_db


@pytest.fixture
def hand(client, cast):
    fix_clock(NOON)
    house.set_rule(key="zone", value="Europe/London", by=cast.harbourmaster)
    client.force_login(cast.hand)
    return client


def text(answer):
    html = answer.content.decode()
    html = html[html.index("<main") : html.index("</main>")]
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)))


class TestBerth:
    def test_walking_order_and_who_lies_where(self, hand):
        second = make_berth(code="A10", walking_order=9002)
        first = make_berth(code="A9", walking_order=9001)
        make_stay(berth=second, vessel=make_vessel(name="Tin Whistle"), state="fast")
        make_stay(
            berth=first, vessel=make_vessel(name="Quiet Ladle"), arrive=NOON + days(2), depart=NOON + days(3)
        )
        words = text(hand.get("/berths/"))
        assert "2 berths, 1 of them free now" in words
        assert words.index("A9 free then Quiet Ladle from Sat 13:00") < words.index("A10 Tin Whistle")

    def test_code_in_small_letters_and_one_that_is_not(self, hand):
        make_berth(code="B3")
        assert hand.get("/berths/b3/").status_code == 200
        assert hand.get("/berths/B33/").status_code == 404

    def test_what_it_suits(self, hand):
        # By hand: 12.0 + 0.6; 4.6 - 2 x 0.2 for fenders; (0.5 - 0.3 surge) - (-3.0) - 0.3 under the keel.
        make_berth(kind="slip", code="B3", tide_range="2.0", bed_z=Decimal("-3.0"))
        words = text(hand.get("/berths/B3/"))
        assert "Longest boat, over everything 12.60 m" in words
        assert "Broadest 4.20 m with fenders" in words
        assert "Deepest, at every tide of the year 2.90 m" in words

    @pytest.mark.parametrize(
        ("field", "value", "said"),
        [
            ("bed_z", None, "at every tide of the year not known"),
            ("clear_width", None, "Broadest not known : width between piles not surveyed"),
            ("sounded_on", None, "Sounded not known"),
            ("bed_kind", "", "-3.00 m, not known"),
            ("exposure", "", "Exposure not known"),
        ],
    )
    def test_what_nobody_surveyed_is_not_known(self, hand, field, value, said):
        make_berth(kind="slip", code="B3", bed_z=Decimal("-3.0"))
        berth = make_berth(kind="slip", code="B4", bed_z=Decimal("-3.0"))
        assert said not in text(hand.get("/berths/B3/"))
        setattr(berth, field, value)
        berth.save()
        assert said in text(hand.get("/berths/B4/"))

    def test_surge_that_nobody_set(self, hand):
        make_berth(code="B3", water=make_water(surge_up=None, surge_down=None, surge_reason=""))
        assert "Deepest, at every tide of the year not known" in text(hand.get("/berths/B3/"))

    def test_fastenings_that_hold_nothing_come_first(self, hand):
        berth = make_berth(code="C4")
        bad = berth.fastenings.get(code="D2").fastening
        bad.condition = "rotten"
        bad.save()
        words = text(hand.get("/berths/C4/"))
        assert words.index("C4/D2 is rotten.") < words.index("Fastenings")

    def test_a_raft_shows_all_of_it(self, hand):
        berth = make_berth(code="Q2", raft_depth=2)
        for place, name in ((1, "Little Tuesday"), (0, "Blue Ledger")):
            make_stay(berth=berth, raft_place=place, vessel=make_vessel(name=name), state="fast")
        words = text(hand.get("/berths/Q2/"))
        assert words.index("Blue Ledger") < words.index("Little Tuesday")
        assert "outside in the raft (place 1)" in words

    @pytest.mark.parametrize("stays", [1, 12])
    def test_queries(self, hand, django_assert_max_num_queries, stays):
        berth = make_berth(code="B3")
        vessel = make_vessel()
        for n in range(stays):
            stay = make_stay(
                berth=berth, vessel=vessel, arrive=NOON - days(3 * n), depart=NOON + days(1 - 3 * n)
            )
            make_tie_up(stay=stay)
        with django_assert_max_num_queries(18):
            hand.get("/berths/B3/")


class TestBoat:
    def test_declared_and_measured_stand_apart(self, hand):
        boat = make_vessel(loa="12.8", loa_measured=Decimal("14.1"), loa_measured_by="hand 2")
        assert "Length over everything 12.80 m 14.10 m" in text(hand.get(f"/boats/{boat.pk}/"))
        visitor = make_vessel(loa_measured=None)
        assert "10.40 m never measured here" in text(hand.get(f"/boats/{visitor.pk}/"))

    def test_where_she_is_and_what_is_out_to_her(self, hand):
        stay = make_stay(state="fast", berth=make_berth(code="B3"))
        LineUse.objects.create(line=make_line(tag="WH-107"), stay=stay, at=NOON - hours(1))
        words = text(hand.get(f"/boats/{stay.vessel_id}/"))
        assert "B3" in words
        assert "WH-107" in words


class TestMeasure:
    def post(self, client, boat, **figures):
        shown = {"loa_measured": "10.40", "beam_measured": "3.50", "draft_measured": "1.60"}
        return client.post(reverse("vessels:measure", args=[boat.pk]), shown | figures)

    def test_keeps_figure_day_and_name_of_what_changed_only(self, hand):
        boat = make_vessel()
        answer = self.post(hand, boat, loa_measured="10,9 m")
        boat.refresh_from_db()
        assert answer.url == f"/boats/{boat.pk}/"
        assert (boat.loa_measured, boat.loa_declared) == (Decimal("10.9"), Decimal("10.4"))
        assert (boat.loa_measured_on, boat.loa_measured_by) == (NOON.date(), "hand")
        assert (boat.beam_measured_on, boat.beam_measured_by) == (None, "")

    def test_in_feet_nothing_drifts(self, hand, cast):
        cast.hand.units = "ft"
        cast.hand.save()
        boat = make_vessel()
        page = hand.get(reverse("vessels:measure", args=[boat.pk])).content.decode()
        shown = dict(re.findall(r'name="(\w+_measured)" value="([^"]+)"', page))
        assert shown["loa_measured"] == "34 ft 1.449 in"  # 10.4 m / 0.3048, rest in inches
        self.post(hand, boat, **shown | {"draft_measured": "5 ft 6 in"})
        boat.refresh_from_db()
        assert (boat.loa_measured, boat.beam_measured) == (Decimal("10.4"), Decimal("3.5"))
        assert boat.draft_measured == Decimal("1.6764")  # 66 in of 0.0254 m

    def test_emptied_is_not_known_again(self, hand):
        boat = make_vessel(draft_measured_on=NOON.date(), draft_measured_by="hand 1")
        self.post(hand, boat, draft_measured="")
        boat.refresh_from_db()
        assert (boat.draft_measured, boat.draft_measured_on, boat.draft_measured_by) == (None, None, "")

    @pytest.mark.parametrize(
        ("typed", "said"),
        [
            ("about forty feet", "is no length; write for instance 10.4 m or 34 ft 6 in"),
            ("600", "at most 500 m"),
            ("-3", "must be above 0"),
            ("nan", "is no length"),
            ("10.40", "Nothing was changed."),
        ],
    )
    def test_what_cannot_be_kept_is_said_and_stays_typed(self, hand, typed, said):
        boat = make_vessel()
        answer = self.post(hand, boat, loa_measured=typed)
        boat.refresh_from_db()
        assert answer.status_code == 422
        assert said in text(answer)
        assert f'value="{typed}"' in answer.content.decode()
        assert boat.loa_measured == Decimal("10.4")


class TestLine:
    @pytest.mark.parametrize(
        ("fields", "inspected", "advice", "kind", "word"),
        [
            ({}, NOON, "keep", "note", "NOTHING FOUND"),
            ({"state": "retired"}, NOON, "keep", "stop", "RETIRED"),
            ({"state": "destroyed"}, NOON, "keep", "stop", "DESTROYED"),
            ({"state": "quarantine"}, NOON, "keep", "stop", "QUARANTINE"),
            ({}, NOON, "retire", "stop", "RETIRE IT"),
            # Found at 14.1 of 16 mm: 12 % down; at 14.4 exactly a tenth, which still passes. R-RET-2.
            ({"diameter_found_mm": Decimal("14.1")}, NOON, "keep", "stop", "TOO THIN"),
            ({"diameter_found_mm": Decimal("14.4")}, NOON, "keep", "note", "NOTHING FOUND"),
            ({"state": "missing"}, NOON, "keep", "not_known", "MISSING"),
            ({}, None, None, "not_known", "NOT KNOWN"),
            ({"next_inspection": (NOON - days(1)).date()}, NOON, "keep", "fix", "LOOK FIRST"),
            ({"next_inspection": NOON.date()}, NOON, "keep", "note", "NOTHING FOUND"),
            ({}, NOON, "light_use", "fix", "LIGHT USE ONLY"),
            ({}, NOON, "turn", "fix", "MEND FIRST"),
            ({"strength": None, "strength_basis": ""}, NOON, "keep", "not_known", "STRENGTH NOT KNOWN"),
        ],
    )
    def test_can_it_be_used(self, db, fields, inspected, advice, kind, word):
        use = can_be_used(make_line(**fields), inspected, advice, NOON.date())
        assert (use.kind, use.word) == (kind, word)

    def test_a_retired_line_says_so_first_wherever_it_is_typed(self, hand):
        make_line(tag="WH-086", state="retired")
        make_line(tag="WH-186")
        answer = hand.get("/lines/?tag=wh-086")
        assert answer.url == "/lines/WH-086/"
        words = text(hand.get(answer.url))
        assert words.index("RETIRED") < words.index("Where is it?")
        assert text(hand.get("/lines/?tag=86")).index("WH-086") < text(hand.get("/lines/?tag=86")).index(
            "WH-186"
        )

    def test_an_unknown_tag_is_not_trusted(self, hand):
        assert "its state is not known" in text(hand.get("/lines/?tag=ZZ"))

    def test_where_it_is(self, hand):
        berth, boat = make_berth(code="C2"), make_vessel(name="Grandmother Fig")
        position = SetPosition.objects.create(
            line_set=LineSet.objects.create(berth=berth, vessel=boat, starts=NOON.date()),
            number=2,
            role="spring",
        )
        line = make_line(tag="WH-112", home="hook 4")
        assert "Its home: hook 4." in text(hand.get("/lines/WH-112/"))
        LineUse.objects.create(line=line, position=position, at=NOON - days(2))
        assert "position 2 of Grandmother Fig" in text(hand.get("/lines/WH-112/"))
        Sighting.objects.create(line=line, place="store", at=NOON - days(1))
        words = text(hand.get("/lines/WH-112/"))
        assert "TWO PLACES" in words
        assert "Recorded at C2, but seen at store" in words

    def test_seen_where_it_is_recorded_is_one_place(self, hand):
        stay = make_stay(state="fast")
        line = make_line(tag="WH-107")
        LineUse.objects.create(line=line, stay=stay, at=NOON - days(2))
        Sighting.objects.create(line=line, berth=stay.berth, at=NOON - days(1))
        assert "TWO PLACES" not in text(hand.get("/lines/WH-107/"))

    def test_seen_before_it_went_out_is_one_place(self, hand):
        line = make_line(tag="WH-107")
        Sighting.objects.create(line=line, place="store", at=NOON - days(3))
        LineUse.objects.create(line=line, stay=make_stay(state="fast"), at=NOON - days(2))
        assert "TWO PLACES" not in text(hand.get("/lines/WH-107/"))

    def test_a_look_names_the_zones_nobody_looked_at(self, hand):
        line = make_line(tag="WH-042")
        Inspection.objects.create(
            line=line, at=NOON, advice="keep", zones={"eye": [], "chock": ["fuzz", "melted"]}
        )
        LineEvent.objects.create(line=line, at=NOON, kind="derated")
        words = text(hand.get("/lines/WH-042/"))
        assert "At the boat's chock: fuzz, glazed or melted" in words
        assert (
            "Not looked at: at the shore edge or pile, cleat turns, free length, tail and whipping" in words
        )
        assert "light use only from then on" in words

    @pytest.mark.parametrize("lines", [2, 40])
    def test_queries(self, hand, django_assert_max_num_queries, lines):
        for n in range(lines):
            LineUse.objects.create(line=make_line(tag=f"L-{n}"), stay=make_stay(), at=NOON)
        with django_assert_max_num_queries(7):
            assert len(hand.get("/lines/").context["rows"]) == lines


class TestWater:
    def sea(self):
        """A pure M2 of 1 m about a mean of 2 m: highs and lows of 3 and 1 m, but for the nodal factor (< 4 %)."""
        return Water.objects.create(
            name="Sea",
            kind="constants",
            datum="Chart datum of the bar",
            station={"name": "the bar", "msl_above_datum": 2.0, "constituents": [["M2", 1.0, 0.0]]},
            low=Decimal("0.9"),
            high=Decimal("3.1"),
            surge_up=Decimal("0.6"),
            surge_down=Decimal("0.3"),
            surge_reason="the harbour's own gauge",
        )

    def test_level_turns_and_what_they_could_be(self, hand):
        self.sea()
        answer = hand.get("/water/")
        (row,) = answer.context["waters"]
        assert len(row["turns"]) in (5, 6)  # 36 h of a tide of 12.42 h
        for turn in row["turns"]:
            assert abs(turn["level"] - (3 if turn["high"] else 1)) < 0.04
            assert turn["worst"] - turn["level"] == pytest.approx(0.6 if turn["high"] else -0.3)
        gaps = {b["time"] - a["time"] for a, b in zip(row["turns"], row["turns"][1:], strict=False)}
        assert all(abs(gap - timedelta(hours=6.21)) < timedelta(minutes=3) for gap in gaps)
        words = text(answer)
        assert "above Chart datum of the bar (chart datum, zero of the tide table)" in words
        assert "Not for navigation." in words
        assert "the harbour's own gauge" in words

    def test_a_gauge_reading_is_held_against_the_prediction_and_not_applied(self, hand, cast):
        sea = self.sea()
        predicted = hand.get("/water/").context["waters"][0]["level"]
        Reading.objects.create(water=sea, level=Decimal(f"{predicted - 0.25:.2f}"), at=NOON, by=cast.hand)
        words = text(hand.get("/water/"))
        assert re.search(r"0\.2\d m below prediction, within the allowance", words)
        assert hand.get("/water/").context["waters"][0]["level"] == predicted

    def test_what_is_not_known_is_said(self, hand):
        make_water(name="Lake", surge_up=None, surge_down=None, surge_reason="", datum="")
        words = text(hand.get("/water/"))
        assert "NOT KNOWN Surge not known." in words
        assert "above a zero that is not known" in words
        assert "No curve can be drawn: the level is not known." in words

    def test_a_notice(self, hand):
        water = make_water(low="1.6", tide_range="1.2")
        Reading.objects.create(water=water, level=Decimal("2.40"), at=NOON - hours(1))
        Notice.objects.create(
            water=water, low=Decimal("1.6"), high=Decimal("1.6"), starts=NOON + hours(17), reason="Sill"
        )
        words = text(hand.get("/water/"))
        assert "2.40 m now" in words
        assert "Notice: kept at 1.60 m from Fri 06:00. Sill" in words
        assert words.count("Sill") == 1

    def test_the_curve_of_a_basin_read_days_ago_runs_through_now(self, hand):
        water = make_water(low="1.6", tide_range="1.2")
        Reading.objects.create(water=water, level=Decimal("2.40"), at=NOON - days(2))
        Reading.objects.create(water=water, level=Decimal("2.40"), at=NOON)
        Notice.objects.create(
            water=water, low=Decimal("1.6"), high=Decimal("1.6"), starts=NOON + hours(17), reason="Sill"
        )
        svg = hand.get("/water/").context["waters"][0]["curve"]
        assert ">now<" in svg
        path = re.search(r'<path d="M([\d. L]+)" fill="none" stroke="currentColor" stroke-width="1.62"', svg)[
            1
        ]
        points = [tuple(map(float, p.split())) for p in path.split(" L")]
        # 39 h along 324 units from 46: now after 3 h, the notice after 20 h, the end at 370.
        assert [x for x, _ in points] == pytest.approx(
            [46, 46 + 324 * 20 / 39, 46 + 324 * 20 / 39, 370], abs=0.1
        )
        assert points[0][1] == points[1][1] < points[2][1] == points[3][1]  # it stands, then it falls

    def test_depth_at_each_berth(self, hand):
        water = make_water(low="1.6", tide_range="1.2")
        make_berth(code="B3", water=water, bed_z=Decimal("-0.8"))
        make_berth(code="B4", water=water, bed_z=None)
        Reading.objects.create(water=water, level=Decimal("2.40"), at=NOON)
        words = text(hand.get("/water/"))
        assert "B3 3.20 m 3.20 m 1.30 m" in words  # 2.40 + 0.80; the edge at 3.70 less 2.40
        assert "B4 not known not known 1.30 m" in words

    @pytest.mark.parametrize("berths", [2, 30])
    def test_queries(self, hand, django_assert_max_num_queries, berths):
        water = self.sea()
        for _ in range(berths):
            make_berth(water=water)
        with django_assert_max_num_queries(9):
            hand.get("/water/")

    def test_no_water_at_all(self, hand):
        assert "no water has been entered yet" in text(hand.get("/water/"))


class TestPlan:
    def test_today_and_another_day(self, hand):
        make_stay(
            berth=make_berth(code="C3"),
            vessel=make_vessel(name="Paper Comet"),
            arrive=NOON + hours(4),
            depart=NOON + days(2),
        )
        make_stay(
            berth=make_berth(code="C4"),
            vessel=make_vessel(name="Tin Whistle"),
            arrive=NOON - days(2),
            depart=NOON + hours(3),
            state="fast",
        )
        today, tomorrow = text(hand.get("/plan/")), text(hand.get("/plan/?day=2027-10-15"))
        assert "C3 free; then Paper Comet from 17:00" in today
        assert "C4 Tin Whistle until 16:00" in today
        assert ("Paper Comet" in tomorrow, "Tin Whistle" in tomorrow) == (True, False)
        assert "Friday 15 October 2027, 12:00" in tomorrow

    def test_a_boat_that_has_left_since_lay_there_on_that_day(self, hand):
        make_stay(
            berth=make_berth(code="C3"),
            vessel=make_vessel(name="Paper Comet"),
            arrive=NOON - days(3),
            depart=NOON - days(1),
            state="left",
        )
        assert "C3 Paper Comet until" in text(hand.get("/plan/?day=2027-10-12"))
        assert "Paper Comet" not in text(hand.get("/plan/"))

    @pytest.mark.parametrize("page", ["/plan/", "/berths/"])
    def test_a_boat_that_stays_longer_than_booked_still_lies_there(self, hand, page):
        stay = dict(arrive=NOON - days(3), depart=NOON - hours(1))
        make_stay(berth=make_berth(code="C3"), vessel=make_vessel(name="Paper Comet"), state="fast", **stay)
        make_stay(berth=make_berth(code="C4"), vessel=make_vessel(name="Tin Whistle"), **stay)
        words = text(hand.get(page))
        assert "C3 Paper Comet was to leave 12:00" in words
        assert "Tin Whistle" not in words

    @pytest.mark.parametrize("asked", ["tomorrow", "2027-02-30", "0001-01-01", "9999-12-31"])
    def test_no_day(self, hand, asked):
        answer = hand.get("/plan/", {"day": asked})
        assert answer.status_code == 422
        assert f"“{asked}” is no day" in text(answer)

    def test_a_boat_nobody_measured_is_in_the_list(self, hand):
        make_stay(vessel=make_vessel(name="Fog", loa=None, loa_declared=None, fitted=False), state="fast")
        answer = hand.get("/plan/")
        assert answer.status_code == 200
        assert "Fog" in text(answer)

    @pytest.mark.parametrize("berths", [2, 30])
    def test_queries(self, hand, django_assert_max_num_queries, berths):
        for _ in range(berths):
            make_stay(state="fast")
        with django_assert_max_num_queries(13):
            hand.get("/plan/")


def test_an_empty_harbour_has_all_its_pages(hand):
    for page in ("/", "/berths/", "/lines/", "/water/", "/plan/"):
        assert hand.get(page).status_code == 200
