"""She leaves: what is on loan to her is settled in the same moment, or she is not checked out."""

from django.core.exceptions import ValidationError

from berths.models import LineUse
from berths.services.lending import take_back
from berths.services.stays import leave_stay
from berths.services.tieups import renewing
from marina.base.writing import in_one_go


def settle(*, settled, by, at=None):
    """What became of each line: all of it is kept, or nothing.

    Parameters
    ----------
    settled : dict, id of a LineUse -> dict
        closed_as, wet, condition, reason, as `take_back` takes them.
    """
    rows = LineUse.objects.select_related("line", "stay").in_bulk(list(settled))

    def write():
        for pk, told in settled.items():
            take_back(use=rows[pk], by=by, at=at, **told)

    return in_one_go(write, by=by)


def check_out(*, stay, by, settled=None, at=None, reason=""):
    """She has left, and every line that was on loan to her is accounted for.

    Raises
    ------
    ValidationError
        If a line is still open, or one of the words is missing; then nothing is kept.
    """

    def write():
        wrong = set(settled or ()) - set(LineUse.objects.filter(stay=stay).values_list("pk", flat=True))
        if wrong:
            raise ValidationError("One of these lines is not on loan to her. Look at the page again.")
        settle(settled=settled or {}, by=by, at=at)
        return leave_stay(stay=stay, by=by, at=at, reason=reason)

    with renewing(by):
        return in_one_go(write, by=by)
