"""Spreadsheets in and out: each row is checked as a form would be, and a fault names cell and mend."""

import re
from decimal import Decimal
from functools import partial

from import_export.fields import Field
from import_export.resources import ModelResource
from import_export.widgets import BooleanWidget, DateWidget, DecimalWidget, ForeignKeyWidget, IntegerWidget

NUMBER = re.compile(r"[-+]?\d+([.,]\d+)?")


class Number(DecimalWidget):
    """A number as a person types it, with a decimal point or comma; no thousands, no NaN."""

    def clean(self, value, row=None, **kwargs):
        text = "" if value is None else str(value).strip()
        if not text:
            return None
        if not NUMBER.fullmatch(text):
            raise ValueError(f"'{text}' is no number; write for instance 12.5, or leave it empty: not known")
        return Decimal(text.replace(",", "."))


class Whole(IntegerWidget):
    def clean(self, value, row=None, **kwargs):
        number = Number().clean(value)
        if number is not None and number != int(number):
            raise ValueError(f"'{value}' is no whole number")
        return None if number is None else int(number)


class YesNo(BooleanWidget):
    """yes or no, 1 or 0, true or false; empty is not known. Any other word is refused, not taken for no."""

    def clean(self, value, row=None, **kwargs):
        text = "" if value is None else str(value).strip().lower()
        words = {"1": True, "true": True, "yes": True, "0": False, "false": False, "no": False, "": None}
        if text not in words:
            raise ValueError(f"'{value}': write yes or no, or leave it empty: not known")
        return words[text]


class Named(ForeignKeyWidget):
    """A reference written by name; `called` is the reader's word for what it points to."""

    def __init__(self, model, field, called, **options):
        super().__init__(model, field, **options)
        self.called = called

    def clean(self, value, row=None, known=None, **kwargs):
        """`known(model, field, value)` finds rows that are not written yet; without it the database is asked."""
        value = str(value).strip() if value is not None else ""
        if not value:
            return None
        if known is None:
            known = self._stored
        rows = known(self.model, self.field, value)
        if not rows:
            raise ValueError(f"no {self.called} called '{value}'; enter it first, or look at the spelling")
        if len(rows) > 1:
            raise ValueError(f"more than one {self.called} is called '{value}'; enter this row by hand")
        return rows[0]

    @staticmethod
    def _stored(model, field, value):
        return list(model._default_manager.filter(**{field: value})[:2])


def reference(attribute, model, field, called, column=None):
    """A column of a sheet that names a row of another table."""
    return Field(attribute=attribute, column_name=column or attribute, widget=Named(model, field, called))


class Sheet(ModelResource):
    """A sheet whose rows pass every rule of the model before anything is written.

    Dates as text are read as 2027-10-14 only: 03/04/2027 would mean two days.
    """

    WIDGETS_MAP = ModelResource.WIDGETS_MAP | {
        "DecimalField": Number,
        **{name: Whole for name in ModelResource.WIDGETS_MAP if "Integer" in name},
        "BooleanField": YesNo,
        "DateField": partial(DateWidget, format="%Y-%m-%d"),
    }

    class Meta:
        clean_model_instances = True  # without it a rule's refusal arrives as a raw error of the database
        skip_unchanged = True
        report_skipped = True
        use_transactions = True
