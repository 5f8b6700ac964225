"""Rules of the harbour's rows that the database keeps, each met from code that asks no form."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from berths.models import (
    Berth,
    Card,
    LineSet,
    LineUse,
    SetPosition,
    TieUp,
    Water,
)
from marina.base import house
from tests import cast as make
from tests.cast import NOON, days, hours
from tests.rows import ROWS

BREAKS = [
    ("Water", {"low": 3, "high": 2}, "water_low_below_high"),
    ("Water", {"low": None}, "water_limits_given"),
    ("Water", {"surge_up": None}, "water_surge_both_or_none"),
    ("Water", {"surge_reason": ""}, "water_surge_both_or_none"),
    ("Water", {"surge_up": -1}, "water_surge_up_plausible"),
    ("Water", {"storm_up": 1}, "water_storm_both_or_none"),
    ("Notice", {"low": 3}, "notice_low_not_above_high"),
    ("Notice", {"ends": NOON}, "notice_order"),
    ("Forecast", {"ends": NOON}, "forecast_order"),
    ("Fastening", {"low_turn_z": 2, "high_turn_z": 1}, "fastening_turn_order"),
    ("Face", {"underside_z": 1, "top_z": 1}, "face_underside_below_top"),
    ("Face", {"east2": 0, "north2": 0}, "face_has_length"),
    ("Stay", {"depart": NOON}, "stay_departs_after_arrival"),
    ("Stay", {"depart": None, "state": "left"}, "stay_left_has_a_time"),
    ("Stay", {"purpose": "short_stop"}, "stay_short_stop_ends"),
    ("TieUp", {"stay": None}, "tie_up_of_stay_or_set"),
    ("TieUp", {"stops": 1}, "tie_up_holds_without_stops"),
    ("TieUp", {"verdict": None}, "tie_up_verdict_or_trouble"),
    ("TieUp", {"stale": True}, "tie_up_stale_with_a_reason"),
    ("Card", {"number": 0}, "card_number_from_one"),
    ("FlagAccepted", {"reason": ""}, "flag_accepted_with_a_reason"),
    ("FlagAccepted", {"until": NOON}, "flag_accepted_until_later"),
    ("OwnersWord", {"text": ""}, "owners_word_says_what"),
    ("OwnersWord", {"answer": "Seen."}, "owners_word_answered_with_words"),
    ("OwnersWord", {"answered_at": NOON}, "owners_word_answered_with_words"),
    ("Picture", {"stay": None}, "picture_of_stay_or_word"),
    ("LineSet", {"ends": NOON.date()}, "line_set_order"),
    ("LineUse", {"stay": None}, "line_use_stay_or_position"),
    ("LineUse", {"back": NOON, "closed_as": "returned"}, "line_use_order"),
    ("LineUse", {"back": NOON + days(1)}, "line_use_closed_with_a_word"),
    ("LineUse", {"closed_as": "returned"}, "line_use_closed_with_a_word"),
    ("LineUse", {"back": NOON + days(1), "closed_as": "left"}, "line_use_left_because"),
    ("MadeFastLine", {"description": ""}, "made_fast_line_named"),
    ("Message", {"text": ""}, "message_has_text"),
    ("Round", {"closed": NOON - hours(1)}, "round_order"),
    ("Look", {"mark": "not_as_planned"}, "look_says_what"),
    ("Sighting", {"berth": None}, "sighting_has_a_place"),
    ("BerthFastening", {"code": ""}, "berth_fastening_has_a_code"),
    ("BerthFace", {"code": ""}, "berth_face_has_a_code"),
]


@pytest.mark.django_db
@pytest.mark.parametrize(("name", "change", "rule"), BREAKS, ids=[f"{n} {r}" for n, _, r in BREAKS])
def test_a_row_that_breaks_a_rule_is_not_written(name, change, rule):
    """An honest row is copied with one thing wrong, and written past every form."""
    row = ROWS[name]()
    fields = {f.attname: getattr(row, f.attname) for f in row._meta.concrete_fields if not f.primary_key}
    honest = dict(fields)
    for once in ("client_id", "label", "code", "name"):
        fields.pop(once, None)
    fields |= {row._meta.get_field(key).attname: value for key, value in change.items()}
    if "name" in honest:
        fields["name"] = "another"
    with pytest.raises(IntegrityError, match=rule), transaction.atomic():
        type(row).objects.bulk_create([type(row)(**fields)])


def test_the_rules_are_met_in_the_order_of_the_form_too(db):
    """The same words from the form: one example for each sort of rule."""
    stay = make.make_stay()
    stay.depart = stay.arrive
    with pytest.raises(ValidationError, match="A stay must end after it starts"):
        stay.full_clean()
    water = make.make_water()
    water.surge_down = None
    with pytest.raises(ValidationError, match="surge up and down with a reason, or neither"):
        water.full_clean()


# --- lines at work ---


def test_a_line_is_in_one_use_at_a_time(db):
    line, stay = make.make_line(), make.make_stay()
    LineUse.objects.create(line=line, stay=stay, at=NOON)
    second = LineUse(line=line, position=ROWS["SetPosition"](), at=NOON + days(3))
    with pytest.raises(ValidationError, match="already in use then"):
        second.full_clean()
    with pytest.raises(IntegrityError, match="line_use_no_overlap"), transaction.atomic():
        second.save()
    LineUse.objects.update(back=NOON + days(3), closed_as="returned")
    second.save()


def test_a_boat_has_one_set_at_a_berth(db):
    line_set = ROWS["LineSet"]()
    with pytest.raises(IntegrityError, match="line_set_no_overlap"), transaction.atomic():
        LineSet.objects.create(berth=line_set.berth, vessel=line_set.vessel, starts=NOON.date() + days(30))
    line_set.ends = NOON.date() + days(30)
    line_set.save()
    LineSet.objects.create(berth=line_set.berth, vessel=line_set.vessel, starts=NOON.date() + days(30))


def test_a_position_is_between_her_fittings_and_her_berths(db):
    line_set, stay = ROWS["LineSet"](), make.make_stay()
    own = {
        "boat_end": line_set.vessel.fittings.first(),
        "shore_end": line_set.berth.fastenings.first(),
    }
    SetPosition(line_set=line_set, number=1, **own).full_clean()
    for end in ({"boat_end": stay.vessel.fittings.first()}, {"shore_end": stay.berth.fastenings.first()}):
        with pytest.raises(ValidationError, match="another"):
            SetPosition(line_set=line_set, number=2, **own | end).full_clean()


# --- snapshots ---


@pytest.mark.parametrize("field", ["scenario", "verdict", "scenario_hash", "engine_version", "made_at"])
def test_a_snapshot_is_not_edited(db, field):
    tie_up = make.make_tie_up()
    value = {"scenario": {"version": 2}, "verdict": {}, "made_at": NOON + hours(1)}.get(field, "edited")
    with pytest.raises(IntegrityError, match="kept as written"), transaction.atomic():
        TieUp.objects.filter(pk=tie_up.pk).update(**{field: value})
    with pytest.raises(IntegrityError, match="kept as written"), transaction.atomic():
        TieUp.objects.filter(pk=tie_up.pk).delete()


def test_a_snapshot_saved_as_a_whole_may_go_out_of_date(db):
    tie_up = make.make_tie_up(scenario={"version": 1, "berth": {"length": 12.05}, "b": [1.0, 2]})
    tie_up.refresh_from_db()
    tie_up.stale, tie_up.stale_why, tie_up.stale_since = True, "draft changed", NOON
    tie_up.save()


def test_a_printed_card_is_superseded_never_rewritten(db):
    card = ROWS["Card"]()
    card.superseded, card.superseded_why = NOON, "moved"
    card.save()
    with pytest.raises(IntegrityError, match="kept as written"), transaction.atomic():
        Card.objects.update(pdf=b"another")


# --- small things ---


def test_berths_come_in_walking_order(db):
    pier = make.make_pier()
    for code, order in (("A10", 902), ("A2", 901), ("B1", 900)):
        make.make_berth(code=code, walking_order=order, pier=pier, fitted=False)
    assert [str(b) for b in Berth.objects.filter(pier=pier)] == ["B1", "A2", "A10"]


@pytest.mark.parametrize(
    ("own", "rule", "reach"),
    [
        ("0.4", {"basis": "metres", "value": 0.6}, "0.4"),
        (None, {"basis": "metres", "value": 0.6}, "0.6"),
        (None, {"basis": "percent_of_berth", "value": 10}, "1.2"),  # of 12 m
        (None, {"basis": "percent_of_boat", "value": 10}, "1.0"),  # of 10 m
    ],
)
def test_how_far_a_boat_may_reach(db, own, rule, reach):
    berth = Berth(length=Decimal(12), overhang=own and Decimal(own))
    assert berth.overhang_for(house.rules() | {"H9": rule}, Decimal(10)) == Decimal(reach)


def test_a_water_needs_what_its_kind_is_made_of(db):
    for kind, field in (("station", "station"), ("constants", "station"), ("table", "table")):
        with pytest.raises(ValidationError) as refusal:
            Water(name="x", kind=kind).full_clean()
        assert field in refusal.value.message_dict
