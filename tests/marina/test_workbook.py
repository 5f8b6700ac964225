"""Tables out of files: CSV and XLSX as people save them, and files that are none."""

import io
import re
import zipfile
from decimal import Decimal

import openpyxl
import pytest

from marina.base import workbook
from marina.base.workbook import Refused, read, to_csv, to_xlsx

ROWS = [
    ["berth", "length [m]", "in use", "note"],
    ["B1", Decimal("12.5000"), True, ""],
    ["B2", Decimal("-0.0001"), None, '=HYPERLINK("x")'],
    ["007", 3, False, "'quoted'"],
    ["B4", None, None, "-3 m of mud; look, twice\nevery spring"],
]
READ = [
    (2, ["B1", "12.5", "yes", ""]),
    (3, ["B2", "-0.0001", "", '=HYPERLINK("x")']),
    (4, ["007", "3", "no", "'quoted'"]),
    (5, ["B4", "", "", "-3 m of mud; look, twice\nevery spring"]),
]


@pytest.mark.parametrize("out", [to_csv, lambda rows: to_xlsx([("berths", rows)])], ids=["csv", "xlsx"])
def test_what_goes_out_is_read_back(out):
    (grid,) = read(out(ROWS))
    assert grid.header == ROWS[0]
    assert grid.rows == READ


def test_no_text_of_ours_is_a_formula_in_a_spreadsheet():
    texts = ["=1+1", "+1", "-1+x", "@SUM(A1)", "\tx", "\rx"]
    lines = to_csv([["note"], *([text] for text in texts)]).decode("utf-8-sig")
    assert not any(line.startswith(("=", "+", "-", "@", "\t", "\r")) for line in lines.split("\r\n"))
    book = openpyxl.load_workbook(io.BytesIO(to_xlsx([("x", [["note"], ["=1+1"]])])))
    assert book["x"]["A2"].data_type == "s"


def test_a_number_below_zero_stays_a_number():
    assert "-2.4" in to_csv([["bed"], [Decimal("-2.4")]]).decode().split()
    book = openpyxl.load_workbook(io.BytesIO(to_xlsx([("x", [["bed"], [Decimal("-2.4")]])])))
    assert book["x"]["A2"].value == -2.4


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_a_csv_may_be_parted_by_comma_semicolon_or_tab(mark):
    (grid,) = read(f"berth{mark}length\nB1{mark}12\n".encode())
    assert (grid.header, grid.rows) == (["berth", "length"], [(2, ["B1", "12"])])


def test_the_line_told_is_the_line_in_the_file():
    (grid,) = read(b'\nberth,note\n\nB1,"two\nlines"\nB2,\n')
    assert [line for line, _ in grid.rows] == [4, 6]


def test_letters_of_a_spreadsheet_program_are_read():
    (grid,) = read("berth\tnote\r\nÅ1\tkärr\r\n".encode("utf-16"))
    assert grid.rows == [(2, ["Å1", "kärr"])]


def test_noise_of_a_calculation_is_left_out():
    book = openpyxl.Workbook()
    for row in (["x"], [0.1 + 0.2], [1e-05], [12.0]):
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    assert [cells for _, cells in read(out.getvalue())[0].rows] == [["0.3"], ["0.00001"], ["12"]]


def formula():
    book = openpyxl.Workbook()
    book.active.title = "berths"
    for row in (["berth", "length"], ["B1", "=6*2"]):
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def bomb():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as parts:
        parts.writestr("xl/worksheets/sheet1.xml", b"0" * (workbook.MOST_UNFOLDED + 1))
    return out.getvalue()


def one_row_far_down():
    """A few bytes that unfold to a million empty rows."""
    data = to_xlsx([("berths", [["berth"], ["B1"]])])
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            text = old.read(name)
            if "sheet1" in name:
                text = text.replace(b'r="2"', b'r="1048576"').replace(b'r="A2"', b'r="A1048576"')
            new.writestr(name, text)
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"),
        (b"x" * (workbook.MOST_BYTES + 1), "larger than 5 MB"),
        ("berth,note\nB1,kärr\n".encode("latin-1"), "letters of line 2 can't be read"),
        (b"\x00\x01\x02berth", "neither a workbook (.xlsx) nor a CSV"),
        (b"PK\x03\x04 no zip at all", "can't be opened"),
        (to_xlsx([("berths", [["berth"]])])[:-200], "can't be opened"),
        (formula(), "Cell B2 of the sheet 'berths' is a formula"),
        (bomb(), "unfolds to 100 MB"),
        (one_row_far_down(), "longer than 10,000 lines"),
        (b"berth\n" + b"B\n" * 10_001, "longer than 10,000 lines"),
        (b"berth,note\nB1,x,y\n", "Line 2 has more cells than there are headings"),
        (b'berth,note\nB1,"never closed\n', "no table that can be read"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1 an old workbook", "can't be read"),
    ],
    ids=[
        "empty",
        "large",
        "letters",
        "bytes",
        "no zip",
        "cut",
        "formula",
        "bomb",
        "far",
        "long",
        "wide",
        "open",
        "xls",
    ],
)
def test_a_file_that_is_none_gets_a_sentence(data, says):
    with pytest.raises(Refused, match=re.escape(says)):
        read(data, "survey")
