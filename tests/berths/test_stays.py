"""Book, move, cancel, make fast, leave: what each does, and in which words it is refused."""

import threading
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, OperationalError, connection, transaction

from berths.models import Card, LineUse, MadeFast, Stay
from berths.services.stays import book_stay, cancel_stay, leave_stay, make_fast, move_stay, next_card_number
from marina.base.models import Trail
from marina.base.writing import BUSY, in_one_go
from tests import cast as make
from tests.cast import NOON, days, hours


@pytest.fixture
def office(cast, clock_at):
    clock_at(NOON)
    return cast.harbourmaster


def a_card(stay):
    tie_up = make.make_tie_up(stay=stay)
    number = next_card_number(stay)
    return Card.objects.create(tie_up=tie_up, stay=stay, number=number, printed=NOON, pdf=b"%PDF-")


# --- booking ---


def test_a_boat_gets_a_berth_and_the_trail_says_who(office):
    stay = book_stay(
        vessel=make.make_vessel(), berth=make.make_berth(), arrive=NOON, side_to="port", by=office
    )
    assert (stay.state, stay.depart, stay.side_to) == ("booked", None, "port")
    assert Trail.objects.get(table="stay", row=stay.pk).who == office.pk


def test_a_taken_berth_is_refused_with_what_to_do(office):
    there = make.make_stay()
    with pytest.raises(ValidationError) as refusal:
        book_stay(vessel=make.make_vessel(), berth=there.berth, arrive=NOON, by=office)
    assert refusal.value.messages == ["This berth is taken then. Pick another berth or other times."]


def test_taken_a_moment_ago_reads_the_same(office, monkeypatch):
    """The look before the write saw a free berth; the database has the last word, in the same words."""
    there = make.make_stay()
    monkeypatch.setattr(Stay, "full_clean", lambda self, **kwargs: None)
    with pytest.raises(ValidationError) as refusal:
        book_stay(vessel=make.make_vessel(), berth=there.berth, arrive=NOON, by=office)
    assert refusal.value.messages == ["This berth is taken then. Pick another berth or other times."]
    assert Stay.objects.count() == 1


def test_a_boat_that_lies_elsewhere_is_refused(office):
    there = make.make_stay()
    with pytest.raises(ValidationError, match="lies at another berth then"):
        book_stay(vessel=there.vessel, berth=make.make_berth(), arrive=NOON, by=office)


def test_the_same_deed_sent_twice_is_one_stay(office):
    deed = {
        "vessel": make.make_vessel(), "berth": make.make_berth(), "arrive": NOON, "by": office,
        "client_id": uuid4(),
    }  # fmt: skip
    assert book_stay(**deed) == book_stay(**deed)
    assert Stay.objects.count() == 1


def test_a_short_stop_ends_by_the_house_rule(office):
    stay = book_stay(
        vessel=make.make_vessel(), berth=make.make_berth(), arrive=NOON, purpose="short_stop", by=office
    )
    assert stay.short_until == stay.depart == NOON + hours(1)


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("depart", NOON - hours(1), "must end after it starts"),
        ("side_to", "left", "not a valid choice"),
        ("raft_place", 1, "at most 1 deep"),
        ("heading_deg", 1000, "must be at least -360 and at most 360 degrees"),
    ],
)
def test_wrong_fields_are_refused(office, field, value, says):
    with pytest.raises(ValidationError, match=says):
        book_stay(
            **{"vessel": make.make_vessel(), "berth": make.make_berth(), "arrive": NOON, "by": office}
            | {field: value}
        )
    assert not Stay.objects.exists()


# --- moving ---


def test_a_booked_stay_is_moved_in_place_and_its_cards_are_superseded(office):
    stay = make.make_stay()
    card = a_card(stay)
    other = make.make_berth()
    moved = move_stay(stay=stay, berth=other, by=office, reason="silt in the corner")
    card.refresh_from_db()
    assert (moved.pk, moved.berth, moved.state_why) == (stay.pk, other, "silt in the corner")
    assert card.superseded == NOON and card.superseded_why == "silt in the corner"


