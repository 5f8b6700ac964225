"""What is recorded of a water, through its pages: stations, limits, tables, allowances, notices, readings."""

import re
from datetime import timedelta
from decimal import Decimal
from html import unescape
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from berths import stationfile
from berths.models import Forecast, Notice, Reading, TieUp, Water
from berths.selectors import water as waters
from berths.services import water as services
from marina.base import house
from marina.base.models import Trail
from tests.berths.stations import BOSTON
from tests.berths.waters import sea
from tests.cast import NOON, days, fix_clock, hours, make_berth, make_stay, make_tie_up, make_water

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(client, cast):
    fix_clock(NOON)
    house.set_rule(key="zone", value="Europe/London", by=cast.harbourmaster)
    client.force_login(cast.harbourmaster)
    return client


@pytest.fixture
def water():
    row = sea()
    row.save()
    return row


def url(name, water, *more):
    return reverse(f"berths:water-{name}", args=[water.pk, *more])


def text(answer):
    html = answer.content.decode()
    html = html[html.index("<main") : html.index("</main>")]
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)))


def put(client, address, **told):
    return client.post(address, told, follow=True)


# --- stations --------------------------------------------------------------------------------------------


class TestStation:
    def take(self, office, water, station=BOSTON, place="&lat=42.36&lon=-71.06", **told):
        given = {"time_offset_min": "10", "height_offset": "0.2", "datum": "Harbour zero"} | told
        return put(office, f"{url('station', water)}?station={station}{place}", **given)

    def test_found_by_name_and_by_place(self, office, water):
        by_name = text(
            office.get(url("station", water), {"q": "port sulphur", "lat": "29.5", "lon": "-89.7"})
        )
        assert "19 stations" in by_name
        assert re.search(r"Port Sulphur , LA, US, \d+\.\d km away", by_name)
        by_place = text(office.get(url("station", water), {"lat": "42.36", "lon": "-71.06"}))
        assert by_place.index("noaa/8443970") < by_place.index("Charlestown")
        assert "No station has these words" in text(office.get(url("station", water), {"q": "atlantis"}))

    def test_what_is_odd_is_said_before_it_is_chosen(self, office, water):
        words = text(office.get(url("station", water), {"q": "noaa/1610367"}))
        assert "It follows Honolulu (noaa/1612340), 253 km away." in words
        drying = text(office.get(url("station", water), {"q": "welaka"}))
        assert "Datums doubtful" in drying

    def test_a_copy_is_kept_with_date_and_distance(self, office, water, cast):
        answer = self.take(office, water)
        row = Water.objects.get(pk=water.pk)
        assert (row.kind, row.station_id, row.datum) == ("station", BOSTON, "Harbour zero")
        assert (row.time_offset_min, row.height_offset) == (10, Decimal("0.2"))
        assert (row.low, row.high) == (None, None)  # the old water's own limits are not this station's
        taken = row.station.pop("taken")
        assert row.station == stationfile.station(BOSTON)
        assert (taken["on"], taken["by"], taken["from"]) == ("2027-10-14", "harbourmaster", [42.36, -71.06])
        # 0.0061 degrees of latitude and 0.0097 of longitude at 42.36 N: 0.68 and 0.80 km
        assert taken["km"] == pytest.approx(1.0, abs=0.051)
        words = text(answer)
        assert "Tide station Boston (noaa/8443970), 1.0 km from the harbour" in words
        assert "Harbour zero" in words

    def test_the_prediction_is_the_stations_moved(self, office, water):
        self.take(office, water)
        row = Water.objects.get(pk=water.pk)
        turns = waters.turns(row, NOON, NOON + days(1))
        alone = waters.turns(
            sea(kind="station", station=stationfile.station(BOSTON)), NOON - hours(1), NOON + days(1)
        )
        for turn, other in zip(turns, alone, strict=False):
            assert turn.time - other.time == timedelta(minutes=10)
            assert turn.level - other.level == pytest.approx(0.2, abs=1e-6)

    def test_the_place_is_remembered_for_the_next_water(self, office, water):
        self.take(office, water)
        answer = office.get(url("station", make_water()))
        assert answer.context["look"]["lat"].value() == 42.36

    def test_a_follower_is_kept_with_the_station_it_follows(self, office, water):
        self.take(office, water, station="noaa/1610367", place="")
        row = Water.objects.get(pk=water.pk)
        assert row.station["reference_row"]["id"] == "noaa/1612340"
        assert row.station["taken"].keys() == {"on", "by"}
        assert waters.level_at(row, NOON) is not None

    def test_a_newer_list_changes_nothing_until_it_is_taken_over(self, office, water, monkeypatch):
        self.take(office, water)
        before = waters.level_at(Water.objects.get(pk=water.pk), NOON)
        other = stationfile.station(BOSTON)
        other["msl_above_datum"] += 1
        monkeypatch.setattr(stationfile, "station", lambda name: other)
        assert waters.level_at(Water.objects.get(pk=water.pk), NOON) == before
        assert "now has other figures for this station" in text(office.get(url("record", water)))

    @pytest.mark.parametrize(
        ("told", "words"),
        [
            ({"time_offset_min": "2000"}, "less than or equal to 1440"),
            ({"height_offset": "a bit"}, "is no length"),
            ({"height_offset": ""}, "Added to the station's heights: not given yet."),
            ({"datum": ""}, "Heights here are counted from: not given yet."),
            ({"height_offset": "500"}, "Height offset must be at least -100 and at most 100 m."),
        ],
    )
    def test_bad_input_keeps_what_was_typed(self, office, water, told, words):
        answer = self.take(office, water, **told)
        assert answer.status_code == 422
        assert words in text(answer)
        (name, value) = next(iter(told.items()))
        assert answer.context["form"][name].value() == value
        assert Water.objects.get(pk=water.pk).kind == "constants"

    @pytest.mark.parametrize(
        "query", [{"lat": "42"}, {"lat": "91", "lon": "0"}, {"lat": "north", "lon": "0"}]
    )
    def test_a_place_that_is_none(self, office, water, query):
        answer = office.get(url("station", water), query)
        assert answer.status_code == 422
        assert answer.context["look"]["lat"].value() == query["lat"]

    def test_an_unknown_station_is_told(self, office, water):
        assert "There is no tide station 'noaa/1'" in text(
            office.get(url("station", water), {"station": "noaa/1"})
        )


