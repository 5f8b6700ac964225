"""A changed input makes every tie-up that rests on it out of date at once, and says why; others stay fresh."""

import ast
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from django.db import models

from berths.models import (
    BerthFastening,
    Forecast,
    LineSet,
    LineUse,
    MadeFast,
    MadeFastLine,
    Notice,
    Reading,
    SetPosition,
    Stay,
    TieUp,
)
from berths.services import stale
from berths.services.stays import cancel_stay, make_fast, move_stay
from marina.base import house
from marina.base.models import HouseRule
from tests import cast as make
from tests.cast import NOON, days, hours
from tests.rows import ROWS as HONEST
from vessels.models import DeckFitting, GearZone, Inspection, Owner
from vessels.services.lines import step


@pytest.fixture
def stay(clock_at):
    clock_at(NOON)
    stay = make.make_stay(vessel=make.make_vessel(name="Slow Biscuit"), berth=make.make_berth(code="B3"))
    GearZone.objects.create(vessel=stay.vessel, code="screw", kind="propeller", x1=1, x2=2, y1=-1, y2=1)
    make.make_tie_up(stay=stay)
    return stay


@pytest.fixture
def far_away(clock_at):
    """A tie-up that nothing in these tests concerns."""
    clock_at(NOON)
    return make.make_tie_up()


def why(stay):
    """Why the stay's tie-up is out of date; empty while it is fresh."""
    tie_up = TieUp.objects.get(stay=stay)
    assert tie_up.stale == bool(tie_up.stale_why) == (tie_up.stale_since == NOON)
    return tie_up.stale_why


# --- each field of each row in turn ---

ROWS = {
    "vessel": lambda stay: stay.vessel,
    "deck fitting": lambda stay: stay.vessel.fittings.first(),
    "gear zone": lambda stay: stay.vessel.zones.first(),
    "berth": lambda stay: stay.berth,
    "fastening": lambda stay: stay.berth.fastenings.first().fastening,
    "berth fastening": lambda stay: stay.berth.fastenings.first(),
    "face": lambda stay: stay.berth.faces.first().face,
    "berth face": lambda stay: stay.berth.faces.first(),
    "water": lambda stay: stay.berth.water,
    "stay": lambda stay: stay,
}


def another(field, value):  # noqa: PLR0911
    """Some other value of this field; that it be allowed matters to the database, not to this test."""
    if isinstance(field, models.BooleanField):
        return not value
    if field.choices:
        return next(c for c, _ in field.choices if c != value)
    if isinstance(field, models.DecimalField):
        return Decimal("0.3") if value is None else value + Decimal("0.1")
    if isinstance(field, models.IntegerField):
        return 1 if value is None else value + 1
    if isinstance(field, models.DateTimeField):
        return NOON if value is None else value + timedelta(hours=1)
    if isinstance(field, models.DateField):
        return NOON.date() if value is None else value + timedelta(days=1)
    if isinstance(field, models.JSONField):
        return [[0, 1]] if value != [[0, 1]] else None
    if isinstance(field, models.ForeignKey):
        return HONEST[field.related_model.__name__]().pk
    return "other"


MODELS = {model._meta.verbose_name: model for model in stale.AFFECTED}
FIELDS = [
    (name, field.name)
    for name in ROWS
    for field in MODELS[name]._meta.concrete_fields
    if (name, field.name) != ("stay", "state")  # see the neighbours below
    and not field.primary_key
    and field.attname not in stale.NOT_IN_A_TIE_UP.get(MODELS[name], set())
]


@pytest.mark.parametrize(("name", "field"), FIELDS, ids=[f"{n}: {f}" for n, f in FIELDS])
def test_each_field_in_turn(stay, far_away, name, field):
    row = ROWS[name](stay)
    it = row._meta.get_field(field)
    setattr(row, it.attname, another(it, getattr(row, it.attname)))
    stale._remember(type(row), row)  # as the signals do, without asking whether the database takes the value
    stale._saved(type(row), row)
    assert why(stay).endswith(f"{it.verbose_name} changed") and why(stay).startswith(name)
    far_away.refresh_from_db()
    assert not far_away.stale


ONE_FIELD = {
    "vessel": "draft_measured", "deck fitting": "takes", "gear zone": "x2", "berth": "bed_z",
    "fastening": "takes", "berth fastening": "words", "face": "top_z", "berth face": "code",
    "water": "surge_up", "stay": "depart",
}  # fmt: skip


@pytest.mark.parametrize("name", ROWS)
def test_the_signals_are_connected(stay, far_away, name):
    """One real save for each kind of row."""
    row = ROWS[name](stay)
    field = row._meta.get_field(ONE_FIELD[name])
    setattr(row, field.name, another(field, getattr(row, field.name)))
    row.save()
    assert why(stay) == f"{name} {row}: {field.verbose_name} changed"
    far_away.refresh_from_db()
    assert not far_away.stale


