"""What was looked at is written, all of it or nothing; and what is recorded goes out so that it comes in again."""

from django.core.exceptions import ValidationError
from django.db import IntegrityError, models
from django.db.models import ProtectedError

from marina.base.look import look
from marina.base.tables import EXPLAINED, Known
from marina.base.writing import in_one_go

NEW_PLACE = 1_000_000_000  # added to a number that must be once only, while two rows change places


class Moved(Exception):
    """The records are no longer as they were when the changes were shown."""

    def __init__(self, preview):
        super().__init__("the records changed")
        self.preview = preview


def take_in(book, grids, digest, *, by):
    """Write all that was shown, or nothing.

    Parameters
    ----------
    digest : str
        Of the preview that the person saw.
    by : User

    Returns
    -------
    Preview
        What was written.

    Raises
    ------
    Moved
        The file would now do something else than was shown; it carries the new preview.
    ValidationError
        A rule of the database, or a record that rests on what would go, says no.
    """

    def step():
        preview = look(book, grids, known=Known(lock=True))
        if preview.faults or preview.digest != digest:
            raise Moved(preview)
        for part in preview.parts:
            _write(part, by)
        return preview

    try:
        return in_one_go(step, by=by)
    except ProtectedError as fault:
        kept = next(iter(fault.protected_objects))
        words = f"A record rests on what would go ({kept._meta.verbose_name}: {kept}). Nothing was written."
        raise ValidationError(words) from fault
    except IntegrityError as fault:  # somebody wrote between the look and the pen
        raise Moved(look(book, grids)) from fault


def _write(part, by):
    table, changed = part.table, part.changed
    for stored in table.model._meta.fields:
        if stored.unique and isinstance(stored, models.PositiveIntegerField):
            _step_aside(table.model, stored.attname, changed)
    table.model._default_manager.bulk_create([plan.now for plan in part.new])
    for plan in changed:
        plan.now.save()
    table.also_write(part, by)


def _step_aside(model, name, changed):
    """Rows that change places would for a moment be two with one number: those let go of theirs first."""
    moving = [plan.was for plan in changed if getattr(plan.was, name) != getattr(plan.now, name)]
    for row in moving:
        aside = model._default_manager.get(pk=row.pk)
        setattr(aside, name, NEW_PLACE + row.pk)
        aside.save(update_fields=[name])


# --- out ---


def rows_out(table, known=None):
    """A table as rows of values, header first: read back, they change nothing."""
    known = known or Known()
    out = [[column.heading for column in table.columns]]
    for row in known.rows(table):
        out.append([table.value(row, column.name, known) for column in table.columns])
    return out


def workbook_out(book):
    """(title, rows) of every table, and the page that explains the columns."""
    known = Known()
    return [*((table.title, rows_out(table, known)) for table in book.tables), explained(book)]


def template(book):
    """The same without rows: the headers, and the page that explains them."""
    headers = [(table.title, [[column.heading for column in table.columns]]) for table in book.tables]
    return [*headers, explained(book)]


def explained(book):
    """A sheet that says what each column means."""
    rows = [["sheet", "column", "needed", "what it means"]]
    for table in book.tables:
        rows += [
            [table.title, column.heading, "yes" if column.must else "", column.words]
            for column in table.columns
        ]
    return EXPLAINED, rows
