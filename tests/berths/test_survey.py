"""From rows to a Scenario, and how a tie-up is kept: frames, where she lies, what is left out, and why."""

from datetime import timedelta
from decimal import Decimal

import numpy as np
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from berths import survey
from berths.lying import Frame, lying
from berths.models import BerthFace, BerthFastening, Face, Fastening, MadeFast, MadeFastLine, TieUp
from berths.services import tieups
from berths.tieup import cases, defaults, rules
from berths.tieup.verdict import CaseResult, Flag, Pose, Summary, Verdict
from marina.base import house
from marina.base.house import set_rule
from tests import cast as people
from tests.cast import NOON, hours, make_berth, make_line, make_stay, make_vessel, make_water
from vessels.models import GearZone, Inspection

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def noon(clock_at):
    return clock_at(NOON)


# --- frames ---


@pytest.mark.parametrize("bearing", [0, 37.5, 90, 230, 359.9])
def test_a_place_goes_to_the_plan_and_comes_back(bearing):
    berth = make_berth(
        east=Decimal("120.5"), north=Decimal("-33.25"), bearing_deg=Decimal(str(bearing)), fitted=False
    )
    frame = Frame(berth)
    for point in [(0, 0), (11.5, -2.35), (-4.0, 6.1)]:
        east, north = frame.to_plan([point])[0]
        assert frame.of_plan(east, north) == pytest.approx(point, abs=1e-4)


def test_plus_x_runs_along_the_bearing_and_y_to_its_left():
    """Bearing 90 is east: +x adds to east, and left of east is north."""
    frame = Frame(make_berth(east=Decimal(10), north=Decimal(20), bearing_deg=Decimal(90), fitted=False))
    assert frame.to_plan([(3, 2)])[0] == pytest.approx((13, 22))
    assert frame.of_plan(13, 22) == (3, 2)


def test_a_turned_harbour_gives_the_same_scenario():
    """The berth's frame knows nothing of where the harbour lies: only the bearing differs."""
    scenarios = []
    for bearing, east, north in ((90, 0, 0), (217, 500, -300)):
        berth = make_berth(
            kind="slip", bearing_deg=Decimal(bearing), east=Decimal(east), north=Decimal(north), fitted=False
        )
        frame = Frame(berth)
        for code, x, y in (("D1", 0, 1.7), ("P1", 12, -2.3)):
            place = [Decimal(str(round(v, 4))) for v in frame.to_plan([(x, y)])[0]]
            row = Fastening.objects.create(
                label=f"{berth}/{code}",
                kind="cleat",
                east=place[0],
                north=place[1],
                z=Decimal("3.7"),
                strength=25_000,
            )
            BerthFastening.objects.create(berth=berth, fastening=row, code=code)
        scenarios.append(survey.scenario_of(make_stay(berth=berth, side_to="stern", end_in="stern")))
    first, second = scenarios
    assert [(f.id, f.z) for f in first.berth.fittings] == [(f.id, f.z) for f in second.berth.fittings]
    places = [np.array([(f.x, f.y) for f in s.berth.fittings]) for s in scenarios]
    assert places[0] == pytest.approx(places[1], abs=2e-4)
    assert (first.bearing_deg, second.bearing_deg) == (90, 217)


# --- kinds ---


@pytest.mark.parametrize(
    ("stored", "engine"),
    [
        ("floating", "floating"),
        ("slip", "slip"),
        ("box", "slip"),
        ("fixed", "fixed"),
        ("quay", "fixed"),
        ("drying", "fixed"),
    ],
)
def test_stored_kinds(stored, engine):
    scenario = survey.scenario_of(make_stay(berth=make_berth(kind=stored)))
    assert scenario.berth.kind == engine
    assert scenario.house["H5"] == {engine: house.value("H5")[stored]}
    assert rules.of(scenario).least_lines == house.value("H5")[stored]


@pytest.mark.parametrize("kind", ["stern_to", "other"])
def test_kinds_without_a_tie_up(kind):
    found = survey.read(make_stay(berth=make_berth(kind=kind)))
    assert found.scenario is None
    assert found.reason == "no tie-up worked out for this kind of berth"