def test_a_boat_made_fast_leaves_one_berth_and_begins_at_the_next(office):
    stay = make.make_stay(arrive=NOON - days(1), state="fast", lies_x=6, note="stays till the gale is over")
    line = make.make_line()
    LineUse.objects.create(line=line, stay=stay, at=NOON - hours(20), condition_out="good")
    new = move_stay(stay=stay, berth=make.make_berth(), by=office)
    stay.refresh_from_db()
    assert (stay.state, stay.depart) == ("left", NOON)
    assert (new.state, new.arrive, new.depart) == ("booked", NOON, NOON + days(2))
    assert (new.lies_x, new.side_to, new.note) == (None, "", "stays till the gale is over")
    old_use, new_use = line.uses.order_by("at")
    assert (old_use.back, old_use.closed_as) == (NOON, "moved")
    assert (new_use.stay, new_use.back, new_use.condition_out) == (new, None, "good")


def test_a_move_that_fails_leaves_all_as_it_was(office):
    stay = make.make_stay(arrive=NOON - days(1), state="fast")
    taken = make.make_stay(arrive=NOON - days(1)).berth
    with pytest.raises(ValidationError, match="taken"):
        move_stay(stay=stay, berth=taken, by=office)
    stay.refresh_from_db()
    assert (stay.state, stay.depart) == ("fast", NOON + days(2))


def test_a_longer_stay_is_the_same_stay(office):
    stay = make.make_stay(state="fast")
    assert move_stay(stay=stay, depart=NOON + days(9), by=office).pk == stay.pk


def test_what_has_ended_is_not_moved(office):
    stay = make.make_stay(state="left")
    with pytest.raises(ValidationError, match="is left: book a new stay"):
        move_stay(stay=stay, depart=NOON + days(9), by=office)


def test_a_move_cannot_change_the_boat(office):
    with pytest.raises(TypeError, match="not moved by vessel"):
        move_stay(stay=make.make_stay(), vessel=make.make_vessel(), by=office)


# --- cancelling and leaving ---


def test_a_cancelled_stay_needs_a_reason_and_frees_the_berth(office):
    stay = make.make_stay()
    with pytest.raises(ValidationError, match="Say why"):
        cancel_stay(stay=stay, by=office, reason="")
    cancel_stay(stay=stay, by=office, reason="went elsewhere")
    assert cancel_stay(stay=stay, by=office, reason="again").state_why == "went elsewhere"  # twice is once
    book_stay(vessel=make.make_vessel(), berth=stay.berth, arrive=NOON, by=office)


def test_a_boat_made_fast_is_not_cancelled(office):
    with pytest.raises(ValidationError, match="only a booked stay is cancelled"):
        cancel_stay(stay=make.make_stay(state="fast"), by=office, reason="gone")


def test_she_does_not_leave_with_the_harbours_lines(office):
    stay = make.make_stay(arrive=NOON - days(1), state="fast")
    use = LineUse.objects.create(line=make.make_line(tag="WH-107"), stay=stay, at=NOON - days(1))
    with pytest.raises(ValidationError, match="Still on loan to her: WH-107"):
        leave_stay(stay=stay, by=office)
    use.back, use.closed_as = NOON, "returned"
    use.save()
    assert leave_stay(stay=stay, by=office).depart == NOON


def test_she_cannot_leave_before_she_came(office):
    with pytest.raises(ValidationError, match="before she came"):
        leave_stay(stay=make.make_stay(state="fast"), by=office, at=NOON - hours(1))


# --- making fast ---


