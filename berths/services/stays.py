"""What is done with stays: book, move, cancel, make fast, leave.

Every deed is checked in full without a lock, then written in one short transaction in which the database has
the last word. A refusal is a ValidationError in plain words, whoever noticed first. A deed that a phone sends
twice is done once.
"""

from datetime import timedelta
from uuid import uuid4

from django.core.exceptions import ValidationError
from django.db.models import Max

from berths.models import Card, LineUse, MadeFast, MadeFastLine, Stay
from berths.models.lineset import ClosedAs
from berths.models.stay import Purpose, StayState
from berths.services.seen import book_tags
from marina.base import clock, house
from marina.base.writing import in_one_go

LIES = ("berth", "raft_place", "side_to", "end_in", "heading_deg", "lies_x", "lies_y")
WATERS_OWN = {"surge_down": None, "surge_up": None, "surge_reason": "", "surge_by": ""}
MAY_MOVE = {*LIES, "arrive", "depart", "purpose", "side_told", "attended", "short_until", "tended_by", "note"}


def book_stay(*, vessel, berth, arrive, depart=None, by, client_id=None, **more):
    """Give a berth to a vessel.

    Parameters
    ----------
    vessel, berth : Vessel, Berth
    arrive, depart : datetime
        With zone; without `depart` the stay is open, but a short stop ends when its allowance does.
    by : User
    client_id : UUID, optional
        The phone's own name for this deed; one that is known returns the stay it made.
    more
        Other fields of `Stay`: raft_place, purpose, side_to, end_in, short_until, attended, note ...

    Returns
    -------
    Stay

    Raises
    ------
    ValidationError
        If the berth is taken, the boat lies elsewhere, or a field is wrong.
    """
    if known := _known(Stay, client_id):
        return known
    stay = Stay(
        vessel=vessel, berth=berth, arrive=arrive, depart=depart, client_id=client_id or uuid4(), **more
    )
    if stay.purpose == Purpose.SHORT_STOP:
        stay.short_until = stay.short_until or arrive + timedelta(minutes=house.value("H12"))
        stay.depart = stay.depart or stay.short_until
    stay.full_clean()
    return _once(lambda: _saved(stay), by=by, model=Stay, client_id=client_id)


def move_stay(*, stay, by, reason="", at=None, **changes):
    """Change where or when a boat lies, and mark her cards superseded.

    A stay that is only booked is changed in place. A boat made fast that goes to another berth or place in
    the raft leaves the old one at `at` (default now) and a new stay begins: both are told as they were. Lines
    on loan go with her.

    Returns
    -------
    Stay
        The stay that holds from now on.
    """
    unknown = set(changes) - MAY_MOVE
    if unknown:
        raise TypeError(f"a stay is not moved by {', '.join(sorted(unknown))}")
    moved = Stay.objects.get(pk=stay.pk)
    _refuse_closed(moved)
    shifts = moved.state == StayState.FAST and any(
        field in changes and changes[field] != getattr(moved, field) for field in ("berth", "raft_place")
    )
    if shifts:
        return _shift(moved, changes, at or clock.now(), reason, by)
    for field, value in (_allowance_there(moved, changes) | changes).items():
        setattr(moved, field, value)
    moved.state_why = reason or moved.state_why
    moved.full_clean()

    def write():
        _refuse_closed(_locked(moved))
        return _supersede(_saved(moved), reason or "moved")

    return in_one_go(write, by=by)


def _shift(old, changes, at, reason, by):
    """End a stay in one berth and begin it in the next."""
    new = Stay(**{f.name: getattr(old, f.name) for f in Stay._meta.concrete_fields if not f.primary_key})
    for field in set(LIES) - {"berth"}:  # how she lay there says nothing of how she lies here
        setattr(new, field, Stay._meta.get_field(field).get_default())
    for field, value in (_allowance_there(old, changes) | changes).items():
        setattr(new, field, value)
    new.client_id, new.state, new.arrive = uuid4(), StayState.BOOKED, at
    new.clean_fields(exclude=["vessel"])
    new.clean()

    def write():
        row = _locked(old)
        _refuse_closed(row)
        _end(row, at, reason or f"moved to {new.berth}")
        new.full_clean()
        _supersede(row, row.state_why)
        _saved(new)
        _carry_lines(row, new, at, by)
        return new

    return in_one_go(write, by=by)


def _allowance_there(stay, changes):
    """What was allowed for this stay alone was said of its water; in another it says nothing."""
    berth = changes.get("berth")
    return {} if berth is None or berth.water_id == stay.berth.water_id else dict(WATERS_OWN)


def _carry_lines(old, new, at, by):
    """Lines lent to her go along: the loan ends with the old stay and begins with the new one.

    One that must not be used any more is on her all the same, until somebody takes it off: its loan is not begun
    anew, which the database would refuse, but stays open under the new stay.
    """
    for use in LineUse.objects.filter(stay=old, back__isnull=True).select_related("line"):
        if use.at < at and use.line.may_go_out:
            use.back, use.back_by, use.closed_as = at, by, ClosedAs.MOVED
            use.save()
            use = LineUse(line=use.line, at=at, by=by, due=use.due, condition_out=use.condition_out)  # noqa: PLW2901
        use.stay = new
        use.save()


