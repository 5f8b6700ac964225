"""One way to write: in the name of a person, in one transaction, refused in the words the form would use."""

from functools import cache

from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import IntegrityError, OperationalError, transaction

from marina.base.actor import acting

BUSY = "The records are busy. Nothing was written; try again."


def in_one_go(step, *, by):
    """Do `step` in one transaction and return what it returns.

    Parameters
    ----------
    step : callable without arguments
        Reads what it depends on, checks it and writes. It may be run twice.
    by : User or None
        Whom the trail names.

    Raises
    ------
    ValidationError
        Where a rule of the database says no, in the words the form uses for the same rule; or when the
        database was busy twice. An error that no rule explains is raised as it is.
    """
    for last in (False, True):
        try:
            with acting(by), transaction.atomic():
                return step()
        except IntegrityError as error:
            words = words_of(error)
            if words is None:
                raise
            raise ValidationError(words, code="refused") from error
        except OperationalError as error:  # locked, or two writers that waited for each other
            if last:
                raise ValidationError(BUSY, code="busy") from error
    return None


def words_of(error):
    """The sentence of the rule that a database error names; None when it names none."""
    text = str(error)
    found = [name for name in _sentences() if name in text]
    return _sentences()[max(found, key=len)] if found else None


@cache
def _sentences():
    return {
        rule.name: str(rule.get_violation_error_message())
        for model in apps.get_models()
        for rule in model._meta.constraints
    }
