"""Boats of the invented harbour that are given another berth, by the same services as the page uses."""

from decimal import Decimal

import pytest

from berths.cards.facts import reader_of
from berths.models import Stay
from berths.selectors.options import Teller, asked_for, options
from berths.services import placing, tieups
from marina.base import clock, house
from tests.demo_harbour import wendlow  # noqa: F401 (a fixture)
from vessels.models import Vessel

pytestmark = pytest.mark.django_db


def offered(boat, berth, arrive, depart, by, without=None):
    teller = Teller(reader_of(by), clock.today())
    found = options(asked_for(boat, house.rules()), arrive, depart, teller, without=without)
    return found.at(berth)


def answered(stay):
    """The answer, the reason, and the flags that STOP her, of the tie-up that counts."""
    kept = tieups.newest(stay)
    stops = [f for f in kept.flags if f["severity"] == "stop" and f["state"] == "raised"]
    return kept.answer, kept.verdict["summary"], stops


@pytest.fixture
def paper_comet(wendlow):  # noqa: F811
    return Stay.objects.get(vessel__name="Paper Comet"), wendlow.users["harbourmaster"]


def test_paper_comet_moved_to_c3_is_held(paper_comet):
    """Her stern lies past a pile by as much as it may, so that her bow stays inside the berth."""
    stay, by = paper_comet
    option = offered(stay.vessel, "C3", stay.arrive, stay.depart, by, without=stay)
    answer, summary, stops = answered(placing.move(stay=stay, option=option, by=by))
    assert (answer, stops) == ("holds", []), summary["why"]


def test_paper_comet_moved_to_q1_is_held(paper_comet):
    stay, by = paper_comet
    option = offered(stay.vessel, "Q1", stay.arrive, stay.depart, by, without=stay)
    answer, _, stops = answered(placing.move(stay=stay, option=option, by=by))
    assert (answer, stops) == ("holds", [])


def test_seven_metres_of_unknown_kind_at_q4_are_not_refused_for_lying_in_two_places(paper_comet):
    like, by = paper_comet
    boat = Vessel(
        name="Small Parcel",
        loa_declared=Decimal("7"),
        beam_declared=Decimal("2.5"),
        draft_declared=Decimal("0.8"),
    )
    option = offered(boat, "Q4", like.arrive, like.depart, by)
    stay = placing.place(boat=boat, option=option, arrive=like.arrive, depart=like.depart, by=by)
    answer, summary, stops = answered(stay)
    assert not [f for f in stops if f["code"] == "not_solved"]
    assert answer != "does_not_hold", summary["why"]
