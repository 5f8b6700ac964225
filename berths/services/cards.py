"""Printing cards: a card is numbered, kept as it was printed, and puts the older ones out of use.

A tie-up that is missing or out of date is worked out first, so that nothing old leaves the printer.
"""

from dataclasses import dataclass, replace

from django.core.exceptions import ValidationError

from berths.cards import facts, pack, pdf, press
from berths.cards.back import back as back_of
from berths.cards.office import large, office
from berths.cards.sheets import PAPERS, lay
from berths.models import Card, CardBatch, Stay
from berths.services import tieups
from berths.services.stays import next_card_number
from marina.base import clock
from marina.base.writing import in_one_go

SECONDS_A_CARD = 0.3  # with its picture, on an old machine under load: tests.bench.card measures it
TRIES = 3  # when somebody else prints a card of the same stay at the same moment
OVER = ("left", "cancelled")
AT_ONCE = "Somebody else printed a card of this stay just now. Look at that one, or try again."
FORMS = {"card": "card", "office": "office sheet", "large": "large type"}


@dataclass(frozen=True)
class How:
    """What is printed of a stay, and on what: `form` of `FORMS`, `paper` of `sheets.PAPERS`.

    Office sheets and large type are whole sheets: A4, and Letter where that or the American card is asked for.
    """

    form: str = "card"
    paper: str = "a6"
    back: bool = False

    @property
    def sheet(self):
        if self.form == "card":
            return PAPERS[self.paper]
        return replace(PAPERS["letter" if self.paper in ("letter", "4x6") else "a4"], up=1)

    @property
    def words(self):
        name = (
            self.sheet.words
            if self.form == "card"
            else f"{self.sheet.words.split(',')[0]}, {FORMS[self.form]}"
        )
        return f"{name}, back side too" if self.back and self.form == "card" else name


@dataclass(frozen=True)
class _Made:
    """A card set on paper: `pieces` are its (front, back or None)."""

    stay: Stay
    tie_up: object
    number: int
    card: object
    pieces: tuple

    def bytes(self):
        return press.bind([page for piece in self.pieces for page in piece if page is not None])


