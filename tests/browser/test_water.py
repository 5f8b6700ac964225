"""The waters at a screen: a station is taken and the gauge read without any script, and every page is in order."""

import pytest

from berths.models import Reading, Water
from tests.browser.conftest import DESK, PHONE
from tests.browser.harbour import PASSWORD, make_harbour


def pages_of(basin, berth):
    own = [
        f"/water/{basin.pk}/{page}"
        for page in ("", "station/", "limits/", "table/", "constants/", "gate/", "allowance/", "weather/")
    ]
    own += [f"/water/{basin.pk}/notices/new/", f"/water/{basin.pk}/reading/"]
    own += [f"/water/{basin.pk}/station/?q=seattle&lat=47.6&lon=-122.3"]
    own += [f"/water/{basin.pk}/station/?lat=47.6&lon=-122.3&station=noaa/9447130"]
    own += [f"/water/{basin.pk}/notices/{basin.notices.get().pk}/", "/water/new/", "/water/"]
    levels = ("", "?at=2027-10-31T01:30", "?at=2027-12-24T08:00", "?at=soon")
    return own + [f"/berths/{berth}/level/{query}" for query in levels]


@pytest.mark.parametrize(("size", "scheme"), [(PHONE, "light"), (PHONE, "dark"), (DESK, "light")])
def test_every_page_of_the_waters(cast, visit, size, scheme):
    make_harbour(cast)
    window = visit(size=size, color_scheme=scheme)
    window.sign_in(cast.harbourmaster, PASSWORD)
    for url in pages_of(Water.objects.get(name="Inner basin"), "B3"):
        window.page.goto(url)
        window.page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
        window.check()
        assert window.small_targets() == [], url


def test_a_station_is_taken_and_the_gauge_read_without_a_script(cast, visit):
    make_harbour(cast)
    window = visit(java_script_enabled=False)
    window.sign_in(cast.harbourmaster, PASSWORD)
    page, basin = window.page, Water.objects.get(name="Inner basin")
    page.goto(f"/water/{basin.pk}/station/")
    page.get_by_label("Name, region or country").fill("seattle")
    page.get_by_label("Latitude").fill("47.60")
    page.get_by_label("Longitude").fill("-122.34")
    page.get_by_role("button", name="Look for stations").click()
    page.get_by_role("link", name="Take Seattle (noaa/9447130)").click()
    page.get_by_label("Added to the station's heights").fill("two")
    page.get_by_role("button", name="Take the tide from Seattle").click()
    assert "is no length" in page.locator("main").inner_text()
    assert page.get_by_label("Added to the station's heights").input_value() == "two"
    page.get_by_label("Added to the station's heights").fill("0")
    page.get_by_role("button", name="Take the tide from Seattle").click()
    assert "Tide station Seattle (noaa/9447130)" in page.locator("main").inner_text()
    page.get_by_role("link", name="Enter what it reads").click()
    page.get_by_label("The gauge reads").fill("1.2")
    page.get_by_role("button", name="Keep this reading").click()
    assert "prediction" in page.locator("main").inner_text()
    assert Reading.objects.filter(water=basin, by=cast.harbourmaster).count() == 1


def test_offsets_are_shown_and_a_forecast_is_kept_without_a_script(cast, visit):
    make_harbour(cast)
    window = visit(size=PHONE, java_script_enabled=False)
    window.sign_in(cast.harbourmaster, PASSWORD)
    page, basin = window.page, Water.objects.get(name="Inner basin")
    page.goto(f"/water/{basin.pk}/station/?station=noaa/9447130")
    page.get_by_label("Later than at the station, minutes").fill("25")
    page.get_by_role("button", name="Show what that does").click()
    assert "nothing is kept yet" in page.locator("#turns caption").inner_text()
    assert page.get_by_label("Later than at the station, minutes").input_value() == "25"
    assert Water.objects.get(pk=basin.pk).kind == "limits"
    page.goto(f"/water/{basin.pk}/weather/")
    page.get_by_label("Gusts, knots").fill("30")
    page.get_by_label("Wind from").fill("uphill")
    page.get_by_label("Why").fill("Coast radio")
    page.get_by_role("button", name="Keep this").click()
    assert "“uphill” is no direction" in page.locator("main").inner_text()
    page.get_by_label("Wind from").fill("SW")
    page.get_by_role("button", name="Keep this").click()
    assert "gusts of 30 kn from south-west (225). Coast radio." in page.locator("main").inner_text()


def test_the_level_page_prints_with_curve_and_table(cast, visit):
    make_harbour(cast)
    window = visit(size=DESK)
    window.sign_in(cast.holder, PASSWORD)
    page = window.page
    page.goto("/berths/B3/level/")
    page.emulate_media(media="print")
    assert page.locator("figure svg").first.is_visible()
    assert page.get_by_role("cell", name="now").first.is_visible()
    assert not page.get_by_role("button", name="Show that time").is_visible()
