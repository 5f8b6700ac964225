"""Vessels and lines: declared and measured kept apart, unknown stays unknown."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import ProtectedError

from marina.base import house
from tests import cast as make
from tests.cast import NOON
from vessels.models import DeckFitting, GearZone, Inspection, Line, Owner, Vessel


def refused(deed):
    with pytest.raises(IntegrityError) as error, transaction.atomic():
        deed()
    return str(error.value)


def test_measured_goes_before_declared_and_both_are_kept(db):
    vessel = make.make_vessel(
        loa_declared="12.8", loa_measured="14.1", beam_measured=None, draft_measured=None
    )
    vessel.refresh_from_db()
    assert (vessel.loa, vessel.loa_declared) == (Decimal("14.1"), Decimal("12.8"))
    assert (vessel.beam, vessel.draft) == (Decimal("3.5"), Decimal("1.6"))


def test_nothing_known_is_none_never_zero(db):
    vessel = Vessel.objects.create(name="the blue ketch")
    assert vessel.loa is vessel.beam is vessel.draft is None
    assert vessel.length_that_counts(house.rules()) == (None, "not known")


@pytest.mark.parametrize(
    ("rule", "doubt", "length", "basis"),
    [
        ("over_everything", 5, "14.1", "measured"),
        ("declared_and_doubt", 5, "13.44", "declared + 5 %"),  # 12.8 x 1.05
        ("hull", 5, "12.5", "hull"),
    ],
)
def test_which_length_counts(db, rule, doubt, length, basis):
    vessel = Vessel(
        name="x", loa_declared=Decimal("12.8"), loa_measured=Decimal("14.1"), hull_length=Decimal("12.5")
    )
    counted = vessel.length_that_counts(house.rules() | {"H4": rule, "doubt": doubt})
    assert counted == (Decimal(length), basis)


def test_a_visitor_counts_with_the_doubt(db):
    vessel = Vessel(name="x", loa_declared=Decimal("11.3"))
    assert vessel.length_that_counts(house.rules()) == (Decimal("11.865"), "declared + 5 %")
    # Nobody measured her: the house may count hulls, but hers is not known either.
    assert vessel.length_that_counts(house.rules() | {"H4": "hull"})[1] == "declared + 5 %"


def test_orders_that_the_database_keeps(db):
    make.make_vessel(fitted=False)
    assert "vessel_rub_order" in refused(lambda: Vessel.objects.update(rub_low=2, rub_high=1))
    assert "vessel_fender_order" in refused(lambda: Vessel.objects.update(fender_low=1, fender_high=1))
    assert "vessel_has_a_name" in refused(lambda: Vessel.objects.update(name=""))
    zone = {"vessel": Vessel.objects.get(), "kind": "rudder", "x1": 2, "x2": 1, "y1": 0, "y2": 1}
    assert "gear_zone_order" in refused(lambda: GearZone.objects.create(code="rudder", **zone))


def test_names_are_given_once(db):
    vessel = make.make_vessel()
    again = {"vessel": vessel, "code": "stern_port", "x": 1, "y": 1}
    refused(lambda: DeckFitting.objects.create(**again))
    with pytest.raises(ValidationError, match="already has a fitting of that name"):
        DeckFitting(**again).full_clean()
    line = make.make_line()
    refused(lambda: Line.objects.create(tag=line.tag))


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("outline", [[0, 1]], "at least three points"),
        ("outline", [[0, 1], [5, "1.8"], [11, 0]], "numbers in metres"),
        ("windage", {"sail_area": 30}, "cd_front, cd_side, frontal_area, side_area"),
        ("underwater", {"side_area": -1}, "not below zero"),
        ("own_lines", {"number": 2}, "a list of lines"),
        ("own_lines", [{"length": "ten"}], "are numbers"),
        ("loa_declared", Decimal("NaN"), "must be a decimal number"),
        ("beam_declared", Decimal(0), "must be above 0 and at most 100 m"),
    ],
)
def test_what_a_form_refuses(db, field, value, says):
    with pytest.raises(ValidationError, match=says):
        Vessel(name="x", **{field: value}).full_clean()


def test_what_has_history_is_not_deleted(db):
    owner = Owner.objects.create(name="Wren Scuppernong")
    vessel = make.make_vessel(owner=owner)
    line = make.make_line(owner=owner)
    Inspection.objects.create(line=line, advice="keep", at=NOON)
    for row in (owner, vessel, line):
        with pytest.raises(ProtectedError):
            row.delete()


@pytest.mark.parametrize(
    ("state", "condemned"), [("store", False), ("out", False), ("retired", True), ("quarantine", True)]
)
def test_condemned_rope_says_so(state, condemned):
    assert Line(tag="WH-1", state=state).condemned is condemned


@pytest.mark.parametrize("zones", [{"mast": []}, {"eye": ["wet"]}, {"eye": "fuzz"}, []])
def test_an_inspection_speaks_in_zones(db, zones):
    with pytest.raises(ValidationError, match=r"ones are|zone can show"):
        Inspection(line=make.make_line(), advice="keep", at=NOON, zones=zones).full_clean()