def test_a_raft_has_none_and_a_lone_boat_in_a_rafting_berth_has_one():
    berth = make_berth(raft_depth=2)
    inner = make_stay(berth=berth)
    assert survey.scenario_of(inner) is not None
    outer = make_stay(berth=berth, raft_place=1)
    for stay in (inner, outer):
        assert survey.read(stay).reason == "no tie-up worked out for boats in a raft"
    outer.state = "cancelled"
    outer.save()
    assert survey.scenario_of(inner) is not None


@pytest.mark.parametrize(("missing", "word"), [("loa", "length"), ("beam", "beam")])
def test_length_and_beam_are_needed(missing, word):
    found = survey.read(make_stay(vessel=make_vessel(**{missing: None})))
    assert found.scenario is None and f"her {word} must be known" in found.reason


# --- the length that counts ---


def test_measured_goes_before_declared():
    vessel = make_vessel(loa="10.4", loa_declared=Decimal("9.9"))
    found = survey.read(make_stay(vessel=vessel))
    assert (found.scenario.boat.loa, found.length_rests_on) == (10.4, "measured")


def test_declared_gets_the_houses_doubt():
    stay = make_stay(vessel=make_vessel(loa="11.3", loa_measured=None))
    found = survey.read(stay)
    assert found.scenario.boat.loa == pytest.approx(11.3 * 1.05)
    assert found.length_rests_on == "declared + 5 %"
    set_rule(key="doubt", value=8, by=None)
    found = survey.read(stay)
    assert found.scenario.boat.loa == pytest.approx(11.3 * 1.08)
    assert found.length_rests_on == "declared + 8 %"


def test_she_lies_with_all_that_sticks_out_whatever_fees_count():
    set_rule(key="H4", value="hull", by=None)
    vessel = make_vessel(loa="12.9", hull_length=Decimal("10.2"))
    assert survey.scenario_of(make_stay(vessel=vessel)).boat.loa == 12.9


# --- where she lies ---


def pose(stay):
    boat = survey.scenario_of(stay).boat
    return boat.x, boat.y, boat.heading_deg


@pytest.mark.parametrize(("end_in", "heading"), [("stern", 0), ("bow", 180)])
def test_in_a_slip_on_the_centreline_with_her_end_off_the_dock(end_in, heading):
    stay = make_stay(
        berth=make_berth(kind="slip"), vessel=make_vessel(loa="11.0"), end_in=end_in, side_to=end_in
    )
    assert pose(stay) == (0.6 + 5.5, 0.0, heading)


@pytest.mark.parametrize(("side", "heading"), [("starboard", 0), ("port", 180), ("either", 0)])
def test_alongside_one_fender_off_the_face_in_the_middle(side, heading):
    vessel = make_vessel(beam="3.6", fender_diameter=Decimal("0.25"))
    assert pose(make_stay(vessel=vessel, side_to=side)) == pytest.approx((6.0, 1.8 + 0.25, heading))


def test_a_fender_of_the_house_where_hers_are_not_known():
    vessel = make_vessel(beam="3.6", fender_diameter=None, fender_number=None)
    assert pose(make_stay(vessel=vessel))[1] == pytest.approx(1.8 + house.value("fender_gap"))


def on_piles(*places):
    """A fixed berth of 14 m whose face is piles at these x."""
    berth = make_berth(kind="fixed", length=Decimal(14), bearing_deg=Decimal(90), fitted=False)
    for n, x in enumerate(places, 1):
        row = Fastening.objects.create(
            label=f"{berth}/P{n}",
            kind="pile",
            east=berth.east + Decimal(str(x)),
            north=berth.north,
            z=Decimal("3.7"),
        )
        BerthFastening.objects.create(berth=berth, fastening=row, code=f"P{n}")
    face = Face.objects.create(
        label=f"{berth} piles",
        east1=berth.east,
        north1=berth.north,
        east2=berth.east + 14,
        north2=berth.north,
        top_z=Decimal("5.2"),
        underside_z=Decimal("-2.4"),
        continuous=False,
    )
    BerthFace.objects.create(berth=berth, face=face, code="piles")
    return berth


