"""Lines of the store for one stay: what is offered from which hook, one tap out, one tap back."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from berths.models import LineSet, LineUse, SetPosition
from berths.reader import reader_of
from berths.selectors import staylines
from berths.services import lending, stays, tieups
from marina.base import house
from tests.cast import NOON, hours, make_berth, make_line, make_stay, make_vessel
from vessels.models import Inspection, Line, Owner

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def noon(clock_at):
    return clock_at(NOON)


@pytest.fixture
def due(cast):
    """A visitor due at a floating berth, her lines worked out."""
    stay = make_stay(berth=make_berth(kind="floating"))
    tieups.work_out(stay, stands=False)
    return stay


@pytest.fixture
def on_the_dock(client, cast):
    client.force_login(cast.hand)
    return client


def looked_at(line, **fields):
    values = {"line": line, "at": NOON - hours(24), "zones": {"eye": []}, "advice": "keep"} | fields
    Inspection.objects.create(**values)
    return line


def good_line(total="20", **fields):
    """Long, strong and looked at."""
    return looked_at(make_line(total_length=Decimal(total), diameter_mm=Decimal(14), home="hook 3", **fields))


def asked(stay):
    return tieups.newest(stay).verdict["lines"]


def offers(stay, user):
    return staylines.stay_lines(user, stay, reader_of(user))


def page(stay):
    return f"/stays/{stay.pk}/lines/"


def text(answer):
    return " ".join(answer.content.decode().split())


class TestWhatIsOffered:
    def test_each_line_asked_for_with_its_tag_and_hook(self, on_the_dock, due):
        lines = [good_line() for _ in asked(due)]
        shown = text(on_the_dock.get(page(due)))
        assert all(line.tag in shown for line in lines)
        assert "from <strong>hook 3</strong>" in shown
        assert "longer than asked for" in shown

    def test_each_rope_once(self, due, cast):
        for _ in asked(due):
            good_line()
        rows = offers(due, cast.hand)["rows"]
        tags = [row.line.tag for row in rows if row.line]
        assert len(tags) == len(set(tags)) == len(asked(due))

    def test_what_cannot_be_met_says_what_to_fetch(self, on_the_dock, due):
        shown = text(on_the_dock.get(page(due)))
        assert "Nothing here serves." in shown
        assert "Fetch " in shown

    def test_the_cut_length_is_the_one_of_the_result(self, due, cast):
        by_id = {row["id"]: row for row in asked(due)}
        for row in offers(due, cast.hand)["rows"]:
            assert row.need.cut == by_id[row.need.id]["cut_length"]

    @pytest.mark.parametrize(
        ("fields", "why"),
        [
            ({"state": "retired"}, "RETIRED"),
            ({"state": "quarantine"}, "QUARANTINE"),
            ({"state": "failed"}, "RETIRE IT"),
            ({"next_inspection": (NOON - hours(48)).date()}, "Inspection overdue by 2 days"),
            ({"light_use": True}, "light use"),
        ],
    )
    def test_what_must_not_hold_her_is_said_and_not_offered(self, on_the_dock, due, fields, why):
        line = good_line(**fields)
        answer = on_the_dock.get(page(due))
        assert f"{line.tag}</a> would be long and strong enough, but:" in text(answer)
        assert why in text(answer)
        assert f"Out to her: {line.tag}" not in text(answer)

    def test_never_inspected_is_offered_last_and_said(self, due, cast):
        new = make_line(total_length=Decimal(20), diameter_mm=Decimal(14))
        row = next(row for row in offers(due, cast.hand)["rows"] if row.line == new)
        assert "never inspected" in " ".join(row.offer.compromises)
        for _ in asked(due):
            good_line()
        assert new not in [row.line for row in offers(due, cast.hand)["rows"]]

    def test_never_a_line_of_somebody_else(self, due, cast):
        line = good_line(owner_kind="holder", owner=cast.holder.owner)
        assert line not in [row.line for row in offers(due, cast.hand)["rows"]]

    def test_never_the_set_of_an_absent_owner(self, due, cast):
        """Even a harbour line in it; and it is not fetched from there either."""
        boat = make_vessel(owner=cast.holder.owner)
        made = LineSet.objects.create(
            berth=make_berth(), vessel=boat, owner=boat.owner, starts=NOON.date() - hours(240)
        )
        line = good_line()
        LineUse.objects.create(
            line=line,
            position=SetPosition.objects.create(line_set=made, number=1),
            at=NOON - hours(200),
        )
        rows = offers(due, cast.hand)["rows"]
        assert all(row.offer.rope is None and row.offer.nearest is None for row in rows)

    def test_the_nearest_on_an_empty_berth(self, on_the_dock, due):
        """Of the harbour's own set, where nobody lies."""
        berth = make_berth()
        made = LineSet.objects.create(berth=berth, vessel=make_vessel(), starts=NOON.date() - hours(240))
        line = good_line()
        position = SetPosition.objects.create(line_set=made, number=1)
        LineUse.objects.create(line=line, position=position, at=NOON - hours(200))
        shown = text(on_the_dock.get(page(due)))
        assert f"{line.tag}</a> at empty berth {berth.code}" in shown
        make_stay(berth=berth, state="fast")
        assert f"at empty berth {berth.code}" not in text(on_the_dock.get(page(due)))

    def test_her_own_lines_go_on_first(self, cast):
        boat = make_vessel(
            own_lines=[{"number": 9, "length": 20, "diameter_mm": 14, "material": "nylon_3strand"}]
        )
        stay = make_stay(vessel=boat, berth=make_berth(kind="floating"))
        tieups.work_out(stay, stands=False)
        for _ in range(6):
            good_line()
        found = offers(stay, cast.hand)
        assert {row.offer.rope.tag for row in found["rows"]} == {"her own"}
        assert found["offered"] == []

    def test_her_owners_line_in_the_register_is_hers_alone(self, due, cast):
        due.vessel.owner = Owner.objects.create(name="Wilf Tansy-Moor")
        due.vessel.save()
        mine = good_line(owner_kind="holder", owner=due.vessel.owner)
        row = next(row for row in offers(due, cast.hand)["rows"] if row.line == mine)
        assert not row.may_go
        assert mine not in [row.line for row in offers(make_other(), cast.hand)["rows"]]

    def test_without_a_result_it_says_so_and_a_tag_may_be_typed(self, on_the_dock):
        shown = text(on_the_dock.get(page(make_stay())))
        assert "No lines are worked out for her" in shown
        assert "Another line, by its tag" in shown

    def test_a_fixed_number_of_questions(
        self, on_the_dock, due, django_assert_max_num_queries, django_assert_num_queries
    ):
        for _ in range(3):
            good_line()
        with django_assert_max_num_queries(40) as few:
            on_the_dock.get(page(due))
        for _ in range(12):
            good_line()
        with django_assert_num_queries(len(few)):
            on_the_dock.get(page(due))


