"""Tables of text out of a CSV file or an XLSX workbook, and back. Pure: no Django.

Reading guesses nothing: a file that is no table, is written in unknown letters, unfolds to something enormous or
holds a formula is refused in a sentence. Whatever is written stays text in a spreadsheet: no cell of ours is ever
taken for a formula.
"""

import csv
import io
import zipfile
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal

import openpyxl
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from openpyxl.utils.exceptions import InvalidFileException

MOST_BYTES = 5_000_000  # of a file
MOST_UNFOLDED = 100_000_000  # bytes a workbook may unfold to: a survey of 2,000 rows is about 2 MB
MOST_ROWS, MOST_COLUMNS = 10_000, 60
FORMULA = (
    "=",
    "+",
    "-",
    "@",
    "\t",
    "\r",
    "'",
)  # what a spreadsheet may take for a formula, and its mark for text
LONG = 60  # letters: what is longer is wrapped
FLOAT_DIGITS = 6  # places kept of a number from a workbook, which holds 0.3 as 0.30000000000000004


class Refused(ValueError):
    """The file as a whole can't be read; the sentence says why and what to do."""


@dataclass
class Grid:
    """One table as it stands in the file: `rows` are (line in the file, cells); `title` is empty for a CSV."""

    title: str
    header: list[str]
    rows: list[tuple[int, list[str]]] = field(default_factory=list)


def read(data, name=""):
    """The tables in a file.

    Parameters
    ----------
    data : bytes
    name : str
        As the file is called, for the sentence.

    Returns
    -------
    list of Grid

    Raises
    ------
    Refused
    """
    if len(data) > MOST_BYTES:
        raise Refused(
            f"The file is larger than {MOST_BYTES // 1_000_000} MB. A survey of 400 berths is a tenth of that: "
            "take pictures and other sheets out, or bring it in as parts."
        )
    if not data.strip():
        raise Refused("The file is empty.")
    grids = _workbook(data) if data[:2] == b"PK" else [_text_table(data, name)]
    grids = [grid for grid in grids if any(grid.header)]
    if not grids:
        raise Refused("There is no table in the file: the first line of a sheet names its columns.")
    return grids


# --- CSV ---


def _text_table(data, name):
    text = _decoded(data, name)
    head = text.split("\n", 1)[0]
    mark = max(",;\t", key=head.count)
    try:
        lines = list(_numbered(csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)))
    except csv.Error as fault:
        raise Refused(
            f"The file is no table that can be read ({fault}). Save it as 'CSV UTF-8' or as .xlsx."
        ) from fault
    return _grid("", [(line, [_as_typed(cell) for cell in cells]) for line, cells in lines])


def _numbered(rows):
    """Each row with the line it begins on: a cell may hold several lines."""
    begins = 1
    for row in rows:
        yield begins, row
        begins = rows.line_num + 1
        _few_enough(begins)


def _decoded(data, name):
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", errors="replace")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data[: fault.start].count(b"\n") + 1
        raise Refused(
            f"The letters of line {line} can't be read: the file is neither a workbook (.xlsx) nor text in UTF-8. "
            "Save it as .xlsx or as 'CSV UTF-8'."
        ) from fault
    if "\x00" in text:
        raise Refused(
            f"{name or 'The file'} is neither a workbook (.xlsx) nor a CSV. Save the table as one of these."
        )
    return text


def _as_typed(cell):
    """Without the mark that keeps a spreadsheet from reading a text as a formula."""
    return cell[1:] if cell[:1] == "'" and cell[1:2] in FORMULA and len(cell) > 1 else cell


# --- XLSX ---


def _workbook(data):
    _unfolds_to_little(data)
    try:
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=False)
        return [_sheet(sheet) for sheet in book.worksheets]
    except Refused:
        raise
    except (
        InvalidFileException,
        zipfile.BadZipFile,
        KeyError,
        ValueError,
        TypeError,
        OSError,
        EOFError,
    ) as fault:
        raise _broken() from fault
    except Exception as fault:  # openpyxl and the XML parser raise what they like on a spoilt file
        raise _broken() from fault


def _broken():
    return Refused(
        "The workbook can't be opened: it is damaged, locked by a password, or no .xlsx. "
        "Open it in your spreadsheet program and save it again as .xlsx."
    )


