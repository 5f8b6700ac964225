"""Survey and register brought in from spreadsheets: looked at first, then all of it or nothing."""

import io
from decimal import Decimal

import openpyxl
import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile

from berths.models import Berth, BerthFace, BerthFastening, Face, Fastening, Pier, SetPosition
from berths.surveybook import SURVEY
from marina.base import workbook
from marina.base.bringin import Moved, rows_out, take_in, template, workbook_out
from marina.base.look import look
from marina.base.models import Trail
from marina.base.tables import EXPLAINED
from marina.base.workbook import read, to_csv, to_xlsx
from tests import cast as make
from tests.rows import line_set
from vessels.models import Line, LineEvent, Owner
from vessels.sheets import REGISTER

pytestmark = pytest.mark.django_db

BERTHS = "berth,pier,water,kind,walking order,datum,east,north,bearing,length,bed,clear width\n"
B1 = "B1,Heron Pier,basin,slip,1,CD,0,0,90,12,-0.9,4.6\n"
B2 = "B2,Heron Pier,basin,slip,2,CD,0,5,90,12,-0.9,4.6\n"
PILES = "fastening,berths,kind,measured in berth,along it,left of it,height,floats,strength\n"
SHARED = '"P12","B1 = P1; B2 = P2 ""outer pile, sea side""",pile,B1,12,2.5,2.1,no,25000\n'


@pytest.fixture
def basin():
    make.make_pier(name="Heron Pier")
    return make.make_water(name="basin")


def grids(text):
    return read(text.encode())


def faults(text, book=SURVEY):
    return [(f.line, f.column, f.words) for f in look(book, grids(text)).faults]


def take(text, book=SURVEY, by=None):
    found = grids(text)
    return take_in(book, found, look(book, found).digest, by=by)


@pytest.fixture
def two_berths(basin):
    take(BERTHS + B1 + B2)


# --- a whole survey ---


def test_a_survey_comes_in_as_one_workbook_with_piers_that_are_new(cast):
    make.make_water(name="basin")
    sheets = [("piers", "pier,walking order\nHeron Pier,1\n"), ("berths", BERTHS + B1 + B2)]
    sheets += [("fastenings", PILES + SHARED)]
    sheets += [
        (
            "faces",
            "face,berths,measured in berth,along1,left1,along2,left2,floats,top\nB/dock,B1 = dock; B2 = dock,B1,0,-3,0,8,no,3.7\n",
        )
    ]
    book = read(to_xlsx([(title, [cells for _, cells in _all(text)]) for title, text in sheets]))
    preview = look(SURVEY, book)
    assert not preview.faults and not Berth.objects.exists()
    assert [(len(p.new), len(p.changed), p.unchanged) for p in preview.parts] == [
        (1, 0, 0),
        (2, 0, 0),
        (1, 0, 0),
        (1, 0, 0),
    ]
    take_in(SURVEY, book, preview.digest, by=cast.harbourmaster)
    pile, face = Fastening.objects.get(), Face.objects.get()
    assert [(u.berth.code, u.code, u.words) for u in pile.berths.all()] == [
        ("B1", "P1", ""),
        ("B2", "P2", "outer pile, sea side"),
    ]
    assert (pile.east, pile.north) == (12, Decimal("2.5"))  # bearing 90: along is east, left is north
    assert (face.east1, face.north1, face.east2, face.north2) == (0, -3, 0, 8)
    assert Pier.objects.get().berths.count() == 2
    assert BerthFace.objects.count() == 2


def _all(text):
    (grid,) = read(text.encode())
    return [(1, grid.header), *grid.rows]