@pytest.mark.parametrize(("side", "stern"), [("starboard", 0.9 - 0.45), ("port", 11.4 + 0.6)])
def test_her_stern_overhangs_the_last_pile(side, stern):
    """12.6 m long: of all piles the one that leaves her nearest the middle of the berth.

    On her port side her bow would lie out of the berth: there her stern reaches past the pile by all it may.
    """
    stay = make_stay(berth=on_piles(0.9, 4.4, 7.9, 11.4), vessel=make_vessel(loa="12.6"), side_to=side)
    x, _, heading = pose(stay)
    assert x - np.cos(np.radians(heading)) * 6.3 == pytest.approx(stern)


def test_a_person_says_otherwise():
    stay = make_stay(lies_x=Decimal("0"), lies_y=Decimal("2.5"), heading_deg=Decimal("12"))
    assert pose(stay) == (0.0, 2.5, 12.0)


def test_lying_takes_boats_inside_of_her_into_account():
    stay = make_stay(vessel=make_vessel(beam="3.0", fender_diameter=Decimal("0.2")))
    assert lying(stay, 9.0, [], inside=4.1)[1] == pytest.approx(4.1 + 1.5 + 0.2)


# --- what is handed on, and what is left out ---


def test_the_berths_figures():
    water = make_water(low="0.5", tide_range="2.0")
    berth = make_berth(kind="slip", water=water, clear_width=Decimal("4.4"), bed_z=Decimal("-2.4"))
    scenario = survey.scenario_of(make_stay(berth=berth, side_to="stern"))
    assert (scenario.berth.clear_width, scenario.berth.bed_z, scenario.berth.bed_kind) == (4.4, -2.4, "soft")
    cleat, pile = (next(f for f in scenario.berth.fittings if f.id == code) for code in ("D1", "P1"))
    assert (cleat.kind, cleat.x, cleat.y, cleat.z, cleat.floats, cleat.strength) == (
        "cleat",
        0,
        1.7,
        3.7,
        False,
        25_000,
    )
    assert (pile.diameter, pile.top_z, pile.stop) == (0.3, 4.6, True)
    face = scenario.berth.faces[0]
    assert (face.id, face.x1, face.y1, face.x2, face.y2, face.top_z) == (
        "dock",
        0,
        -3,
        0,
        3,
        3.7,
    ) or face.y1 == 3
    w = scenario.water
    assert (w.low, w.high, w.surge_up, w.surge_down, w.datum) == (0.5, 2.5, 0.6, 0.3, "CD")


def test_the_edge_one_steps_from_reaches_the_drawings():
    berth = make_berth(kind="fixed", edge_z=Decimal("3.5"))
    assert survey.scenario_of(make_stay(berth=berth)).berth.edge_z == 3.5


def test_what_nobody_knows_stays_out():
    water = make_water(surge_up=None, surge_down=None, surge_reason="")
    berth = make_berth(water=water, bed_z=None, bed_kind="", exposure="")
    Fastening.objects.filter(label=f"{berth}/D1").update(strength=None, z=None)
    boat = make_vessel(draft=None, displacement=None, rub_low=None, rub_high=None)
    scenario = survey.scenario_of(make_stay(berth=berth, vessel=boat))
    assert (scenario.berth.bed_z, scenario.berth.bed_kind, scenario.berth.exposure) == (None, None, None)
    first = next(f for f in scenario.berth.fittings if f.id == "D1")
    assert (first.strength, first.z) == (None, None)
    assert (scenario.boat.draft, scenario.boat.displacement, scenario.boat.rub_low) == (None, None, None)
    assert (scenario.water.surge_up, scenario.water.surge_down) == (None, None)


