"""Spreadsheets in and out: each row is checked as a form would be, and a fault names cell and mend."""

from import_export.fields import Field
from import_export.resources import ModelResource
from import_export.widgets import ForeignKeyWidget


class Named(ForeignKeyWidget):
    """A reference written by name; `called` is the reader's word for what it points to."""

    def __init__(self, model, field, called, **options):
        super().__init__(model, field, **options)
        self.called = called

    def clean(self, value, row=None, **kwargs):
        value = str(value).strip() if value is not None else ""
        try:
            return super().clean(value, row, **kwargs)
        except self.model.DoesNotExist:
            raise ValueError(
                f"no {self.called} called '{value}'; enter it first, or look at the spelling"
            ) from None
        except self.model.MultipleObjectsReturned:
            raise ValueError(
                f"more than one {self.called} is called '{value}'; enter this row by hand"
            ) from None


def reference(attribute, model, field, called, column=None):
    """A column of a sheet that names a row of another table."""
    return Field(attribute=attribute, column_name=column or attribute, widget=Named(model, field, called))


class Sheet(ModelResource):
    """A sheet whose rows pass every rule of the model before anything is written."""

    class Meta:
        clean_model_instances = True  # without it a rule's refusal arrives as a raw error of the database
        skip_unchanged = True
        report_skipped = True
        use_transactions = True
