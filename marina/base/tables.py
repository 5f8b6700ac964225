"""Tables that come and go as spreadsheets: what a table is, and what a file would do to its records.

A `Book` is a set of tables that come in one workbook. `look.look` compares a file with the records, `bringin.take_in`
writes. Cells are read and written by the `Sheet` of the table (see `sheets.py`): a cell has one meaning everywhere.
"""

import hashlib
import json
from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import cached_property

import yaml
from django.db import models

from marina.base.workbook import plain

EXPLAINED = "Columns explained"


@dataclass(frozen=True)
class Column:
    """`must`: a new row needs it. `kept`: it is a column of the record; else it only helps to read the row."""

    name: str
    heading: str
    words: str
    must: bool = False
    kept: bool = True


@dataclass(frozen=True)
class Remark:
    """What is wrong or doubtful, where it stands, and what to do."""

    sheet: str
    line: int | None
    column: str
    words: str


@dataclass
class Plan:
    """One row of the file: the record as it is (None: new) and as it would be."""

    line: int
    was: models.Model | None
    now: models.Model
    cells: list  # (heading, old, new) of what differs

    @property
    def new(self):
        return self.was is None


@dataclass
class Part:
    """What one table of the file would do."""

    table: "Table"
    plans: list = field(default_factory=list)

    @property
    def new(self):
        return [plan for plan in self.plans if plan.new]

    @property
    def changed(self):
        return [plan for plan in self.plans if plan.cells and not plan.new]

    @property
    def unchanged(self):
        return sum(not plan.cells and not plan.new for plan in self.plans)


@dataclass
class Preview:
    parts: list = field(default_factory=list)
    faults: list = field(default_factory=list)
    doubts: list = field(default_factory=list)
    notes: list = field(default_factory=list)

    @property
    def differs(self):
        return any(part.new or part.changed for part in self.parts)

    @cached_property
    def digest(self):
        """The same when, and only when, the same would be written over the same records."""
        all_of_it = [
            [part.table.title, [[p.line, p.new, part.table.key_of(p.now), p.cells] for p in part.plans]]
            for part in self.parts
        ]
        return hashlib.sha256(json.dumps(all_of_it).encode()).hexdigest()


class Known:
    """The records as they will be once the tables read so far are in; each model is read once."""

    def __init__(self, lock=False):
        self.lock, self.kept, self.index, self.found = lock, {}, {}, {}

    def rows(self, table_or_model):
        model = getattr(table_or_model, "model", table_or_model)
        if model not in self.kept:
            rows = table_or_model.all() if isinstance(table_or_model, Table) else model._default_manager.all()
            self.kept[model] = list(rows.select_for_update(of=("self",)) if self.lock else rows)
        return self.kept[model]

    def named(self, model, attribute, value):
        if (model, attribute) not in self.index:
            found = self.index[model, attribute] = {}
            for row in self.rows(model):
                found.setdefault(getattr(row, attribute), []).append(row)
        return self.index[model, attribute].get(value, [])

    def extra(self, what, find):
        """Something worked out from the rows, once for as long as they stay the same."""
        if what not in self.found:
            self.found[what] = find()
        return self.found[what]

    def settle(self, table, plans):
        """From now on the planned rows stand for those they replace."""
        instead = {plan.was.pk: plan.now for plan in plans if plan.was}
        rows = [instead.get(row.pk, row) for row in self.rows(table)]
        self.kept[table.model] = rows + [plan.now for plan in plans if plan.new]
        self.index = {key: rows for key, rows in self.index.items() if key[0] is not table.model}
        self.found = {}


class Table:
    """One table: which Sheet reads its cells, by which column a row is known, and what its columns mean.

    Subclasses add what is special: columns that are no field of the record, doubts, and what to write besides.
    """

    title = ""
    sheet = None
    key = ""
    columns = ()

    def __init__(self):
        self.fields = self.sheet().fields
        self.model = self.sheet._meta.model
        self.column = {column.name: column for column in self.columns}

    # --- to be changed by a table ---

    def all(self):
        """The records, with what `value` needs of other tables."""
        return self.model._default_manager.all()

    def value(self, row, name, known):
        """What a column holds, as a number, text, date or yes and no; None and '' where nothing is known."""
        reader = self.fields[name]
        value = reader.get_value(row)
        return getattr(value, reader.widget.field) if isinstance(value, models.Model) else value

    def special(self, row, cells, known):
        """Read what is no plain field; yields (column, words) of what is wrong. Names read are left out later."""
        return ()

    def own(self, cells):
        """Names of the given columns that `special` reads instead of the Sheet."""
        return {name for name in cells if name not in self.fields}

    def allowed(self, row, was):
        """(column, words) of what may not be done to this record by a sheet."""
        return ()

    def doubts(self, row, was, known):
        """(column, words) of what is possible, but looks like a slip."""
        return ()

    def clashes(self, plans, known):
        """(line, column, words) of rows that can't be in together, looked at as they will be."""
        return ()

    def notes(self, given):
        """Sentences about the table as a whole, given the names of its columns."""
        return ()

    def also_write(self, part, by):
        """After the rows themselves are written."""

    # --- the same for all ---

    def key_of(self, row):
        return getattr(row, self.key)

    def shown(self, row, known):
        """Heading -> text of every kept column."""
        kept = (column for column in self.columns if column.kept)
        return {column.heading: plain(self.value(row, column.name, known)) for column in kept}

    def headings(self, header):
        """(names in the order of the header, faults in words); a heading may leave out its unit."""
        names, faults = [], []
        for heading in header:
            name = self._named(heading)
            if heading and name is None:
                near = get_close_matches(_bare(heading), [_bare(c.heading) for c in self.columns], n=1)
                meant = f" Is '{near[0]}' meant?" if near else ""
                faults.append(
                    (heading, f"No column is called '{heading}'.{meant} Mend the name or take it out.")
                )
            elif name in names and name is not None:
                faults.append((heading, "This column is there twice. Take one out."))
            names.append(name)
        if self.key not in names:
            faults.append((self.column[self.key].heading, "This column is missing: by it a row is known."))
        return names, faults

    def _named(self, heading):
        told = _bare(heading)
        for column in self.columns:
            if told in (_bare(column.heading), column.name):
                return column.name
        return None

    def fits(self, header):
        """How well a header fits this table: None when its key is not there."""
        names = [self._named(heading) for heading in header if heading]
        return None if self.key not in names else sum(name is not None for name in names) / len(names)


def _bare(heading):
    """'length [m]' and 'Length' are the same heading."""
    return " ".join(heading.split("[")[0].replace("_", " ").casefold().split())


class Book:
    """Tables that come in one workbook, in the order in which they rest on each other."""

    def __init__(self, name, title, tables, words=""):
        self.name, self.title, self.tables, self.words = name, title, tables, words

    def table_of(self, grid, alone):
        """The table a grid is meant for; None when it can't be told."""
        for table in self.tables:
            if grid.title.casefold() == table.title.casefold():
                return table
        if not alone:
            return None
        fits = [(fit, table) for table in self.tables if (fit := table.fits(grid.header)) is not None]
        return max(fits, key=lambda pair: pair[0])[1] if fits else None


def columns_of(path, table):
    """The columns of a table, from its file of headings.

    Each row is name, heading, meaning; `!` before a heading: a new row needs it; `?`: it helps to read the row
    and is not part of the record.
    """
    out = []
    for name, heading, words in yaml.safe_load(path.read_text())[table]:
        bare = heading.lstrip("!?")
        out.append(Column(name, bare, words, must=heading.startswith("!"), kept=not heading.startswith("?")))
    return tuple(out)
