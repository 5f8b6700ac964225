"""A harbour from nothing at a screen: pier, water, a four-pile slip taped from its corner, a boat in it, her tie-up."""

import re

import pytest

from berths.models import Berth, Fastening, Pier, Water
from tests.browser.conftest import DESK, PHONE
from tests.browser.harbour import PASSWORD, sign_in_with_password
from tests.cast import NOON, fix_clock, make_berth, make_stay, make_vessel

LAYOUT = {
    "Length of the berth": "11",
    "Clear width": "4.4",
    "Left-hand corner, east": "0",
    "Left-hand corner, north": "0",
    "Straight out from the dock, true bearing": "90",
    "Top of the dock": "2.6",
    "Top of the piles": "4.6",
    "Strength of each, kN": "25",
    "Who says so, and when": "drawings of 2020 (invented)",
}


@pytest.fixture
def office(cast, visit):
    fix_clock(NOON)
    sign_in_with_password(cast.harbourmaster, cast.hand)

    def start(**how):
        window = visit(**how)
        window.sign_in(cast.harbourmaster, PASSWORD)
        return window

    return start


def pier_and_water(window):
    """The first two steps, from an empty harbour."""
    page = window.page
    page.goto("/survey/")
    page.get_by_role("link", name="Make a pier").click()
    page.get_by_label("What the pier is called").fill("Gull Pier")
    page.get_by_role("button", name="Keep this pier").click()
    page.get_by_role("link", name="Make a water").click()
    page.get_by_label("What the water is called").fill("basin")
    page.get_by_label("How its level is known").select_option("limits")
    page.get_by_role("button", name="Go on").click()
    for label, value in (
        ("Lower limit", "1.0"),
        ("Upper limit", "1.8"),
        ("Heights here are counted from", "CD"),
    ):
        page.get_by_label(label).fill(value)
    page.get_by_role("button", name="Keep these limits").click()
    Water.objects.update(surge_up=0.3, surge_down=0.3, surge_reason="ten winters (invented)")
    page.goto("/survey/")


def begin(window, layout="four_piles", code="B1", **more):
    page = window.page
    page.get_by_role("link", name=re.compile("Survey a ")).click()
    page.get_by_label("Most like").select_option(layout)
    page.get_by_label("Code of the berth").fill(code)
    for label, value in (LAYOUT | more).items():
        page.get_by_label(label, exact=True).fill(value)


def test_a_four_pile_slip_from_nothing_and_a_boat_in_it(office):
    window = office()
    page = window.page
    pier_and_water(window)
    window.check()
    assert window.small_targets() == []
    begin(window)
    window.check()
    assert window.small_targets() == []
    page.get_by_role("button", name="Fill the survey in").click()
    page.get_by_role("heading", name="A new berth").wait_for()
    drawing = page.locator("#drawn svg")
    assert {"P1", "P4", "D2"} <= set(drawing.locator("text").all_text_contents())
    window.check()
    assert window.small_targets() == []

    outer = page.locator("fieldset", has=page.locator("legend", has_text="P4"))
    with page.expect_response(lambda answer: answer.request.method == "POST"):
        outer.get_by_label("Out from the dock").fill("12.4")  # nothing is pressed: the drawing follows
    page.locator("#drawn").get_by_text("The same in words").click()
    page.get_by_role("listitem").get_by_text("P4, pile: 4.55 m along, 12.40 m out.").wait_for()
    assert page.locator("#drawn").bounding_box()["y"] >= 0, "the drawing stays in sight"

    page.get_by_label("Level of the bed").fill("deep")
    page.get_by_role("button", name="Keep this survey").click()
    alert = page.get_by_role("alert")
    assert "Nothing was kept. What you typed is still here" in alert.inner_text()
    assert outer.get_by_label("Out from the dock").input_value() == "12.4"
    window.check()
    alert.get_by_role("link", name="Level of the bed").click()
    page.get_by_label("Level of the bed").fill("-2.2")
    page.get_by_label("The bed is").select_option("soft")
    page.get_by_role("button", name="Keep this survey").click()
    page.wait_for_url("**/berths/B1/")
    assert "The survey of B1 is kept." in page.locator("main").inner_text()
    window.check()
    assert Fastening.objects.count() == 6

    page.goto("/place/")
    for label, value in {
        "Length over everything": "9.5",
        "Beam": "3.2",
        "Draught": "1.4",
        "Nights": "2",
    }.items():
        page.get_by_label(label, exact=True).fill(value)
    page.get_by_role("button", name=re.compile("Give her B1")).first.click()
    page.wait_for_url(re.compile(r"/stays/\d+/$"))
    told = page.locator("main").inner_text()
    assert "“" in told and page.locator("figure.drawing svg").count() == 2
    assert "P4" in page.locator("figure.drawing svg").first.inner_html()