def test_what_goes_out_comes_in_as_no_change(two_berths):
    take(PILES + SHARED)
    make.make_berth(
        kind="floating", ladders=[{"id": "ladder 1", "x1": 4, "x2": 4.5, "y1": -0.2, "y2": 0}], note="=1+1"
    )
    berth = make.make_berth(east=Decimal("1.2345"), bearing_deg=Decimal("211.37"))
    berth.fastenings.update(words='"Long Tom"; the bent one')
    make.make_line(owner=Owner.objects.create(name="Wren Scuppernong"), note="'tis old")
    written = Trail.objects.count()
    for book in (SURVEY, REGISTER):
        files = [to_xlsx(workbook_out(book)), *(to_csv(rows_out(table)) for table in book.tables)]
        for data in files:
            preview = look(book, read(data))
            assert not preview.faults and not preview.differs and not preview.notes
            take_in(book, read(data), preview.digest, by=None)
    assert Trail.objects.count() == written


def test_the_empty_workbook_has_its_columns_explained_and_changes_nothing():
    for book in (SURVEY, REGISTER):
        data = to_xlsx(template(book))
        sheets = openpyxl.load_workbook(io.BytesIO(data))
        assert sheets.sheetnames == [*(table.title for table in book.tables), EXPLAINED]
        said = {(row[0], row[1]) for row in sheets[EXPLAINED].iter_rows(min_row=2, values_only=True)}
        assert said == {(t.title, c.heading) for t in book.tables for c in t.columns}
        preview = look(book, read(data))
        assert not preview.faults and not preview.differs


def test_every_field_of_the_record_has_a_column():
    for book in (SURVEY, REGISTER):
        for table in book.tables:
            assert set(table.fields) <= {column.name for column in table.columns}


# --- what is shown ---


def test_changes_are_told_cell_by_cell_and_only_what_is_given_is_touched(two_berths):
    preview = look(SURVEY, grids("berth,length,clear width\nB1,12.5,\nB2,12,4.6\n"))
    (part,) = preview.parts
    assert part.unchanged == 1
    assert [plan.cells for plan in part.changed] == [
        [["length [m]", "12", "12.5"], ["clear width [m]", "4.6", ""]]
    ]
    take("berth,length,clear width\nB1,12.5,\nB2,12,4.6\n")
    berth = Berth.objects.get(code="B1")
    assert (berth.length, berth.clear_width, berth.bed_z) == (Decimal("12.5"), None, Decimal("-0.9"))


@pytest.mark.parametrize(
    ("row", "column", "says"),
    [
        (B1.replace(",12,", ",twelve,"), "length [m]", "'twelve' is no number"),
        (B1.replace(",12,", ",NaN,"), "length [m]", "'NaN' is no number"),
        (B1.replace("Heron", "Herron"), "pier", "No pier called 'Herron Pier'"),
        (B1.replace("slip", "hammock"), "kind", "'hammock' is none of: floating, slip"),
        (B1.replace("CD", "ODN"), "datum", "Heights are given above 'ODN', but basin counts from 'CD'"),
        (B1.replace(",4.6", ",0"), "clear width [m]", "must be above 0"),
        (B1.replace(",12,", ",,"), "length [m]", "This cell is empty"),
        (B1.replace("B1,", ","), "berth", "This cell is empty"),
        (B1.replace("slip,1,", "slip,1.5,"), "walking order", "no whole number"),
        (B1.replace(",90,", ",400,"), "bearing [degrees]", "at most 360"),
        (B1.replace("B1", "a code that is far too long"), "berth", "at most 12"),
    ],
)
def test_a_bad_row_is_named_with_line_column_and_what_to_do(basin, row, column, says):
    told = faults(BERTHS + B2 + row)
    assert [(line, where) for line, where, _ in told] == [(3, column)]
    assert says in told[0][2]


def test_with_one_bad_row_nothing_is_written(basin):
    text = BERTHS + B1 + B2.replace(",12,", ",twelve,")
    with pytest.raises(Moved):
        take(text)
    assert not Berth.objects.exists()


def test_headings_are_not_guessed(basin):
    told = faults(BERTHS.replace("length", "lenght").replace("bed", "bearing") + B1)
    assert ("No column is called 'lenght'. Is 'length' meant?") in told[0][2]
    assert "twice" in told[1][2]
    assert (
        "by it a row is known" in faults("water level,length\n1,2\n")[0][2]
        or "none has a column" in faults("water level,length\n1,2\n")[0][2]
    )