def _unfolds_to_little(data):
    """A small file may unfold to gigabytes; a zip never gives more than it declares, so that is enough to ask."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as parts:
            size = sum(part.file_size for part in parts.infolist())
    except zipfile.BadZipFile as fault:
        raise _broken() from fault
    if size > MOST_UNFOLDED:
        raise Refused(
            f"The workbook unfolds to {size // 1_000_000} MB, which is no table of a harbour. "
            "Copy the cells into a new workbook and save that."
        )


def _sheet(sheet):
    sheet.reset_dimensions()  # what a file says of its own size is not believed
    rows = []
    for line, cells in enumerate(sheet.iter_rows(max_col=MOST_COLUMNS), start=1):
        _few_enough(line)
        rows.append((line, [_text_of(cell, sheet.title) for cell in cells]))
    return _grid(sheet.title, rows)


def _few_enough(line):
    if line > MOST_ROWS:
        raise Refused(
            f"The table is longer than {MOST_ROWS:,} lines. Bring it in as parts, one pier at a time."
        )


def _text_of(cell, title):
    value = cell.value
    if cell.data_type == "f":
        raise Refused(
            f"Cell {cell.coordinate} of the sheet '{title}' is a formula. Copy the sheet and paste it as values "
            "only, so that you see the figures that are taken in."
        )
    if cell.data_type == "e":
        raise Refused(
            f"Cell {cell.coordinate} of the sheet '{title}' is an error of the spreadsheet: {value}."
        )
    return plain(value)


def plain(value):
    """A value as the text a person would type: yes, no, 2027-10-14, 12.5."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == value.min.time() else value.isoformat(" ")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        value = round(Decimal(repr(value)), FLOAT_DIGITS) if abs(value) < 1e12 else Decimal(repr(value))
    if isinstance(value, Decimal):
        return f"{value.normalize() + 0:f}"
    return str(value)


def _grid(title, rows):
    """The first line that says anything is the header; lines that say nothing are left out."""
    rows = [(line, [cell.strip() for cell in cells]) for line, cells in rows]
    rows = [row for row in rows if any(row[1])]
    if not rows:
        return Grid(title, [])
    (_, header), *rest = rows
    while header and not header[-1]:
        header.pop()
    wide = len(header)
    for line, cells in rest:
        if any(cells[wide:]):
            where = f" of the sheet '{title}'" if title else ""
            raise Refused(
                f"Line {line}{where} has more cells than there are headings. Give each column a heading."
            )
    return Grid(title, header, [(line, (cells + [""] * wide)[:wide]) for line, cells in rest])


# --- out ---


def to_csv(rows):
    """CSV in UTF-8 of rows of values, the header first; begins with the mark by which spreadsheets know UTF-8."""
    out = io.StringIO(newline="")
    csv.writer(out).writerows([_guarded(cell) for cell in row] for row in rows)
    return out.getvalue().encode("utf-8-sig")


def _guarded(value):
    text = plain(value)
    return f"'{text}" if isinstance(value, str) and text.startswith(FORMULA) else text


def to_xlsx(sheets):
    """An XLSX workbook.

    Parameters
    ----------
    sheets : sequence of (str, list of list)
        Title and rows, the header first. Numbers stay numbers; a text is text, whatever it begins with.

    Returns
    -------
    bytes
    """
    book = openpyxl.Workbook(write_only=True)
    for title, rows in sheets:
        sheet = book.create_sheet(title)
        sheet.freeze_panes = "A2"
        for n, width in enumerate(_widths(rows), start=1):
            sheet.column_dimensions[get_column_letter(n)].width = width
        for n, row in enumerate(rows):
            sheet.append([_cell(sheet, value, bold=n == 0) for value in row])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _widths(rows):
    """Wide enough for the header and the first lines."""
    columns = zip(*rows[:30], strict=False)
    return [min(60, 2 + max(len(plain(value)) for value in column)) for column in columns]


BOLD, WRAPPED = Font(bold=True), Alignment(wrap_text=True, vertical="top")


def _cell(sheet, value, bold):
    """A value as openpyxl takes it: a cell of its own only where it needs one, for those are slow."""
    if isinstance(value, Decimal):
        return int(value) if value == int(value) else float(value)
    if isinstance(value, bool):
        value = plain(value)
    if not isinstance(value, str) or not (bold or value.startswith("=") or len(value) > LONG):
        return value
    cell = WriteOnlyCell(sheet, value)
    cell.data_type = "s"  # openpyxl would take a text that begins with = for a formula
    if bold:
        cell.font = BOLD
    if len(value) > LONG:
        cell.alignment = WRAPPED
    return cell