# --- limits, tables, a new water -------------------------------------------------------------------------

ROWS = "time,height\n2027-10-14T05:00,0.5\n2027-10-14T11:00,2.4\n2027-10-14T17:00,0.4\n2027-10-14T23:00,2.3\n"


class TestOwnLevels:
    def table(self, office, water, **told):
        given = {"kind": "extremes", "text": ROWS, "zone": "Europe/London", "unit": "m", "datum": "CD"} | told
        return put(office, url("table", water), **given)

    def test_limits(self, office, water):
        put(office, url("limits", water), low="1.6", high="2.8", datum="CD")
        row = Water.objects.get(pk=water.pk)
        assert (row.kind, row.low, row.high, row.station) == ("limits", Decimal("1.6"), Decimal("2.8"), None)
        wrong = put(office, url("limits", water), low="2.9", high="2.8", datum="CD")
        assert wrong.status_code == 422
        assert "The lower limit must be below the upper one." in text(wrong)
        assert wrong.context["form"]["low"].value() == "2.9"

    def test_a_pasted_table_in_the_harbours_time(self, office, water):
        assert "4 rows taken" in text(self.table(office, water))
        row = Water.objects.get(pk=water.pk)
        assert (row.kind, row.table_kind) == ("table", "extremes")
        assert row.table[0] == ["2027-10-14T04:00:00Z", 0.5]  # 05:00 by the clock of London in October
        assert waters.level_at(row, NOON - hours(2)) == pytest.approx(2.4)
        assert "It ends Fri 00:00" not in text(office.get(url("record", row)))
        assert "It ends 23:00" in text(office.get(url("record", row)))

    def test_a_stay_past_its_end_is_told_so(self, office, water):
        self.table(office, water)
        found = waters.window_of(Water.objects.get(pk=water.pk), NOON, NOON + days(1), now=NOON)
        assert found.not_known["table"] == "the table ends on 14 October 2027, 22:00 UTC"
        assert found.low is None

    def test_a_file(self, office, water):
        file = SimpleUploadedFile("tides.csv", ("\ufeff" + ROWS).encode())
        self.table(office, water, text="", file=file)
        assert len(Water.objects.get(pk=water.pk).table) == 4

    def test_a_refused_file_comes_back_as_text_to_mend(self, office, water):
        bad = ROWS.replace("2.4", "24,0")
        answer = self.table(office, water, text="", file=SimpleUploadedFile("tides.csv", bad.encode()))
        assert answer.status_code == 422
        assert "row 3: 3 cells" in text(answer)
        assert answer.context["form"]["text"].value() == bad
        assert Water.objects.get(pk=water.pk).kind == "constants"

    @pytest.mark.parametrize(
        ("told", "words"),
        [
            ({"text": ""}, "No table was given"),
            ({"zone": "Europe/Atlantis"}, "“Europe/Atlantis” is no zone"),
            ({"zone": "../../etc/passwd"}, "is no zone"),
            ({"zone": ""}, "row 2: 2027-10-14T05:00 has no zone"),
            ({"datum": ""}, "Heights are counted from: not given yet."),
            ({"text": ROWS + "2027-10-14T23:00,1.0"}, "row 6: stands twice"),
            ({"text": ROWS + "2027-10-17T23:00,0.4"}, "row 6: more than 30 h after"),
            ({"low": "3", "high": "2"}, "The lower limit must be below the upper one."),
            ({"file": SimpleUploadedFile("x.csv", b"0" * 2_000_001)}, "larger than 2 MB"),
            (
                {"file": SimpleUploadedFile("x.png", b"\x89PNG\r\n\x1a\n\x00\xff"), "text": ""},
                "Null characters",
            ),
        ],
    )
    def test_refusals(self, office, water, told, words):
        answer = self.table(office, water, **told)
        assert answer.status_code == 422
        assert words in text(answer)
        assert Water.objects.get(pk=water.pk).kind == "constants"

    def test_a_new_water_is_not_known_until_it_is(self, office):
        answer = put(office, reverse("berths:water-new"), name="River", way="limits")
        row = Water.objects.get(name="River")
        assert answer.redirect_chain[-1][0] == url("limits", row)
        assert "no station has been chosen" in text(office.get(url("record", row)))
        assert "NOT KNOWN The tidal constants of River are not known." in text(office.get("/water/"))
        twice = put(office, reverse("berths:water-new"), name="River", way="table")
        assert twice.status_code == 422
        assert "already exists" in text(twice)
        assert twice.context["form"]["name"].value() == "River"