# --- what else moves ---


def test_saving_without_a_change_marks_nothing(stay):
    for get in ROWS.values():
        get(stay).save()
    stay.vessel.draft_measured = "1.60"  # as a form writes it
    stay.vessel.save()
    assert why(stay) == ""


def test_what_no_tie_up_rests_on_marks_nothing(stay):
    stay.vessel.owner = Owner.objects.create(name="Wren Scuppernong")
    stay.vessel.mark = "green hull"
    stay.vessel.save()
    assert why(stay) == ""


def test_a_new_fitting_and_one_taken_away(stay):
    fitting = DeckFitting.objects.create(vessel=stay.vessel, code="extra", x=1, y=0)
    assert why(stay) == "deck fitting extra: added"
    TieUp.objects.update(stale=False, stale_why="", stale_since=None)
    fitting.delete()
    assert why(stay) == "deck fitting extra: deleted"


def test_a_shared_pile_concerns_both_berths(stay):
    neighbour = make.make_stay()
    make.make_tie_up(stay=neighbour)
    pile = stay.berth.fastenings.first().fastening
    BerthFastening.objects.create(berth=neighbour.berth, fastening=pile, code="S1")
    TieUp.objects.update(stale=False, stale_why="", stale_since=None)
    pile.in_use, pile.note = False, "loose"
    pile.save()
    assert why(stay) == why(neighbour) == f"fastening {pile}: in use changed"


def test_notice_and_reading_of_its_water(stay, far_away):
    water = stay.berth.water
    Notice.objects.create(water=water, low=1, high=2, starts=NOON, reason="work on the sill")
    assert why(stay).startswith("notice ")
    TieUp.objects.update(stale=False, stale_why="", stale_since=None)
    Reading.objects.create(water=water, level="1.5", at=NOON)
    assert why(stay).startswith("reading ")
    far_away.refresh_from_db()
    assert not far_away.stale


def marked_by_notice(stay, **fields):
    """Whether a notice marks the tie-up; then the notice is taken away and the tie-up is fresh again."""
    row = Notice.objects.create(water=stay.berth.water, low=1, high=2, reason="work on the sill", **fields)
    marked = bool(why(stay))
    row.delete()
    TieUp.objects.update(stale=False, stale_why="", stale_since=None)
    return marked


def test_a_notice_concerns_the_stays_it_touches(stay):
    assert not marked_by_notice(stay, starts=stay.depart)
    assert not marked_by_notice(stay, starts=stay.depart + days(1))
    assert marked_by_notice(stay, starts=stay.depart - hours(1))
    assert marked_by_notice(stay, starts=stay.arrive - days(9))
    assert not marked_by_notice(stay, starts=stay.arrive - days(9), ends=stay.arrive)
    assert marked_by_notice(stay, starts=stay.arrive - days(9), ends=stay.arrive + hours(1))


def test_a_notice_of_any_time_concerns_who_stays_for_always(stay):
    line_set = LineSet.objects.create(berth=stay.berth, vessel=stay.vessel, starts=NOON.date())
    own, late = make.make_tie_up(line_set=line_set), {"starts": stay.depart + days(9)}
    Notice.objects.create(water=stay.berth.water, low=1, high=2, reason="work", **late)
    own.refresh_from_db()
    assert own.stale
    TieUp.objects.update(stale=False, stale_why="", stale_since=None)
    Stay.objects.filter(pk=stay.pk).update(depart=None)
    assert marked_by_notice(stay, **late)
    Stay.objects.filter(pk=stay.pk).update(depart=NOON + days(2), purpose="permanent")
    assert marked_by_notice(stay, **late)


def test_a_notice_that_is_moved_away_concerns_those_it_left(stay):
    row = Notice.objects.create(water=stay.berth.water, low=1, high=2, starts=stay.arrive, reason="work")
    TieUp.objects.update(stale=False, stale_why="", stale_since=None)
    row.starts = stay.depart + days(1)
    row.save()
    assert why(stay).startswith("notice ")


def test_a_reading_moves_no_prediction(clock_at):
    clock_at(NOON)
    tide = make.make_water(kind="constants", station={"constituents": [["M2", 0.8, 322]]})
    stay = make.make_stay(berth=make.make_berth(water=tide))
    make.make_tie_up(stay=stay)
    Reading.objects.create(water=tide, level="1.5", at=NOON)
    assert why(stay) == ""