def test_a_row_may_not_stand_there_twice_nor_two_have_one_number(basin):
    assert "stands in line 2 already" in faults(BERTHS + B1 + B1)[0][2]
    told = faults(BERTHS + B1 + B2.replace("slip,2", "slip,1"))
    assert {words for _, _, words in told} == {
        "1 is that of B1 too. Give one of them another.",
        "1 is that of B2 too. Give one of them another.",
    }


def test_sheets_that_are_not_read_are_named(two_berths):
    data = to_xlsx([("berths", [["berth"], ["B1"]]), ("Boats", [["name"], ["Kittiwake"]])])
    assert look(SURVEY, read(data)).notes == [
        "The sheet 'Boats' is left out: only piers, berths, fastenings, faces are read here."
    ]


@pytest.mark.parametrize(
    ("cells", "column", "says"),
    [
        ('"B1 = P1; B9 = P2",pile,B1,12,2.5,2.1,no,25000', "berths", "no berth 'B9'"),
        ('"B1 = P1; B1 = P2",pile,B1,12,2.5,2.1,no,25000', "berths", "named twice"),
        ('"B1",pile,B1,12,2.5,2.1,no,25000', "berths", "names no use"),
        ("B1 = P1,pile,B1,12,,2.1,no,25000", "left of it [m]", "needs the berth and both distances"),
        ("B1 = P1,pile,B9,12,1,2.1,no,25000", "measured in berth", "no berth 'B9'"),
        ("B1 = P1,pile,B1,12,1,2.1,,25000", "floats", "This cell is empty"),
        ("B1 = P1,pile,B1,12,1,2.1,maybe,25000", "floats", "write yes or no"),
        ("B1 = P1,pile,B1,12,1,2.1,no,-5", "strength [N]", "greater than or equal to 0"),
    ],
)
def test_a_fastening_that_can_not_be_placed_or_named_is_told(two_berths, cells, column, says):
    told = faults(PILES + f"P9,{cells}\n")
    assert [where for _, where, _ in told] == [column]
    assert says in told[0][2]


def test_by_plan_and_by_tape_must_be_the_same_place(two_berths):
    text = "fastening,kind,east,north,floats,measured in berth,along,left\nP9,pile,12.01,{},no,B1,12,2.5\n"
    assert not faults(text.format("2.5"))
    assert "By the tape it is 2.50 m" in faults(text.format("3"))[0][2]


def test_one_name_stands_for_one_thing_at_a_berth(two_berths):
    take(PILES + SHARED)
    told = faults(PILES + "P9,B1 = P1,pile,B1,12,-2.5,2.1,no,25000\n")
    assert told[0][1] == "berths" and "At B1 'P1' is P12 already" in told[0][2]


@pytest.mark.parametrize(
    ("text", "column", "says"),
    [
        (BERTHS + B1.replace("-0.9", "2.4"), "bed [m]", "Is a minus missing?"),
        (BERTHS + B1.replace(",12,", ",42,"), "length [m]", "Is it in feet?"),
        (BERTHS + B1 + B2.replace(",0,5,", ",0,900,"), "east [m]", "900 m away"),
        (PILES + "P9,B1 = P1,pile,B1,12,2.5,2.1,no,2500\n", "strength [N]", "2,500 N is what 255 kg weigh"),
        (PILES + "P9,B1 = P1,pile,B1,120,2.5,2.1,no,25000\n", "east [m]", "away from berth B1"),
        (PILES + "P9,,pile,B1,12,2.5,2.1,no,25000\n", "berths", "No berth uses it"),
        (
            PILES + "P9,B1 = P1,pile,B1,12,2.5,210,no,25000\n".replace("210", "60"),
            "height [m]",
            "Is it in feet",
        ),
    ],
)
def test_what_looks_like_a_slip_is_pointed_out_and_can_be_taken_in(basin, text, column, says):
    if text.startswith("fastening"):
        take(BERTHS + B1)
    preview = look(SURVEY, grids(text))
    assert not preview.faults
    assert any(column == d.column and says in d.words for d in preview.doubts), preview.doubts
    take(text)


