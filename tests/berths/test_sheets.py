"""The survey comes and goes as a spreadsheet, and the back office shows every kind of record."""

import csv
import io
from decimal import Decimal

import pytest
import tablib
from django.apps import apps
from django.contrib import admin
from django.urls import reverse

from berths.models import Berth, BerthFastening, Fastening
from berths.sheets import BerthFasteningSheet, BerthSheet, FasteningSheet
from marina.base.models import Trail
from tests import cast as make
from tests.rows import ROWS
from vessels.models import Line, Owner, Vessel
from vessels.sheets import LineSheet, VesselSheet


def sheet(text):
    return tablib.Dataset().load(text.strip().replace("    ", ""), format="csv")


def faults(result):
    """Row number -> what is said about it, of rows that would not be written."""
    told = {row.number: " ".join(str(e.error) for e in row.errors) for row in result.error_rows}
    return told | {row.number: str(row.error) for row in result.invalid_rows}


BERTHS = """
    code,pier,water,kind,walking_order,east,north,bearing_deg,length,bed_z,datum,ladders,raft_depth,in_use
    S1,Gull Pier,sea,floating,501,0,0,140,12.0,-2.4,CD,[],1,1
    S2,Gull Pier,sea,floating,502,13,0,140,twelve,-2.4,CD,[],1,1
    S3,Gul Pier,sea,floating,503,26,0,140,12.0,-2.4,CD,[],1,1
    S4,Gull Pier,sea,hammock,504,39,0,140,12.0,-2.4,CD,[],1,1
    S5,Gull Pier,sea,floating,505,52,0,140,12.0,-2.4,ODN,[],1,1
    S6,Gull Pier,sea,floating,506,65,0,140,12.0,,CD,[],1,1
    S7,Gull Pier,sea,floating,507,65,0,140,NaN,-2.4,CD,[],1,1
"""


@pytest.fixture
def harbour(db):
    make.make_pier(name="Gull Pier")
    make.make_water(name="sea")


def test_a_survey_names_each_doubtful_cell_and_writes_nothing(harbour):
    told = faults(BerthSheet().import_data(sheet(BERTHS), dry_run=True))
    assert not Berth.objects.exists()
    assert set(told) == {2, 3, 4, 5, 7}
    assert "length" in told[2] and "'twelve' is no number" in told[2]
    assert "no pier called 'Gul Pier'" in told[3]
    assert "kind" in told[4]
    assert "heights are given above 'ODN', but sea counts from 'CD'" in told[5]
    assert "length" in told[7]


def test_a_good_survey_is_read_and_an_empty_cell_is_not_known(harbour):
    good = "\n".join([*BERTHS.strip().splitlines()[:2], BERTHS.strip().splitlines()[6]])
    result = BerthSheet().import_data(sheet(good), raise_errors=True)
    assert result.totals["new"] == 2
    assert Berth.objects.get(code="S6").bed_z is None
    again = BerthSheet().import_data(sheet(good.replace("12.0", "12.5")), raise_errors=True)
    assert again.totals["update"] == 2 and str(Berth.objects.get(code="S1").length) == "12.5000"
    assert BerthSheet().import_data(sheet(good.replace("12.0", "12.5"))).totals["skip"] == 2


def test_two_rows_of_one_sheet_that_clash_are_told(harbour):
    clash = "\n".join(
        [*BERTHS.strip().splitlines()[:2], BERTHS.strip().splitlines()[6].replace("506", "501")]
    )
    told = faults(BerthSheet().import_data(sheet(clash), dry_run=True))
    assert "Walking order" in told[2] or "walking order" in told[2]


def test_fastenings_and_their_names_at_a_berth(db):
    berth = make.make_berth(code="B3", fitted=False)
    piles = """
    label,kind,east,north,z,floats,takes,strength,in_use
    B3/P1,pile,1,2,3.7,0,2,25000,1
    B3/P2,pile,1,2,3.7,0,2,,1
    """
    assert not faults(FasteningSheet().import_data(sheet(piles), raise_errors=True))
    assert Fastening.objects.get(label="B3/P2").strength is None
    names = "berth,fastening,code\nB3,B3/P1,P1\nB3,B3/P9,P2\n"
    told = faults(BerthFasteningSheet().import_data(sheet(names), dry_run=True))
    assert told == {2: told[2]} and "no fastening called 'B3/P9'" in told[2]
    BerthFasteningSheet().import_data(sheet(names.replace("P9", "P2")), raise_errors=True)
    assert list(BerthFastening.objects.filter(berth=berth).values_list("code", flat=True)) == ["P1", "P2"]


def test_an_import_marks_what_rests_on_it(clock_at):
    clock_at(make.NOON)
    stay = make.make_stay()
    tie_up = make.make_tie_up(stay=stay)
    export = BerthSheet().export(Berth.objects.filter(pk=stay.berth_id)).csv
    BerthSheet().import_data(sheet(export), raise_errors=True)
    tie_up.refresh_from_db()
    assert not tie_up.stale  # what went out came in again
    BerthSheet().import_data(sheet(export.replace("-3.0000", "-1.2000")), raise_errors=True)
    tie_up.refresh_from_db()
    assert tie_up.stale_why == f"berth {stay.berth}: level of the bed changed"


