"""The stock of lines: what there is, how old, and what to replace or look at before the season of storms."""

import io
from datetime import date, timedelta
from decimal import Decimal

import openpyxl
import pytest

from berths.drawing.bars import bars
from berths.drawing.shapes import Polygon, Text
from berths.selectors.stock import next_season, sheets, stock
from marina.base.models import HouseRule
from tests.cast import NOON, days, fix_clock, make_line
from vessels.models import Inspection, Owner

TODAY = NOON.date()  # 14 October 2027; storms from 1 November
LATER = date(2028, 4, 1)

pytestmark = pytest.mark.django_db


def make(tag, *, advice="keep", **fields):
    """A line looked at a month ago and good until next spring, in service for three years."""
    fields = {"next_inspection": LATER, "in_service_on": TODAY - timedelta(days=3 * 365)} | fields
    line = make_line(tag=tag, **fields)
    if advice:
        Inspection.objects.create(line=line, at=NOON - days(30), advice=advice)
    return line


def entry(cast, tag, **options):
    fix_clock(NOON)
    found = stock(cast.hand, TODAY, **options)
    return next((e for e in found.entries if e.line.tag == tag), None)


@pytest.mark.parametrize(
    ("today", "month", "season"),
    [
        (date(2027, 10, 14), 11, date(2027, 11, 1)),
        (date(2027, 11, 1), 11, date(2027, 11, 1)),
        (date(2027, 11, 2), 11, date(2028, 11, 1)),
        (date(2027, 12, 31), 1, date(2028, 1, 1)),
    ],
)
def test_the_next_season_begins_on_the_first_of_its_month(today, month, season):
    assert next_season(today, month) == season


@pytest.mark.parametrize(
    ("fields", "deed", "why"),
    [
        ({}, "", ""),
        ({"advice": "retire"}, "replace", "Its last inspection says so"),
        ({"diameter_found_mm": Decimal("14.0")}, "replace", "more than a tenth down"),  # R-RET-2
        ({"advice": "light_use"}, "look", "not to hold a boat"),
        ({"advice": None}, "look", "Never inspected"),
        ({"strength": None}, "look", "nobody knows what it bears"),
        ({"state": "quarantine"}, "look", "before it has been inspected"),
        ({"next_inspection": date(2027, 10, 31)}, "look", "falls due before then"),
        ({"next_inspection": date(2027, 11, 2)}, "", ""),
        ({"next_inspection": None}, "look", "No inspection is set"),
        ({"in_service_on": date(2017, 10, 20)}, "look", "10 years old by then"),
        ({"in_service_on": date(2017, 11, 20)}, "", ""),
        ({"in_service_on": None, "made_on": date(2017, 10, 20)}, "look", "10 years old by then"),
    ],
)
def test_what_is_to_be_done_before_the_storms(cast, fields, deed, why):
    make("WH-7", **fields)
    found = entry(cast, "WH-7")
    assert (found.deed, why in found.why) == (deed, True)


def test_the_house_says_when_the_storms_begin(cast):
    make("WH-7", next_inspection=date(2027, 11, 15))
    assert entry(cast, "WH-7").deed == ""
    HouseRule.objects.create(key="storm_season", value=12, reason="the gales come late here")
    assert entry(cast, "WH-7").deed == "look"


@pytest.mark.parametrize("state", ["retired", "destroyed", "ordered"])
def test_what_is_not_there_to_be_used_is_not_stock(cast, state):
    make("WH-7", state=state)
    fix_clock(NOON)
    found = stock(cast.hand, TODAY)
    assert not found.entries
    assert [line.tag for line in found.to_cut] == (["WH-7"] if state == "retired" else [])


def test_the_harbours_own_and_everybodys(cast):
    make("WH-7")
    make("B3-1", owner_kind="holder", owner=Owner.objects.create(name="Ludo Packthread"))
    fix_clock(NOON)
    ours, all_of_it = stock(cast.hand, TODAY), stock(cast.hand, TODAY, everybody=True)
    assert ([e.line.tag for e in ours.entries], ours.others) == (["WH-7"], 1)
    assert (len(all_of_it.entries), all_of_it.others) == (2, 0)


def test_sums_by_diameter_and_material(cast):
    make("WH-1")  # 12 m of 16 mm
    make("WH-2", total_length=Decimal("20.5"), in_service_on=TODAY - timedelta(days=8 * 365))
    make("WH-3", total_length=None, advice="retire")  # its working length, 10.5 m
    make("WH-4", total_length=None, working_length=None)
    make("WH-5", diameter_mm=Decimal(12), material="polyester_braid")
    make("WH-6", diameter_mm=None, material="", in_service_on=None)
    fix_clock(NOON)
    found = stock(cast.hand, TODAY)
    assert [(s.name, len(s.lines), s.metres, s.unmeasured, s.replaced, s.replace) for s in found.sorts] == [
        ("12 mm polyester braid", 1, 12, 0, 0, 0),
        ("16 mm nylon three-strand", 4, 43, 1, 1, 10.5),
        ("sort not known", 1, 12, 0, 0, 0),
    ]
    assert found.sorts[1].oldest == pytest.approx(8, abs=0.05)
    assert dict(found.ages) == {
        "under 2 years": [0, 0, 0], "2 to 5 years": [3, 0, 1], "5 to 10 years": [1, 0, 0],
        "10 years and more": [0, 0, 0], "age not known": [1, 0, 0],
    }  # fmt: skip


