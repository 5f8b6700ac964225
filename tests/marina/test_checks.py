"""A check of a field or some fields is worked out in Python by the form and in SQL by the database: both must say the same."""

import itertools
from decimal import Decimal

import pytest
from django.apps import apps
from django.core.exceptions import ValidationError
from django.db.models import CheckConstraint, DecimalField, Value

from marina.base.checks import OneField, SomeFields
from vessels.models import Vessel

RULES = [
    (model, rule)
    for model in apps.get_models()
    for rule in model._meta.constraints
    if isinstance(rule, OneField)
]


SOME = [
    (model, rule)
    for model in apps.get_models()
    for rule in model._meta.constraints
    if isinstance(rule, SomeFields)
]


def says(validate, model, field, value):
    try:
        validate(model, model(**{field: value}))
    except ValidationError as refusal:
        return refusal.messages
    return []


def tries(model, rule):
    """Values at, just inside and just outside of what the rule allows."""
    field = model._meta.get_field(rule.field)
    if rule.name.endswith("_listed"):
        return ["", "gull", *(choice for choice, _ in field.choices)]
    bounds = [value for _, value in rule.condition.children]
    step = Decimal(1).scaleb(-field.decimal_places) if isinstance(field, DecimalField) else 1
    return [None, *(type(step)(bound) + n * step for bound in bounds for n in (-1, 0, 1))]


@pytest.mark.django_db
@pytest.mark.parametrize(("model", "rule"), RULES, ids=[rule.name for _, rule in RULES])
def test_form_and_database_agree(model, rule):
    answers = set()
    for value in tries(model, rule):
        form = says(rule.validate, model, rule.field, value)
        database = says(super(OneField, rule).validate, model, rule.field, value)
        assert form == database, f"{rule.name}: {value}"
        answers.add(bool(form))
    assert answers == {True, False}


@pytest.mark.django_db
@pytest.mark.parametrize(("model", "rule"), SOME, ids=[rule.name for _, rule in SOME])
def test_form_and_database_agree_on_fields_that_bound_each_other(model, rule):
    answers = set()
    samples = {
        "DecimalField": (None, Decimal(0), Decimal("0.0001"), Decimal(1)),
        "BooleanField": (True, False),
        "CharField": ("", "gull", "a/b"),
    }
    kinds = [model._meta.get_field(field).get_internal_type() for field in rule.fields]
    for values in itertools.product(*(samples[kind] for kind in kinds)):
        row = dict(zip(rule.fields, values, strict=True))
        told = []
        for validate in (rule.validate, super(SomeFields, rule).validate):
            try:
                validate(model, model(**row))
                told.append([])
            except ValidationError as refusal:
                told.append(refusal.messages)
        if None in values and rule.name == "face_has_length":
            continue  # a place is always known; the database alone refuses a row without one
        assert told[0] == told[1], row
        answers.add(bool(told[0]))
    assert answers == {True, False}


def test_migrations_see_djangos_own_check():
    for _, rule in RULES + SOME:
        path, args, kwargs = rule.deconstruct()
        assert path == "django.db.models.CheckConstraint" and CheckConstraint(*args, **kwargs) == rule


@pytest.mark.django_db
def test_a_form_asks_little(django_assert_max_num_queries):
    vessel = Vessel(name="x", loa_declared="10.4", beam_declared=Decimal("3.5"))
    with django_assert_max_num_queries(9):  # three checks of the whole row, each in a savepoint of its own
        vessel.full_clean()


@pytest.mark.django_db
def test_what_only_the_database_can_work_out_is_asked_there():
    rule = next(rule for _, rule in RULES if rule.name == "vessel_loa_measured_plausible")
    for value, refused in ((10, False), (-10, True)):
        assert bool(says(rule.validate, Vessel, "loa_measured", Value(value) + Value(0))) is refused


def test_a_field_the_form_left_out_is_not_judged():
    rule = next(rule for _, rule in RULES if rule.name == "vessel_gm_plausible")
    rule.validate(Vessel, Vessel(gm=Decimal(-1)), exclude={"gm"})
    with pytest.raises(ValidationError, match="Gm must be above 0"):
        rule.validate(Vessel, Vessel(gm=Decimal(-1)))
