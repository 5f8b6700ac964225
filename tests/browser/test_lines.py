"""A line looked at on a phone at the berth, without any script: it fails, and what it holds stands on its page."""

import pytest

from tests.browser.conftest import DESK, PHONE
from tests.browser.harbour import PASSWORD, make_harbour


def test_a_line_fails_its_look(cast, visit):
    make_harbour(cast)
    window = visit(java_script_enabled=False)
    window.sign_in(cast.hand, PASSWORD)
    page = window.page
    page.goto("/lines/")
    page.get_by_label("Tag, as read on the line").fill("b3-2")
    page.get_by_role("button", name="Find it").click()
    page.get_by_role("link", name="Look at it now").click()
    parts = page.locator("fieldset")
    parts.nth(0).get_by_label("looked: nothing found").check()
    parts.nth(2).get_by_text("Something found here").click()
    parts.nth(2).get_by_label("glazed or melted").check()
    page.get_by_role("button", name="Keep what I found").click()
    page.wait_for_url("**/lines/B3-2/")
    words = page.locator("main").inner_text()
    assert "RETIRE IT" in words
    assert "B3, Slow Biscuit: position 2 of her set" in words
    assert "glazed or melted" in words and "Not looked at:" in words
    page.goto("/lines/B3-2/enter/retired/")
    page.get_by_label("What happened").fill("melted at the pile")
    page.get_by_role("button", name="Retire it").click()
    page.goto("/lines/?tag=B3-2")
    assert page.locator("main").inner_text().startswith("RETIRED")


PAGES = [
    "new/",
    "due/",
    "labels/",
    "B3-1/",
    "B3-1/look/",
    "B3-1/record/",
    "B3-1/enter/retired/",
    "B3-1/back/",
]


@pytest.mark.parametrize(("size", "scheme"), [(PHONE, "light"), (PHONE, "dark"), (DESK, "light")])
def test_every_page_of_the_register(cast, visit, size, scheme):
    make_harbour(cast)
    window = visit(size=size, color_scheme=scheme)
    window.sign_in(cast.harbourmaster, PASSWORD)
    for url in PAGES:
        window.page.goto(f"/lines/{url}")
        window.page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
        window.check()
        assert window.small_targets() == [], url
