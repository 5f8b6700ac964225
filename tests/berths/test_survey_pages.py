"""The survey at a desk: a berth from nothing, and its drawing while it is typed."""

from decimal import Decimal

import pytest

from berths.models import Berth, Fastening, Pier
from tests.berths.typed import FIGURES, begun, keep, row_of, typed, words
from tests.cast import NOON, fix_clock, make_berth, make_pier, make_water

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(client, cast):
    fix_clock(NOON)
    client.force_login(cast.harbourmaster)
    return client


@pytest.fixture
def harbour(office):
    return {"pier": make_pier(name="Gull Pier").pk, "water": make_water(name="sea").pk}


class TestNew:
    def test_an_empty_harbour_is_led_from_pier_to_water_to_berth(self, office):
        told = words(office.get("/survey/"))
        assert told.index("Make a pier") < told.index("Make a water") < told.index("A berth")
        assert "Survey a berth" not in told
        assert "make a pier" in words(office.get("/survey/berths/new/"))
        assert office.post("/survey/piers/new/", {"name": "Gull Pier"}).status_code == 302
        make_water(name="sea")
        assert "Survey a berth" in words(office.get("/survey/"))
        assert Pier.objects.get().walking_order == 1

    @pytest.mark.parametrize("page", ["/", "/berths/", "/plan/", "/place/?loa=9&beam=3&draft=1&nights=1"])
    def test_empty_pages_lead_there(self, office, page):
        assert 'href="/survey/"' in office.get(page).content.decode()

    @pytest.mark.parametrize("page", ["/", "/berths/", "/plan/"])
    def test_a_hand_is_not_sent_where_a_hand_may_not_go(self, client, cast, page):
        client.force_login(cast.hand)
        assert 'href="/survey/"' not in client.get(page).content.decode()

    def test_a_slip_is_kept_where_it_was_taped(self, office, harbour):
        form = begun(office, harbour)
        answer = keep(office, form)
        assert answer.status_code == 302, words(answer)
        berth = Berth.objects.get()
        assert (berth.kind, berth.code, berth.bearing_deg, berth.length) == ("slip", "B1", 90, 11)
        # Out is east, so right is south: the middle is half a width south of the corner.
        assert (berth.east, berth.north) == (100, Decimal("47.8"))
        piles = {row.code: row.fastening for row in berth.fastenings.select_related("fastening")}
        assert set(piles) == {"D1", "D2", "P1", "P2", "P3", "P4"}
        assert (piles["P3"].east, piles["P3"].north) == (111, Decimal("50.15"))
        assert (piles["P4"].east, piles["P4"].north) == (111, Decimal("45.45"))
        assert (piles["P4"].top_z, piles["P4"].strength, piles["P4"].label) == (
            Decimal("4.6"),
            25_000,
            "B1/P4",
        )
        assert (piles["D1"].east, piles["D1"].north) == (Decimal("99.8"), Decimal("49.5"))
        face = berth.faces.get().face
        assert (face.east1, face.north1, face.east2, face.north2) == (100, 50, 100, Decimal("45.6"))

    def test_what_was_kept_opens_as_it_was_typed_and_saving_it_moves_nothing(self, office, harbour):
        form = begun(office, harbour, outward="33.37", corner_east="17.1234")
        keep(office, form)
        before = list(Fastening.objects.order_by("pk").values())
        again = typed(office.get("/berths/B1/survey/"))
        rows = {again[f"f-{n}-code"]: n for n in range(6)}
        for code, along, out in (("P1", -0.15, 5.5), ("P4", 4.55, 11.0), ("D2", 3.9, -0.2)):
            n = rows[code]
            assert float(again[f"f-{n}-along"]) == pytest.approx(along, abs=6e-4)
            assert float(again[f"f-{n}-out"]) == pytest.approx(out, abs=6e-4)
        assert keep(office, again, "/berths/B1/survey/").status_code == 302
        assert list(Fastening.objects.order_by("pk").values()) == before

    def test_a_new_berth_is_walked_after_the_last_of_its_pier(self, office, harbour):
        first, other = Pier.objects.get(pk=harbour["pier"]), make_pier(walking_order=9000)
        make_berth(code="A1", pier=first, walking_order=1, fitted=False)
        make_berth(code="C1", pier=other, walking_order=2, fitted=False)
        make_berth(code="C2", pier=other, walking_order=3, fitted=False)
        keep(office, begun(office, harbour))
        assert list(Berth.objects.order_by("walking_order").values_list("code", flat=True)) == [
            "A1",
            "B1",
            "C1",
            "C2",
        ]


