"""The front of a card as PDF: one page of its stock, always."""

from django.template.loader import render_to_string

from berths.cards import counting, press
from berths.cards import layout as layouts
from berths.cards.counting import A6
from berths.cards.page import arrow


class DoesNotFit(RuntimeError):
    """A card that needs more than one page, whatever gives way."""


def pdf(card, stock=A6):
    """The card on one page, as bytes.

    Raises
    ------
    press.NoPrinter
        With the sentence that says what to install.
    """
    return press.bind([front(card, stock)])


def front(card, stock=A6):
    """The card set on one page of its stock.

    Parameters
    ----------
    card : card.Card
    stock : counting.Stock

    Returns
    -------
    weasyprint.Page
    """
    for layout in layouts.lay_out(card, stock):
        pages = press.render(markup(card, layout)).pages
        if len(pages) == 1:
            return pages[0]
    raise DoesNotFit(f"the card of {card.facts.boat} at {card.facts.berth} does not fit on one page")


def markup(card, layout):
    """The card's page as HTML text, complete in itself."""
    drawn = layouts.pictures(card, layout) | {"arrow": arrow(card.bow_angle)}
    beside = counting.mark_beside_name(card, layout.stock)
    return render_to_string(
        "berths/card_print.html",
        {
            "card": card,
            "layout": layout,
            "size": f"{layout.stock.width}mm {layout.stock.height}mm",
            "places": {name: f"{mm:.2f}mm" for name, mm in counting.places(card, layout).items()},
            "mark": layouts.one_line(card.facts.mark, layout.stock.right)
            if counting.mark_below_name(card, layout)
            else "",
            "mark_beside": beside,
            "first_hint": counting.first_hint(card, layout) if card.first else "",
            "notes": list(counting.notes(card, layout)),
            "rows": [_row(row, layout) for row in layout.rows],
            "strip": counting.strip_lines(card, layout),
            "warned_beside": layout.warnings[: layout.warned_beside],
            "warned_below": layout.warnings[layout.warned_beside :],
            "cautions": " ".join(layout.cautions),
            "caution_in_strip": counting.caution_in_strip(layout),
            "pictures": {name: press.image(svg) for name, svg in drawn.items() if svg},
        },
    )


def _row(row, layout):
    return {
        "line": row,
        "words": counting.row_words(row, layout),
        "hint": counting.row_hint(row, layout.tight),
        "height": f"{counting.row_height(row, layout):.2f}mm",
    }
