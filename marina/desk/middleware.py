"""Manners of every answer: what a browser may load, how a part arrives, and what each page tells of the house."""

from datetime import UTC
from urllib.parse import quote

from django.conf import settings
from django.db import DatabaseError
from django.shortcuts import resolve_url
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import patch_vary_headers
from django_htmx.http import HttpResponseClientRedirect

from berths.cards.facts import reader_of
from berths.cards.words import UK_US
from marina.base import clock, house
from marina.base.models import Role
from marina.desk.roles import PAGES, role_of

# Under this policy `style="..."`, `<style>`, `onclick="..."` and `hx-on:` are dead, and only the browser's
# console says so: place things by classes or by SVG attributes, and act through site.js.
POLICY = (
    "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; "
    "frame-ancestors 'none'; form-action 'self'"
)


class PartManners:
    """What htmx needs to be told.

    A sign-in that ran out must not put the sign-in page inside a part of the old page, and no cache may hand
    out a part where a whole page was asked for.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        response = self.get_response(request)
        login = resolve_url(settings.LOGIN_URL)
        if request.htmx and response.status_code == 302 and response.url.startswith(login):
            back = request.htmx.current_url_abs_path or "/"
            response = HttpResponseClientRedirect(f"{login}?next={quote(back)}")
        patch_vary_headers(response, ["HX-Request"])
        return response


class ContentSecurity:
    """A strict policy on every page; a PDF is left out, for some browsers' PDF viewers are stopped by it."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        response = self.get_response(request)
        if response.get("Content-Type", "").split(";")[0] != "application/pdf":
            response.headers.setdefault("Content-Security-Policy", POLICY)
        return response


class ReadsIn:
    """An address may ask for the other units: `?units=ft` of a boat whose skipper told her in feet.

    Only for this answer; what the reader has chosen stays.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        if (asked := request.GET.get("units")) in ("m", "ft"):
            request.user.reads_in = asked
        return self.get_response(request)


class HarbourTime:
    """Show times in the harbour's zone, whoever reads and wherever they are; they are stored in UTC."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        with timezone.override(self._zone()):
            return self.get_response(request)

    def _zone(self):
        try:
            return house.rules().zone
        except DatabaseError:
            return UTC  # the page itself will say what it lacks; the health page must be able to


def page_context(request):
    """What every page shows: the harbour's name and clock, the reader's units and words, the pages of the role."""
    rules = house.rules()
    user = getattr(request, "user", None)
    role = role_of(user)
    reader = reader_of(user)
    demo = rules["demo_clock"]
    return {
        "harbour_name": rules["harbour_name"],
        "zone": rules["zone"],
        "telephone": rules["telephone"],
        "channel": rules["channel"],
        "now": clock.now(),
        "invented": demo is not None,  # only the command that loads the demonstration sets its clock
        "clock_stands": demo is not None and "at" in demo,
        "clock_moved": demo is not None and "at" not in demo,
        "units": reader.units,
        "in_units": f"?units={user.reads_in}" if getattr(user, "reads_in", "") else "",
        "word": {ours: reader.word(ours) for ours in UK_US},
        "role_words": _role(Role(role), reader) if role else "",
        "nav": [_link(request, name, text) for name, text, roles in PAGES if role in roles],
    }


def _role(role, reader):
    """What this role is called in the reader's English."""
    if role == Role.HOLDER:
        return "slip holder" if reader.words == "us" else "berth holder"
    return reader.word(role.value) if role == Role.HARBOURMASTER else Role(role).label


def _link(request, name, text):
    url = reverse(name)
    return {"url": url, "words": text, "here": request.path == url}
