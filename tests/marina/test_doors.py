"""Every address of the site against every role: who comes in, who is sent to sign in, who is refused."""

import pytest
from django.urls import URLPattern, get_resolver, reverse

from marina.base.models import Role
from marina.desk import roles
from marina.desk.roles import ANONYMOUS, TABLE, may_open
from tests.cast import make_vessel

pytestmark = pytest.mark.django_db

SAMPLE = {"IntConverter": 987654, "UUIDConverter": "8a1c6f0e-0d58-4f5e-9a10-6a3f3f7d6c11"}


def addresses(resolver=None, spaces=(), taken=()):
    """(name, arguments) of every address; those of the back office are one door and stand here as one."""
    for entry in (resolver or get_resolver()).url_patterns:
        converters = (*taken, *entry.pattern.converters.items())
        if isinstance(entry, URLPattern):
            name = ":".join([*spaces, entry.name or f"no name: {entry.pattern}"])
            yield name, {k: SAMPLE.get(type(c).__name__, "ZZ-9") for k, c in converters}
        elif entry.namespace == "admin":
            yield "admin", {}
        else:
            yield from addresses(entry, (*spaces, *filter(None, [entry.namespace])), converters)


ADDRESSES = sorted({name: arguments for name, arguments in addresses()}.items())


def url_of(name, arguments):
    return reverse("admin:index" if name == "admin" else name, kwargs=arguments)


def test_every_address_has_a_row_and_every_row_an_address():
    assert {name for name, _ in ADDRESSES} == set(TABLE)


@pytest.mark.parametrize("role", [ANONYMOUS, *Role])
@pytest.mark.parametrize(("name", "arguments"), ADDRESSES, ids=[name for name, _ in ADDRESSES])
def test_door(client, cast, name, arguments, role):
    if role is not ANONYMOUS:
        client.force_login(getattr(cast, role.value))
    url = url_of(name, arguments)
    answer = client.get(url)
    if role in TABLE[name]:
        assert answer.status_code in (200, 302, 404, 405)
        assert not answer.headers.get("Location", "").startswith("/sign-in/")
    elif role is ANONYMOUS:
        assert (answer.status_code, answer.url) == (302, f"/sign-in/?next={url}")
    else:
        assert answer.status_code == 403
        assert b"ask the harbour master" in answer.content


@pytest.mark.parametrize("role", [ANONYMOUS, *Role])
def test_an_address_without_a_row_is_closed(client, cast, monkeypatch, role):
    monkeypatch.delitem(roles.TABLE, "about")
    assert not may_open(role, "about")
    if role is not ANONYMOUS:
        client.force_login(getattr(cast, role.value))
    assert client.get("/about/").status_code == (302 if role is ANONYMOUS else 403)


def test_the_whole_back_office_is_one_door(client, cast):
    for path in (
        "/admin/",
        "/admin/login/",
        "/admin/berths/berth/",
        "/admin/nothing/here/",
        "/admin/jsi18n/",
    ):
        client.force_login(cast.hand)
        assert client.get(path).status_code == 403
        client.logout()
        assert client.get(path).url.startswith("/sign-in/?next=/admin/")
    client.force_login(cast.harbourmaster)
    assert client.get("/admin/berths/berth/").status_code == 200


def test_nothing_is_done_behind_a_closed_door(client, cast):
    boat = make_vessel(owner=cast.holder.owner)
    client.force_login(cast.holder)
    answer = client.post(reverse("vessels:measure", args=[boat.pk]), {"loa_measured": "3"})
    boat.refresh_from_db()
    assert answer.status_code == 403
    assert boat.loa_measured == boat.loa_declared


class TestSignIn:
    @pytest.fixture
    def hand(self, cast):
        cast.hand.set_password("a long one for the test")
        cast.hand.save()
        return cast.hand

    def test_leads_to_the_page_that_was_asked_for(self, client, hand):
        asked = client.get("/water/")
        answer = client.post(
            asked.url, {"username": "hand", "password": "a long one for the test", "next": "/water/"}
        )
        assert (answer.status_code, answer.url) == (302, "/water/")

    def test_does_not_lead_out_of_the_site(self, client, hand):
        answer = client.post(
            "/sign-in/",
            {"username": "hand", "password": "a long one for the test", "next": "https://example.org/"},
        )
        assert answer.url == "/"

    def test_five_wrong_passwords_lock_that_name_and_say_what_to_do(self, client, hand):
        for _ in range(5):
            answer = client.post("/sign-in/", {"username": "hand", "password": "wrong"})
        assert answer.status_code == 429
        assert "ask the harbour office" in answer.content.decode()
        right = {"username": "hand", "password": "a long one for the test"}
        assert client.post("/sign-in/", right).status_code == 429

    def test_one_wet_phone_does_not_lock_out_the_office(self, client, cast, hand):
        cast.harbourmaster.set_password("another long one")
        cast.harbourmaster.save()
        for _ in range(6):
            client.post("/sign-in/", {"username": "hand", "password": "wrong"})
        answer = client.post("/sign-in/", {"username": "harbourmaster", "password": "another long one"})
        assert answer.status_code == 302

    def test_signing_out_is_a_press_not_a_link(self, client, hand):
        client.force_login(hand)
        assert client.get("/sign-out/").status_code == 405
        assert client.post("/sign-out/").url == "/sign-in/"
        assert client.get("/").url == "/sign-in/?next=/"
