"""Tags read when a boat is made fast: the loan book follows, and what contradicts it stands beside it as seen."""

from decimal import Decimal

import pytest

from berths.models import LineSet, LineUse, MadeFastLine, SetPosition, Sighting
from berths.selectors.places import two_places
from berths.selectors.standing import standings
from berths.services import lending, tieups
from berths.services.stays import make_fast
from tests.berths.test_fast import page, text, told
from tests.berths.test_stay_lines import good_line
from tests.cast import NOON, days, hours, make_berth, make_line, make_stay, make_vessel
from vessels.services.inspections import inspect

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def noon(clock_at):
    return clock_at(NOON)


@pytest.fixture
def stay():
    return make_stay(arrive=NOON - days(1))


def fast_with(stay, *lines, by=None, **fields):
    return make_fast(stay=stay, by=by, lines=[{"line": line} for line in lines], **fields)


class TestTheBookFollows:
    def test_a_line_of_the_store_is_out_to_her_from_then_on(self, stay, cast):
        line = make_line()
        fast_with(stay, line, by=cast.hand)
        use = LineUse.objects.get()
        assert (use.line, use.stay, use.by, use.at, use.due) == (line, stay, cast.hand, NOON, stay.depart)
        line.refresh_from_db()
        assert line.state == "out"
        assert not Sighting.objects.exists()

    def test_once(self, stay):
        line = make_line()
        lending.issue(line=line, stay=stay, by=None, at=NOON - hours(1))
        fast_with(stay, line)
        fast_with(stay, line, at=NOON)
        assert LineUse.objects.count() == 1
        assert not Sighting.objects.exists()

    def test_a_line_of_her_own_set_is_where_it_should_be(self, cast):
        boat = make_vessel(owner=cast.holder.owner)
        stay = make_stay(vessel=boat)
        made = LineSet.objects.create(berth=stay.berth, vessel=boat, starts=NOON.date())
        line = make_line(owner_kind="holder", owner=boat.owner)
        position = SetPosition.objects.create(line_set=made, number=1)
        lending.issue(line=line, position=position, by=None, at=NOON - hours(1))
        fast_with(stay, line)
        assert LineUse.objects.count() == 1
        assert not Sighting.objects.exists()

    def test_her_owners_line_is_not_lent(self, cast):
        stay = make_stay(vessel=make_vessel(owner=cast.holder.owner))
        fast_with(stay, make_line(owner_kind="holder", owner=cast.holder.owner))
        assert not LineUse.objects.exists()
        assert not Sighting.objects.exists()

    def test_nothing_of_it_where_the_deed_is_refused(self, stay):
        """One transaction: no use without the word that she is made fast."""
        stay.state = "left"
        stay.save()
        with pytest.raises(Exception, match="left"):
            fast_with(stay, make_line())
        assert not LineUse.objects.exists()


@pytest.fixture
def of_her_set():
    """A boat with a set of one position, and the harbour's line that is booked to it; (stay, line, position)."""
    stay = make_stay(state="fast", arrive=NOON - days(30))
    made = LineSet.objects.create(berth=stay.berth, vessel=stay.vessel, starts=(NOON - days(30)).date())
    position, line = SetPosition.objects.create(line_set=made, number=3), make_line()
    lending.issue(line=line, position=position, by=None, at=NOON - days(20))
    return stay, line, position


class TestTheLaterWordCounts:
    def test_a_line_that_was_seen_in_the_store_is_on_her_after_all(self, of_her_set, cast):
        stay, line, position = of_her_set
        Sighting.objects.create(line=line, tag=line.tag, place="rope store", at=NOON - days(4))
        assert [two.line for two in two_places(cast.hand)] == [line]
        fast_with(stay, line, by=cast.hand)
        assert two_places(cast.hand) == []
        assert Sighting.objects.first().position == position

    def test_another_one_that_was_seen_in_its_place_is_gone(self, of_her_set, cast):
        stay, line, position = of_her_set
        old = make_line(state="retired")
        Sighting.objects.create(line=old, tag=old.tag, berth=stay.berth, position=position, at=NOON - days(2))
        codes = {mark.code for mark in standings([stay])[stay.pk].marks}
        assert "line_condemned" in codes
        fast_with(stay, line, by=cast.hand)
        assert "line_condemned" not in {mark.code for mark in standings([stay])[stay.pk].marks}

    def test_what_was_seen_later_than_she_was_made_fast_stands(self, of_her_set, cast):
        stay, line, position = of_her_set
        Sighting.objects.create(tag="", berth=stay.berth, position=position, at=NOON - hours(1))
        fast_with(stay, line, by=cast.hand, at=NOON - hours(3))
        assert "line_untagged" in {mark.code for mark in standings([stay])[stay.pk].marks}


