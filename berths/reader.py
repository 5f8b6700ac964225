"""How a person reads: units, words and clock, their own or the house's."""

from berths.cards.words import Reader
from marina.base import house


def reader_of(user=None):
    """How this person reads; what they have not chosen, and nobody, reads as the house has it.

    `reads_in` is what the address of this one page asks for.
    """
    rules = house.rules()
    own = rules["H17"]
    return Reader(
        units=getattr(user, "reads_in", "") or getattr(user, "units", "") or own["units"],
        words=getattr(user, "words", "") or own["words"],
        clock=own["clock"],
        zone=rules.zone,
    )
