"""Permanent sets: made from a tie-up, filled with lines, changed place by place, and closed."""

from datetime import timedelta
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db.models import Max

from berths.cards.words import role_words
from berths.models import BerthFastening, LineSet, LineUse, SetPosition
from berths.models.lineset import ClosedAs
from berths.services.lending import issue, take_back
from berths.tieup.scenario import Scenario
from berths.tieup.verdict import Verdict
from marina.base import clock
from marina.base.writing import in_one_go
from vessels.models import DeckFitting, Line

STEP = Decimal("0.05")  # m: to what a length is told on the dock; the set rests on what is told


def make_set(*, stay, tie_up, by):
    """The permanent set of (berth, boat, owner) with the places that a tie-up asks for.

    Parameters
    ----------
    stay : Stay
    tie_up : TieUp
        Of this stay, recommended or found; lines that are only 'if wanted' are left out.
    by : User

    Returns
    -------
    LineSet

    Raises
    ------
    ValidationError
        Where nothing is worked out, an end is not in the records, or she has a set there already.
    """
    if tie_up is None or tie_up.verdict is None:
        raise ValidationError(
            "Nothing is worked out that a set could be made from. Work her tie-up out first."
        )
    places = _places(stay, tie_up)

    def write():
        line_set = LineSet(
            berth=stay.berth, vessel=stay.vessel, owner=stay.vessel.owner, starts=_begins(stay)
        )
        line_set.full_clean()
        line_set.save()
        for place in places:
            place.line_set = line_set
            place.full_clean()
            place.save()
        return line_set

    return in_one_go(write, by=by)


def _begins(stay):
    """Today; the day an older set ended, where that is still to come."""
    last = LineSet.objects.filter(berth=stay.berth, vessel=stay.vessel).aggregate(Max("ends"))["ends__max"]
    return max(filter(None, (clock.today(), last)))


def _places(stay, tie_up):
    """Unsaved places of the set, in the order in which the lines go on."""
    verdict, scenario = Verdict.model_validate(tie_up.verdict), Scenario.model_validate(tie_up.scenario)
    aboard = {f.code: f for f in DeckFitting.objects.filter(vessel=stay.vessel_id)}
    ashore = {f.code: f for f in BerthFastening.objects.filter(berth=stay.berth_id)}
    given = {line.id: line for line in scenario.lines or []}
    rows = [row for row in sorted(verdict.lines, key=lambda row: row.order) if not row.optional]
    ends = {row.boat_fitting for row in rows} - set(aboard), {row.shore_fitting for row in rows} - set(ashore)
    if missing := sorted(ends[0] | ends[1]):
        raise ValidationError(
            f"{', '.join(missing)}: not in the records of boat and berth any more. Work her tie-up out again first."
        )
    if not rows:
        raise ValidationError("This tie-up has no line. Tell how she is tied, or have one recommended.")
    return [_place(n, row, given.get(row.id), aboard, ashore) for n, row in enumerate(rows, 1)]


def _place(number, row, given, aboard, ashore):
    via = given and given.via
    return SetPosition(
        number=number,
        role=(f"spring, {row.leads}" if "spring" in row.role else role_words(row.role))[:30],
        boat_end=aboard[row.boat_fitting],
        shore_end=ashore[row.shore_fitting],
        via=ashore.get(via.fitting) if via else None,
        via_turn=(via and via.turn) or "",
        turn_z=None if given is None or given.turn_z is None else round(Decimal(given.turn_z), 4),
        chafe_gear=given.chafe_gear if given else None,
        length=None if row.working_length is None else told(row.working_length),
    )


def told(metres):
    """A length as it is told on the dock: to the nearest 5 cm, and never none. [m]

    >>> told(7.183), told(0.01)
    (Decimal('7.20'), Decimal('0.05'))
    """
    return max((Decimal(metres) / STEP).quantize(Decimal(1)) * STEP, STEP)


def fill(*, position, line, by):
    """A line of the register fills a place; the one that was there comes back as replaced.

    A line that is lent to a stay of the same boat goes over into the set.
    """
    _open(position.line_set)

    def write():
        now = clock.now()
        here = LineUse.objects.filter(position=position, back=None).select_related("line")
        for use in here:
            if use.line_id == line.pk:
                raise ValidationError(f"{line} is in this place already.")
            take_back(use=use, by=by, at=now, closed_as=ClosedAs.REPLACED, reason=f"by {line}")
        lent = LineUse.objects.filter(line=line, back=None, stay__vessel=position.line_set.vessel_id).first()
        if lent:
            take_back(use=lent, by=by, at=now, closed_as=ClosedAs.MOVED, reason="into her permanent set")
            line.refresh_from_db()
        return issue(line=line, position=position, by=by, at=now)

    return in_one_go(write, by=by)


def fill_all(*, line_set, chosen, by):
    """Several places in one go: `chosen` is a list of (position, line). All or none."""

    def write():
        return [fill(position=position, line=line, by=by) for position, line in chosen]

    return in_one_go(write, by=by)


def line_of(tag):
    """The line of a tag as it is typed."""
    line = Line.objects.filter(tag__iexact=tag.strip()).first()
    if line is None:
        raise ValidationError(f"No line with the tag {tag.strip()} is in the register. Enter it there first.")
    return line


def next_number(line_set):
    return (line_set.positions.aggregate(Max("number"))["number__max"] or 0) + 1


def close_set(*, line_set, by, why):
    """The set ends, with why; its lines go back to the store or to their owner.

    Returns
    -------
    list of str
        The tags that went back.
    """
    if not why.strip():
        raise ValidationError("Say why the set is closed: boat sold, berth changed, piles renewed ...")

    def write():
        row = LineSet.objects.select_for_update().get(pk=line_set.pk)
        _open(row)
        back = []
        for use in LineUse.objects.filter(position__line_set=row, back=None).select_related("line"):
            take_back(use=use, by=by, reason=f"set closed: {why}"[:200])
            back.append(use.line.tag)
        row.ends = max(clock.today(), row.starts + timedelta(days=1))  # a set lasts a day at least
        row.why_closed = why.strip()[:200]
        row.full_clean()
        row.save()
        return back

    return in_one_go(write, by=by)


def _open(line_set):
    if line_set.ends is not None:
        raise ValidationError(f"This set was closed: {line_set.why_closed}. Make a new one from her tie-up.")


def keep_place(*, form, by):
    """A place as the form has it, changed or new."""
    return in_one_go(form.save, by=by)
