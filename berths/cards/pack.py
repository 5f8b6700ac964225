"""What goes round the cards of a batch: the list that is walked by, and the slips for cards to destroy."""

from dataclasses import dataclass

from django.template.loader import render_to_string

from berths.cards import press


@dataclass(frozen=True)
class Slip:
    """An old card that is still in a pocket: 'B7/2', and why it no longer holds."""

    card: str
    boat: str
    why: str


def listing(cards, *, title, printed, stock):
    """The list of a batch, in the order of the cards: berth, boat, when, side-to, first line, flags.

    Parameters
    ----------
    cards : sequence of card.Card
    title : str
        'Arrivals Thu 14 Oct'.
    printed : str
        When, in the reader's words.
    stock : counting.Stock

    Returns
    -------
    list of weasyprint.Page
        As many pieces of the stock as the list needs.
    """
    html = render_to_string(
        "berths/card_list.html",
        {
            "title": title,
            "printed": printed,
            "cards": [(card, flags_of(card)) for card in cards],
            "size": _size(stock),
        },
    )
    return press.render(html, "sheet").pages


def flags_of(card):
    """What is wrong with a stay, in a word or two: the bar, else how many fixes and notes."""
    if card.bar:
        return card.bar
    kinds = [flag.kind for flag in card.facts.flags]
    told = [f"{kinds.count('fix')} fix"] if "fix" in kinds else []
    notes = kinds.count("note")
    return ", ".join([*told, *([f"{notes} note{'s' if notes > 1 else ''}"] if notes else [])])


def slips(old, *, printed, stock):
    """Pieces of the stock with a slip for each old card. Returns a list of pages, none where there is none."""
    if not old:
        return []
    html = render_to_string(
        "berths/card_slips.html", {"slips": old, "printed": printed, "size": _size(stock)}
    )
    return press.render(html, "sheet").pages


def _size(stock):
    return f"{stock.width}mm {stock.height}mm"