def test_the_water_beyond_the_gate(stay):
    sea = make.make_water()
    stay.berth.water.outer = sea
    stay.berth.water.save()
    TieUp.objects.update(stale=False, stale_why="", stale_since=None)
    sea.surge_up = Decimal("1.3")
    sea.save()
    assert why(stay) == f"water {sea}: surge up changed"


def test_a_forecast_concerns_the_stays_of_its_time(stay):
    weather = {"at": NOON, "surge_up": 1, "surge_down": 0}
    Forecast.objects.create(starts=NOON + days(5), ends=NOON + days(6), **weather)
    assert why(stay) == ""
    Forecast.objects.create(starts=NOON + days(1), ends=NOON + days(6), **weather)
    assert why(stay).startswith("forecast from ")


def test_a_forecast_concerns_no_stay_that_is_judged_for_always(stay):
    """A permanent berth and an open stay rest on LAT to HAT, which no weather of one day moves."""
    weather = {"at": NOON, "starts": NOON + days(1), "ends": NOON + days(6)}
    Stay.objects.filter(pk=stay.pk).update(purpose="permanent")
    Forecast.objects.create(surge_up=1, **weather)
    assert why(stay) == ""
    Stay.objects.filter(pk=stay.pk).update(purpose="visit", depart=None)
    Forecast.objects.create(surge_up=1, **weather)
    assert why(stay) == ""


def test_a_forecast_of_wind_alone_moves_no_water(stay):
    Forecast.objects.create(at=NOON, starts=NOON + days(1), ends=NOON + days(6), wind_gust=25)
    assert why(stay) == ""


def test_a_forecast_that_is_taken_back_or_changed_concerns_them_again(stay):
    row = Forecast.objects.create(at=NOON, starts=NOON + days(1), ends=NOON + days(6), surge_up=1)
    TieUp.objects.update(stale=False, stale_why="", stale_since=None)
    row.starts = NOON + days(5)
    row.save()
    assert why(stay).startswith("forecast from ")


def test_house_rules(stay, cast):
    house.set_rule(key="channel", value="80", by=cast.harbourmaster)
    house.set_rule(key="H3", value="where_it_leads", by=cast.harbourmaster)
    assert why(stay) == ""
    assert stale.resting_on_rule("H7").count() == 1 and not stale.resting_on_rule("H3").exists()
    house.set_rule(key="H7", value=2.5, by=cast.harbourmaster)
    assert why(stay) == "house rule H7: added"
    TieUp.objects.update(stale=False, stale_why="", stale_since=None)
    HouseRule.objects.get(key="H7").delete()
    assert why(stay) == "house rule H7: deleted"


def test_a_line_she_was_found_with(stay, cast):
    line = make.make_line()
    deed = MadeFast.objects.create(stay=stay, at=NOON)
    MadeFastLine.objects.create(made_fast=deed, number=1, line=line)
    line.note = "new tag near the eye"
    line.save()
    assert why(stay) == ""
    make.fix_clock(NOON)
    step(line=line, kind="retired", by=cast.hand)
    assert why(stay) == f"line {line}: state changed"


def test_a_look_at_her_line_counts_where_it_tells_another_wear_than_the_one_before(stay):
    line = make.make_line()
    deed = MadeFast.objects.create(stay=stay, at=NOON)
    MadeFastLine.objects.create(made_fast=deed, number=1, line=line)
    Inspection.objects.create(line=line, at=NOON - hours(3), advice="keep")
    assert why(stay) == ""
    Inspection.objects.create(line=line, at=NOON - hours(2), advice="retire")
    assert why(stay).startswith("inspection")
    TieUp.objects.update(stale=False, stale_why="", stale_since=None)
    Inspection.objects.create(line=line, at=NOON - hours(1), advice="light_use")
    assert why(stay) == ""


def test_a_line_lent_to_her_before_she_is_made_fast_changes_no_plan(stay):
    use = LineUse.objects.create(line=make.make_line(), stay=stay, at=NOON)
    assert why(stay) == ""
    use.back, use.closed_as = NOON + make.hours(1), "returned"
    use.save()
    assert why(stay) == ""


def test_a_line_lent_to_her_while_she_is_fast(clock_at):
    clock_at(NOON)
    stay = make.make_stay()
    make.make_tie_up(stay=stay, sort="found")
    use = LineUse.objects.create(line=make.make_line(), stay=stay, at=NOON)
    assert why(stay).startswith("line use")
    TieUp.objects.update(stale=False, stale_why="", stale_since=None)
    use.line.diameter_found_mm = Decimal("14.1")
    use.line.save()
    assert why(stay) == f"line {use.line}: diameter, found [mm] changed"