@pytest.mark.parametrize(
    ("change", "usable"),
    [
        ({}, True),
        ({"in_use": False, "note": "bolt sheared"}, False),
        ({"condition": "rotten"}, False),
        ({"condition": "worn"}, True),
    ],
)
def test_a_rotten_or_loose_fastening_is_not_in_use(change, usable):
    berth = make_berth()
    Fastening.objects.filter(label=f"{berth}/D1").update(**change)
    found = survey.scenario_of(make_stay(berth=berth)).berth.fittings
    assert next(f for f in found if f.id == "D1").in_use is usable


def test_the_houses_rules_reach_the_engine():
    set_rule(key="H21", value=[12, 24], by=None)
    set_rule(key="H7", value=2.5, by=None)
    set_rule(key="H8", value={"soft": 0.4, "hard": 0.7}, by=None)
    set_rule(key="pile_top_spare", value=0.7, by=None)
    scenario = survey.scenario_of(make_stay())
    assert scenario.weather.wind_speeds == pytest.approx([12 * 1852 / 3600, 24 * 1852 / 3600])
    figures = rules.of(scenario)
    assert (figures.untended_range, figures.under_keel_soft, figures.pile_top_margin) == (2.5, 0.4, 0.7)
    assert rules.faults(scenario.house) == []


@pytest.mark.parametrize(
    ("rule", "berths_own", "metres"),
    [
        ({"basis": "metres", "value": 0.4}, None, 0.4),
        ({"basis": "percent_of_berth", "value": 5}, None, 0.6),
        ({"basis": "percent_of_boat", "value": 10}, None, 1.04),
        ({"basis": "metres", "value": 0.4}, "1.0", 1.0),
    ],
)
def test_overhang_is_the_berths_else_the_houses(rule, berths_own, metres):
    set_rule(key="H9", value=rule, by=None)
    berth = make_berth(length=Decimal(12), overhang=None if berths_own is None else Decimal(berths_own))
    assert survey.scenario_of(
        make_stay(berth=berth, vessel=make_vessel(loa="10.4"))
    ).berth.overhang == pytest.approx(metres)


def test_a_permanent_boat_is_judged_on_limits_and_a_visitor_on_her_stay():
    stay = make_stay(purpose="permanent", depart=None)
    scenario = survey.scenario_of(stay)
    assert scenario.stay.permanent is True and scenario.stay.depart is None
    visit = survey.scenario_of(make_stay())
    assert (visit.stay.permanent, visit.stay.depart) == (False, NOON + timedelta(days=2))


def test_a_short_stop_whose_time_is_up_is_none_any_more(clock_at):
    stay = make_stay(purpose="short_stop", attended=True, short_until=NOON + hours(1), depart=NOON + hours(3))
    assert survey.scenario_of(stay).stay.short_until == NOON + hours(1)
    clock_at(NOON + hours(1) + timedelta(minutes=1))
    assert survey.scenario_of(stay).stay.short_until is None


def test_windage_by_class_and_none_where_the_class_is_not_known():
    assert survey.scenario_of(make_stay()).boat.windage.side_area > 0
    unknown = survey.scenario_of(make_stay(vessel=make_vessel(hull_class=""))).boat
    assert (unknown.windage, unknown.outline) == (None, None)
    measured = survey.scenario_of(make_stay(vessel=make_vessel(windage={"side_area": 31.0}))).boat
    assert measured.windage.side_area == 31.0 and measured.windage.cd_side > 0


# --- lines ---


def made_fast(stay, *lines, at=NOON):
    deed = MadeFast.objects.create(stay=stay, at=at, level=Decimal("1.2"))
    aboard = {f.code: f for f in stay.vessel.fittings.all()}
    ashore = {f.code: f for f in stay.berth.fastenings.all()}
    for number, (boat_end, shore_end, fields) in enumerate(lines, 1):
        MadeFastLine.objects.create(
            made_fast=deed,
            number=number,
            boat_end=aboard.get(boat_end),
            shore_end=ashore.get(shore_end),
            **{"description": "own"} | fields,
        )
    return deed