def test_a_sound_survey_raises_no_doubt(two_berths):
    preview = look(SURVEY, grids(PILES + SHARED))
    assert not preview.doubts


def test_a_figure_that_would_no_longer_be_known_is_pointed_out(two_berths):
    (doubt,) = look(SURVEY, grids("berth,bed,datum\nB1,,CD\nB2,-0.9,CD\n")).doubts
    assert (doubt.line, doubt.column, doubt.words) == (2, "bed [m]", "It is -0.9 now and would be not known.")


def test_heights_without_a_named_datum_are_pointed_out(two_berths):
    (note,) = look(SURVEY, grids("berth,bed\nB1,-1\n")).notes
    assert "no datum is named" in note


def test_a_fastening_from_another_datum_is_refused(two_berths):
    text = "fastening,berths,kind,east,north,datum,height,floats\nP9,B1 = P1,pile,12,2.5,{},2.1,{}\n"
    assert "counts from 'CD'" in faults(text.format("ODN", "no"))[0][2]
    assert not faults(text.format("CD", "no"))
    assert not faults(text.format("ODN", "yes"))  # above the water: no datum


# --- what is written ---


def test_nothing_is_written_when_the_records_changed_since_the_look(two_berths):
    found = grids("berth,length\nB1,13\n")
    shown = look(SURVEY, found).digest
    other = Berth.objects.get(code="B1")
    other.length = Decimal("12.2")
    other.save()
    with pytest.raises(Moved) as moved:
        take_in(SURVEY, found, shown, by=None)
    assert moved.value.preview.parts[0].changed[0].cells == [["length [m]", "12.2", "13"]]
    other.refresh_from_db()
    assert other.length == Decimal("12.2")


def test_what_others_changed_elsewhere_in_the_row_does_not_get_lost(two_berths):
    found = grids("berth,length\nB1,13\n")
    shown = look(SURVEY, found).digest
    other = Berth.objects.get(code="B1")
    other.note = "wash of the ferry"
    other.save()
    take_in(SURVEY, found, shown, by=None)
    other.refresh_from_db()
    assert (other.length, other.note) == (13, "wash of the ferry")


def test_berths_may_change_places_in_the_walk(two_berths):
    take("berth,walking order\nB1,2\nB2,1\n")
    assert [b.code for b in Berth.objects.order_by("walking_order")] == ["B2", "B1"]


def test_names_at_a_berth_may_change_places(two_berths):
    take(PILES + SHARED + "P9,B1 = P3,pile,B1,12,-2.5,2.1,no,25000\n")
    take("fastening,berths\nP12,B1 = P3; B2 = P2\nP9,B1 = P1\n")
    named = {(u.code, u.fastening.label) for u in BerthFastening.objects.filter(berth__code="B1")}
    assert named == {("P3", "P12"), ("P1", "P9")}
    assert BerthFastening.objects.get(berth__code="B2").words == ""


def test_a_berth_left_out_of_the_cell_no_longer_uses_it(two_berths):
    take(PILES + SHARED)
    preview = look(SURVEY, grids("fastening,berths\nP12,B2 = P2\n"))
    assert preview.parts[0].changed[0].cells == [
        ["berths", 'B1 = P1; B2 = P2 "outer pile, sea side"', "B2 = P2"]
    ]
    take("fastening,berths\nP12,B2 = P2\n")
    assert [u.berth.code for u in BerthFastening.objects.all()] == ["B2"]


def test_what_a_record_rests_on_is_not_taken_away(two_berths):
    take(PILES + SHARED)
    lines = line_set()
    use = BerthFastening.objects.get(berth__code="B1")
    SetPosition.objects.create(line_set=lines, number=1, shore_end=use)
    with pytest.raises(ValidationError, match="A record rests on what would go"):
        take("fastening,berths,takes\nP12,B2 = P2,3\n")
    assert Fastening.objects.get(label="P12").takes == 2


