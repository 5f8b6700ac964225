"""The survey at a desk: a berth from nothing, changed, drawn while it is typed; every fault at its field."""

import re
from decimal import Decimal
from html import unescape

import pytest

from berths.models import Berth, Fastening, Pier
from tests.berths.typed import typed
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


FIGURES = {
    "layout": "four_piles",
    "code": "B1",
    "length": "11",
    "width": "4.4",
    "corner_east": "100",
    "corner_north": "50",
    "outward": "90",
    "dock_z": "3.7",
    "pile_top_z": "4.6",
    "strength_kn": "25",
    "strength_basis": "drawings of 2020 (invented)",
}


def begun(office, harbour, **figures):
    """The form as a layout fills it in."""
    answer = office.get("/survey/berths/new/", FIGURES | harbour | figures)
    assert answer.status_code == 200, words(answer)
    return typed(answer)


def words(answer):
    html = answer.content.decode()
    html = html[html.find("<main") :]
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)))


def keep(office, form, url="/survey/berths/new/"):
    return office.post(url, form | {"deed": "keep"})


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
            assert float(again[f"f-{n}-along"]) == pytest.approx(along, abs=2e-4)
            assert float(again[f"f-{n}-out"]) == pytest.approx(out, abs=2e-4)
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