def test_a_line_of_her_set(stay):
    line_set = LineSet.objects.create(berth=stay.berth, vessel=stay.vessel, starts=NOON.date())
    own = make.make_tie_up(line_set=line_set)
    position = SetPosition.objects.create(line_set=line_set, number=3, length="7.2")
    own.refresh_from_db()
    assert own.stale and why(stay)
    TieUp.objects.update(stale=False, stale_why="", stale_since=None)
    LineUse.objects.create(line=make.make_line(), position=position, at=NOON)
    own.refresh_from_db()
    assert own.stale_why.startswith("line use")


# --- neighbours ---


@pytest.fixture
def row(clock_at):
    """Three berths side by side along a pier, 13 m apart, and one at its far end; a stay and tie-up in each."""
    clock_at(NOON)
    pier, stays = make.make_pier(), []
    for east in (0, 13, 26, 300):
        berth = make.make_berth(pier=pier, east=east, north=500, fitted=False)
        stays.append(make.make_stay(berth=berth, vessel=make.make_vessel(fitted=False)))
        make.make_tie_up(stay=stays[-1])
    TieUp.objects.update(stale=False, stale_why="", stale_since=None)
    return stays


def test_a_longer_boat_concerns_those_beside_her(row):
    row[1].vessel.loa_measured = Decimal(14)
    row[1].vessel.save()
    assert [bool(why(stay)) for stay in row] == [True, True, True, False]


def test_a_boat_that_comes_moves_or_goes_concerns_those_beside_her(row, cast):
    moved = move_stay(stay=row[0], arrive=NOON + hours(1), by=cast.harbourmaster)
    assert [bool(why(stay)) for stay in row] == [True, True, False, False]
    TieUp.objects.update(stale=False, stale_why="", stale_since=None)
    cancel_stay(stay=moved, by=cast.harbourmaster, reason="went elsewhere")
    assert [bool(why(stay)) for stay in row] == [False, True, False, False]


def test_a_stay_of_another_time_concerns_nobody(row):
    make.make_stay(berth=row[1].berth, arrive=NOON + days(20), depart=NOON + days(22))
    assert not any(why(stay) for stay in row)


def test_an_outer_boat_concerns_the_inner_one(clock_at):
    clock_at(NOON)
    inner = make.make_stay(berth=make.make_berth(raft_depth=2))
    make.make_tie_up(stay=inner)
    make.make_stay(berth=inner.berth, raft_place=1)
    assert why(inner).startswith("stay ")


# --- what is not marked ---


def test_made_fast_as_planned_keeps_the_plan(stay, cast):
    make_fast(stay=stay, by=cast.hand, as_planned=True)
    assert why(stay) == ""


def test_what_has_been_is_evidence(stay):
    Stay.objects.filter(pk=stay.pk).update(state="left")
    stay.vessel.draft_measured = Decimal("2.2")
    stay.vessel.save()
    assert why(stay) == ""


def test_why_and_since_stay_those_of_the_first_change(stay, clock_at):
    stay.vessel.draft_measured = Decimal("2.2")
    stay.vessel.save()
    first = why(stay)
    clock_at(NOON + hours(1))
    stay.vessel.beam_measured = Decimal("3.9")
    stay.vessel.save()
    assert why(stay) == first


# --- nobody goes round the signals ---

ROOT = Path(__file__).parents[2]
SILENT = {"update", "bulk_create", "bulk_update"}
WATCHED = {model.__name__ for model in stale.AFFECTED}


def silent_writes(tree):
    """(line, model) of each call that writes rows of a watched model without telling anybody."""
    for call in ast.walk(tree):
        if not (
            isinstance(call, ast.Call) and isinstance(call.func, ast.Attribute) and call.func.attr in SILENT
        ):
            continue
        chain = list(ast.walk(call.func.value))
        if any(
            isinstance(part, ast.Attribute) and part.attr in ("objects", "_base_manager") for part in chain
        ):
            for name in (part.id for part in chain if isinstance(part, ast.Name)):
                if name in WATCHED:
                    yield call.lineno, name


def test_no_code_writes_past_the_signals():
    found = [
        f"{path.relative_to(ROOT)}:{line}: {name}"
        for floor in ("marina", "vessels", "berths")
        for path in (ROOT / floor).rglob("*.py")
        for line, name in silent_writes(ast.parse(path.read_text("utf-8")))
    ]
    assert not found, "save the rows one by one, or tie-ups stay fresh that are not:\n" + "\n".join(found)


def test_the_search_finds_what_it_looks_for():
    code = "Vessel.objects.filter(pk=1).exclude(x=2).update(draft=3)\nBerth.objects.bulk_create([])\nd.update(a=1)"
    assert list(silent_writes(ast.parse(code))) == [(1, "Vessel"), (2, "Berth")]