# --- allowances ------------------------------------------------------------------------------------------


class TestAllowance:
    def test_there_is_no_default(self, office):
        bare = make_water(surge_up=None, surge_down=None, surge_reason="")
        answer = office.get(url("allowance", bare))
        assert "There is no default" in text(answer)
        assert [answer.context["form"][name].value() for name in ("surge_down", "surge_up")] == ["", ""]
        assert "Surge not known: nobody has entered one" in text(office.get(url("record", bare)))

    def test_kept_with_name_and_date_and_tie_ups_go_out_of_date(self, office, cast):
        water = make_water()
        tie_up = make_tie_up(stay=make_stay(berth=make_berth(water=water), state="fast"))
        words = text(
            put(office, url("allowance", water), surge_down="0.4", surge_up="0.7", surge_reason="A study")
        )
        row = Water.objects.get(pk=water.pk)
        assert (row.surge_down, row.surge_up, row.surge_by) == (
            Decimal("0.4"),
            Decimal("0.7"),
            "harbourmaster",
        )
        assert row.surge_on == NOON.date()
        assert "Entered by harbourmaster, today." in words
        assert TieUp.objects.get(pk=tie_up.pk).stale
        assert Trail.objects.filter(table="water", who=cast.harbourmaster.pk).exists()

    @pytest.mark.parametrize(
        "told",
        [
            {"surge_down": "0.4", "surge_up": "0.7"},
            {"surge_down": "0.4", "surge_reason": "Half"},
            {"surge_down": "-0.4", "surge_up": "0.7", "surge_reason": "Below nothing"},
            {"surge_down": "0.4", "surge_up": "0.7", "surge_reason": "x", "storm_up": "1"},
        ],
    )
    def test_no_half_allowance_and_none_without_a_reason(self, office, water, told):
        answer = put(office, url("allowance", water), **told)
        assert answer.status_code == 422
        assert answer.context["form"]["surge_down"].value() == told["surge_down"]
        assert Water.objects.get(pk=water.pk).surge_down == Decimal("0.3")

    def test_for_a_time(self, office, water):
        told = {
            "surge_down": "0.5",
            "starts": "2027-10-14T12:00",
            "ends": "2027-10-15T12:00",
            "source": "North wind",
        }
        words = text(put(office, url("weather", water), **told))
        assert "Besides, 12:00 to Fri 12:00: down 0.50 m. North wind." in words
        assert waters.window_of(water, NOON, NOON + hours(10), now=NOON).surge_down == 0.5
        assert waters.window_of(water, NOON + days(2), NOON + days(3), now=NOON).surge_down == pytest.approx(
            0.3
        )

    @pytest.mark.parametrize(
        ("told", "words"),
        [
            ({"surge_down": ""}, "Give how much down, or up, or both; or the wind."),
            ({"wind_from_deg": "uphill"}, "“uphill” is no direction"),
            ({"wind_from_deg": "370"}, "“370” is no direction"),
            ({"wind_gust": "-3"}, "greater than or equal to 0"),
            ({"ends": "2027-10-14T11:00"}, "A forecast must end after it starts."),
            ({"starts": "2027-10-31T01:30"}, "comes twice that night"),
            ({"starts": "2028-03-26T01:30"}, "does not come"),
            ({"source": ""}, "Why: not given yet."),
        ],
    )
    def test_for_a_time_refused(self, office, water, told, words):
        given = {
            "surge_down": "0.5",
            "starts": "2027-10-14T12:00",
            "ends": "2027-10-15T12:00",
            "source": "Wind",
        }
        answer = put(office, url("weather", water), **given | told)
        assert answer.status_code == 422
        assert words in text(answer)
        assert not Forecast.objects.exists()

    def test_a_time_that_comes_twice_can_be_typed_with_its_offset(self, office, water):
        told = {
            "surge_down": "0.5",
            "starts": "2027-10-31T01:30",
            "ends": "2027-10-31T12:00",
            "source": "Wind",
        }
        answer = put(office, url("weather", water), **told)
        field = str(answer.context["form"]["starts"])
        assert 'type="text"' in field  # a picker of times has no room for an offset
        assert "2027-10-31T01:30" in field
        put(office, url("weather", water), **told | {"starts": "2027-10-31 01:30+00:00"})
        assert Forecast.objects.get().starts.isoformat() == "2027-10-31T01:30:00+00:00"


