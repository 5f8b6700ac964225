"""The loan book, a boat that leaves with her lines settled, and what tonight's boats lack."""

from datetime import UTC, datetime

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext

from berths.models import LineUse
from berths.selectors import loans
from berths.services import leaving, lending, tieups
from marina.base import house
from tests.berths.test_stay_lines import asked, good_line, text
from tests.cast import NOON, days, hours, make_berth, make_stay, make_vessel
from vessels.fetch import half_up

pytestmark = pytest.mark.django_db
BOOK = "/loans/"


@pytest.fixture(autouse=True)
def noon(clock_at):
    return clock_at(NOON)


@pytest.fixture
def on_the_dock(client, cast):
    client.force_login(cast.hand)
    return client


@pytest.fixture
def lent(cast):
    """A visitor made fast with two lines of the harbour, who leaves today."""
    stay = make_stay(arrive=NOON - days(2), depart=NOON + hours(2), state="fast")
    for line in (good_line(), good_line()):
        lending.issue(line=line, stay=stay, by=cast.hand, at=NOON - days(1), due=stay.depart)
    return stay


def answers(stay, how="returned", **more):
    uses = LineUse.objects.filter(stay=stay, back=None)
    return {f"use{use.pk}-how": how for use in uses} | {"at": "2027-10-14T12:00"} | more


def left(stay):
    return f"/stays/{stay.pk}/left/"


class TestSheLeaves:
    def test_not_before_each_line_is_answered_for(self, on_the_dock, lent):
        answer = on_the_dock.post(left(lent), {"at": "2027-10-14T12:00"})
        assert answer.status_code == 422
        assert text(answer).count("Say what became of this line.") == 2
        lent.refresh_from_db()
        assert lent.state == "fast"

    def test_with_every_line_settled(self, on_the_dock, lent):
        assert on_the_dock.post(left(lent), answers(lent)).status_code == 302
        lent.refresh_from_db()
        assert (lent.state, lent.depart) == ("left", NOON)
        assert not LineUse.objects.filter(back=None).exists()

    def test_each_in_its_own_way(self, on_the_dock, lent):
        one, other = LineUse.objects.filter(stay=lent).select_related("line").order_by("pk")
        data = answers(lent) | {
            f"use{one.pk}-how": "left",
            f"use{one.pk}-reason": "holds the pile till Monday",
            f"use{other.pk}-how": "wet",
        }
        on_the_dock.post(left(lent), data)
        one.refresh_from_db()
        other.refresh_from_db()
        assert (one.closed_as, one.reason, one.line.state) == (
            "left",
            "holds the pile till Monday",
            "missing",
        )
        assert (other.closed_as, other.line.state) == ("returned", "drying")

    def test_left_wants_its_because(self, on_the_dock, lent):
        answer = on_the_dock.post(left(lent), answers(lent, "left"))
        assert answer.status_code == 422
        assert "Say why it was left" in text(answer)
        assert LineUse.objects.filter(back=None).count() == 2

    def test_a_line_that_went_out_meanwhile_holds_her_back(self, lent, cast):
        """Nothing is kept of the rest: they are settled together or not at all."""
        settled = {
            use.pk: {"closed_as": "returned"} for use in LineUse.objects.filter(stay=lent).order_by("pk")[:1]
        }
        with pytest.raises(ValidationError, match="Still on loan"):
            leaving.check_out(stay=lent, by=cast.hand, settled=settled)
        assert LineUse.objects.filter(back=None).count() == 2

    def test_another_boats_line_is_not_settled_here(self, lent, cast):
        other = lending.issue(line=good_line(), stay=make_stay(), by=cast.hand, at=NOON - hours(1))
        with pytest.raises(ValidationError, match="not on loan to her"):
            leaving.check_out(stay=lent, by=cast.hand, settled={other.pk: {"closed_as": "returned"}})

    def test_without_loans_one_press_is_enough(self, on_the_dock):
        stay = make_stay(arrive=NOON - days(1), state="fast")
        assert "No line of the harbour is out to her" in text(on_the_dock.get(left(stay)))
        assert on_the_dock.post(left(stay), {"at": "2027-10-14T12:00"}).status_code == 302
        stay.refresh_from_db()
        assert stay.state == "left"

    @pytest.mark.parametrize("at", ["", "2027-10-15T12:00", "2020-01-01T00:00", "soon"])
    def test_a_time_that_cannot_be(self, on_the_dock, lent, at):
        answer = on_the_dock.post(left(lent), answers(lent, at=at))
        assert answer.status_code == 422
        assert LineUse.objects.filter(back=None).count() == 2

    def test_only_from_where_she_is_made_fast(self, on_the_dock):
        assert on_the_dock.get(left(make_stay())).status_code == 404

    def test_the_stay_page_leads_there(self, on_the_dock, lent):
        assert left(lent) in text(on_the_dock.get(f"/stays/{lent.pk}/"))