def test_without_lines_a_set_is_asked_for():
    assert survey.scenario_of(make_stay()).lines is None


def test_the_lines_of_the_last_making_fast_are_judged():
    stay = make_stay()
    made_fast(stay, ("bow_port", "D5", {"length": Decimal(9)}), at=NOON - hours(8))
    tagged = make_line(
        strength=31_000,
        diameter_mm=Decimal(16),
        diameter_found_mm=Decimal("14.1"),
        working_length=Decimal("7.5"),
    )
    made_fast(
        stay,
        ("bow_port", "D5", {"line": tagged}),
        (
            "stern_port",
            "D2",
            {"length": Decimal("6.2"), "material": "polyester_braid", "diameter_mm": Decimal(12)},
        ),
        ("mid_port", None, {"description": "to the other boat"}),
    )
    lines = survey.scenario_of(stay).lines
    first, second = lines
    assert (first.id, first.tag, first.length, first.mbs, first.diameter_mm) == (
        tagged.tag,
        tagged.tag,
        7.5,
        31_000,
        14.1,
    )
    assert (second.tag, second.length, second.material, second.diameter_mm, second.mbs) == (
        None,
        6.2,
        "polyester_braid",
        12,
        24_480,  # a visitor's own rope: the lowest strength that a table prints for it
    )
    stay.purpose, stay.depart = "permanent", None
    stay.save()
    assert survey.scenario_of(stay).lines[1].mbs is None  # here it should carry a tag: nobody knows
    assert survey.scenario_of(stay, found=False).lines is None


def test_a_line_of_unknown_length_stays_unknown():
    stay = make_stay()
    made_fast(stay, ("bow_port", "D5", {}))
    assert survey.scenario_of(stay).lines[0].length is None


# --- neighbours ---


def beside(stay, east, **fields):
    """A boat in another berth of the same pier, so far along the dock."""
    berth = make_berth(
        pier=stay.berth.pier,
        water=stay.berth.water,
        east=stay.berth.east + Decimal(east),
        north=stay.berth.north,
    )
    return make_stay(berth=berth, **fields)


def test_a_boat_in_the_next_berth_is_a_neighbour_by_her_berths_code():
    stay = make_stay()
    other = beside(stay, 12, vessel=make_vessel(loa="10.0"))
    (neighbour,) = survey.scenario_of(stay).berth.neighbours
    x, _ = np.array(neighbour.outline).T
    assert neighbour.id == other.berth.code != other.vessel.name
    assert (x.min(), x.max()) == pytest.approx((12 + 1.0, 12 + 11.0))
    (back,) = survey.scenario_of(other).berth.neighbours
    assert back.id == stay.berth.code and np.array(back.outline)[:, 0].max() < 0


@pytest.mark.parametrize(
    "fields",
    [
        {"arrive": NOON + timedelta(days=3), "depart": None},
        {"arrive": NOON - timedelta(days=3), "depart": NOON - timedelta(days=1)},
        {"state": "cancelled"},
    ],
)
def test_who_is_not_there_with_her_is_no_neighbour(fields):
    stay = make_stay()
    beside(stay, 12, **fields)
    assert survey.scenario_of(stay).berth.neighbours == []


def test_far_off_is_no_neighbour():
    stay = make_stay()
    beside(stay, 40)
    assert survey.scenario_of(stay).berth.neighbours == []


def test_a_neighbour_nobody_measured_is_there_without_an_outline():
    stay = make_stay()
    other = beside(stay, 12, vessel=make_vessel(loa=None, beam=None))
    (neighbour,) = survey.scenario_of(stay).berth.neighbours
    assert (neighbour.id, neighbour.outline) == (other.berth.code, None)


def test_boats_that_share_the_next_berth_are_told_apart():
    stay = make_stay()
    other = beside(stay, 12)
    other.berth.raft_depth = 2
    other.berth.save()
    make_stay(berth=other.berth, raft_place=1)
    names = [neighbour.id for neighbour in survey.scenario_of(stay).berth.neighbours]
    assert names == [other.berth.code, f"{other.berth.code} (boat 2)"]


