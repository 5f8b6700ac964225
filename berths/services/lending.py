"""The loan book: a line goes out to a boat or into a set, and comes back."""

from datetime import timedelta
from uuid import uuid4

from django.core.exceptions import ValidationError

from berths.models import LineUse, Stay
from berths.models.lineset import ClosedAs
from berths.models.stay import StayState
from berths.selectors.hooks import may_lend
from marina.base import clock, house
from marina.base.writing import in_one_go
from vessels.models import LineEvent
from vessels.services.lines import enter, locked
from vessels.services.mistakes import undo

# A use lasts a second at least, also where the clock of a demonstration stands; farther apart it is a wrong time.
TICK, STANDS = timedelta(seconds=1), timedelta(minutes=1)
# What the end of a use says of the line itself, beside the loan book; a replaced line comes back like any other.
DEEDS = {ClosedAs.SOLD: "sold", ClosedAs.LEFT: "missing", ClosedAs.LOST: "missing"}


def due_back(stay, at):
    """When a line that goes out to her now is due: after the days of the house rule, else when she leaves."""
    days = house.value("H20")["days"]
    return at + timedelta(days=days) if days else stay.depart


def lend(*, stay, lines, by, condition=""):
    """Lines go out to a boat, all of them or none.

    Raises
    ------
    ValidationError
        If the house does not lend to her, she is gone, or one of the lines went elsewhere meanwhile.

    Returns
    -------
    list of LineUse
    """
    if refusal := may_lend(stay):
        raise ValidationError(refusal)

    def write():
        row = Stay.objects.select_for_update().get(pk=stay.pk)
        if row.state not in (StayState.BOOKED, StayState.FAST):
            raise ValidationError(f"{row} is {row.get_state_display()}: nothing is lent to her any more.")
        due = due_back(row, clock.now())
        return [issue(line=line, stay=row, by=by, due=due, condition=condition) for line in lines]

    return in_one_go(write, by=by)


def _after(line):
    """Now; or, under a clock that stands, the moment at which the line came back."""
    last = LineUse.objects.filter(line=line).exclude(back=None).order_by("-back").first()
    now = clock.now()
    return last.back if last and now < last.back < now + STANDS else now


def _later(at, than):
    """This moment; or, under a clock that stands, a second after the other one."""
    return than + TICK if at <= than < at + STANDS else at


def issue(*, line, by, stay=None, position=None, at=None, due=None, condition="", client_id=None):
    """A line goes out: lent to a stay, or into a place of a set.

    Raises
    ------
    ValidationError
        If it is out already, retired, failed, held back or missing; the database has the last word, also where
        somebody retires it at the same moment.
    """
    if known := client_id and LineUse.objects.filter(client_id=client_id).first():
        return known
    use = LineUse(
        line=line,
        stay=stay,
        position=position,
        at=at or _after(line),
        by=by,
        due=due,
        condition_out=condition,
        client_id=client_id or uuid4(),
    )

    def write():
        locked(line)
        use.full_clean()
        enter(line, "issued" if stay else "assigned", by=by, at=min(use.at, clock.now()), place=place_of(use))
        use.save(force_insert=True)
        return use

    return in_one_go(write, by=by)


def take_back(*, use, by, at=None, closed_as=ClosedAs.RETURNED, condition="", reason="", wet=False):
    """A line comes back, or is entered as sold, left or lost. Wet rope goes to dry, not to its hook."""
    at = at or clock.now()

    def write():
        row = LineUse.objects.select_for_update().get(pk=use.pk)
        if row.back is not None:
            raise ValidationError(f"{row.line} is back already: {row.get_closed_as_display()}.")
        line = locked(row.line)
        row.back, row.back_by, row.closed_as = _later(at, row.at), by, closed_as
        row.condition_in, row.reason = condition, reason
        row.full_clean()
        row.save()
        kind = DEEDS.get(closed_as, "returned")
        state = ("drying" if wet else "store") if kind == "returned" and not line.condemned else None
        enter(line, kind, by=by, at=at, state=state, place=place_of(row), note=reason)
        use.refresh_from_db()
        return use

    return in_one_go(write, by=by)


def undo_return(*, use, by, reason):
    """It was not given back after all: the use goes on beside the closed one, and the history says why."""

    def write():
        row = LineUse.objects.select_for_update().get(pk=use.pk)
        event = _entry(row, ("returned", "sold", "missing"), row.back)
        undo(event, by=by, reason=reason)
        again = LineUse(
            line=row.line,
            stay=row.stay,
            position=row.position,
            at=row.back,
            by=by,
            due=row.due,
            condition_out=row.condition_out,
            reason=f"its return was a mistake: {reason}"[:200],
        )
        again.full_clean()
        again.save(force_insert=True)
        return again

    return in_one_go(write, by=by)


def undo_issue(*, use, by, reason):
    """It never went out: the use is closed and says that it was a mistake."""

    def write():
        row = LineUse.objects.select_for_update().get(pk=use.pk)
        if row.back is not None:
            raise ValidationError("This line is back already.")
        undo(_entry(row, ("issued", "assigned"), row.at), by=by, reason=reason)
        row.back, row.back_by, row.closed_as = clock.now(), by, ClosedAs.RETURNED
        row.reason = f"entered by mistake: {reason}"[:200]
        if row.back <= row.at:
            raise ValidationError("It went out this very moment; try again in a minute.")
        row.full_clean()
        row.save()
        return row

    return in_one_go(write, by=by)


def _entry(use, kinds, at):
    event = LineEvent.objects.filter(
        line=use.line, kind__in=kinds, at__gt=at - STANDS, at__lte=at, corrected_by=None
    ).first()
    if event is None:
        raise ValidationError("The line's history has no entry of this that could be put right.")
    return event


def place_of(use):
    """Berth and boat, as the history keeps them."""
    if use.stay_id:
        return f"{use.stay.berth.code}, {use.stay.vessel.name}"[:60]
    line_set = use.position.line_set
    return f"{line_set.berth.code}, position {use.position.number}"[:60]
