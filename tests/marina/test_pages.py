"""What every page owes: its answer, its headers, its words, its weight."""

import json
import re
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.staticfiles import finders
from django.db import OperationalError
from django.test import Client

from berths.models import TieUp
from marina.base import house
from marina.base.models import Role
from marina.base.templatetags.dock import age, day, when
from tests.cast import (
    NOON,
    days,
    fix_clock,
    hours,
    make_berth,
    make_line,
    make_stay,
    make_tie_up,
    make_vessel,
)

pytestmark = pytest.mark.django_db

FLAGS = [
    {"code": "hangs_her", "severity": "stop", "message": "Her stern lines hang her.", "do": "Put on 3.5 m."},
    {"code": "no_spring", "severity": "fix", "message": "Nothing stops her going ahead."},
    {
        "code": "line_weak",
        "severity": "fix",
        "state": "not_known",
        "message": "Strength of line 3 not known.",
    },
]
# Words of the workshop, and words that promise too much.
NOT_ON_A_PAGE = (
    "verdict scenario excursion elevation stale superseded derated residual safe guaranteed certified"
)


@pytest.fixture
def harbour(cast):
    """A boat of the holder's with a tie-up, a line in the store, and the clock at noon."""
    fix_clock(NOON)
    house.set_rule(key="zone", value="Europe/London", by=cast.harbourmaster)
    boat = make_vessel(name="Slow Biscuit", owner=cast.holder.owner)
    berth = make_berth(kind="slip", code="B3")
    stay = make_stay(vessel=boat, berth=berth, state="fast", purpose="permanent", depart=None)
    make_tie_up(stay=stay, stops=1, fixes=1, not_known=1, answer="does_not_hold", flags=FLAGS)
    make_line(tag="WH-101", owner=cast.holder.owner, owner_kind="holder")
    return {"boat": boat.pk, "code": "B3", "tag": "WH-101"}


STAFF = [
    "/",
    "/berths/",
    "/berths/B3/",
    "/boats/{boat}/",
    "/lines/",
    "/lines/WH-101/",
    "/water/",
    "/plan/",
    "/me/",
]
MEASURE = "/boats/{boat}/measure/"
HOLDERS = [
    "/",
    "/mine/",
    "/berths/B3/",
    "/boats/{boat}/",
    "/lines/WH-101/",
    "/water/",
    "/me/",
    "/me/password/",
]
OPEN = ["/about/", "/offline/", "/sign-in/", "/health/"]
PAGES = (
    [(role, page) for role in (Role.HARBOURMASTER, Role.HAND) for page in [*STAFF, MEASURE, *OPEN]]
    + [(Role.HOLDER, page) for page in [*HOLDERS, *OPEN]]
    + [(None, page) for page in OPEN]
)


def get(cast, role, page, harbour):
    client = Client()
    if role:
        client.force_login(getattr(cast, role.value))
    return client.get(page.format(**harbour))


@pytest.mark.parametrize(("role", "page"), PAGES)
def test_page(cast, harbour, role, page):
    answer = get(cast, role, page, harbour)
    assert answer.status_code == 200
    assert answer["Content-Security-Policy"] == (
        "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; "
        "frame-ancestors 'none'; form-action 'self'"
    )
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Referrer-Policy"] == "same-origin"
    assert answer["X-Frame-Options"] == "DENY"
    assert "HX-Request" in answer["Vary"]
    html = answer.content.decode()
    assert not re.search(r"\sstyle=|<style|\son\w+=|hx-on", html), "dead under the content policy"
    words = re.sub(r"<[^>]+>", " ", html).lower()
    told = {word for word in NOT_ON_A_PAGE.split() if re.search(rf"\b{word}\b", words)}
    assert told <= ({"certificate"} if page == "/about/" else set())
    assert "!" not in re.sub(r"<!doctype html>", "", words)


@pytest.mark.parametrize(("role", "page"), PAGES)
def test_page_in_feet_and_american(cast, harbour, role, page):
    if role:
        user = getattr(cast, role.value)
        user.units, user.words = "ft", "us"
        user.save()
    answer = get(cast, role, page, harbour)
    assert answer.status_code == 200
    if "boats" in page:
        html = re.sub(r"\s+", " ", answer.content.decode())
        assert "34 ft" in html  # 10.4 m is 34 ft 1.449 in
        assert not re.search(r"\d\.\d\d m\b", html), "metres on a page in feet"


def test_the_words_of_the_reader(client, cast, harbour):
    client.force_login(cast.hand)
    page = f"/boats/{harbour['boat']}/"
    assert "Draught" in client.get(page).content.decode()
    assert "Draught" in client.get(page + "measure/").content.decode()
    cast.hand.words = "us"
    cast.hand.save()
    for url in (page, page + "measure/"):
        html = client.get(url).content.decode()
        assert "Draft" in html
        assert "Draught" not in html
    client.force_login(cast.holder)
    assert "berth holder" in client.get("/").content.decode()