def test_storm_gear_goes_first(cast):
    for tag, use in (("WH-1", "store"), ("WH-2", "permanent"), ("WH-3", "storm")):
        make(tag, kept_for=use, advice="retire")
    fix_clock(NOON)
    assert [e.line.tag for e in stock(cast.hand, TODAY).replace] == ["WH-3", "WH-2", "WH-1"]


# --- the pictures ---

PARTS = ("nothing found", "to look at", "to replace")


def test_bars_are_as_long_as_their_values_and_keep_inside_the_frame():
    rows = [
        ("16 mm nylon three-strand", (120.0, 30.0, 10.0)),
        ("12 mm hmpe", (0.0, 80.0, 0.0)),
        ("20 mm x", (0, 0, 0)),
    ]
    drawing = bars("Length of line by sort, m", PARTS, rows, "m")

    def long(of):
        (bar,) = [s for s in drawing.of(of) if isinstance(s, Polygon)]
        us = [u for u, _ in bar.points]
        return max(us) - min(us)

    per_metre = long("16 mm nylon three-strand: nothing found") / 120
    assert long("16 mm nylon three-strand: to replace") == pytest.approx(10 * per_metre)
    assert long("12 mm hmpe: to look at") == pytest.approx(80 * per_metre)
    assert not drawing.of("20 mm x: nothing found")
    left, low, right, high = drawing.box
    for shape in drawing.shapes:
        u1, v1, u2, v2 = shape.bounds()
        assert (left <= u1, low <= v1, u2 <= right, v2 <= high) == (True, True, True, True), shape
    texts = [s.bounds() for s in drawing.shapes if isinstance(s, Text)]
    assert not any(_meet(a, b) for n, a in enumerate(texts) for b in texts[:n])


def _meet(a, b):
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def test_bars_say_in_words_what_they_show_and_no_two_parts_look_alike():
    drawing = bars(
        "Lines by age", PARTS, [("under 2 years", (3, 0, 1)), ("age not known", (0, 0, 0))], "lines"
    )
    assert drawing.sentences == (
        "under 2 years: 4 lines (nothing found 3, to replace 1).", "age not known: 0 lines."
    )  # fmt: skip
    key = {s.pen for s in drawing.of("key ") if isinstance(s, Polygon)}
    assert len(key) == 3
    assert bars("Nothing", PARTS, [], "m").sentences == ()


# --- the page and the workbook ---


def test_the_page_says_what_to_do_first(client, cast):
    fix_clock(NOON)
    make("WH-1", advice="retire")
    make("WH-2", state="retired")
    make("WH-3")
    client.force_login(cast.hand)
    page = client.get("/lines/report/").content.decode()
    assert "Before the storms: 1 November 2027" in page and "To replace: 1. To look at: none." in page
    assert (
        page.index("WH-1")
        < page.index("Retired, still here")
        < page.index("WH-2")
        < page.index("What there is")
    )
    assert page.count('role="img"') == 2 and "<title>Lines by age</title>" in page
    assert "12.00 m of 16 mm nylon three-strand; the lengths as recorded." in page


def test_an_empty_store_has_its_page(client, cast):
    client.force_login(cast.hand)
    answer = client.get("/lines/report/")
    assert answer.status_code == 200 and "0 lines" in answer.content.decode()


@pytest.mark.parametrize("lines", [3, 40])
def test_the_page_asks_a_fixed_number_of_questions(client, cast, django_assert_max_num_queries, lines):
    for n in range(lines):
        make(f"WH-{n}")
    client.force_login(cast.hand)
    with django_assert_max_num_queries(10):
        client.get("/lines/report/")


def test_the_workbook_holds_the_same(client, cast):
    fix_clock(NOON)
    make("WH-1", advice="retire", home="=hook")
    make("WH-2")
    client.force_login(cast.hand)
    book = openpyxl.load_workbook(io.BytesIO(client.get("/lines/report.xlsx").content))
    assert book.sheetnames == ["stock", "before 2027-11-01", "lines"]
    assert [c.value for c in book["stock"][2]][:4] == ["16 mm", "nylon three-strand", 2, 24]
    (row,) = book["before 2027-11-01"].iter_rows(min_row=2)
    assert [row[0].value, row[1].value] == ["WH-1", "replace"]
    assert "=hook" in [c.value for c in row] and all(c.data_type != "f" for c in row)
    assert len(list(book["lines"].iter_rows(min_row=2))) == 2
    assert sheets(stock(cast.hand, TODAY))[2][1][0][0] == "tag"
