"""The system's Chromium, a page that tells on every console error, and the rules of accessibility.

Run as a call of its own (`pytest tests/browser`): the browser's event loop makes Django's rows refuse to be
read unless the variable below is set, and set for the other tests it would hide a true slip.
"""

import os
import shutil

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import sync_playwright

os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 900}
# The usual rules, and those of the stricter levels that wet hands and low sun ask for.
AXE = {"rules": {"color-contrast-enhanced": {"enabled": True}, "target-size": {"enabled": True}}}


@pytest.fixture(scope="session")
def chromium():
    """One browser for the whole run. Without one this fails: a skipped test proves nothing."""
    path = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    assert path, "no Chromium on this machine: install it (Debian: apt-get install chromium)"
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield browser
        browser.close()


class Visitor:
    """A person at a screen: signs in, goes to pages, and collects what the browser complains of."""

    def __init__(self, browser, site, *, size=PHONE, **context):
        self.site = site
        self.context = browser.new_context(viewport=size, base_url=site, **context)
        self.page = self.context.new_page()
        self.complaints = []
        self.page.on("console", self._heard)
        self.page.on("pageerror", lambda error: self.complaints.append(f"page error: {error}"))

    def _heard(self, message):
        # A form sent back with its mistakes is a 422, and the browser logs every answer of 400 and more.
        if message.type == "error" and "status of 422" not in message.text:
            self.complaints.append(f"{message.text} at {message.location.get('url')}")

    def sign_in(self, user, password):
        self.page.goto("/sign-in/")
        self.page.get_by_label("Name").fill(user.get_username())
        self.page.get_by_label("Password").fill(password)
        self.page.get_by_role("button", name="Sign in").click()
        self.page.wait_for_url(lambda url: "/sign-in/" not in url)

    def check(self):
        """No rule of accessibility broken on the page that is open, nothing wider than the screen."""
        result = Axe().run(self.page, options=AXE)
        found = [
            f"{v['id']}: {node['html'][:160]}" for v in result.response["violations"] for node in v["nodes"]
        ]
        assert not found, "\n".join([self.page.url, *found])
        wide = self.page.evaluate(
            "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
        assert wide <= 0, f"{self.page.url} is {wide} px wider than the screen"

    def small_targets(self):
        """What can be pressed and is lower than 48 px; words inside a running sentence are let be, and so are the
        berths of the harbour plan, which are to scale: each is a row of the list below it too."""
        return self.page.evaluate(
            """() => [...document.querySelectorAll('a, button, summary, select, input:not([type=hidden])')]
              .filter(e => e.checkVisibility() && !e.closest('p, td, dd, li:not(:only-child) > span, figcaption, .skip, svg'))
              .filter(e => !e.classList.contains('skip') && !(e.closest('li') && e.tagName === 'A'
                && e.closest('li').textContent.trim() !== e.textContent.trim()))
              .filter(e => (e.closest('label') || e).getBoundingClientRect().height < 47.5)
              .map(e => e.outerHTML.slice(0, 120))"""
        )

    def leave(self):
        self.context.close()
        assert not self.complaints, "\n".join(self.complaints)


@pytest.fixture
def visit(chromium, live_server):
    """`visit()` opens a fresh browser window; at the end each must have stayed free of complaints."""
    open_windows = []

    def start(**kwargs):
        window = Visitor(chromium, live_server.url, **kwargs)
        open_windows.append(window)
        return window

    yield start
    for window in open_windows:
        window.leave()
