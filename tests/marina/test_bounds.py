"""The database keeps the bounds of every number and the list of every choice, not only the forms."""

from decimal import Decimal

import pytest
from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import DatabaseError, models, transaction

from tests.rows import ROWS

OURS = [m for m in apps.get_models() if m._meta.app_label in ("base", "vessels", "berths")]
COUNTS = {"stops", "fixes", "notes", "not_known", "number", "walking_order"}  # any whole number from 0
NUMBERS = [
    (model, field)
    for model in OURS
    for field in model._meta.local_fields
    if isinstance(field, models.DecimalField | models.FloatField | models.IntegerField)
    and not field.primary_key
    and field.name not in COUNTS
    and (model.__name__, field.name) != ("Trail", "who")
]
CHOICES = [
    (model, field)
    for model in OURS
    for field in model._meta.local_fields
    if field.choices and (model.__name__, field.name) != ("Water", "table_kind")
]


def _name(pair):
    return f"{pair[0].__name__}.{pair[1].name}"


def _refused(model, name, value):
    """How the database refuses this value in one row; empty if it takes it."""
    row = ROWS[model.__name__]()
    try:
        with transaction.atomic():
            model.objects.filter(pk=row.pk).update(**{name: value})
    except (DatabaseError, ValidationError, OverflowError) as error:
        return f"{type(error).__name__}: {error}"
    return ""


def test_every_number_has_a_bound_of_its_own():
    for model, field in NUMBERS:
        names = {rule.name for rule in model._meta.constraints}
        assert any(n.endswith(f"{field.name}_plausible") for n in names), _name((model, field))


@pytest.mark.django_db
@pytest.mark.parametrize(("model", "field"), NUMBERS, ids=map(_name, NUMBERS))
def test_far_out_numbers_are_refused_by_the_database(model, field):
    most = 10**field.max_digits // 10**field.decimal_places - 1 if hasattr(field, "max_digits") else 32_000
    if field.get_internal_type() == "PositiveIntegerField":
        most = 2_147_483_647
    for value in (most, -most):
        assert _refused(model, field.name, value), f"{_name((model, field))} takes {value}"


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("model", "field"),
    [p for p in NUMBERS if isinstance(p[1], models.DecimalField)],
    ids=[_name(p) for p in NUMBERS if isinstance(p[1], models.DecimalField)],
)
def test_nan_is_never_stored(model, field):
    """PostgreSQL counts NaN as greater than all numbers, so the upper bound refuses it."""
    for value in (Decimal("NaN"), float("nan")):
        assert _refused(model, field.name, value), f"{_name((model, field))} takes NaN"


@pytest.mark.django_db
@pytest.mark.parametrize(("model", "field"), CHOICES, ids=map(_name, CHOICES))
def test_a_word_that_is_not_listed_is_refused_by_the_database(model, field):
    assert _refused(model, field.name, "gull"), f"{_name((model, field))} takes any word"


@pytest.mark.django_db
@pytest.mark.parametrize("name", ROWS)
def test_every_row_passes_its_own_rules(name):
    """What the tests call an honest row is one for forms, too, and has a name a person can read."""
    row = ROWS[name]()
    if name != "User":  # made without a password
        row.full_clean()
    assert str(row) and "object (" not in str(row)
