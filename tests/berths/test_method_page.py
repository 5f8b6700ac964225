"""How this is worked out: method, one number step by step, every check with its source, in words of the dock."""

import re
from html import unescape

import pytest
from django.urls import reverse

from berths.tieup import checks
from berths.views import method

pytestmark = pytest.mark.django_db

WORKSHOP = ("verdict", "scenario", "governing", "excursion", "elevation", "stale", "superseded", "derated", "residual",
            "safe", "hessian", "newton", "iteration")  # fmt: skip


@pytest.fixture
def page(client, cast):
    client.force_login(cast.holder)
    answer = client.get(reverse("berths:method"))
    assert answer.status_code == 200
    html = answer.content.decode()
    return html[html.index("<main") : html.index("</main>")]


def words(html):
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)))


def test_every_check_is_there_with_source_expected_and_got(page):
    text = words(page)
    for found in checks.worked_out().values():
        for check in found:
            assert check.id in text and check.source in text, check.id
            assert method.plain(check.got) in text and method.plain(check.expected) in text, check.id
    number = len(checks.rows())
    assert f"{number} of {number} come out" in text and "DIFFERS" not in text


def test_a_check_that_does_not_come_out_is_said(client, cast, monkeypatch):
    row = checks.rows()[0]
    wrong = checks.work_out(row | {"expected": 1.0})
    monkeypatch.setattr(checks, "worked_out", lambda: {"Rope": [wrong]})
    client.force_login(cast.hand)
    text = words(client.get(reverse("berths:method")).content.decode())
    assert "DIFFERS" in text and "0 of 1 come out" in text


def test_the_words_are_those_of_the_dock(page):
    text = words(page)
    assert not [word for word in WORKSHOP if re.search(rf"\b{word}\b", text, re.IGNORECASE)]
    assert "!" not in text and "/tmp" not in text


def test_limits_have_their_sources_and_cautions_stand_there(page):
    text = words(page)
    assert "UFC 4-159-03 (2005) Table 3-7" in text and "common practice, no source" in text
    assert "licensed engineer" in text and "What it does not know" in text
