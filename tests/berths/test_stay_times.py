"""How long a boat stays, changed on the page of her stay: a longer stay meets a wider water, and says so."""

import re

import pytest

from berths.models import TieUp
from berths.services import tieups
from tests.berths.test_stay_allowance import evening, office, stay, water, words  # noqa: F401
from tests.berths.waters import local
from tests.cast import make_stay

pytestmark = pytest.mark.django_db


def until(client, row, when):
    return client.post(f"/stays/{row.pk}/times/", {"depart": when}, follow=True)


def test_longer_and_the_wider_water_is_said(office, stay):  # noqa: F811
    tieups.work_out(stay, stands=False)
    page = words(until(office, stay, "2027-10-18T12:00"))
    assert re.search(r"She now stays until Mon[^.]*\. The water she meets, without weather: now 0\.", page)
    assert "; before, 0.4" in page
    stay.refresh_from_db()
    assert stay.depart == local("18 13:00")  # typed by the harbour's clock, which is UTC here
    assert TieUp.objects.get(stay=stay).stale


def test_no_end(office, stay):  # noqa: F811
    assert (
        "She now stays with no end set. The water she meets, without weather: now 0.05 m to 2.77 m"
        in words(until(office, stay, ""))
    )


def test_before_she_comes_no_time_and_taken_are_refused(office, stay):  # noqa: F811
    make_stay(berth=stay.berth, arrive=local("16 12:00"), depart=local("18 12:00"))
    for when, told in (
        ("2027-10-13T12:00", "must end after it starts"),
        ("soon", "soon"),
        ("2027-10-17T12:00", "taken then"),
    ):
        answer = until(office, stay, when)
        assert answer.status_code == 422 and told in words(answer)
    stay.refresh_from_db()
    assert stay.depart == local("15 12:00")


def test_a_hand_may_not(client, cast, stay):  # noqa: F811
    client.force_login(cast.hand)
    assert until(client, stay, "2027-10-18T12:00").status_code == 403