def test_tie_ups_that_rest_on_it_are_out_of_date_and_the_trail_tells_who(clock_at, cast):
    clock_at(make.NOON)
    stay, elsewhere = make.make_stay(), make.make_stay()
    ties = [make.make_tie_up(stay=s) for s in (stay, elsewhere)]
    take(f"fastening,strength\n{stay.berth}/D1,24000\n", by=cast.harbourmaster)
    for tie in ties:
        tie.refresh_from_db()
    assert (ties[0].stale, ties[1].stale) == (True, False)
    assert Trail.objects.filter(table="fastening").latest("pk").who == cast.harbourmaster.pk


def test_a_new_fastening_at_a_berth_makes_its_tie_up_out_of_date(clock_at):
    clock_at(make.NOON)
    stay, elsewhere = make.make_stay(), make.make_stay()
    ties = [make.make_tie_up(stay=s) for s in (stay, elsewhere)]
    take(
        f"fastening,berths,kind,measured in berth,along,left,floats\nNEW,{stay.berth} = P9,pile,{stay.berth},6,-0.3,no\n"
    )
    for tie in ties:
        tie.refresh_from_db()
    assert (ties[0].stale, ties[1].stale) == (True, False)
    assert Trail.objects.filter(table="berth fastening").latest("pk").new["code"] == "P9"


def test_an_order_of_the_walk_makes_no_tie_up_out_of_date(clock_at):
    clock_at(make.NOON)
    stay = make.make_stay()
    tie = make.make_tie_up(stay=stay)
    take(f"berth,walking order\n{stay.berth},90001\n")
    tie.refresh_from_db()
    assert not tie.stale


# --- the register, by the same page ---

LINE = "tag,material,diameter,total length,working length,strength,strength rests on,state\n"
L1 = "WH-7,nylon_3strand,16,12,10.5,39600,generic,store\n"


def test_lines_come_in_and_their_history_says_so(cast):
    take(LINE + L1, REGISTER, by=cast.harbourmaster)
    line = Line.objects.get()
    assert (line.strength, line.state, line.owner_kind) == (39600, "store", "harbour")
    take("tag,strength\nWH-7,38000\n", REGISTER, by=cast.harbourmaster)
    first, second = LineEvent.objects.order_by("pk")
    assert (first.note, first.by, first.changes) == ("Entered from a sheet.", cast.harbourmaster, {})
    assert (second.note, second.by, second.changes) == (
        "By a sheet.", cast.harbourmaster, {"strength": [39600, 38000]}
    )  # fmt: skip


def test_a_line_names_the_one_it_took_the_place_of(cast):
    take(LINE + L1 + L1.replace("WH-7", "WH-8"), REGISTER)
    take("tag,replaces\nWH-8,WH-7\n", REGISTER)
    assert Line.objects.get(tag="WH-8").replaces.tag == "WH-7"
    assert not look(REGISTER, read(to_csv(rows_out(REGISTER.tables[0])))).differs
    assert "No line called 'WH-9'" in faults("tag,replaces\nWH-8,WH-9\n", REGISTER)[0][2]


def test_capitals_make_no_second_row(two_berths):
    take(LINE + L1, REGISTER)
    assert "it is written 'WH-7'" in faults("tag,colour\nwh-7,blue\n", REGISTER)[0][2]
    assert "it is written 'B1'" in faults("berth,length\nb1,12\n")[0][2]
    assert "stands in line 2 already" in faults("berth,length\nB1,12\nb1,12\n")[0][2]


def test_a_sheet_does_not_take_a_line_out_of_retirement():
    make.make_line(tag="WH-7", state="retired")
    told = faults(LINE + L1, REGISTER)
    assert told[0][1] == "state" and "'RETIRED' and a sheet does not change that" in told[0][2]
    assert not faults("tag,colour\nWH-7,blue\n", REGISTER)


