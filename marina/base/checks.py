"""Named checks of the fields of one row, written once for the form and the database."""

from django.core.exceptions import ValidationError
from django.db import DEFAULT_DB_ALIAS
from django.db.models import CheckConstraint, Q


class OneField(CheckConstraint):
    """A check of one field. A form does it in Python: 30 fields would be 30 questions to the database.

    To migrations it is Django's own CheckConstraint.
    """

    def __init__(self, *, field, passes, **options):
        super().__init__(**options)
        self.field, self.passes = field, passes

    def deconstruct(self):
        _, args, kwargs = super().deconstruct()
        return "django.db.models.CheckConstraint", args, kwargs

    def clone(self):
        return OneField(field=self.field, passes=self.passes, **self.deconstruct()[2])

    def validate(self, model, instance, exclude=None, using=DEFAULT_DB_ALIAS):
        value = getattr(instance, self.field)
        if hasattr(value, "resolve_expression"):
            super().validate(model, instance, exclude, using)
        elif not (exclude and self.field in exclude) and value is not None:
            try:
                good = self.passes(model._meta.get_field(self.field).to_python(value))
            except ValidationError:
                return  # no value of this field at all: the field has said so
            except ArithmeticError:
                good = False  # NaN compares with nothing
            if not good:
                raise ValidationError(self.get_violation_error_message(), code=self.violation_error_code)


class SomeFields(CheckConstraint):
    """A check of several fields, done in Python where a form or a sheet asks; what is not known passes, as it does
    in the database. To migrations it is Django's own CheckConstraint.
    """

    def __init__(self, *, fields, passes, **options):
        super().__init__(**options)
        self.fields, self.passes = fields, passes

    def deconstruct(self):
        _, args, kwargs = super().deconstruct()
        return "django.db.models.CheckConstraint", args, kwargs

    def clone(self):
        return SomeFields(fields=self.fields, passes=self.passes, **self.deconstruct()[2])

    def validate(self, model, instance, exclude=None, using=DEFAULT_DB_ALIAS):
        values = [getattr(instance, field) for field in self.fields]
        if any(hasattr(value, "resolve_expression") for value in values):
            super().validate(model, instance, exclude, using)
        elif None not in values and not set(self.fields) & set(exclude or ()):
            try:
                stored = [
                    model._meta.get_field(f).to_python(v) for f, v in zip(self.fields, values, strict=True)
                ]
            except ValidationError:
                return  # no value of this field at all: the field has said so
            if not self.passes(*stored):
                raise ValidationError(self.get_violation_error_message(), code=self.violation_error_code)


def within(table, low, high, unit, *fields, above=False):
    """A named check for each field: low <= value <= high (`above`: low < value).

    The upper bound is there for NaN too, which PostgreSQL stores and counts as greater than any number.
    """

    def passes(value):
        return (low < value if above else low <= value) and value <= high

    least = "gt" if above else "gte"
    return [
        OneField(
            field=field,
            passes=passes,
            name=f"{table}_{field}_plausible",
            condition=Q(**{f"{field}__{least}": low, f"{field}__lte": high}),
            violation_error_message=f"{field.replace('_', ' ').capitalize()} must be "
            f"{'above' if above else 'at least'} {low:g} and at most {high:g} {unit}.".replace(" .", "."),
        )
        for field in fields
    ]


def one_of(table, unknown=True, **fields):
    """A named check for each field: one of its choices, or empty where it may be unknown."""
    return [
        OneField(
            field=field,
            passes={*choices.values, *([""] if unknown else [])}.__contains__,
            name=f"{table}_{field}_listed",
            condition=Q(**{f"{field}__in": [*choices.values, ""] if unknown else list(choices.values)}),
            violation_error_message=f"{field.replace('_', ' ').capitalize()} must be one of: "
            f"{', '.join(choices.values)}.",
        )
        for field, choices in fields.items()
    ]


def exactly_one(name, first, second, message):
    """One of two references is set, never both and never none."""
    return CheckConstraint(
        name=name,
        condition=Q(**{f"{first}__isnull": True, f"{second}__isnull": False})
        | Q(**{f"{first}__isnull": False, f"{second}__isnull": True}),
        violation_error_message=message,
    )
