"""Own tidal constants and a gate, entered in the browser."""

import pytest

from berths.models import Water
from berths.selectors import water as waters
from tests.berths.stations import WENDLOW, WENDLOW_MEAN
from tests.berths.test_water_record import office, put, text, url, water  # noqa: F401
from tests.berths.waters import NOW, basin, local, sea

pytestmark = pytest.mark.django_db
ROWS = "\n".join(f"{name} {size} {phase}" for name, size, phase in WENDLOW)
GIVEN = {
    "source": "Wendlow Bar gauge 2026",
    "datum": "CD",
    "mean": f"{WENDLOW_MEAN}",
    "text": ROWS,
    "low": "0.05",
    "high": "2.77",
}


@pytest.fixture
def lake():
    row = basin(name="Lake")
    row.save()
    return row


def test_constants_make_a_tide(office, lake):  # noqa: F811
    page = text(put(office, url("constants", lake), **GIVEN))
    assert "Lake now has its tide from these constants." in page
    lake = Water.objects.get(pk=lake.pk)
    assert lake.kind == "constants" and lake.station["taken"]["by"] == "harbourmaster"
    assert waters.level_at(lake, NOW) == pytest.approx(waters.level_at(sea(pk=99), NOW), abs=0.001)
    again = office.get(url("constants", lake)).content.decode()
    assert "Wendlow Bar gauge 2026" in again and f"M2 {WENDLOW[0][1]:g} {WENDLOW[0][2]:g}" in again


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("M2 0.8 322\nXX9 0.1 20", "Row 2, “XX9 0.1 20”:"),
        ("M2 0.8", "Row 1, “M2 0.8”: must be a name, a size in metres and a phase in degrees."),
        ("M2 0.8 322\n\nm2 0.7 3", "Row 3, “m2 0.7 3”: stands in row 1 already."),
        ("M2 80 322", "Row 1, “M2 80 322”: a size lies between 0 and 15 m."),
        ("M2 nan 322", "Row 1"),
        ("\n \n", "not given yet"),
    ],
)
def test_a_bad_row_is_named_and_nothing_is_taken(office, lake, rows, words):  # noqa: F811
    answer = put(office, url("constants", lake), **GIVEN | {"text": rows})
    assert answer.status_code == 422 and words in text(answer)
    assert "Wendlow Bar gauge 2026" in answer.content.decode()
    lake.refresh_from_db()
    assert lake.kind == "limits"


def test_a_gate_with_its_levels(office, water, lake):  # noqa: F811
    told = {"outer": str(water.pk), "passes_above": "1.60", "sill_z": "-0.70", "holds_to": "3.60"}
    page = text(put(office, url("gate", lake), **told))
    assert "Lake lies behind a gate. Tie-ups that rest on it are marked out of date." in page
    lake = Water.objects.select_related("outer").get(pk=lake.pk)
    assert len(waters.passages(lake, local("15 00:00"), local("16 00:00"))) in (2, 3)
    page = text(put(office, url("gate", lake), outer=""))
    assert "Lake lies behind no gate." in page
    lake.refresh_from_db()
    assert (lake.outer, lake.sill_z, lake.holds_to) == (None, None, None)


def test_levels_of_a_gate_that_leads_nowhere_are_refused(office, lake):  # noqa: F811
    answer = put(office, url("gate", lake), outer="", sill_z="-0.70")
    assert answer.status_code == 422 and "Say which water lies beyond" in text(answer)
    assert "-0.70" in answer.content.decode()


def test_gates_are_one_deep(office, water, lake):  # noqa: F811
    put(office, url("gate", lake), outer=str(water.pk), passes_above="1.6", holds_to="3.6")
    answer = put(office, url("gate", water), outer=str(lake.pk))
    assert answer.status_code == 422
    other = basin(name="Dock")
    other.save()
    answer = put(office, url("gate", water), outer=str(other.pk))
    assert answer.status_code == 422 and "lies outside another gate itself" in text(answer)
    assert put(office, url("gate", other), outer=str(lake.pk)).status_code == 422


def test_a_hand_may_do_neither(client, cast, lake):
    client.force_login(cast.hand)
    assert {client.get(url(name, lake)).status_code for name in ("constants", "gate")} == {403}
