"""A boat calls on the radio: the harbourmaster types four figures on a phone and reads her lines back to her."""

import re

import pytest

from berths.models import Pier, Stay
from berths.services import tieups
from tests.browser.conftest import DESK
from tests.browser.harbour import PASSWORD, sign_in_with_password
from tests.cast import NOON, fix_clock, make_berth, make_pier, make_stay, make_vessel, make_water

FOUR = {"Length over everything": "10.4", "Beam": "3.5", "Draught": "1.6", "Nights": "2"}


@pytest.fixture
def harbour(cast):
    """One pier: a floating berth, a slip, one too short, and one nobody has sounded."""
    fix_clock(NOON)
    sign_in_with_password(cast.harbourmaster, cast.hand)
    pier, water = make_pier(name="Gull Pier"), make_water(name="sea")
    common = {"pier": pier, "water": water}
    make_berth(code="A1", kind="floating", **common)
    make_berth(code="A2", kind="slip", **common)
    make_berth(code="A3", kind="floating", length=8, **common)
    make_berth(code="A4", kind="floating", bed_z=None, **common)
    return Pier.objects.get()


def figures(page, **told):
    for label, value in (FOUR | told).items():
        page.get_by_label(label, exact=True).fill(value)


def arrived(page):
    page.wait_for_url(re.compile(r"/stays/\d+/$"))
    return page.locator("main").inner_text()


def test_four_figures_on_a_phone_and_she_has_a_berth_and_lines(cast, harbour, visit):
    office = visit()
    office.sign_in(cast.harbourmaster, PASSWORD)
    page = office.page
    page.get_by_role("link", name=re.compile("A boat on the radio")).first.click()
    page.wait_for_url("**/place/")
    office.check()
    assert page.get_by_role("button", name="Show the berths").bounding_box()["y"] < 844
    assert office.small_targets() == []

    figures(page)  # nothing is pressed: the list comes while she talks
    give = page.get_by_role("button", name="Give her A1")
    give.wait_for()
    assert "loa=10.4" in page.url and "csrf" not in page.url, "the list has an address"
    listed = page.locator("#options").inner_text()
    assert "2 berths fit, best first" in listed and "10.95 m over everything (declared + 5 %;" in listed
    assert "Not known whether she fits: 1" in listed
    assert page.locator("#options svg").count() == 2, "she is drawn in each"
    page.get_by_text("1 free, but she does not fit").click()
    assert "too long" in page.locator("#options").inner_text()
    office.check()
    assert office.small_targets() == []

    page.get_by_label("Nights", exact=True).fill("3")
    page.get_by_text("until Sun 12:00").wait_for()
    page.get_by_text("Name, kind, arrival and more").click()
    page.get_by_label("Her name").fill("Paper Comet")
    give.click()
    told = arrived(page)
    assert "Paper Comet has A1. Read the sentence below back to her." in told
    assert re.search(r"“[A-Z].* running .*”", told) and "HOLDS" in told
    assert page.locator("figure.drawing svg").count() == 2
    office.check()
    assert office.small_targets() == []
    for summary in page.locator("summary").all():
        summary.click()
    office.check()
    stay = Stay.objects.get()
    assert (stay.berth.code, stay.vessel.name, stay.tie_ups.count()) == ("A1", "Paper Comet", 1)

    page.get_by_role("button", name=re.compile("side to instead")).click()
    page.get_by_text("Her lines were worked out anew").wait_for()
    page.get_by_role("link", name="Move her").click()
    page.wait_for_url("**/move/")
    office.check()
    assert office.small_targets() == []
    page.get_by_role("button", name="Give her A2").click()
    assert "Paper Comet goes to A2" in arrived(page)
    page.go_back()
    page.get_by_role("heading", name=re.compile("Move Paper Comet")).wait_for()