def test_a_line_that_was_found_worn_is_worn_and_one_nobody_looked_at_is_not_known():
    """What the newest look at it advises; what worn rope keeps is the house's figure, and goes along."""
    stay, seen = make_stay(), {}
    for advice in ("", "keep", "retire", "light_use"):
        line = make_line(tag=f"WH-{len(seen)}")
        if advice:
            Inspection.objects.create(
                line=line, at=NOON - hours(9), advice="retire" if advice == "keep" else "keep"
            )
            Inspection.objects.create(line=line, at=NOON - hours(8), advice=advice)
        made_fast(stay, ("bow_port", "D5", {"line": line}), at=NOON + hours(len(seen)))
        scenario = survey.scenario_of(stay)
        seen[advice] = scenario.lines[0].worn
    assert seen == {"": None, "keep": False, "retire": True, "light_use": True}
    assert scenario.house["H13"] == {"wet_nylon": 0.85, "retire_under": 0.75}
    assert rules.of(scenario).worn_share == 0.75


def test_a_fixed_number_of_queries():
    """Whatever lies beside her, and however many lines she has."""
    counts = []
    for boats in (1, 3):
        stay = make_stay()
        for n in range(boats):
            beside(stay, 12 * (n + 1), vessel=make_vessel(fender_diameter=None))
        made_fast(stay, *[("bow_port", "D5", {"length": Decimal(9)})] * boats)
        stay = type(stay).objects.select_related("vessel", "berth").get(pk=stay.pk)
        with CaptureQueriesContext(connection) as seen:
            survey.scenario_of(stay)
        counts.append(len(seen))
    assert counts[0] == counts[1] <= 25


# --- a Scenario the engine can work with ---


@pytest.mark.parametrize("kind", ["floating", "slip", "box", "fixed", "quay", "drying"])
def test_the_engine_takes_it_as_it_comes(kind):
    scenario = survey.scenario_of(
        make_stay(berth=make_berth(kind=kind), side_to="stern" if kind in ("slip", "box") else "port")
    )
    figures = rules.of(scenario)
    filled, _ = defaults.fill(scenario, figures)
    assert len(cases.build(filled)) > 100
    again = type(scenario).model_validate_json(scenario.model_dump_json())
    assert again == scenario


# --- keeping a tie-up ---


def verdict(*flags, answer="holds", sort="planned", governing="high, calm"):
    two = [
        CaseResult(
            id=name,
            status="ok",
            level=1.0,
            pose=Pose(x=0, y=0, heading_deg=0),
            lines=[],
            contacts=[],
            residual=0.0,
        )
        for name in ("high, calm", "low, calm")
    ]
    summary = Summary(answer=answer, peak_case=governing)
    return Verdict(sort=sort, summary=summary, flags=list(flags), cases=two)


@pytest.fixture
def engine(monkeypatch):
    """`engine(answer)` makes the engine answer so; an exception is raised instead."""

    def answers(given):
        def tie_up(scenario, stands=True):
            if isinstance(given, Exception):
                raise given
            return given

        monkeypatch.setattr(tieups, "tie_up", tie_up)

    return answers


STOP = Flag(code="grounds_at_low", severity="stop", message="touches at 04:04")
GAP = Flag(code="fastening_out", severity="stop", state="not_known", message="strength of D1 not known")


def test_what_was_asked_and_answered_is_kept(engine):
    engine(verdict(STOP, GAP, answer="does_not_hold"))
    user = people.make_user("harbourmaster", "harbourmaster")
    kept = tieups.work_out(make_stay(), user)
    assert (kept.sort, kept.answer, kept.by, kept.made_at) == ("planned", "does_not_hold", user, NOON)
    assert (kept.stops, kept.fixes, kept.notes, kept.not_known) == (1, 0, 0, 1)
    assert [flag["code"] for flag in kept.flags] == ["grounds_at_low", "fastening_out"]
    assert kept.scenario_hash == tieups.fingerprint(kept.scenario) and len(kept.scenario_hash) == 64
    assert kept.scenario["version"] == 1 and kept.engine_version
    assert [case["id"] for case in kept.verdict["cases"]] == ["high, calm"]  # the governing one only


