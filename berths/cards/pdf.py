"""A card as PDF. Everything but this works where WeasyPrint's system library is missing.

The printed page takes nothing from outside: its face, pictures and square code lie in the document itself, and
the fetcher refuses every address that is not a `data:` one.
"""

import atexit
import base64
from functools import cache
from pathlib import Path

from django.template.loader import render_to_string

from berths.cards import counting
from berths.cards import layout as layouts
from berths.cards.page import arrow
from berths.drawing.svg import Svg

HERE = Path(__file__).parent
FACES = ((400, "RobotoCondensed-Regular-latin.ttf"), (700, "RobotoCondensed-Bold-latin.ttf"))
MISSING = (
    "Cards cannot be made as PDF here: install Pango (Debian: apt-get install libpango-1.0-0 libpangoft2-1.0-0), "
    "then restart. The card's page can be printed from the browser meanwhile."
)


class NoPrinter(RuntimeError):
    """WeasyPrint or its system library is missing; the message says what to install."""


class DoesNotFit(RuntimeError):
    """A card that needs more than one page, whatever gives way."""


def pdf(card):
    """The card on one A6 page.

    Parameters
    ----------
    card : card.Card

    Returns
    -------
    bytes

    Raises
    ------
    NoPrinter
        With the sentence that says what to install.
    """
    for layout in layouts.lay_out(card):
        document = _set(markup(card, layout))
        if len(document.pages) == 1:
            return document.write_pdf()
    raise DoesNotFit(f"the card of {card.facts.boat} at {card.facts.berth} does not fit on one page")


def markup(card, layout):
    """The card's page as HTML text, complete in itself."""
    drawn = layouts.pictures(card, layout) | {"arrow": arrow(card.bow_angle)}
    return render_to_string(
        "berths/card_print.html",
        {
            "card": card,
            "layout": layout,
            "places": {name: f"{mm:.2f}mm" for name, mm in counting.places(card, layout).items()},
            "mark": layouts.one_line(card.facts.mark) if counting.mark_below_name(card, layout) else "",
            "mark_beside": counting.mark_beside_name(card),
            "notes": list(counting.notes(card, layout)),
            "rows": [_row(row, layout) for row in layout.rows],
            "strip": counting.strip_lines(card, layout),
            "warned_beside": layout.warnings[: layout.warned_beside],
            "warned_below": layout.warnings[layout.warned_beside :],
            "cautions": " ".join(layout.cautions),
            "caution_in_strip": counting.caution_in_strip(layout),
            "pictures": {name: _image(svg) for name, svg in drawn.items() if svg},
        },
    )


def _row(row, layout):
    return {
        "line": row,
        "words": counting.row_words(row, layout),
        "hint": counting.row_hint(row, layout.tight),
        "height": f"{counting.row_height(row, layout):.2f}mm",
    }


def _image(svg):
    """A picture as an image in the text itself: so its shapes are not styled one by one, which takes longer."""
    data = base64.b64encode(svg.encode()).decode()
    return Svg(f'<img src="data:image/svg+xml;base64,{data}" alt="">')


def _set(html):
    tools = _press()
    return tools["HTML"](string=html, url_fetcher=tools["fetcher"]).render(
        stylesheets=[tools["css"]], font_config=tools["fonts"]
    )


@cache
def _press():
    """WeasyPrint with the card's style and face, loaded once and only when a card is printed."""
    try:
        from weasyprint import CSS, HTML  # noqa: PLC0415 - slow, and its system library may be missing
        from weasyprint.text.fonts import FontConfiguration  # noqa: PLC0415
        from weasyprint.urls import FatalURLFetchingError, URLFetcher  # noqa: PLC0415
    except (ImportError, OSError) as error:
        raise NoPrinter(MISSING) from error

    class OnlyData(URLFetcher):
        """The usual fetcher reads files and the network; a card may use neither."""

        def __init__(self):
            super().__init__(allowed_protocols=("data",), allow_redirects=False)

        def fetch(self, url, headers=None):
            if not url.startswith("data:"):
                raise FatalURLFetchingError(f"a card may only use data: addresses, not {url[:80]}")
            return super().fetch(url, headers)

    fetcher, fonts = OnlyData(), FontConfiguration()
    style = "".join(_face(*face) for face in FACES) + (HERE / "card.css").read_text(encoding="utf-8")
    css = CSS(string=style, font_config=fonts, url_fetcher=fetcher)
    return {"HTML": HTML, "css": css, "fonts": fonts, "fetcher": fetcher}


def _face(weight, name):
    data = base64.b64encode((HERE / "fonts" / name).read_bytes()).decode()
    return (
        f"@font-face {{ font-family: {counting.FACE}; font-weight: {weight}; "
        f"src: url(data:font/ttf;base64,{data}) }}\n"
    )


atexit.register(_press.cache_clear)  # the face's temporary files go while Python still stands