class TestDrawing:
    def test_it_follows_what_was_typed_and_keeps_nothing(self, office, harbour):
        form = begun(office, harbour)
        n = row_of(form, "P3")
        form |= {f"f-{n}-code": "outer", f"f-{n}-out": "12.5"}
        answer = office.post("/survey/berths/new/", form, headers={"HX-Request": "true"})
        html = answer.content.decode()
        assert answer.status_code == 200 and "<html" not in html
        assert ">outer</text>" in html and ">P4</text>" in html
        assert "outer, pile: -0.15 m along, 12.50 m out." in words(answer)
        assert not Berth.objects.exists()

    def test_half_a_form_is_drawn_as_far_as_it_goes(self, office, harbour):
        form = begun(office, harbour)
        n = row_of(form, "P3")
        form |= {f"f-{n}-out": "far", "length": "", "outward": "", "corner_east": "x"}
        told = words(office.post("/survey/berths/new/", form, headers={"HX-Request": "true"}))
        assert "P3: its place is not told yet." in told
        assert "The length of the berth is not told yet." in told

    def test_draw_it_without_a_script_gives_the_page_back_with_all_that_was_typed(self, office, harbour):
        form = begun(office, harbour)
        n = row_of(form, "P3")
        form |= {f"f-{n}-out": "far", f"f-{n}-note": "leans", "note": "wash of the ferry"}
        answer = office.post("/survey/berths/new/", form | {"deed": "draw"})
        again = typed(answer)
        assert answer.status_code == 200 and again == form
        assert "'far' is no length" in words(answer)
        assert "not given yet" not in words(answer), "nobody asked to keep it"

    def test_more_rows_are_added_and_nothing_is_lost(self, office, harbour):
        form = begun(office, harbour)
        again = typed(office.post("/survey/berths/new/", form | {"deed": "more"}))
        assert int(again["f-TOTAL_FORMS"]) == int(form["f-TOTAL_FORMS"]) + 3
        assert all(again[name] == value for name, value in form.items() if not name.endswith("TOTAL_FORMS"))
        assert keep(office, again).status_code == 302, "empty rows are no rows"
        assert Fastening.objects.count() == 6

    def test_what_stands_there_already_is_shown_and_offered(self, office, harbour):
        keep(office, begun(office, harbour))
        told = office.get(
            "/survey/berths/new/", FIGURES | harbour | {"code": "B2", "beside": "B1", "corner_east": ""}
        )
        html = told.content.decode()
        assert '<option value="B1/P2">' in html and ">B1/P2</text>" in html

    def test_a_berth_laid_on_another_is_told(self, office, harbour):
        make_berth(kind="slip", code="Z9", east=100, north=47, fitted=False)
        form = begun(office, harbour)
        told = words(office.post("/survey/berths/new/", form, headers={"HX-Request": "true"}))
        assert "It would lie on Z9: look at its corner and bearing." in told
        away = form | {"corner_north": "53"}
        told = words(office.post("/survey/berths/new/", away, headers={"HX-Request": "true"}))
        assert "would lie on" not in told

    def test_anything_at_all_is_answered(self, office, harbour):
        form = begun(office, harbour)
        for spoilt in (
            {},
            {"f-TOTAL_FORMS": "x"},
            {"f-TOTAL_FORMS": "999999"},
            dict.fromkeys(form, "\x00ä" * 20),
        ):
            for headers in ({}, {"HX-Request": "true"}):
                for deed in ("draw", "keep", "more", "?"):
                    answer = office.post("/survey/berths/new/", spoilt | {"deed": deed}, headers=headers)
                    assert answer.status_code in (200, 422)
        huge = {name: "9" * 30 for name in form if not name.endswith("_FORMS")}
        assert office.post("/survey/berths/new/", form | huge | {"deed": "keep"}).status_code == 422
