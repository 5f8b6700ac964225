"""Printing cards: a card is numbered, kept as it was printed, and puts the older ones out of use.

A tie-up that is missing or out of date is worked out first, so that nothing old leaves the printer.
"""

from django.core.exceptions import ValidationError

from berths.cards import facts, pdf
from berths.models import Card, Stay
from berths.services import tieups
from berths.services.stays import next_card_number
from marina.base import clock
from marina.base.writing import in_one_go

TRIES = 3  # when somebody else prints a card of the same stay at the same moment


def print_card(*, stay, by, address):
    """Print a new card for a stay.

    Parameters
    ----------
    stay : Stay
    by : User
        In whose units and words it is printed, and whom the trail names.
    address : str
        Of the stay's card page, for the square code.

    Returns
    -------
    Card
        With its number and its bytes.

    Raises
    ------
    ValidationError
        If the stay is over.
    press.NoPrinter
        Where cards cannot be made as PDF, with what to install.
    """
    if stay.state in ("left", "cancelled"):
        raise ValidationError(f"{stay} is {stay.get_state_display()}: there is nothing to tie up.")
    (tie_up,) = tieups.work_out_all([stay], by)
    for _ in range(TRIES):
        number, now = next_card_number(stay), clock.now()
        # The slow part is done before the lock is taken; the number is looked at again under it.
        made = pdf.pdf(
            facts.card_of(stay, reader=facts.reader_of(by), address=address, number=number, now=now)
        )
        card = in_one_go(lambda: _kept(stay, tie_up, number, now, by, made), by=by)  # noqa: B023 - run at once
        if card:
            return card
    raise ValidationError(
        "Somebody else printed a card of this stay just now. Look at that one, or try again."
    )


def _kept(stay, tie_up, number, now, by, made):
    """The new card, and the older ones out of use; None when another card has taken the number."""
    Stay.objects.select_for_update().get(pk=stay.pk)
    if next_card_number(stay) != number:
        return None
    for old in Card.objects.filter(stay=stay, superseded__isnull=True):
        old.superseded, old.superseded_why = now, f"card {number} was printed"
        old.save()
    return Card.objects.create(stay=stay, tie_up=tie_up, number=number, printed=now, by=by, pdf=made)
