"""What a file would change in the records, row by row and cell by cell. Nothing is written here."""

from copy import copy

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import CheckConstraint

from marina.base.tables import EXPLAINED, Known, Part, Plan, Preview, Remark


def look(book, grids, *, known=None):
    """What a file would change. Reads only.

    Parameters
    ----------
    book : Book
    grids : list of workbook.Grid

    Returns
    -------
    Preview
    """
    known, preview, given = known or Known(), Preview(), {}
    for grid in grids:
        table = book.table_of(grid, alone=len(grids) == 1)
        if table is None:
            _say_left_out(book, grid, preview)
        elif table in given:
            words = f"There are two tables of {table.title} in the file. Put them into one."
            preview.faults.append(Remark(grid.title, None, "", words))
        else:
            given[table] = grid
    if not given and not preview.faults:
        titles = ", ".join(f"'{table.column[table.key].heading}'" for table in book.tables)
        words = (
            f"No table here is one of this page: none has a column {titles}. Start from the empty template."
        )
        preview.faults.append(Remark("", None, "", words))
    for table in book.tables:
        if table in given:
            _look_at(table, given[table], known, preview)
    return preview


def _say_left_out(book, grid, preview):
    if grid.title != EXPLAINED and grid.title:
        titles = ", ".join(table.title for table in book.tables)
        preview.notes.append(f"The sheet '{grid.title}' is left out: only {titles} are read here.")


def _look_at(table, grid, known, preview):
    names, wrong = table.headings(grid.header)
    preview.faults += [Remark(table.title, None, heading, words) for heading, words in wrong]
    preview.parts.append(part := Part(table))
    if wrong:
        return
    preview.notes += [f"{table.title.capitalize()}: {words}" for words in table.notes(names)]
    before = {table.key_of(row): row for row in known.rows(table)}
    alike, seen = {key.casefold(): key for key in before}, {}
    for line, cells in grid.rows:
        told = {name: cell for name, cell in zip(names, cells, strict=False) if name}
        key, faults = told.get(table.key, ""), []
        if not key:
            faults = [
                (table.key, "This cell is empty: by it the row is known. Fill it in or take the row out.")
            ]
        elif key.casefold() in seen:
            told_at = seen[key.casefold()]
            faults = [(table.key, f"'{key}' stands in line {told_at} already. Take one of the two out.")]
        elif key not in before and key.casefold() in alike:
            written = alike[key.casefold()]
            faults = [(table.key, f"In the records it is written '{written}'. Write it so here too.")]
        else:
            seen[key.casefold()] = line
            plan, faults = _plan(table, line, told, before.get(key), known)
        if faults:
            preview.faults += [_remark(table, line, *fault) for fault in faults]
            continue
        part.plans.append(plan)
    known.settle(table, part.plans)
    preview.faults += list(_twice(table, part, known))
    preview.faults += [_remark(table, *clash) for clash in table.clashes(part.plans, known)]
    for plan in part.plans:
        if plan.cells:
            doubts = [*_emptied(plan), *table.doubts(plan.now, plan.was, known)]
            preview.doubts += [_remark(table, plan.line, *doubt) for doubt in doubts]


def _emptied(plan):
    for heading, old, new in plan.cells:
        if old and not new:
            yield heading, f"It is {old} now and would be not known."


def _remark(table, line, name, words):
    column = table.column.get(name)
    return Remark(table.title, line, column.heading if column else name, words)


def _plan(table, line, told, was, known):
    now = table.model() if was is None else copy(was)
    if faults := list(_read(table, now, told, was, known)):
        return None, faults
    if faults := _lacking(table, now):
        return None, faults
    after = table.shown(now, known)
    before = table.shown(was, known) if was else dict.fromkeys(after, "")
    plan = Plan(line, was, now, [[h, before[h], after[h]] for h in after if before[h] != after[h]])
    if plan.cells or plan.new:
        faults = [*_rules(table, now), *(table.allowed(now, was) if was else ())]
    return plan, faults


def _read(table, now, told, was, known):
    """Put the cells of a row into the record; yields what is wrong."""
    own = table.own(told)
    for name, text in told.items():
        if name in own:
            continue
        if table.column[name].must and not text:
            yield name, f"This cell is empty. Fill it in: {table.column[name].words}"
            continue
        try:
            _put(table, now, name, text, known)
        except (ValueError, ValidationError) as fault:
            yield name, _sentence(fault)
    if was is None:
        for name, column in table.column.items():
            if column.must and name not in told and name not in own:
                yield name, f"A new row needs this column. {column.words}"
    yield from table.special(now, told, known)


def _put(table, now, name, text, known):
    reader = table.fields[name]
    stored = table.model._meta.get_field(reader.attribute)
    if stored.choices:
        text = _chosen(stored.choices, text)
    value = reader.clean({reader.column_name: text}, known=known.named)
    if isinstance(stored, models.DecimalField) and value is not None:
        value = round(value, stored.decimal_places)
    if value is None and not stored.null and isinstance(stored, models.CharField):
        value = ""
    setattr(now, reader.attribute, value)


def _chosen(choices, text):
    """The value of a choice written as itself or in its words; else what may be written."""
    for value, words in choices:
        if text.casefold() in (str(value).casefold(), str(words).casefold()):
            return value
    if not text:
        return text
    raise ValueError(
        f"'{text}' is none of: {', '.join(value for value, _ in choices if value)}. Write one of these."
    )


def _lacking(table, now):
    """References that a row can't be without."""
    return [
        (f.name, "This cell is empty. Fill it in.")
        for f in table.model._meta.fields
        if f.is_relation and not f.null and getattr(now, f.name, None) is None
    ]


def _rules(table, now):
    """What the rules of the record say, without asking the database row by row."""
    related = {f.name for f in table.model._meta.fields if f.is_relation}
    try:
        now.clean_fields(exclude=related)
        now.clean()
    except ValidationError as fault:
        return [(name, " ".join(words)) for name, words in fault.message_dict.items()]
    out = []
    for rule in table.model._meta.constraints:
        if isinstance(rule, CheckConstraint):
            try:
                rule.validate(table.model, now)
            except ValidationError as fault:
                out.append((getattr(rule, "field", ""), " ".join(fault.messages)))
    return out


def _sentence(fault):
    text = " ".join(fault.messages) if isinstance(fault, ValidationError) else str(fault)
    if "could not be parsed" in text or "Enter a valid date" in text:
        return "This is no date. Write it as 2027-10-14: year, month, day."
    return text[:1].upper() + text[1:]


def _twice(table, part, known):
    """Numbers and names that must be once only, looked at as they will be."""
    for stored in table.model._meta.fields:
        if not stored.unique or stored.primary_key or stored.name == table.key:
            continue
        held = {}
        for row in known.rows(table):
            held.setdefault(getattr(row, stored.attname), []).append(table.key_of(row))
        for plan in part.plans:
            here = [k for k in held[getattr(plan.now, stored.attname)] if k != table.key_of(plan.now)]
            if here and plan.cells:
                value = getattr(plan.now, stored.attname)
                words = f"{value} is that of {here[0]} too. Give one of them another."
                yield _remark(table, plan.line, stored.name, words)