@pytest.mark.parametrize("loaded", [False, True])
def test_invented_data_is_said_on_every_page(client, cast, loaded):
    if loaded:
        fix_clock(NOON)
    client.force_login(cast.hand)
    for page in ("/", "/berths/", "/water/", "/about/"):
        assert ("Invented data." in client.get(page).content.decode()) is loaded


def test_times_are_the_harbours(client, cast, harbour):
    client.force_login(cast.hand)
    assert "Thursday 14 October, 13:00" in client.get("/").content.decode()  # noon UTC, summer time
    house.set_rule(key="zone", value="America/New_York", by=cast.harbourmaster)
    assert "Thursday 14 October, 08:00" in client.get("/").content.decode()


class TestHtmx:
    def test_a_sign_in_that_ran_out_leads_the_whole_window_there_and_back(self, client, db):
        answer = client.get(
            "/berths/", headers={"HX-Request": "true", "HX-Current-URL": "http://testserver/lines/?tag=WH"}
        )
        assert answer["HX-Redirect"] == "/sign-in/?next=/lines/%3Ftag%3DWH"
        assert answer.content == b""

    def test_the_page_tells_htmx_to_show_what_was_wrong(self, client, db):
        html = client.get("/sign-in/").content.decode()
        config = json.loads(re.search(r"htmx-config\" content='([^']+)'", html)[1])
        assert {"code": "422", "swap": True} in config["responseHandling"]
        assert config["allowEval"] is config["historyRestoreAsHxRequest"] is False


class TestHealth:
    def test_tells_yes_and_nothing_else(self, client, db):
        answer = client.get("/health/")
        assert answer.json() == {"site": "answers", "database": "answers"}
        assert "no-store" in answer["Cache-Control"]

    def test_tells_no(self, client, db, monkeypatch):
        def broken(self):
            raise OperationalError("password=secret host=db")

        monkeypatch.setattr("marina.desk.views.connection.cursor", broken.__get__(object()))
        answer = client.get("/health/")
        assert answer.status_code == 503
        assert answer.json() == {"site": "answers", "database": "does not answer"}


def test_first_load_of_the_day_is_light(client, cast, harbour):
    """At most 100 kB with everything the page asks for, before any compression; 30 boats."""
    for n in range(30):
        stay = make_stay(
            berth=make_berth(fitted=False, code=f"C{n}"), state="fast", vessel=make_vessel(fitted=False)
        )
        if n % 5 == 0:
            make_tie_up(stay=stay, stops=1, answer="does_not_hold", flags=FLAGS)
    client.force_login(cast.harbourmaster)
    html = client.get("/").content
    assets = re.findall(rb'(?:src|href)="/static/([^"]+)"', html)
    assert len(assets) == 3
    sizes = {name.decode(): Path(finders.find(name.decode())).stat().st_size for name in assets}
    assert len(html) + sum(sizes.values()) <= 100_000, (len(html), sizes)


def test_errors_are_pages_of_ours(client, cast, harbour):
    client.force_login(cast.holder)
    missing = client.get("/berths/ZZ/")
    assert missing.status_code == 404
    assert "There is no such page, or it is not one of yours" in missing.content.decode()
    refused = client.get("/plan/")
    assert refused.status_code == 403
    assert "This page is not for a berth holder." in refused.content.decode()


def test_templates_speak_no_workshop():
    """The same words in what is not shown above: pages that other data would bring forth."""
    for path in (settings.BASE_DIR / "templates").rglob("*.html"):
        text = re.sub(r"{[%{#].*?[%}#]}|<[^>]+>", " ", path.read_text(encoding="utf-8"), flags=re.S).lower()
        found = {word for word in NOT_ON_A_PAGE.split() if re.search(rf"\b{word}\b", text)}
        assert not found, f"{path.name}: {found}"


def test_lists_never_open_a_stored_result(client, cast, harbour, django_assert_max_num_queries):
    client.force_login(cast.hand)
    for page in ("/", "/berths/", "/lines/"):
        with django_assert_max_num_queries(14) as asked:
            client.get(page)
        assert not [q["sql"] for q in asked.captured_queries if '"verdict"' in q["sql"]], page
    assert TieUp.objects.filter(verdict__isnull=False).exists()


def test_a_day_ahead_is_named(harbour):
    assert when(NOON + hours(2)) == "15:00"
    assert when(NOON + hours(16)) == "Fri 05:00"
    assert when(NOON - days(2)) == "Tue 12 Oct 13:00"
    assert when(NOON + days(30)) == "Sat 13 Nov 12:00"  # the clocks have gone back
    assert when((NOON + days(400)).isoformat()) == "Fri 17 Nov 2028 12:00"
    assert "not known" in when(None)
    assert (day(NOON.date()), day((NOON + days(1)).date())) == ("today", "tomorrow")
    assert (age(NOON - hours(1)), age(NOON - hours(5)), age((NOON - days(40)).date())) == (
        "60 min ago",
        "5 h ago",
        "40 days ago",
    )