def test_the_same_question_twice_is_one_row(engine):
    engine(verdict())
    stay = make_stay()
    assert tieups.work_out(stay) == tieups.work_out(stay)
    stay.lies_x = Decimal("5.5")
    stay.save()
    assert tieups.work_out(stay).pk != stay.tie_ups.order_by("pk").first().pk


def test_an_out_of_date_one_is_worked_out_anew(engine):
    engine(verdict())
    stay = make_stay()
    old = tieups.work_out(stay)
    TieUp.objects.filter(pk=old.pk).update(stale=True, stale_why="bed sounded", stale_since=NOON)
    (new,) = tieups.work_out_all([stay])
    assert new.pk != old.pk and not new.stale
    assert tieups.work_out_all([stay]) == [new]


@pytest.mark.parametrize(
    "failure", [RuntimeError("singular"), ValueError("water.low: missing"), MemoryError()]
)
def test_a_failure_is_not_known_with_the_reason_never_held(engine, failure, caplog):
    engine(failure)
    kept = tieups.work_out(make_stay())
    assert (kept.answer, kept.verdict, kept.flags) == ("not_known", None, [])
    assert kept.trouble.startswith("tie-up not known yet") and str(failure) in kept.trouble
    assert "Traceback" not in kept.trouble and caplog.records


def test_a_failed_one_is_tried_again(engine):
    engine(RuntimeError("singular"))
    stay = make_stay()
    tieups.work_out(stay)
    engine(verdict())
    (kept,) = tieups.work_out_all([stay])
    assert kept.answer == "holds" and tieups.newest(stay) == kept


def test_a_figure_that_cannot_be_is_told_by_its_place(engine):
    engine(verdict())
    stay = make_stay(berth=make_berth(note=""))
    stay.berth.ladders = [{"id": "ladder", "x1": 1e6, "x2": 2, "y1": 0, "y2": 1}]
    stay.berth.save()
    kept = tieups.work_out(stay)
    assert kept.answer == "not_known" and "x1" in kept.trouble


def test_found_counts_before_planned(engine):
    stay = make_stay()
    engine(verdict(sort="found"))
    found = tieups.work_out(stay)
    engine(verdict(sort="planned", answer="not_known"))
    planned = tieups.work_out(stay, found=False)
    assert {found.sort, planned.sort} == {"found", "planned"}
    assert tieups.newest(stay) == found


def test_what_the_water_leaves_open_is_not_held(engine):
    """The sea may pass the gate: what holds inside holds only as far as the gate does."""
    engine(verdict())
    sea = make_water(low="0.0", tide_range="4.0")
    basin = make_water(outer=sea, holds_to=Decimal("3.6"), passes_above=Decimal("1.6"))
    kept = tieups.work_out(make_stay(berth=make_berth(water=basin)))
    assert kept.answer == "not_known" and kept.not_known == 1
    assert "not known above 3.60 m" in kept.flags[0]["message"]


def test_no_lock_is_held_while_the_engine_works(monkeypatch):
    depth = len(connection.savepoint_ids)
    seen = []

    def tie_up(scenario, stands=True):
        seen.append(len(connection.savepoint_ids))
        return verdict()

    monkeypatch.setattr(tieups, "tie_up", tie_up)
    tieups.work_out(make_stay())
    assert seen == [depth]  # no transaction was opened round it


def test_gear_that_nobody_recorded_stays_not_known():
    """No boat is without a rudder or drive: none recorded is not the same as none there."""
    stay = make_stay()
    assert survey.scenario_of(stay).boat.zones is None
    GearZone.objects.create(vessel=stay.vessel, code="drive", kind="drive", x1=0, x2=1, y1=-1, y2=1)
    assert [z.kind for z in survey.scenario_of(stay).boat.zones] == ["drive"]