def test_the_same_without_javascript(office):
    window = office(java_script_enabled=False)
    page = window.page
    pier_and_water(window)
    begin(window)
    page.get_by_role("button", name="Fill the survey in").click()
    first = page.locator("fieldset", has=page.locator("legend", has_text="P1"))
    first.get_by_label("Out from the dock").fill("4.5")
    page.get_by_role("button", name="Draw it").click()
    assert "P1, pile: -0.15 m along, 4.50 m out." in page.locator("#drawn").text_content()
    page.get_by_role("button", name="More rows").click()
    new = page.locator("fieldset", has=page.locator("legend", has_text="another")).first
    new.get_by_label("Name").fill("D3")
    new.get_by_label("What it is").select_option("cleat")
    new.get_by_label("Along the dock, to the right").fill("2.2")
    new.get_by_label("Out from the dock").fill("-0.2")
    page.get_by_role("button", name="Keep this survey").click()
    page.wait_for_url("**/berths/B1/")
    assert set(Berth.objects.get().fastenings.values_list("code", flat=True)) == {
        "D1",
        "D2",
        "D3",
        "P1",
        "P2",
        "P3",
        "P4",
    }

    page.get_by_role("link", name="The same again along the pier").click()
    page.get_by_label("How many more").fill("2")
    page.get_by_role("button", name="Show it on the plan").click()
    assert "B2, B3" in page.locator("main").inner_text()
    page.get_by_role("button", name="Keep these 2 berths").click()
    page.wait_for_url("**/survey/")
    assert Berth.objects.count() == 3 and Pier.objects.count() == 1


@pytest.mark.parametrize(("size", "scheme"), [(PHONE, "light"), (PHONE, "dark"), (DESK, "light")])
def test_every_page_of_the_survey(office, size, scheme):
    berth = make_berth(kind="slip", code="B1")
    make_berth(kind="quay", code="Q1")
    make_stay(berth=berth, vessel=make_vessel(name="Tin Whistle"))
    pile = berth.fastenings.get(code="P1").fastening
    window = office(size=size, color_scheme=scheme)
    start = f"layout=box&code=B9&pier={berth.pier_id}&water={berth.water_id}&length=11&width=4.4&beside=B1"
    urls = [
        "/survey/",
        "/survey/piers/new/",
        "/survey/berths/new/",
        "/survey/berths/new/?code=B1",
        f"/survey/berths/new/?{start}",
    ]
    urls += ["/berths/B1/survey/", "/berths/Q1/survey/", f"/fastenings/{pile.pk}/", "/berths/B1/", "/berths/"]
    urls += ["/berths/B1/copy/", "/berths/B1/copy/?number=2&pitch=4.6&side=right&first=B2"]
    urls += ["/berths/B1/copy/?number=9&pitch=4.6&side=left&first=B"]
    for url in urls:
        window.page.goto(url)
        window.page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
        window.check()
        assert window.small_targets() == [], url


def test_a_hand_records_what_is_found_of_a_pile(cast, office, visit):
    berth = make_berth(kind="slip", code="B1")
    sign_in_with_password(cast.hand)
    hand = visit()
    hand.sign_in(cast.hand, PASSWORD)
    hand.page.goto("/berths/B1/")
    assert hand.page.get_by_text("Change the survey").count() == 0
    hand.page.get_by_role("link", name="P1", exact=True).click()
    hand.page.get_by_label("Use", exact=True).select_option("no")
    hand.page.get_by_role("button", name="Keep what was found").click()
    assert "Out of use: say why." in hand.page.locator("main").inner_text()
    hand.check()
    hand.page.get_by_label("Note, or why it is out of use").fill("split above the water")
    hand.page.get_by_role("button", name="Keep what was found").click()
    hand.page.get_by_text("Make nothing fast to it.").wait_for()
    assert not berth.fastenings.get(code="P1").fastening.in_use
    hand.check()
    assert hand.small_targets() == []