def print_card(*, stay, by, address, how=None):
    """Print a new card for a stay.

    Parameters
    ----------
    stay : Stay
    by : User
        In whose units and words it is printed, and whom the trail names.
    address : str
        Of the stay's card page, for the square code.
    how : How, optional
        One card of A6 when left out.

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
    if stay.state in OVER:
        raise ValidationError(f"{stay} is {stay.get_state_display()}: there is nothing to tie up.")
    (tie_up,) = tieups.work_out_all([stay], by)
    for _ in range(TRIES):
        now = clock.now()
        # The slow part is done before the lock is taken; the number is looked at again under it.
        made = _set(stay, tie_up, by, address, how or How(), now)
        data = made.bytes()
        card = in_one_go(lambda: _kept([(made, data)], now, by), by=by)  # noqa: B023 - run at once
        if card:
            return card[0]
    raise ValidationError(AT_ONCE)


def print_batch(*, stays, by, address_of, how, words, old=()):
    """Print the cards of many stays in one go, the list first and slips for old cards after it.

    Parameters
    ----------
    stays : sequence of Stay, in walking order
    by : User
    address_of : callable, stay -> str
    how : How
    words : str
        What was asked for, as the head of the list says it.
    old : sequence of Card
        Cards to destroy, a slip each.

    Returns
    -------
    CardBatch, list of str
        The batch, and a sentence for each stay of which no card could be made.
    """
    stays = [stay for stay in stays if stay.state not in OVER]
    if not stays and not old:
        raise ValidationError("There is nothing to print: no boat is in it. Choose another day or pier.")
    worked = tieups.work_out_all(stays, by)
    for _ in range(TRIES):
        now, made, refused = clock.now(), [], []
        for stay, tie_up in zip(stays, worked, strict=True):
            try:
                made.append(_set(stay, tie_up, by, address_of(stay), how, now))
            except pdf.DoesNotFit as trouble:
                refused.append(f"{stay}: {trouble}.")
        data = press.bind(_pages(made, by, how, words, old, now))
        cards = [(card, card.bytes()) for card in made]

        def write(cards=cards, data=data, now=now):
            batch = CardBatch.objects.create(printed=now, by=by, words=words, paper=how.words, pdf=data)
            return _kept(cards, now, by, batch) is not None and batch

        if batch := _unless_taken(write, by):
            return batch, refused
    raise ValidationError(AT_ONCE)


def destroy(*, card, by):
    """An old card was found and destroyed. Twice is once.

    Raises
    ------
    ValidationError
        If the card is the one that counts.
    """

    def write():
        row = Card.objects.select_for_update().defer("pdf").get(pk=card.pk)
        if row.superseded is None:
            raise ValidationError(f"Card {row} is the one that counts: it is not to be destroyed.")
        if row.destroyed is None:
            row.destroyed = clock.now()
            row.save(update_fields=["destroyed"])
        return row

    return in_one_go(write, by=by)


class _Taken(Exception):
    """A number went to somebody else: nothing of the batch is written."""


def _unless_taken(write, by):
    def step():
        if not (done := write()):
            raise _Taken
        return done

    try:
        return in_one_go(step, by=by)
    except _Taken:
        return None


def _set(stay, tie_up, by, address, how, now):
    number = next_card_number(stay)
    said = facts.card_of(stay, reader=facts.reader_of(by), address=address, number=number, now=now)
    said = replace(said, facts=replace(said.facts, neighbours=not by.is_holder))
    return _Made(stay, tie_up, number, said, tuple(_pieces(said, how)))


def _pieces(card, how):
    sheet = how.sheet
    if how.form == "office":
        return [(page, None) for page in office(card, sheet)]
    if how.form == "large":
        return [(large(card, sheet), None)]
    return [(pdf.front(card, sheet.stock), back_of(card, sheet.stock) if how.back else None)]


def _pages(made, by, how, words, old, now):
    """All sheets of a batch: the list, the slips, the cards."""
    sheet = how.sheet
    stock = sheet.stock if how.form == "card" else sheet
    reader = facts.reader_of(by)
    printed = reader.time(now, today=now.astimezone(reader.zone).date())
    first = pack.listing([m.card for m in made], title=words, printed=printed, stock=stock)
    torn = [pack.Slip(str(card), card.stay.vessel.name, _why_old(card)) for card in old]
    pieces = [(page, None) for page in [*first, *pack.slips(torn, printed=printed, stock=stock)]]
    return lay([*pieces, *(piece for m in made for piece in m.pieces)], sheet)


def _why_old(card):
    """'moved; now at C5': where she is now stands with it when that is another berth."""
    now_at = card.stay.berth.code
    elsewhere = card.berth_code and card.berth_code != now_at and card.stay.state not in OVER
    return f"{card.superseded_why}; now at {now_at}" if elsewhere else card.superseded_why


def _kept(cards, now, by, batch=None):
    """The new cards, and the older ones out of use; None when another card has taken one of the numbers."""
    stays = [made.stay.pk for made, _ in cards]
    list(Stay.objects.select_for_update().filter(pk__in=stays).order_by("pk"))
    if any(next_card_number(made.stay) != made.number for made, _ in cards):
        return None
    return [_keep(made, data, now, by, batch) for made, data in cards]


def _keep(made, data, now, by, batch):
    for old in Card.objects.filter(stay=made.stay, superseded__isnull=True):
        old.superseded, old.superseded_why = now, f"card {made.number} was printed"
        old.save()
    return Card.objects.create(
        stay=made.stay,
        tie_up=made.tie_up,
        number=made.number,
        berth_code=made.card.facts.berth,
        batch=batch,
        printed=now,
        by=by,
        pdf=data,
    )