def test_feet_get_a_keyboard_with_letters_and_a_mended_figure_loses_its_fault(cast, harbour, visit):
    office = visit()
    office.sign_in(cast.harbourmaster, PASSWORD)
    page = office.page
    page.goto("/place/?units=m&loa=big")
    loa, modes = page.get_by_label("Length over everything"), []
    assert "is no length" in page.locator(".field", has=loa).inner_text()
    for unit in ("feet", "metres"):
        page.get_by_label(unit, exact=True).check()
        modes.append(loa.evaluate("field => field.inputMode"))
    assert modes == ["text", "decimal"]
    loa.fill("34")
    assert "is no length" not in page.locator(".field", has=loa).inner_text()
    office.check()


def test_two_want_one_berth_and_one_gets_it(cast, harbour, visit):
    one, other = visit(), visit(size=DESK)
    for who, name in ((one, "First Comet"), (other, "Second Comet")):
        who.sign_in(cast.harbourmaster, PASSWORD)
        who.page.goto("/place/")
        who.page.get_by_text("Name, kind, arrival and more").click()
        who.page.get_by_label("Her name").fill(name)
        figures(who.page)
        who.page.get_by_role("button", name="Give her A1").wait_for()
        who.page.wait_for_load_state("networkidle")
    one.page.get_by_role("button", name="Give her A1").click()
    arrived(one.page)
    other.page.get_by_role("button", name="Give her A1").click()
    refusal = other.page.get_by_role("alert")
    refusal.wait_for()
    assert "Nothing was booked at A1. What you typed is still here" in refusal.inner_text()
    assert other.page.get_by_label("Length over everything").input_value() == "10.4"
    assert other.page.get_by_label("Her name").input_value() == "Second Comet"
    assert other.page.get_by_role("button", name="Give her A1").count() == 0
    other.check()
    other.page.get_by_role("button", name="Give her A2").click()
    assert "Second Comet has A2" in arrived(other.page)
    assert Stay.objects.count() == 2


def test_the_same_without_javascript(cast, harbour, visit):
    make_vessel(name="Fern and Daughters", loa="9.0", beam="3.1", draft="0.9")
    office = visit(java_script_enabled=False)
    office.sign_in(cast.harbourmaster, PASSWORD)
    page = office.page
    page.goto("/place/")
    figures(page, **{"Length over everything": "34 ft 2 in"})
    page.get_by_role("button", name="Show the berths").click()
    page.wait_for_url("**/place/?*")
    assert "csrf" not in page.url and "2 berths fit, best first" in page.locator("#options").inner_text()
    assert page.get_by_label("Length over everything").input_value() == "34 ft 2 in"
    page.get_by_text("Name, kind, arrival and more").click()
    page.get_by_label("Her name").fill("fern")
    page.get_by_label("Her name").press("Enter")
    page.get_by_role("link", name="It is Fern and Daughters").click()
    assert "as recorded, 9.00 m over everything" in page.locator("main").inner_text()
    page.get_by_role("button", name="Show the berths").click()
    page.get_by_role("button", name="Give her A1").click()
    assert "Fern and Daughters has A1" in arrived(page)


def test_a_hand_reads_the_stay_and_is_offered_no_deed(cast, harbour, visit):
    stay = make_stay(berth=harbour.berths.get(code="A1"), vessel=make_vessel(name="Paper Comet"))
    tieups.work_out(stay)
    hand = visit()
    hand.sign_in(cast.hand, PASSWORD)
    hand.page.goto(f"/stays/{stay.pk}/")
    told = hand.page.locator("main").inner_text()
    assert "“" in told and "HOLDS" in told
    assert hand.page.get_by_role("link", name="Her card").is_visible()
    for deed in ("Move her", "Take this booking back", "instead: work it out"):
        assert deed not in told
    hand.check()
    assert hand.small_targets() == []
    answer = hand.page.goto("/place/")
    assert answer.status == 403
    hand.complaints.clear()  # the browser logs the 403 that was asked for
