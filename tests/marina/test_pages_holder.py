"""A berth holder sees the own boats and cannot learn that any other exists."""

from itertools import chain

import pytest
from django.contrib.auth.models import AnonymousUser
from django.urls import reverse

from berths.models import LineSet, LineUse, SetPosition, Sighting
from berths.selectors import visible
from berths.selectors.mine import boats_of
from tests.cast import (
    NOON,
    days,
    fix_clock,
    make_berth,
    make_line,
    make_stay,
    make_tie_up,
    make_vessel,
    make_water,
)
from vessels.models import Inspection

pytestmark = pytest.mark.django_db

STOP = {
    "code": "hangs_her",
    "severity": "stop",
    "message": "Her stern lines hang her.",
    "do": "Put on 3.5 m.",
}
NOTE = {"code": "length_differs", "severity": "note", "message": "Declared otherwise."}


class Side:
    """A boat with berth, stay, flags, a set of three lines and one lent line; every name carries the mark."""

    def __init__(self, owner, mark, water):
        self.mark = mark
        self.boat = make_vessel(name=f"{mark} Biscuit", owner=owner, note=f"{mark} note", mark=f"{mark} hull")
        self.berth = make_berth(kind="slip", code=f"{mark}3", water=water)
        self.stay = make_stay(
            vessel=self.boat,
            berth=self.berth,
            state="fast",
            purpose="permanent",
            arrive=NOON - days(150),
            depart=None,
        )
        make_tie_up(stay=self.stay, stops=1, answer="does_not_hold", flags=[NOTE, STOP])
        self.set = LineSet.objects.create(
            berth=self.berth, vessel=self.boat, owner=owner, starts=(NOON - days(300)).date()
        )
        self.lines = [self.fill(n, owner) for n in (1, 2, 3)]
        self.lent = make_line(tag=f"{mark}-LENT")
        LineUse.objects.create(line=self.lent, stay=self.stay, at=NOON - days(2))

    def fill(self, number, owner):
        position = SetPosition.objects.create(
            line_set=self.set,
            number=number,
            role="stern line",
            length=4,
            boat_end=self.boat.fittings.get(code="stern_port"),
            shore_end=self.berth.fastenings.get(code="D1"),
        )
        line = make_line(
            tag=f"{self.mark}-{number}",
            state="out",
            owner=owner if number == 1 else None,
            owner_kind="holder" if number == 1 else "harbour",
            next_inspection=(NOON + days({1: 100, 2: -40, 3: 30}[number])).date(),
        )
        LineUse.objects.create(line=line, position=position, at=NOON - days(200))
        if number != 3:
            Inspection.objects.create(line=line, at=NOON - days(200), advice="keep")
        return line

    @property
    def urls(self):
        yield reverse("berths:berth", args=[self.berth.code])
        yield reverse("berths:boat", args=[self.boat.pk])
        for line in [*self.lines, self.lent]:
            yield reverse("berths:line", args=[line.tag])


@pytest.fixture
def sides(cast):
    fix_clock(NOON)
    water = make_water()
    return Side(cast.holder.owner, "Mine", water), Side(cast.stranger.owner, "Other", water)


@pytest.fixture
def holder(client, cast):
    client.force_login(cast.holder)
    return client


def test_own_pages_open_and_those_of_others_are_not_there(holder, sides):
    mine, other = sides
    assert {holder.get(url).status_code for url in mine.urls} == {200}
    assert {holder.get(url).status_code for url in other.urls} == {404}


def test_no_page_names_anything_of_anybody_else(holder, sides):
    mine, other = sides
    visitor = make_vessel(name="Other Visitor")
    make_stay(
        vessel=visitor, berth=mine.berth, state="left", arrive=NOON - days(400), depart=NOON - days(390)
    )
    Sighting.objects.create(line=mine.lines[0], tag="Mine-1", berth=other.berth, at=NOON - days(1))
    for url in chain(["/", "/mine/", "/water/", "/me/", "/about/"], mine.urls):
        html = holder.get(url).content.decode()
        assert "Other" not in html, url
        assert "Mine" in html or url in ("/water/", "/me/", "/about/")


def test_flags_and_reasons_that_tell_of_others_are_said_without_them(client, cast, sides):
    mine, _ = sides
    swings = {"code": "neighbour", "severity": "fix", "message": "she swings 0.40 m into the boat at Other3"}
    make_tie_up(
        stay=mine.stay,
        made_at=NOON + days(1),
        flags=[STOP | {"under": [swings]}, swings],
        answer="does_not_hold",
        stops=1,
        stale=True,
        stale_why="stay Other Biscuit at Other3: added",
        stale_since=NOON,
    )
    url = reverse("berths:berth", args=[mine.berth.code])
    client.force_login(cast.holder)
    html = client.get(url).content.decode()
    assert "Other" not in html
    assert "The harbour office has something to settle at this berth." in html
    assert "Out of date: something it rests on has changed." in html
    assert "1 stop, 1 fix, 2 not known, 1 note" in html  # with a line never inspected, and one seen elsewhere
    client.force_login(cast.hand)
    assert client.get(url).content.decode().count("into the boat at Other3") == 2


