"""A person answers for one flag: with a reason, perhaps until a day. Never several at once."""

from datetime import datetime, time, timedelta

from django.core.exceptions import PermissionDenied, ValidationError
from django.db.models import Q

from berths.models import FlagAccepted, TieUp
from marina.base import clock, house
from marina.base.writing import in_one_go

HARBOURMASTERS = "A STOP, or what is not known, is accepted by the harbourmaster. Call one."
NO_HANDS = "This harbour's rule: a flag is accepted by the harbourmaster alone. Call one."
OLD = "The result has changed since this page was opened. Look at it again."


def accept(*, mark, tie_up, by, reason, last_day=None):
    """Answer for one flag of a stay's or set's tie-up; it stays visible with name and reason.

    Parameters
    ----------
    mark : standing.Mark
        As this person sees it.
    tie_up : int
        Key of the tie-up that counts; the word goes with it and no further.
    by : User
    reason : str
    last_day : date, optional
        It counts to the end of this day in the harbour's zone; then the flag asks again.

    Returns
    -------
    FlagAccepted
    """
    if refusal := may_not(by, mark):
        raise PermissionDenied(refusal)
    if not reason.strip():
        raise ValidationError({"reason": "Write why; your name stands with it."})
    now, until = clock.now(), _end_of(last_day)
    if until is not None and until <= now:
        raise ValidationError({"last_day": "That day is over. Choose today or later, or leave it empty."})

    def write():
        row = TieUp.objects.select_for_update().get(pk=tie_up)
        if row.stale:
            raise ValidationError(OLD)
        known = FlagAccepted.objects.filter(tie_up=row, code=mark.code, place=mark.place)
        if known.filter(Q(until=None) | Q(until__gt=now)).exists():
            raise ValidationError("Somebody has accepted this flag already. Open the page again.")
        word = FlagAccepted(
            tie_up=row, code=mark.code, place=mark.place, reason=reason.strip(), by=by, at=now, until=until
        )
        word.full_clean()
        word.save()
        return word

    return in_one_go(write, by=by)


def may_not(user, mark):
    """Why this person may not accept this flag; '' where they may. A hand as house rule H15 says, and no STOP."""
    if user.is_harbourmaster:
        return ""
    if mark.kind != "fix" or user.is_holder:
        return HARBOURMASTERS
    return NO_HANDS if house.value("H15") == "no" else ""


def _end_of(day):
    return None if day is None else datetime.combine(day + timedelta(days=1), time(), house.zone())