@pytest.mark.parametrize(
    ("row", "column", "says"),
    [
        (L1.replace("39600", "4000"), "strength [N]", "Kilograms times 9.81"),
        (L1.replace("nylon_3strand", "hemp"), "material", "not in the rope table"),
        (L1.replace(",16,", ",0.6,"), "diameter [mm]", "in millimetres?"),
        (L1.replace("10.5", "13"), "working length [m]", "longer than the whole line"),
    ],
)
def test_doubtful_figures_of_a_line_are_pointed_out(row, column, says):
    preview = look(REGISTER, grids(LINE + row))
    assert [(d.column, says in d.words) for d in preview.doubts] == [(column, True)]
    assert not look(REGISTER, grids(LINE + L1)).doubts


# --- the page ---


@pytest.fixture
def office(cast, client):
    client.force_login(cast.harbourmaster)
    return client


def upload(client, text, book="survey", name="survey.csv"):
    data = text if isinstance(text, bytes) else text.encode()
    return client.post(f"/sheets/{book}/", {"file": SimpleUploadedFile(name, data)})


def press(client, answer, book="survey"):
    kept = {name: answer.context[name] for name in ("rows",)} | {"digest": answer.context["preview"].digest}
    return client.post(f"/sheets/{book}/", kept)


def test_a_file_is_shown_and_then_taken_in(office, basin):
    shown = upload(office, BERTHS + B1 + B2)
    page = shown.content.decode()
    assert shown.status_code == 200 and "Berths: 2 new, 0 changed, 0 unchanged." in page
    assert "Take these in" in page and not Berth.objects.exists()
    done = press(office, shown)
    assert (done.status_code, done.url) == (302, "/sheets/survey/")
    assert Berth.objects.count() == 2
    assert "Taken in. Berths: 2 new, 0 changed." in office.get(done.url).content.decode()
    assert "No change: all of it is in the records already." in upload(office, BERTHS + B1).content.decode()


def test_a_bad_file_offers_no_press(office, basin):
    answer = upload(office, BERTHS + B1.replace(",12,", ",twelve,"))
    page = answer.content.decode()
    assert answer.status_code == 422 and "Take these in" not in page
    assert "<strong>Berths, line 2, length [m]:</strong>" in page


def test_a_page_that_was_open_while_others_wrote_shows_what_would_change_now(office, two_berths):
    shown = upload(office, "berth,length\nB1,13\n")
    Berth.objects.get(code="B1").delete()
    again = press(office, shown)
    assert again.status_code == 422
    assert "Somebody changed these records since you looked" in again.content.decode()


def test_rows_that_were_changed_on_their_way_are_refused(office, basin):
    answer = office.post("/sheets/survey/", {"rows": "made up", "digest": "0"})
    assert answer.status_code == 422 and "choose the file again" in answer.content.decode()
    survey = upload(office, BERTHS + B1)
    other = office.post(
        "/sheets/lines/", {"rows": survey.context["rows"], "digest": survey.context["preview"].digest}
    )
    assert other.status_code == 422 and not Berth.objects.exists()


def test_a_file_that_is_none_is_told_on_the_page(office):
    for data, says in (
        (b"x" * (workbook.MOST_BYTES + 1), "larger than 5 MB"),
        (b"\xff\x00\xff", "read"),
        (b"", "empty"),
    ):
        answer = upload(office, data)
        assert answer.status_code == 422 and says in answer.content.decode()
    assert office.post("/sheets/survey/", {}).status_code == 422


def test_files_go_out(office, two_berths):
    for url, begins in (
        ("/sheets/survey/records.xlsx", b"PK"),
        ("/sheets/survey/empty.xlsx", b"PK"),
        ("/sheets/survey/berths.csv", b"\xef\xbb\xbfberth,"),
        ("/sheets/lines/lines.csv", b"\xef\xbb\xbftag,"),
    ):
        answer = office.get(url)
        assert answer.content.startswith(begins) and "attachment" in answer["Content-Disposition"]
    assert (
        office.get("/sheets/survey/lines.csv").status_code == office.get("/sheets/boats/").status_code == 404
    )