def test_an_own_line_lent_to_somebody_else_does_not_tell_to_whom(holder, sides):
    mine, other = sides
    line = make_line(tag="Mine-9", owner=mine.boat.owner, owner_kind="holder")
    LineUse.objects.create(line=line, stay=other.stay, at=NOON - days(1))
    html = holder.get(reverse("berths:line", args=["Mine-9"])).content.decode()
    assert "Other" not in html


def test_what_ended_is_no_longer_visible(holder, sides, cast):
    mine, _ = sides
    old = make_berth(code="OLD")
    make_stay(vessel=mine.boat, berth=old, state="left", arrive=NOON - days(300), depart=NOON - days(200))
    assert holder.get("/berths/OLD/").status_code == 404
    assert list(visible.berths(cast.holder)) == [mine.berth]
    assert set(visible.lines(cast.holder)) == {*mine.lines, mine.lent}
    LineUse.objects.filter(line=mine.lent).update(back=NOON, closed_as="returned")
    assert holder.get(reverse("berths:line", args=[mine.lent.tag])).status_code == 404


def test_a_holder_without_a_boat(client, cast, sides):
    boat, _ = sides
    boat.boat.owner = None
    boat.boat.save()
    client.force_login(cast.holder)
    assert "No boat is entered under your name" in client.get("/").content.decode()


def test_nobody_signed_in_sees_no_rows(sides, db):
    nobody = AnonymousUser()
    for rows in (visible.vessels, visible.stays, visible.berths, visible.lines, visible.line_sets):
        assert not rows(nobody).exists()


class TestMyBoat:
    def test_worst_first_then_each_line_with_what_it_needs(self, holder, sides):
        html = holder.get("/").content.decode()
        places = [
            html.index(words)
            for words in (
                "Mine3",
                "Her stern lines hang her.",
                "Inspection overdue by 40 days.",
                "Her lines",
                "from the port stern cleat to cleat D1",
            )
        ]
        assert places == sorted(places)
        assert "Next inspection: <strong>Sat 4 Sep</strong>" in html  # 40 days before 14 October 2027

    def test_lines_and_their_states(self, cast, sides):
        (boat,) = boats_of(cast.holder)
        assert [(own.line.tag, own.use.kind, own.use.word) for own in boat.lines] == [
            ("Mine-1", "note", "NOTHING FOUND"),
            ("Mine-2", "fix", "LOOK FIRST"),
            ("Mine-3", "not_known", "NOT KNOWN"),
        ]
        assert boat.standing.worst.code == "hangs_her"
        assert boat.next_inspection == (NOON - days(40)).date()

    def test_the_boat_that_needs_most_comes_first(self, cast, sides):
        make_tie_up(stay=sides[0].stay, made_at=NOON + days(1), flags=[])
        worse = Side(cast.holder.owner, "Zebra", sides[0].berth.water)
        assert [boat.vessel for boat in boats_of(cast.holder)] == [worse.boat, sides[0].boat]

    def test_a_position_without_a_line_is_not_known(self, cast, holder, sides):
        mine, _ = sides
        SetPosition.objects.create(line_set=mine.set, number=4, role="spring")
        (boat,) = boats_of(cast.holder)
        assert boat.doubtful[-1].line is None
        assert "Which line is here is not recorded." in holder.get("/").content.decode()

    def test_away_the_set_speaks_for_her(self, cast, sides):
        mine, _ = sides
        mine.stay.state, mine.stay.depart = "left", NOON - days(1)
        mine.stay.save()
        (boat,) = boats_of(cast.holder)
        assert boat.stay is None
        assert boat.standing.worst.code == "no_tie_up"
        make_tie_up(line_set=mine.set, stops=1, answer="does_not_hold", flags=[STOP])
        (boat,) = boats_of(cast.holder)
        assert boat.standing.worst.code == "hangs_her"

    @pytest.mark.parametrize("boats", [1, 8])
    def test_queries_do_not_grow(self, cast, holder, sides, django_assert_max_num_queries, boats):
        for n in range(boats - 1):
            Side(cast.holder.owner, f"More{n}-", sides[0].berth.water)
        with django_assert_max_num_queries(12):
            assert len(holder.get("/").context["boats"]) == boats
