"""A survey that is changed: what is shared, what rests on it, and that nothing else moves."""

from decimal import Decimal

import pytest

from berths.models import Berth, BerthFace, BerthFastening, Fastening, MadeFast, MadeFastLine
from tests.berths.typed import begun, keep, row_of, typed, words
from tests.cast import NOON, fix_clock, make_berth, make_pier, make_stay, make_tie_up, make_vessel, make_water

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(client, cast):
    fix_clock(NOON)
    client.force_login(cast.harbourmaster)
    return client


@pytest.fixture
def harbour(office):
    return {"pier": make_pier(name="Gull Pier").pk, "water": make_water(name="sea").pk}


class TestShared:
    @pytest.fixture
    def first(self, office, harbour):
        keep(office, begun(office, harbour))
        return Berth.objects.get(code="B1")

    def second(self, office, harbour, **figures):
        told = {
            "layout": "shared_piles",
            "code": "B2",
            "beside": "B1",
            "corner_east": "",
            "corner_north": "",
            "outward": "",
        }
        return begun(office, harbour, **told | figures)

    def test_a_slip_beside_shares_its_left_hand_piles(self, office, harbour, first):
        answer = keep(office, self.second(office, harbour))
        assert answer.status_code == 302, words(answer)
        second = Berth.objects.get(code="B2")
        shared = {row.code: row.fastening.label for row in second.fastenings.select_related("fastening")}
        assert shared["P1"] == "B1/P2" and shared["P3"] == "B1/P4" and shared["P2"] == "B2/P2"
        assert Fastening.objects.count() == 6 + 4
        assert second.north == first.north - Decimal("4.7"), "a width and a pile on"

    def test_two_of_a_kind_in_one_place_are_asked_about(self, office, harbour, first):
        form = self.second(office, harbour)
        n = row_of(form, "P1")
        form |= {f"f-{n}-same_as": "", f"f-{n}-kind": "pile", f"f-{n}-along": "-0.15", f"f-{n}-out": "5.5"}
        told = words(keep(office, form))
        assert "B1/P2 stands there already. If it is the same, write B1/P2 here" in told

    def test_the_same_that_is_not_there_is_refused(self, office, harbour, first):
        form = self.second(office, harbour)
        n = row_of(form, "P1")
        told = words(keep(office, form | {f"f-{n}-along": "1", f"f-{n}-out": "5.5"}))
        assert "B1/P2 stands 1.15 m from there." in told

    def test_what_is_recorded_of_it_is_not_changed_in_passing(self, office, harbour, first):
        form = self.second(office, harbour)
        n = row_of(form, "P1")
        told = words(keep(office, form | {f"f-{n}-top_z": "9"}))
        assert "B1/P2 is recorded otherwise: change it on its own page" in told

    def test_what_is_shared_moves_only_when_somebody_says_so(self, office, harbour, first):
        keep(office, self.second(office, harbour))
        form = typed(office.get("/berths/B1/survey/"))
        assert "shared with B2" in words(office.get("/berths/B1/survey/"))
        n = row_of(form, "P2")
        form[f"f-{n}-out"] = "6.0"
        told = words(keep(office, form, "/berths/B1/survey/"))
        assert "B1/P2 is shared with B2 and would move 0.50 m there too." in told
        assert keep(office, form | {"move_shared": "yes"}, "/berths/B1/survey/").status_code == 302
        assert Fastening.objects.get(label="B1/P2").east == 106

    def test_so_does_a_shared_face(self, office, harbour):
        one, two = make_berth(kind="quay", code="Q1"), make_berth(kind="quay", code="Q2", fitted=False)
        face = one.faces.get().face
        BerthFace.objects.create(berth=two, face=face, code="quay")
        form = typed(office.get("/berths/Q1/survey/"))
        form["corner_north"] = "0.5"
        told = words(keep(office, form, "/berths/Q1/survey/"))
        assert "Q1/dock is shared with Q2 and would move 0.50 m there too." in told
        assert keep(office, form | {"move_shared": "yes"}, "/berths/Q1/survey/").status_code == 302
        face.refresh_from_db()
        assert face.north1 == Decimal("0.5")

    def test_tie_ups_of_berths_that_share_are_named_before(self, office, harbour, first):
        keep(office, self.second(office, harbour))
        stay = make_stay(berth=Berth.objects.get(code="B2"), vessel=make_vessel(name="Quiet Ladle"))
        make_tie_up(stay=stay)
        assert "Quiet Ladle at B2" in words(office.get("/berths/B1/survey/"))

    def test_taken_off_one_berth_it_stays_with_the_other(self, office, harbour, first):
        keep(office, self.second(office, harbour))
        form = typed(office.get("/berths/B2/survey/"))
        form |= {f"f-{row_of(form, code)}-gone": "on" for code in ("P1", "P2")}
        assert keep(office, form, "/berths/B2/survey/").status_code == 302
        assert set(Berth.objects.get(code="B2").fastenings.values_list("code", flat=True)) == {
            "D1",
            "D2",
            "P3",
            "P4",
        }
        labels = set(Fastening.objects.values_list("label", flat=True))
        assert "B1/P2" in labels and "B2/P2" not in labels