# --- readings --------------------------------------------------------------------------------------------


class TestReading:
    def predicted(self, water, at=NOON):
        return waters.level_at(water, at)

    def test_a_hand_enters_what_the_gauge_reads(self, client, cast, office, water):
        client.force_login(cast.hand)
        level = f"{self.predicted(water) - 0.28:.2f}"
        answer = put(client, url("reading", water), level=level, at="2027-10-14T13:00")
        (row,) = Reading.objects.all()
        assert (row.at, row.by) == (NOON, cast.hand)
        assert re.search(r"at 13:00 by hand: 0\.2[78] m below prediction, within the allowance", text(answer))
        assert "Allow for that" not in text(answer)  # to decide it is the harbourmaster's

    def test_more_than_the_allowance_is_said_and_offered_and_not_applied(self, office, cast, water):
        before = waters.window_of(water, NOON, NOON + hours(12), now=NOON)
        services.read_gauge(
            water=water,
            level=Decimal(f"{self.predicted(water) - 0.45:.2f}"),
            at=NOON - hours(0),
            by=cast.hand,
        )
        words = text(office.get("/water/"))
        assert re.search(r"0\.4[45] m below prediction, more than the allowance", words)
        after = waters.window_of(water, NOON, NOON + hours(12), now=NOON)
        assert (after.low, after.lowest, after.now) == (before.low, before.lowest, before.now)
        offer = office.get(url("weather", water), {"reading": Reading.objects.get().pk})
        form = offer.context["form"]
        assert form["surge_down"].value() in ("0.45", "0.46")
        assert form["surge_up"].value() == ""
        assert (form["starts"].value(), form["ends"].value()) == ("2027-10-14T13:00", "2027-10-15T13:00")
        assert "below prediction" in form["source"].value()
        assert not Forecast.objects.exists()
        names = ("surge_down", "surge_up", "starts", "ends", "source")
        put(office, url("weather", water), **{name: form[name].value() for name in names})
        assert waters.window_of(water, NOON, NOON + hours(12), now=NOON).surge_down >= 0.44

    def test_above_the_prediction_offers_upwards(self, office, cast, water):
        level = Decimal(f"{self.predicted(water) + 0.8:.2f}")
        row = services.read_gauge(water=water, level=level, at=NOON, by=cast.hand)
        form = office.get(url("weather", water), {"reading": row.pk}).context["form"]
        assert (form["surge_down"].value(), float(form["surge_up"].value())) == (
            "",
            pytest.approx(0.8, abs=0.011),
        )

    @pytest.mark.parametrize("asked", ["0", "x", "99999999999999999999999", "-1"])
    def test_an_offer_of_no_reading_is_an_empty_form(self, office, water, asked):
        answer = office.get(url("weather", water), {"reading": asked})
        assert answer.status_code == 200
        assert answer.context["form"]["surge_down"].value() == ""

    def test_twice_is_once(self, office, water):
        told = {"level": "1.4", "at": "2027-10-14T13:00", "client_id": str(uuid4())}
        put(office, url("reading", water), **told)
        put(office, url("reading", water), **told)
        assert Reading.objects.count() == 1

    @pytest.mark.parametrize(
        ("told", "words"),
        [
            ({"level": "high"}, "is no length"),
            ({"level": ""}, "The gauge reads: not given yet."),
            ({"level": "140"}, "Level must be at least -100 and at most 100 m."),
            ({"at": "2027-10-14T14:00"}, "still to come"),
            ({"at": "2027-01-14T14:00"}, "more than two months ago"),
            ({"at": "quarter past"}, "is no time"),
        ],
    )
    def test_refused(self, office, water, told, words):
        answer = put(office, url("reading", water), **{"level": "1.4", "at": "2027-10-14T13:00"} | told)
        assert answer.status_code == 422
        assert words in text(answer)
        (name, value) = next(iter(told.items()))
        assert answer.context["form"][name].value() == value
        assert not Reading.objects.exists()

    def test_in_feet(self, office, cast, water):
        cast.harbourmaster.units = "ft"
        cast.harbourmaster.save()
        put(office, url("reading", water), level="4 ft 6 in", at="2027-10-14T13:00")
        assert Reading.objects.get().level == Decimal("1.3716")

    def test_below_datum(self, office, water):
        put(office, url("reading", water), level="-0.15", at="2027-10-14T13:00")
        assert Reading.objects.get().level == Decimal("-0.15")


