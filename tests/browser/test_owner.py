"""The owner on a phone: what is wrong with my boat, in one sentence, and nothing of anybody else's."""

from tests.browser.harbour import PASSWORD, make_harbour


def test_owner_reads_what_to_do_and_sees_only_hers(cast, visit):
    boat = make_harbour(cast)
    owner = visit()
    owner.page.goto("/")
    assert "/sign-in/?next=/" in owner.page.url
    owner.check()
    owner.page.get_by_label("Name").fill("holder")
    owner.page.get_by_label("Password").fill("wrong")
    owner.page.get_by_role("button", name="Sign in").click()
    assert "do not go together" in owner.page.get_by_role("alert").inner_text()
    assert owner.page.get_by_label("Name").input_value() == "holder"
    owner.sign_in(cast.holder, PASSWORD)

    page = owner.page
    assert page.get_by_role("heading", level=1).inner_text() == "Slow Biscuit"
    first = page.locator(".answer").first.inner_text()
    assert "STOP" in first
    assert "As the basin falls to 1.60 m her stern lines hang her." in first
    assert "from Fri 06:00" in first
    box = page.locator(".answer").first.bounding_box()
    assert box["y"] + 60 < 844, "what is wrong stands on the first screen"
    assert page.get_by_text("radio channel 80").is_visible()
    assert page.get_by_role("link", name="The day").count() == 0
    owner.check()
    assert owner.small_targets() == []

    page.get_by_text("All that was found").click()
    assert page.get_by_text("Strength of line 3 not known.").is_visible()
    page.get_by_role("link", name="B3-1").last.click()
    page.wait_for_url("**/lines/B3-1/")
    assert "LOOK FIRST" in page.locator("main").inner_text()
    page.go_back()
    page.get_by_role("link", name="B3", exact=True).click()
    page.wait_for_url("**/berths/B3/")
    owner.check()
    for url in ("/", "/berths/B3/", f"/boats/{boat.pk}/", "/lines/B3-1/", "/water/"):
        page.goto(url)
        for name in ("Loud Umbrella", "Paper Comet", "B8", "Q3", "A4"):
            assert name not in page.locator("body").inner_text(), (url, name)
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in/")
    page.goto("/")
    assert "/sign-in/" in page.url


def test_without_a_connection_the_page_says_what_to_go_by(cast, visit):
    make_harbour(cast)
    owner = visit()
    owner.sign_in(cast.holder, PASSWORD)
    owner.page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    owner.context.set_offline(True)
    owner.page.goto("/water/")
    words = owner.page.locator("main").inner_text()
    assert "Go by the printed card" in words
    assert "holder" not in owner.page.locator("body").inner_text(), "the kept page is nobody's"
    assert owner.page.evaluate("getComputedStyle(document.body).marginTop") == "0px", "it has its style"
    owner.context.set_offline(False)
    owner.page.goto("/water/")
    assert owner.page.get_by_role("heading", level=1).inner_text().startswith("Water")
    owner.complaints.clear()  # the browser tells of the connection it lost


def test_what_is_not_hers_is_not_there(cast, visit):
    make_harbour(cast)
    owner = visit()
    owner.sign_in(cast.holder, PASSWORD)
    for url, status in (("/berths/B8/", 404), ("/lines/B8-1/", 404), ("/plan/", 403), ("/admin/", 403)):
        answer = owner.page.goto(url)
        assert answer.status == status
        owner.check()
        assert owner.page.get_by_role("link", name="To your first page").is_visible()
    owner.complaints.clear()  # the browser logs each 403 and 404 that this story asked for