@pytest.mark.parametrize("make_row, resource", [(make.make_vessel, VesselSheet), (make.make_line, LineSheet)])
def test_what_goes_out_comes_in_unchanged(db, make_row, resource):
    row = make_row(owner=Owner.objects.create(name="Wren Scuppernong"))
    before = Trail.objects.count()
    result = resource().import_data(sheet(resource().export().csv), raise_errors=True)
    assert result.totals["skip"] == 1 and Trail.objects.count() == before
    row.refresh_from_db()
    assert row.owner.name == "Wren Scuppernong"


def test_two_owners_of_one_name_are_not_guessed(db):
    for _ in range(2):
        Owner.objects.create(name="Wren Scuppernong")
    told = faults(LineSheet().import_data(sheet("tag,owner\nWH-1,Wren Scuppernong\n"), dry_run=True))
    assert "more than one owner is called" in told[1]


@pytest.mark.parametrize(
    ("column", "cell", "says"),
    [
        ("in_use", "perhaps", "write yes or no"),
        ("takes", "2.5", "no whole number"),
        ("z", "1,234.5", "no number"),
        ("last_checked", "03/04/2027", "could not be parsed"),
        ("condition", "so so", "not a valid choice"),
    ],
)
def test_no_cell_is_guessed(db, column, cell, says):
    row = {
        "label": "P1",
        "kind": "pile",
        "east": "1",
        "north": "2",
        "floats": "no",
        "takes": "2",
        "in_use": "yes",
    }
    row[column] = f'"{cell}"'
    text = ",".join(row) + "\n" + ",".join(row.values())
    told = faults(FasteningSheet().import_data(sheet(text), dry_run=True))
    assert column in told[1] and says in told[1]


def test_cells_as_people_write_them(db):
    text = 'label,kind,east,north,floats,takes,in_use,z\nP1,pile,"1,5",2,no,2,yes,\n'
    FasteningSheet().import_data(sheet(text), raise_errors=True)
    pile = Fastening.objects.get()
    assert (pile.east, pile.floats, pile.in_use, pile.z) == (Decimal("1.5"), False, True, None)


# --- the back office ---

OURS = [m for m in apps.get_models() if m._meta.app_label in ("base", "vessels", "berths")]


@pytest.fixture
def office(cast, client):
    client.force_login(cast.harbourmaster)
    return client


def test_every_record_has_its_page():
    missing = {m.__name__ for m in OURS if not admin.site.is_registered(m)}
    assert missing == {"MadeFastLine"}  # shown with the deed it belongs to


@pytest.mark.parametrize("model", [m for m in OURS if admin.site.is_registered(m)], ids=lambda m: m.__name__)
def test_its_list_and_its_form_open(office, model):
    row = ROWS[model.__name__]()
    base = f"admin:{model._meta.app_label}_{model._meta.model_name}"
    assert office.get(reverse(f"{base}_changelist")).status_code == 200
    assert office.get(reverse(f"{base}_change", args=[row.pk])).status_code == 200


def test_lists_ask_a_fixed_number_of_questions(office, django_assert_max_num_queries):
    for _ in range(10):
        make.make_stay(vessel=make.make_vessel(fitted=False), berth=make.make_berth(fitted=False))
    with django_assert_max_num_queries(14):
        office.get(reverse("admin:berths_stay_changelist"))


def test_an_overlap_typed_in_the_back_office_is_a_sentence(office):
    there, vessel = make.make_stay(), make.make_vessel()
    answer = office.post(
        reverse("admin:berths_stay_add"),
        {
            "vessel": vessel.pk, "berth": there.berth_id, "raft_place": 0, "purpose": "visit", "state": "booked",
            "arrive_0": "2027-10-14", "arrive_1": "13:00", "depart_0": "2027-10-15", "depart_1": "13:00",
        },
    )  # fmt: skip
    assert answer.status_code == 200
    assert "This berth is taken then. Pick another berth or other times." in answer.content.decode()


def test_a_name_that_looks_like_a_formula_stays_text(office):
    make.make_vessel(name="=1+1")
    url = reverse("admin:vessels_vessel_export")
    form = {"format": "0", "resource": ""} | {f"vesselsheet_{f}": "on" for f in ("id", "name")}
    answer = office.post(url, form)
    assert answer.status_code == 200, answer.content.decode()[:500]
    rows = list(csv.DictReader(io.StringIO(answer.content.decode())))
    assert not rows[0]["name"].startswith("=")


def test_kept_records_offer_no_change(office):
    event = ROWS["LineEvent"]()
    page = office.get(reverse("admin:vessels_lineevent_change", args=[event.pk])).content.decode()
    assert 'name="_save"' not in page and "deletelink" not in page
    assert office.get(reverse("admin:vessels_lineevent_add")).status_code == 403


def test_only_the_harbourmaster_comes_in(cast, client):
    client.force_login(cast.hand)
    assert client.get(reverse("admin:index")).status_code in (302, 403)
    assert Line.objects.count() == Vessel.objects.count() == 0
