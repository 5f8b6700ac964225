"""Lines of the store on a phone: out with one tap, back with one tap, and a boat that leaves with them settled."""

import pytest

from berths.models import LineUse, Stay
from berths.services import lending, tieups
from tests.berths.test_stay_lines import good_line
from tests.browser.conftest import DESK, PHONE
from tests.browser.harbour import PASSWORD, make_harbour
from tests.cast import NOON, hours, make_berth, make_line, make_stay


@pytest.fixture
def due(cast):
    """A visitor due today with lines worked out, one of them not to be met, and a boat that has two."""
    make_harbour(cast)
    stay = make_stay(berth=make_berth(kind="floating", code="A6"), arrive=NOON + hours(2))
    tieups.work_out(stay, stands=False)
    for _ in tieups.newest(stay).verdict["lines"][1:]:
        good_line()
    make_line(tag="WH-119", state="quarantine", total_length=20, diameter_mm=14)
    fast = Stay.objects.get(berth__code="A4")
    for line in (good_line(), good_line()):
        lending.issue(line=line, stay=fast, by=cast.hand, at=NOON - hours(20), due=NOON - hours(1))
    return stay


@pytest.mark.parametrize("size", [PHONE, DESK])
def test_the_pages(cast, visit, due, size):
    window = visit(size=size)
    window.sign_in(cast.hand, PASSWORD)
    fast = Stay.objects.get(berth__code="A4")
    pages = [f"/stays/{due.pk}/lines/", f"/stays/{fast.pk}/lines/", "/loans/"]
    for url in [*pages, f"/stays/{fast.pk}/left/", f"/stays/{fast.pk}/lines/settle/"]:
        window.page.goto(url)
        window.page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
        window.check()
        assert window.small_targets() == [], url


def test_out_back_and_left_without_javascript(cast, visit, due):
    window = visit(java_script_enabled=False)
    window.sign_in(cast.hand, PASSWORD)
    page = window.page
    page.goto(f"/stays/{due.pk}/lines/")
    assert "WH-119" in page.locator("main").inner_text()
    page.get_by_role("button", name="Out to her, all").click()
    out = LineUse.objects.filter(stay=due, back=None).select_related("line")
    tags = [use.line.tag for use in out]
    assert tags and all(tag in page.locator("main").inner_text() for tag in tags)
    page.get_by_role("button", name=f"{tags[0]} is back, wet").click()
    assert f"{tags[0]} is back, and hangs to dry." in page.locator("main").inner_text()
    fast = Stay.objects.get(berth__code="A4")
    page.goto(f"/stays/{fast.pk}/")
    page.get_by_role("link", name="She has left").click()
    page.get_by_role("button", name="She has left").click()
    assert "Say what became of this line." in page.locator("main").inner_text()
    for box in page.get_by_label("Back, dry").all():
        box.check()
    page.get_by_role("button", name="She has left").click()
    fast.refresh_from_db()
    assert fast.state == "left"