class TestWhatContradictsIsSeen:
    def test_out_elsewhere(self, stay, cast):
        line = make_line()
        lending.issue(line=line, stay=make_stay(), by=None, at=NOON - hours(1))
        fast_with(stay, line, by=cast.hand)
        seen = Sighting.objects.get()
        assert (seen.line, seen.tag, seen.berth, seen.stay, seen.by) == (
            line,
            line.tag,
            stay.berth,
            stay,
            cast.hand,
        )
        assert [two.line for two in two_places(cast.hand)] == [line]
        assert LineUse.objects.count() == 1

    def test_somebody_elses(self, stay, cast):
        fast_with(stay, make_line(owner_kind="holder", owner=cast.holder.owner))
        assert Sighting.objects.count() == 1
        assert not LineUse.objects.exists()

    @pytest.mark.parametrize("state", ["retired", "failed", "quarantine", "missing", "sold"])
    def test_what_must_not_go_out_is_kept_as_seen(self, stay, state):
        line = make_line(state=state)
        fast_with(stay, line)
        assert MadeFastLine.objects.get().line == line
        assert Sighting.objects.get().line == line
        assert not LineUse.objects.exists()

    def test_condemned_while_it_is_out_to_her(self, stay, cast):
        line = make_line()
        lending.issue(line=line, stay=stay, by=None, at=NOON - hours(2))
        inspect(line=line, by=cast.hand, zones={"eye": ["melted"]}, at=NOON - hours(1))
        line.refresh_from_db()
        fast_with(stay, line)
        assert Sighting.objects.get().line == line

    def test_a_word_older_than_the_lines_history(self, stay, clock_at):
        """A phone without signal sends late: the line came home after it was read there. Nothing is lost."""
        line = make_line()
        use = lending.issue(line=line, stay=make_stay(), by=None, at=NOON - hours(5))
        lending.take_back(use=use, by=None, at=NOON - hours(1))
        line.refresh_from_db()
        fast_with(stay, line, at=NOON - hours(3))
        assert Sighting.objects.get().at == NOON - hours(3)
        assert LineUse.objects.filter(back=None).count() == 0


class TestThePages:
    @pytest.fixture
    def on_the_dock(self, client, cast):
        client.force_login(cast.hand)
        return client

    @pytest.fixture
    def due(self):
        stay = make_stay(berth=make_berth(kind="floating"))
        tieups.work_out(stay, stands=False)
        return stay

    def test_retired_stands_first(self, on_the_dock, due):
        line = make_line(tag="WH-320", state="retired", working_length=Decimal(9))
        order = tieups.newest(due).verdict["lines"][0]["order"]
        data = told(
            due, **{f"line{order}-how": "otherwise", f"line{order}-tag": "wh-320", "at": "2027-10-14T12:00"}
        )
        shown = text(on_the_dock.post(page(due), data, follow=True))
        assert "RETIRED: WH-320 is on her" in shown
        assert shown.index("RETIRED: WH-320") < shown.index("is recorded as made fast")
        assert MadeFastLine.objects.filter(line=line).exists()

    def test_the_pages_name_what_is_out_to_her(self, on_the_dock, due):
        lines = [good_line(tag=f"WH-4{n}2") for n in range(len(tieups.newest(due).verdict["lines"]))]
        lending.lend(stay=due, lines=lines, by=None)
        for address in (f"/stays/{due.pk}/", page(due), f"/stays/{due.pk}/card/"):
            shown = text(on_the_dock.get(address))
            assert all(line.tag in shown for line in lines), address

    def test_without_a_loan_no_tag_is_named(self, on_the_dock, due):
        line = good_line()
        assert line.tag not in text(on_the_dock.get(f"/stays/{due.pk}/"))

    def test_as_asked_is_with_the_line_that_is_out_to_her(self, on_the_dock, due):
        lines = [good_line() for _ in tieups.newest(due).verdict["lines"]]
        lending.lend(stay=due, lines=lines, by=None)
        on_the_dock.post(page(due), told(due, at="2027-10-14T12:00"))
        assert {row.line for row in MadeFastLine.objects.select_related("line")} == set(lines)
        assert all(row.length for row in MadeFastLine.objects.all())
