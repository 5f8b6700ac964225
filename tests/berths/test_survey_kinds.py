"""Each common layout from the survey to a tie-up: what the form fills in is a berth that a boat can be placed in."""

from datetime import timedelta
from decimal import Decimal

import pytest

from berths import layouts
from berths.models import Berth
from berths.services import tieups
from berths.survey import read
from tests.berths.typed import begun, keep, typed, words
from tests.cast import NOON, fix_clock, make_berth, make_pier, make_stay, make_vessel, make_water

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(client, cast):
    fix_clock(NOON)
    client.force_login(cast.harbourmaster)
    return client


@pytest.fixture
def harbour(office):
    return {"pier": make_pier(name="Gull Pier").pk, "water": make_water(name="sea", tide_range="1.2").pk}


def surveyed(office, harbour, layout, *, sheet=None, **figures):
    """A berth of a layout, sounded, as the form leaves it."""
    form = begun(office, harbour, layout=layout, **figures)
    form |= {"bed_z": "-3", "bed_kind": "soft", "exposure": "sheltered"} | (sheet or {})
    answer = keep(office, form)
    assert answer.status_code == 302, words(answer)
    return Berth.objects.get(code="B1")


def lain(berth, **stay):
    """A boat in it, with her tie-up."""
    boat = make_vessel(loa="9.0", beam="3.0", draft="1.2")
    made = make_stay(vessel=boat, berth=berth, depart=NOON + timedelta(days=2), **stay)
    return made, tieups.work_out(made)


KINDS = {
    "two_piles": ("slip", {"length": "11", "width": "4.2"}),
    "four_piles": ("slip", {"length": "11", "width": "4.2"}),
    "box": ("slip", {"length": "11", "width": "4.2"}),
    "fixed_piles": ("fixed", {"length": "14", "width": "", "spacing": "3.5"}),
    "quay_rings": ("fixed", {"length": "16", "width": "", "spacing": "4"}),
    "floating": (
        "floating",
        {"length": "12", "width": "", "spacing": "3.5", "dock_z": "0.5", "pile_top_z": ""},
    ),
}


@pytest.mark.parametrize("layout", KINDS)
def test_a_boat_is_placed_in_each_layout_and_has_lines(office, harbour, layout):
    kind, figures = KINDS[layout]
    berth = surveyed(office, harbour, layout, **figures)
    assert berth.kind == layouts.KINDS[layout]
    stay, tie_up = lain(berth)
    scenario = read(stay, found=False).scenario
    assert scenario.berth.kind == kind
    assert {f.id for f in scenario.berth.fittings} == set(berth.fastenings.values_list("code", flat=True))
    assert tie_up.verdict and tie_up.verdict["lines"], tie_up.flags
    told = office.get(f"/stays/{stay.pk}/")
    assert told.status_code == 200 and "<svg" in told.content.decode()


def test_a_quay_with_rings_lies_along_its_face(office, harbour):
    berth = surveyed(
        office, harbour, "quay_rings", length="16", width="", spacing="4", dock_z="3.9", bear_z="2.6"
    )
    assert [f.fastening.kind for f in berth.fastenings.select_related("fastening")] == ["ring"] * 4
    stay, _ = lain(berth)
    scenario = read(stay, found=False).scenario
    face = scenario.berth.faces[0]
    assert (face.y1, face.y2, face.continuous, face.sharp) == (0, 0, True, None)
    assert {(f.kind, f.y, f.z) for f in scenario.berth.fittings} == {("ring", 0.0, 2.6)}
    assert scenario.boat.y > 1.5, "she lies off the face, on the water's side"


def test_a_box_has_no_finger_and_takes_her_bow_in(office, harbour):
    berth = surveyed(office, harbour, "box", length="11", width="4.2")
    stay, tie_up = lain(berth, side_to="", end_in="bow")
    scenario = read(stay, found=False).scenario
    assert [f.id for f in scenario.berth.faces] == ["dock"]
    assert scenario.boat.heading_deg == 180
    far = [line["shore_fitting"] for line in tie_up.verdict["lines"] if line["shore_fitting"].startswith("P")]
    assert set(far) == {"P1", "P2"}, "both outer piles are used"


def test_a_drying_berth_knows_when_she_sits_on_the_bed(office, harbour):
    sheet = {"kind": "drying", "bed_z": "0.9", "bed_kind": "hard"}
    berth = surveyed(office, harbour, "quay_rings", length="16", width="", spacing="4", sheet=sheet)
    assert berth.kind == "drying"
    stay, tie_up = lain(berth)
    assert read(stay, found=False).scenario.berth.bed_z == 0.9
    assert "cannot_take_ground" in {flag["code"] for flag in tie_up.flags}, "the cast's boat may not"
    stay.vessel.takes_ground = True
    stay.vessel.save()
    may = tieups.work_out(stay)
    assert "cannot_take_ground" not in {flag["code"] for flag in may.flags}
    assert may.verdict["lines"]


def test_what_nobody_gave_stays_not_known(office, harbour):
    figures = {"strength_kn": "", "strength_basis": "", "pile_top_z": "", "dock_z": ""}
    berth = surveyed(office, harbour, "four_piles", **figures, sheet={"bed_z": "", "bed_kind": ""})
    stay, tie_up = lain(berth)
    scenario = read(stay, found=False).scenario
    assert scenario.berth.bed_z is None and all(f.strength is None for f in scenario.berth.fittings)
    assert all(f.top_z is None for f in scenario.berth.fittings)
    assert tie_up.answer != "holds"


def test_a_bearing_turns_the_plan_and_not_the_berth(office, harbour):
    """The same slip looked at another way round the compass is the same question to the engine."""
    told = []
    for code, outward in (("B1", "0"), ("B2", "217.5")):
        form = begun(office, harbour, code=code, outward=outward, corner_east=str(100 * len(told)))
        assert keep(office, form).status_code == 302
        berth = Berth.objects.get(code=code)
        stay = make_stay(vessel=make_vessel(), berth=berth)
        told.append({f.id: (f.x, f.y) for f in read(stay, found=False).scenario.berth.fittings})
    for name, (x, y) in told[0].items():
        assert told[1][name] == pytest.approx((x, y), abs=2e-4)
    assert told[0]["P3"] == pytest.approx((11.0, 2.35), abs=1e-3), "left is to port of the look out"


def test_every_layout_opens_and_is_kept_as_it_stands(office, harbour):
    make_berth(kind="slip", code="A1")
    for n, layout in enumerate(layouts.NAMES):
        code = f"C{n}"
        form = begun(
            office,
            harbour,
            layout=layout,
            code=code,
            corner_north=str(1000 + 100 * n),
            beside=("A1" if layout == "shared_piles" else ""),
        )
        if layout == "empty":
            form["kind"] = "other"
        assert keep(office, form).status_code == 302, layout
        again = typed(office.get(f"/berths/{code}/survey/"))
        assert Decimal(again["length"]) == 11