def allow_for_stay(*, stay, by, down=None, up=None, reason=""):
    """Set what weather may add for this stay alone, or, with nothing given, take the water's allowance again.

    `down` and `up` are counted positive [m]. Her tie-up goes out of date by itself; nobody is spared a look.
    """

    def write():
        row = _locked(stay)
        _refuse_closed(row)
        row.surge_down, row.surge_up, row.surge_reason = down, up, reason.strip()
        row.surge_by = by.get_username()[:60] if down is not None else ""
        row.clean_fields(exclude=["vessel", "berth"])
        row.validate_constraints()
        return _supersede(_saved(row), "the allowance for weather was changed")

    return in_one_go(write, by=by)


def cancel_stay(*, stay, by, reason):
    """Take a booking back. A boat that is made fast leaves instead."""
    if not reason:
        raise ValidationError({"state_why": "Say why the stay is cancelled."})

    def write():
        row = _locked(stay)
        if row.state == StayState.CANCELLED:
            return row  # twice is once
        if row.state != StayState.BOOKED:
            raise ValidationError(f"{row} is {row.get_state_display()}: only a booked stay is cancelled.")
        _refuse_lent(row)
        row.state, row.state_why = StayState.CANCELLED, reason
        return _supersede(_saved(row), "cancelled")

    return in_one_go(write, by=by)


def leave_stay(*, stay, by, at=None, reason=""):
    """She has left. Lines on loan are settled first, or they are never seen again."""
    at = at or clock.now()

    def write():
        row = _locked(stay)
        if row.state == StayState.LEFT:
            return row
        if row.state != StayState.FAST:
            raise ValidationError(f"{row} is {row.get_state_display()}: cancel it, or make her fast first.")
        _refuse_lent(row)
        return _supersede(_end(row, at, reason), "left")

    return in_one_go(write, by=by)


def make_fast(*, stay, by, at=None, lines=(), client_id=None, **found):
    """A boat is made fast.

    Parameters
    ----------
    stay : Stay
    by : User
        Who did it or says so.
    at : datetime, optional
        When it was done (default now), not when it was sent.
    lines : sequence of dict
        Fields of `MadeFastLine` for each line that is there, in order.
    client_id : UUID, optional
        The phone's own name for this deed.
    found
        Other fields of `MadeFast`: level, side_to, as_planned, differed, planned.

    Returns
    -------
    MadeFast
    """
    if known := _known(MadeFast, client_id):
        return known
    deed = MadeFast(stay=stay, by=by, at=at or clock.now(), client_id=client_id or uuid4(), **found)
    deed.full_clean()
    rows = [MadeFastLine(made_fast=deed, number=n, **line) for n, line in enumerate(lines, start=1)]
    for row in rows:
        row.full_clean(exclude=["made_fast"])

    def write():
        row = _locked(stay)
        _refuse_closed(row)
        _saved(deed)
        for line in rows:
            line.made_fast = deed
            line.save(force_insert=True)
        book_tags(deed, rows)
        if row.state != StayState.FAST:
            row.state = StayState.FAST
            row.save()
        stay.state = row.state
        return deed

    return _once(write, by=by, model=MadeFast, client_id=client_id)


def next_card_number(stay):
    """The number of the stay's next card, counted from 1."""
    return (Card.objects.filter(stay=stay).aggregate(last=Max("number"))["last"] or 0) + 1


def _known(model, client_id):
    return model.objects.filter(client_id=client_id).first() if client_id else None


def _once(write, *, by, model, client_id):
    """Write, unless the same deed arrived a moment earlier by another way."""
    try:
        return in_one_go(write, by=by)
    except ValidationError:
        if known := _known(model, client_id):
            return known
        raise


def _locked(stay):
    """The stay as it is now, held until the end of the transaction (SQLite holds all of it anyway)."""
    return Stay.objects.select_for_update().get(pk=stay.pk)


def _saved(row):
    row.save()
    return row


def _refuse_closed(stay):
    if stay.state in (StayState.LEFT, StayState.CANCELLED):
        raise ValidationError(f"{stay} is {stay.get_state_display()}: book a new stay.")


def _refuse_lent(stay):
    lent = LineUse.objects.filter(stay=stay, back__isnull=True).values_list("line__tag", flat=True)
    if lent:
        raise ValidationError(
            f"Still on loan to her: {', '.join(lent)}. Enter each as returned, sold, or left and why."
        )


def _end(stay, at, reason):
    if at <= stay.arrive:
        raise ValidationError({"depart": "She cannot leave before she came; look at the times."})
    stay.state, stay.depart, stay.state_why = StayState.LEFT, at, reason
    return _saved(stay)


def _supersede(stay, why):
    """Cards in somebody's pocket no longer hold."""
    for card in Card.objects.filter(stay=stay, superseded__isnull=True):
        card.superseded, card.superseded_why = clock.now(), why[:200]
        card.save()
    return stay