def test_made_fast_with_the_lines_that_are_there(office, cast):
    stay, line = make.make_stay(), make.make_line()
    stern = stay.vessel.fittings.get(code="stern_port")
    deed = make_fast(
        stay=stay,
        by=cast.hand,
        at=NOON + hours(9),
        level="1.38",
        differed="stern line to D5, D4 was taken",
        lines=[
            {"line": line, "boat_end": stern, "shore_end": stay.berth.fastenings.get(code="D5"), "length": 6},
            {"description": "untagged, 12 mm, blue"},
        ],
    )
    stay.refresh_from_db()
    assert (stay.state, deed.at, deed.by) == ("fast", NOON + hours(9), cast.hand)
    assert [str(row) for row in deed.lines.all()] == [f"1: {line.tag}", "2: untagged, 12 mm, blue"]


def test_made_fast_twice_by_a_phone_is_once(office):
    stay, name = make.make_stay(), uuid4()
    first = make_fast(stay=stay, by=office, client_id=name, lines=[{"description": "one"}])
    assert make_fast(stay=stay, by=office, client_id=name, lines=[{"description": "one"}]) == first
    assert MadeFast.objects.count() == 1


def test_ends_of_another_boat_or_berth_are_refused(office):
    stay, other = make.make_stay(), make.make_stay()
    for end in (
        {"boat_end": other.vessel.fittings.first()},
        {"shore_end": other.berth.fastenings.first()},
        {"via": other.berth.fastenings.first()},
    ):
        with pytest.raises(ValidationError, match="another"):
            make_fast(stay=stay, by=office, lines=[{"description": "x"} | end])
    assert not MadeFast.objects.exists()


def test_a_line_without_tag_or_description_is_refused(office):
    with pytest.raises(ValidationError, match="Give the tag of the line, or describe it"):
        make_fast(stay=make.make_stay(), by=office, lines=[{"length": 6}])


def test_what_was_made_fast_stays_as_written(office):
    deed = make_fast(stay=make.make_stay(), by=office, lines=[{"description": "one"}])
    for change in (lambda: MadeFast.objects.update(differed="nothing"), lambda: deed.lines.all().delete()):
        with pytest.raises(IntegrityError, match="kept as written"), transaction.atomic():
            change()


def test_a_boat_that_left_is_not_made_fast(office):
    with pytest.raises(ValidationError, match="is left"):
        make_fast(stay=make.make_stay(state="left"), by=office)


# --- the one way to write ---


def test_a_busy_database_is_tried_once_more(db):
    tries = []

    def step():
        tries.append(1)
        if len(tries) == 1:
            raise OperationalError("database is locked")
        return "written"

    assert in_one_go(step, by=None) == "written"


def test_a_database_busy_twice_is_a_refusal(db):
    def step():
        raise OperationalError("deadlock detected")

    with pytest.raises(ValidationError, match=BUSY):
        in_one_go(step, by=None)


def test_an_error_no_rule_explains_is_not_hidden(db):
    def step():
        raise IntegrityError("something else")

    with pytest.raises(IntegrityError, match="something else"):
        in_one_go(step, by=None)


def test_no_lock_is_held_while_a_stay_is_checked(transactional_db):
    """Another writer gets through between the check and the write, and the booking is then refused."""
    office, berth, boats = (
        make.make_user("hm", "harbourmaster"),
        make.make_berth(),
        [make.make_vessel(), make.make_vessel()],
    )
    whole_check = Stay.full_clean

    def check_slowly(stay, **kwargs):
        whole_check(stay, **kwargs)
        if stay.vessel == boats[0]:
            other = threading.Thread(target=other_writer)
            other.start()
            other.join()

    def other_writer():
        book_stay(vessel=boats[1], berth=berth, arrive=NOON, by=office)
        connection.close()

    Stay.full_clean = check_slowly
    try:
        with pytest.raises(ValidationError, match="taken"):
            book_stay(vessel=boats[0], berth=berth, arrive=NOON, by=office)
    finally:
        Stay.full_clean = whole_check
    assert Stay.objects.get().vessel == boats[1]
