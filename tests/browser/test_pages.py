"""All pages as they look: nothing that a screen reader, a wide thumb or a narrow phone trips over."""

import pytest

from tests.browser.conftest import DESK, PHONE
from tests.browser.harbour import PASSWORD, make_harbour

STAFF = [
    "/",
    "/berths/",
    "/berths/B3/",
    "/berths/A4/",
    "/berths/Q3/",
    "/lines/",
    "/lines/B3-1/",
    "/lines/WH-086/",
]
STAFF += ["/lines/report/", "/sheets/survey/", "/sheets/lines/"]
STAFF += ["/water/", "/plan/", "/me/", "/me/password/", "/about/", "/offline/"]


@pytest.mark.parametrize(("size", "scheme"), [(PHONE, "light"), (PHONE, "dark"), (DESK, "light")])
def test_every_page_of_staff(cast, visit, size, scheme):
    boat = make_harbour(cast)
    window = visit(size=size, color_scheme=scheme)
    window.sign_in(cast.harbourmaster, PASSWORD)
    for url in [*STAFF, f"/boats/{boat.pk}/", f"/boats/{boat.pk}/measure/"]:
        window.page.goto(url)
        window.page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
        window.check()
        assert window.small_targets() == [], url


def test_without_javascript_and_in_print(cast, visit):
    """A page reads and a form is sent without any script; on paper the deeds are gone and folds stand open."""
    boat = make_harbour(cast)
    window = visit(java_script_enabled=False)
    window.sign_in(cast.hand, PASSWORD)
    page = window.page
    page.goto(f"/boats/{boat.pk}/measure/")
    page.get_by_label("Length over everything").fill("about ten")
    page.get_by_role("button", name="Keep these figures").click()
    assert "is no length" in page.locator("main").inner_text()
    assert page.get_by_label("Length over everything").input_value() == "about ten"
    page.get_by_label("Length over everything").fill("10.9")
    page.get_by_role("button", name="Keep these figures").click()
    page.wait_for_url(f"**/boats/{boat.pk}/")
    assert "10.90 m" in page.locator("main").inner_text()
    page.emulate_media(media="print")
    assert not page.get_by_role("link", name="Enter what you measured").is_visible()
    assert page.get_by_role("cell", name="stern port (cleat)").is_visible()


def test_htmx_is_the_version_the_pages_are_written_for(cast, visit):
    make_harbour(cast)
    window = visit()
    window.page.goto("/about/")
    assert window.page.evaluate("htmx.version").startswith("2.")
    assert window.page.evaluate("htmx.config.responseHandling[2].code") == "422"


def test_the_back_office_works_under_the_policy(cast, visit):
    boat = make_harbour(cast)
    window = visit(size=DESK)
    window.sign_in(cast.harbourmaster, PASSWORD)
    page = window.page
    for url in ("/admin/", "/admin/berths/berth/", "/admin/berths/stay/add/", "/admin/base/houserule/"):
        assert page.goto(url).status == 200
    page.goto("/admin/berths/berth/import/")
    assert page.locator("input[type=file]").is_visible()
    page.goto(f"/admin/vessels/vessel/{boat.pk}/change/")
    page.locator("#id_mark").fill("green hull")
    page.locator("input[name=_save]").click()
    boat.refresh_from_db()
    assert boat.mark == "green hull"