def make_other():
    stay = make_stay(berth=make_berth(kind="floating"))
    tieups.work_out(stay, stands=False)
    return stay


class TestOutAndBack:
    def test_one_tap_for_one_line(self, on_the_dock, due, cast):
        line = good_line()
        answer = on_the_dock.post(page(due), {"tag": line.tag}, follow=True)
        use = LineUse.objects.get(line=line, back=None)
        assert (use.stay, use.by, use.due) == (due, cast.hand, due.depart)
        assert "is out to her" in text(answer)

    def test_one_tap_for_all_that_are_offered(self, on_the_dock, due):
        lines = [good_line() for _ in asked(due)]
        assert "Out to her, all" in text(on_the_dock.get(page(due)))
        on_the_dock.post(page(due), {"tag": [line.tag for line in lines]})
        assert LineUse.objects.filter(stay=due, back=None).count() == len(lines)

    def test_all_or_none(self, on_the_dock, due):
        one, other = good_line(), good_line()
        lending.lend(stay=make_other(), lines=[other], by=None)
        answer = on_the_dock.post(page(due), {"tag": [one.tag, other.tag]})
        assert answer.status_code == 422
        assert not LineUse.objects.filter(stay=due).exists()
        one.refresh_from_db()
        assert one.state == "store"

    def test_what_is_out_to_her_is_what_is_offered_to_her(self, on_the_dock, due, cast):
        line = good_line()
        on_the_dock.post(page(due), {"tag": line.tag})
        good_line(total="15")
        rows = offers(due, cast.hand)["rows"]
        assert line in [row.line for row in rows if row.use]

    @pytest.mark.parametrize(("how", "state"), [("dry", "store"), ("wet", "drying")])
    def test_one_tap_back(self, on_the_dock, due, clock_at, how, state):
        line = good_line()
        on_the_dock.post(page(due), {"tag": line.tag})
        clock_at(NOON + hours(3))
        use = LineUse.objects.get(line=line)
        on_the_dock.post(page(due), {"use": use.pk, "how": how, "condition": "a bit of fuzz"})
        use.refresh_from_db()
        line.refresh_from_db()
        assert (use.closed_as, use.condition_in, line.state) == ("returned", "a bit of fuzz", state)

    def test_out_back_and_out_again_while_the_clock_stands(self, on_the_dock, due):
        line = good_line()
        for _ in range(2):
            on_the_dock.post(page(due), {"tag": line.tag})
            use = LineUse.objects.get(line=line, back=None)
            on_the_dock.post(page(due), {"use": use.pk, "how": "dry"})
        line.refresh_from_db()
        assert (line.state, LineUse.objects.filter(line=line).count()) == ("store", 2)

    @pytest.mark.parametrize("data", [{}, {"use": "x", "how": "dry"}, {"use": "1", "how": ""}, {"tag": " "}])
    def test_nothing_said_is_told(self, on_the_dock, due, data):
        assert on_the_dock.post(page(due), data).status_code == 422

    def test_not_another_boats_loan(self, on_the_dock, due):
        use = lending.lend(stay=make_other(), lines=[good_line()], by=None)[0]
        assert on_the_dock.post(page(due), {"use": use.pk, "how": "dry"}).status_code == 422

    def test_a_retired_tag_that_is_typed_shows_retired_first(self, on_the_dock, due):
        line = good_line(state="retired")
        answer = on_the_dock.post(page(due), {"tag": line.tag, "typed": "1"})
        assert answer.status_code == 422
        assert f"RETIRED: {line.tag}." in text(answer)
        assert f'value="{line.tag}"' in text(answer)

    def test_a_tag_nobody_knows(self, on_the_dock, due):
        assert "No line WH-9O1 in the register" in text(
            on_the_dock.post(page(due), {"tag": "WH-9O1", "typed": "1"})
        )

    def test_one_that_is_retired_while_it_is_out_is_said_on_top(self, on_the_dock, due):
        line = good_line()
        on_the_dock.post(page(due), {"tag": line.tag})
        Line.objects.filter(pk=line.pk).update(state="out")
        looked_at(line, at=NOON, advice="retire")
        assert "is out to her. Its last inspection says so" in text(on_the_dock.get(page(due)))