class TestTheBook:
    def test_what_is_out_to_whom_since_when(self, on_the_dock, lent):
        shown = text(on_the_dock.get(BOOK))
        assert lent.vessel.name in shown
        assert "since Wed 13 Oct" in shown
        assert "ASK" in shown

    def test_overdue_stands_first(self, cast, lent):
        late = make_stay(arrive=NOON - days(4), state="fast")
        lending.issue(line=good_line(), stay=late, by=cast.hand, at=NOON - days(3), due=NOON - days(1))
        found = loans.book(cast.hand)
        assert [loan.stay for loan in found] == [late, lent]
        assert (found[0].overdue, found[1].overdue) == (True, False)

    def test_not_yet_due_is_not_overdue(self, on_the_dock, lent):
        assert "OVERDUE" not in text(on_the_dock.get(BOOK))

    def test_no_day_set_is_said(self, on_the_dock, cast):
        lending.issue(
            line=good_line(), stay=make_stay(depart=None), by=cast.hand, at=NOON - hours(1), due=None
        )
        assert "no day set" in text(on_the_dock.get(BOOK))

    def test_one_is_settled_while_the_other_stays_out(self, on_the_dock, lent):
        one, other = LineUse.objects.filter(stay=lent).order_by("pk")
        url = f"/stays/{lent.pk}/lines/settle/"
        assert on_the_dock.post(url, {f"use{one.pk}-how": "sold"}).status_code == 302
        one.refresh_from_db()
        other.refresh_from_db()
        assert (one.closed_as, other.back) == ("sold", None)

    def test_settling_nothing_is_told(self, on_the_dock, lent):
        answer = on_the_dock.post(f"/stays/{lent.pk}/lines/settle/", {})
        assert answer.status_code == 422
        assert "Say of one line at least" in text(answer)

    def test_a_fixed_number_of_questions(self, on_the_dock, lent, cast, django_assert_num_queries):
        with CaptureQueriesContext(connection) as few:
            on_the_dock.get(BOOK)
        for _ in range(6):
            lending.issue(line=good_line(), stay=make_stay(state="fast"), by=cast.hand, at=NOON - hours(1))
        with django_assert_num_queries(len(few)):
            on_the_dock.get(BOOK)


class TestTonight:
    @pytest.fixture
    def three(self):
        """Three visitors due today, with like boats at like berths."""
        stays = [
            make_stay(
                berth=make_berth(kind="floating"), vessel=make_vessel(), arrive=NOON + hours(n), depart=None
            )
            for n in (1, 2, 3)
        ]
        for stay in stays:
            tieups.work_out(stay, stands=False)
        return stays

    def test_what_the_store_lacks_for_all_of_them_together(self, on_the_dock, three, cast):
        good_line()
        _, short, _ = loans.tonight(cast.hand)
        wanted = sum(not row["optional"] for stay in three for row in asked(stay))
        assert sum(one.wanted for one in short) in (wanted, wanted - 1)
        assert sum(one.wanted - one.held for one in short) == wanted - 1
        shown = text(on_the_dock.get(BOOK))
        assert "Today 3 boats need" in shown
        assert "the store holds" in shown

    def test_enough_is_no_shortage(self, three, cast, on_the_dock):
        for stay in three:
            for _ in asked(stay):
                good_line()
        assert loans.tonight(cast.hand)[1] == []
        assert "The store has the lines" in text(on_the_dock.get(BOOK))

    def test_storm_gear_is_no_stock_for_visitors(self, three, cast, on_the_dock):
        for stay in three:
            for _ in asked(stay):
                gear = good_line(kept_for="storm")
        _, short, _ = loans.tonight(cast.hand)
        assert all(one.held == 0 for one in short)
        shown = text(on_the_dock.get(BOOK))
        assert f"at {gear.home}, storm gear" in shown

    def test_a_boat_whose_lines_are_not_worked_out_is_named(self, on_the_dock):
        stay = make_stay(arrive=NOON + hours(1))
        shown = text(on_the_dock.get(BOOK))
        assert "What lines they need is not worked out" in shown
        assert stay.vessel.name in shown

    def test_tomorrows_boats_are_not_todays(self, cast):
        make_stay(arrive=datetime(2027, 10, 15, 0, 30, tzinfo=UTC), depart=NOON + days(3))
        assert loans.tonight(cast.hand) == (0, [], [])

    def test_nor_those_the_house_does_not_lend_to(self, cast, three):
        house.set_rule(key="H20", value={"whom": "nobody", "deposit": "", "days": 0}, by=None, reason="no")
        assert loans.tonight(cast.hand) == (0, [], [])

    def test_feet_for_who_reads_feet(self, on_the_dock, three, cast):
        cast.hand.units = "ft"
        cast.hand.save()
        assert " ft " in text(on_the_dock.get(BOOK)).split("Out now")[0]


def test_the_day_names_who_leaves_with_our_lines(on_the_dock, lent):
    assert "2 lines of ours out to her" in text(on_the_dock.get("/"))
    assert BOOK in text(on_the_dock.get("/"))


def test_metres_are_up_to_the_half():
    assert (half_up(11.2), half_up(11.5), half_up(12.01)) == (11.5, 11.5, 12.5)
