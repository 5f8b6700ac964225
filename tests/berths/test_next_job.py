"""A hand's next job: what is due within the hour along the walk, then weak boats, then what comes later."""

from datetime import timedelta

import pytest

from berths.models import Look, Recheck
from berths.selectors.board import day
from tests.cast import NOON, fix_clock, hours, make_berth, make_pier, make_stay, make_tie_up, make_vessel

STOP = {"code": "hangs_her", "severity": "stop", "state": "raised", "from": None, "message": "It hangs her."}


@pytest.fixture
def hand(cast):
    fix_clock(NOON)
    return cast.hand


@pytest.fixture
def docks(hand):
    pier = make_pier()
    return [make_berth(pier=pier, fitted=False, bed_z=-3, walking_order=n) for n in range(1, 5)]


def stay_at(berth, name, *, state="fast", flags=(), **fields):
    stay = make_stay(vessel=make_vessel(name=name, fitted=False), berth=berth, state=state, **fields)
    make_tie_up(stay=stay, answer="holds", flags=list(flags))
    return stay


def told(user):
    return [(job.kind, job.stay.vessel.name, job.due) for job in day(user)["jobs"]]


def test_what_is_due_within_the_hour_comes_along_the_walk_then_weak_boats_then_what_comes_later(hand, docks):
    stay_at(docks[0], "Weak", flags=[STOP], depart=None)
    seen = stay_at(docks[1], "Look", depart=None)
    stay_at(docks[2], "Soon", state="booked", arrive=NOON + timedelta(minutes=40))
    stay_at(docks[3], "Later", state="booked", arrive=NOON + hours(3))
    Recheck.objects.create(stay=seen, why="first_low", due=NOON - hours(1))
    assert told(hand) == [
        ("look", "Look", True),
        ("tie_up", "Soon", True),
        ("weak", "Weak", True),
        ("tie_up", "Later", False),
    ]


def test_a_weak_boat_that_somebody_looked_at_is_nobodys_next_job(hand, docks):
    stay_at(docks[0], "Weak", flags=[STOP], depart=None)
    Look.objects.create(berth=docks[0], mark="could_not_look", words="gate shut", at=NOON - hours(1), by=hand)
    assert [job[0] for job in told(hand)] == ["weak"]
    Look.objects.create(berth=docks[0], mark="as_planned", at=NOON - hours(1), by=hand)
    assert told(hand) == []


def test_the_harbourmaster_is_given_none(cast, hand, docks):
    stay_at(docks[0], "Weak", flags=[STOP], depart=None)
    assert told(cast.harbourmaster) == []


def test_the_page_says_the_next_job_first_and_leads_to_her_card_and_to_made_fast(client, hand, docks):
    stay = stay_at(docks[0], "Soon", state="booked", arrive=NOON + timedelta(minutes=40))
    client.force_login(hand)
    text = client.get("/").content.decode()
    assert text.index("Your next job") < text.index("What needs somebody next")
    assert text.count(f"/stays/{stay.pk}/card/") == 2  # the deed, and the row of arrivals kept ahead
    assert f'data-ahead href="/stays/{stay.pk}/made-fast/"' in text


def test_a_job_that_is_not_due_is_not_told_as_if_it_were(client, hand, docks):
    stay_at(docks[0], "Later", state="booked", arrive=NOON + hours(3))
    client.force_login(hand)
    assert "Nothing is due within the hour" in client.get("/").content.decode()
