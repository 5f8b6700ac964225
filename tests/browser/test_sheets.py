"""The harbourmaster takes the survey out as a workbook, mends it, and brings it in again; and finds a berth on the plan."""

import io
import re

import openpyxl
import pytest

from berths.models import Berth
from tests.browser.conftest import DESK, PHONE
from tests.browser.harbour import PASSWORD, sign_in_with_password
from tests.cast import NOON, fix_clock, make_berth, make_pier, make_stay, make_vessel, make_water

SHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@pytest.fixture
def harbour(cast):
    fix_clock(NOON)
    sign_in_with_password(cast.harbourmaster, cast.hand)
    common = {"pier": make_pier(name="Gull Pier"), "water": make_water(name="sea")}
    make_berth(code="A1", kind="floating", **common)
    slip = make_berth(code="A2", kind="slip", **common)
    make_stay(berth=slip, vessel=make_vessel(name="Slow Biscuit"), state="fast")


def choose(page, book, name="survey.xlsx"):
    out = io.BytesIO()
    book.save(out)
    page.get_by_label("The file").set_input_files({"name": name, "mimeType": SHEET, "buffer": out.getvalue()})
    page.get_by_role("button", name="Show what would change").click()
    page.wait_for_load_state()


@pytest.mark.parametrize(("size", "script"), [(PHONE, False), (DESK, True)])
def test_out_mended_and_in_again(cast, harbour, visit, size, script):
    office = visit(size=size, java_script_enabled=script)
    office.sign_in(cast.harbourmaster, PASSWORD)
    page = office.page
    page.goto("/berths/")
    page.get_by_role("link", name="The survey as a spreadsheet: in and out").click()
    with page.expect_download() as download:
        page.get_by_role("link", name="All of it as a workbook (.xlsx)").click()
    book = openpyxl.load_workbook(io.BytesIO(download.value.path().read_bytes()))
    berths = book["berths"]
    column = {cell.value: cell.column for cell in berths[1]}
    berths.cell(2, column["length [m]"]).value = 13.5
    berths.cell(3, column["bed [m]"]).value = "deep"
    choose(page, book)
    main = page.locator("main")
    assert "Berths, line 3, bed [m]: 'deep' is no number" in main.inner_text()
    assert page.get_by_role("button", name="Take these in").count() == 0
    berths.cell(3, column["bed [m]"]).value = -3
    choose(page, book)
    changed = page.locator("table tbody tr")
    assert (
        re.sub(r"\s+", " ", changed.inner_text()).endswith("length [m] 12 13.5")
        or "13.5" in changed.inner_text()
    )
    if script:
        office.check()
        assert office.small_targets() == []
    page.get_by_role("button", name="Take these in").click()
    page.wait_for_load_state()
    assert "Taken in. Berths: 0 new, 1 changed." in main.inner_text()
    assert Berth.objects.get(code="A1").length == 13.5
    choose(page, book)
    assert "No change: all of it is in the records already." in main.inner_text()


def test_a_berth_is_reached_from_the_plan_by_hand_and_by_keys(cast, harbour, visit):
    walker = visit()
    walker.sign_in(cast.hand, PASSWORD)
    page = walker.page
    page.goto("/plan/")
    page.locator("svg a[href='/berths/A2/'] path").click(force=True)
    page.wait_for_url("**/berths/A2/")
    page.goto("/plan/")
    stops = []
    for _ in range(30):
        page.keyboard.press("Tab")
        stops.append(
            page.evaluate(
                "document.activeElement.closest('svg') ? 'svg' : document.activeElement.getAttribute('href')"
            )
        )
        if stops[-1] == "/berths/A2/":
            break
    assert "svg" not in stops and stops[-1] == "/berths/A2/"
    page.keyboard.press("Enter")
    page.wait_for_url("**/berths/A2/")