class TestTheHouse:
    def test_nobody(self, on_the_dock, due):
        line = good_line()
        house.set_rule(
            key="H20", value={"whom": "nobody", "deposit": "", "days": 0}, by=None, reason="stolen"
        )
        answer = on_the_dock.post(page(due), {"tag": line.tag})
        assert answer.status_code == 422
        assert "lends no rope" in text(answer)
        assert "Out to her" not in text(answer)

    def test_visitors_only(self, cast):
        stay = make_stay(purpose="permanent")
        with pytest.raises(ValidationError, match="visitors only"):
            lending.lend(stay=stay, lines=[good_line()], by=cast.hand)
        house.set_rule(key="H20", value={"whom": "anyone", "deposit": "", "days": 0}, by=None, reason="kind")
        assert lending.lend(stay=stay, lines=[good_line()], by=cast.hand)

    def test_days(self, cast, due):
        house.set_rule(key="H20", value={"whom": "visitors", "deposit": "", "days": 3}, by=None, reason="few")
        assert lending.lend(stay=due, lines=[good_line()], by=cast.hand)[0].due == NOON + hours(72)

    def test_not_to_a_boat_that_is_gone(self, cast, due):
        stays.cancel_stay(stay=due, by=cast.harbourmaster, reason="engine")
        with pytest.raises(ValidationError, match="any more"):
            lending.lend(stay=due, lines=[good_line()], by=cast.hand)

    def test_a_booking_is_not_taken_back_while_lines_are_out(self, cast, due):
        lending.lend(stay=due, lines=[good_line()], by=cast.hand)
        with pytest.raises(ValidationError, match="Still on loan"):
            stays.cancel_stay(stay=due, by=cast.harbourmaster, reason="engine")