# --- notices ---------------------------------------------------------------------------------------------


class TestNotice:
    TOLD = {"low": "1.6", "high": "1.6", "starts": "2027-10-15T06:00", "reason": "Work on the sill"}

    def test_entered_changed_and_ended(self, office):
        water = make_water()
        words = text(put(office, url("notice-new", water), **self.TOLD, published="2027-10-08"))
        assert "Notice: kept at 1.60 m from Fri 06:00. Work on the sill." in words
        assert "Dated Fri 8 Oct (6 days ago)." in words
        row = Notice.objects.get()
        shown = office.get(url("notice", water, row.pk)).context["form"]
        assert (shown["low"].value(), shown["starts"].value()) == ("1.60", "2027-10-15T06:00")
        put(office, url("notice", water, row.pk), **self.TOLD, ends="2027-10-16T06:00")
        assert Notice.objects.get().ends.isoformat() == "2027-10-16T05:00:00+00:00"

    def test_its_figures_are_read_in_the_readers_units(self, office, cast):
        water = make_water()
        put(office, url("notice-new", water), **self.TOLD | {"reason": "Lowered to 1.60 m for work"})
        cast.harbourmaster.units = "ft"
        cast.harbourmaster.save()
        words = text(office.get(url("record", water)))
        assert "Notice: kept at 5 ft 3 in from Fri 06:00. Lowered to 5 ft 3 in for work." in words

    @pytest.mark.parametrize(
        ("told", "words"),
        [
            ({"low": "2"}, "The lower limit must not be above the upper one."),
            ({"ends": "2027-10-15T05:00"}, "A notice must end after it starts."),
            ({"starts": ""}, "From: not given yet."),
            ({"published": "8 October"}, "valid date"),
        ],
    )
    def test_refused(self, office, water, told, words):
        answer = put(office, url("notice-new", water), **self.TOLD | told)
        assert answer.status_code == 422
        assert words in text(answer)
        assert not Notice.objects.exists()

    def test_another_waters_notice_is_not_there(self, office, water):
        put(office, url("notice-new", water), **self.TOLD)
        assert office.get(url("notice", make_water(), Notice.objects.get().pk)).status_code == 404


def test_the_record_of_a_bare_water(office):
    bare = make_water(datum="", surge_up=None, surge_down=None, surge_reason="")
    words = text(office.get(url("record", bare)))
    assert "Heights are counted from not known" in words
    assert "It has not been read." in words
    assert "None counts now or later." in words