class TestChange:
    @pytest.fixture
    def slip(self, office):
        return make_berth(kind="slip", code="B1")

    URL = "/berths/B1/survey/"

    def test_tie_ups_that_rest_on_it_are_named_before_and_out_of_date_after(self, office, slip):
        stay = make_stay(berth=slip)
        tie_up = make_tie_up(stay=stay)
        type(tie_up).objects.update(stale=False)
        page = office.get(self.URL)
        assert f"{stay.vessel.name} at B1" in words(page)
        form = typed(page)
        assert keep(office, form, self.URL).status_code == 302
        tie_up.refresh_from_db()
        assert not tie_up.stale, "nothing was changed"
        n = row_of(form, "P4")
        keep(office, form | {f"f-{n}-top_z": "4.40"}, self.URL)
        tie_up.refresh_from_db()
        assert tie_up.stale and "fastening B1/P4" in tie_up.stale_why

    def test_two_rows_change_names_with_each_other(self, office, slip):
        form = typed(office.get(self.URL))
        one, two = row_of(form, "P1"), row_of(form, "P2")
        place = slip.fastenings.get(code="P1").fastening_id
        form |= {f"f-{one}-code": "P2", f"f-{two}-code": "P1"}
        assert keep(office, form, self.URL).status_code == 302
        assert slip.fastenings.get(code="P2").fastening_id == place

    def test_what_lines_go_to_is_not_taken_off(self, office, slip):
        stay = make_stay(berth=slip, state="fast")
        made = MadeFast.objects.create(stay=stay, at=NOON)
        MadeFastLine.objects.create(
            made_fast=made, number=1, description="stern line", shore_end=slip.fastenings.get(code="P1")
        )
        form = typed(office.get(self.URL))
        form[f"f-{row_of(form, 'P1')}-gone"] = "on"
        told = words(keep(office, form, self.URL))
        assert "Lines are recorded to go to it" in told
        assert slip.fastenings.count() == 6

    def test_of_two_who_survey_it_at_once_the_later_is_told_and_loses_nothing(self, office, slip):
        mine, theirs = (typed(office.get(self.URL)) for _ in range(2))
        assert keep(office, theirs | {"bed_z": "-2.1"}, self.URL).status_code == 302
        drawn = office.post(self.URL, mine | {"length": "11.5", "deed": "draw"})
        told = keep(office, typed(drawn), self.URL)
        assert told.status_code == 422
        assert "was changed by somebody else after this page was made" in words(told)
        slip.refresh_from_db()
        assert (slip.length, slip.bed_z) == (Decimal(12), Decimal("-2.1"))
        again = typed(told)
        assert again["length"] == "11.5"
        assert keep(office, again, self.URL).status_code == 302, "who was told may"

    def test_a_fastening_looked_at_meanwhile_counts_as_changed(self, office, slip):
        mine = typed(office.get(self.URL))
        Fastening.objects.filter(berths__berth=slip).update(condition="rotten")
        assert "changed by somebody else" in words(keep(office, mine, self.URL))

    def test_a_berth_that_is_only_walked_later_is_not_changed(self, office, slip):
        mine = typed(office.get(self.URL))
        Berth.objects.filter(pk=slip.pk).update(walking_order=777)
        assert keep(office, mine, self.URL).status_code == 302

    def test_a_corner_that_was_wrong_takes_what_was_taped_from_it_along(self, office, slip):
        form = typed(office.get(self.URL))
        form["corner_east"] = str(Decimal(form["corner_east"]) + 1)
        before = slip.fastenings.get(code="P1").fastening.east
        assert keep(office, form, self.URL).status_code == 302
        slip.refresh_from_db()
        assert slip.fastenings.get(code="P1").fastening.east == before + 1
        assert (
            typed(office.get(self.URL))[f"f-{row_of(form, 'P1')}-along"]
            == form[f"f-{row_of(form, 'P1')}-along"]
        )

    def test_ladders_and_the_power_post_are_taped_too(self, office):
        quay = make_berth(kind="quay", code="B1")
        form = typed(office.get(self.URL)) | {
            "ladders_at": "7.60 to 8.20; 1 to 1.6",
            "power_along": "6",
            "power_out": "-1.2",
            "power_z": "4.6",
        }
        assert keep(office, form, self.URL).status_code == 302
        quay.refresh_from_db()
        assert quay.ladders[0] == {"id": "ladder 1", "x1": 7.6, "x2": 8.2, "y1": -0.3, "y2": 0.0}
        assert (quay.power_east, quay.power_north) == (quay.east + 6, quay.north - Decimal("1.2"))
        again = typed(office.get(self.URL))
        assert again["ladders_at"] == "7.60 to 8.20; 1.00 to 1.60"
        assert (again["power_along"], again["power_out"]) == ("6.00", "-1.20")

    def test_in_feet_no_digit_drifts(self, office, cast, slip):
        cast.harbourmaster.units = "ft"
        cast.harbourmaster.save()
        before = list(Fastening.objects.order_by("pk").values()), Berth.objects.values().get()
        form = typed(office.get(self.URL))
        assert " ft " in form["length"]
        assert keep(office, form, self.URL).status_code == 302
        assert (list(Fastening.objects.order_by("pk").values()), Berth.objects.values().get()) == before

    def test_the_same_questions_however_many_fastenings(self, office, slip, django_assert_max_num_queries):
        with django_assert_max_num_queries(18):
            office.get(self.URL)
        quay = make_berth(kind="quay", code="B2")
        assert quay.fastenings.count() == 6
        for n in range(30):
            it = Fastening.objects.create(label=f"B2/X{n}", kind="ring", east=quay.east + n, north=quay.north)
            BerthFastening.objects.create(berth=quay, fastening=it, code=f"X{n}")
        with django_assert_max_num_queries(18):
            office.get("/berths/B2/survey/")

    def test_drawing_while_typing_asks_little(self, office, slip, django_assert_max_num_queries):
        form = typed(office.get(self.URL))
        with django_assert_max_num_queries(14):
            office.post(self.URL, form, headers={"HX-Request": "true"})
