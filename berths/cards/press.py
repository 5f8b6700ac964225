"""Sets HTML on paper. Everything but this works where WeasyPrint's system library is missing.

The printed page takes nothing from outside: its face, pictures and square code lie in the document itself, and
the fetcher refuses every address that is not a `data:` one.
"""

import atexit
import base64
from functools import cache
from pathlib import Path

from berths.cards.counting import FACE
from berths.drawing.svg import Svg

HERE = Path(__file__).parent
FACES = ((400, "RobotoCondensed-Regular-latin.ttf"), (700, "RobotoCondensed-Bold-latin.ttf"))
STYLES = ("card", "sheet", "label")
MM = 96 / 25.4  # pages are placed in CSS pixels
MISSING = (
    "Cards cannot be made as PDF here: install Pango (Debian: apt-get install libpango-1.0-0 libpangoft2-1.0-0), "
    "then restart. The card's page can be printed from the browser meanwhile."
)


class NoPrinter(RuntimeError):
    """WeasyPrint or its system library is missing; the message says what to install."""


def image(svg):
    """A picture as an image in the text itself: so its shapes are not styled one by one, which takes longer."""
    data = base64.b64encode(svg.encode()).decode()
    return Svg(f'<img src="data:image/svg+xml;base64,{data}" alt="">')


def render(html, style="card"):
    """HTML text set into pages.

    Parameters
    ----------
    html : str
    style : str
        'card' for the front of a card, 'label' for tags of lines, 'sheet' for every other piece of paper.

    Returns
    -------
    weasyprint.Document

    Raises
    ------
    NoPrinter
        With the sentence that says what to install.
    """
    tools = _press()
    return tools["HTML"](string=html, url_fetcher=tools["fetcher"]).render(
        stylesheets=[tools[style]], font_config=tools["fonts"]
    )


def bind(pages):
    """Pages of several documents as one PDF. Returns bytes."""
    empty = _press()["empty"]
    return empty.copy(pages).write_pdf()


class Sheet:
    """A sheet of paper with pages laid on it, in the shape of a page of WeasyPrint's.

    Parameters
    ----------
    width, height : float
        Of the sheet. [mm]
    laid : sequence of (page, x, y)
        What lies on it, each with its upper left corner from the sheet's own. [mm]
    """

    def __init__(self, width, height, laid):
        self.width, self.height, self.laid = width * MM, height * MM, tuple(laid)
        self.bleed = dict.fromkeys(("top", "right", "bottom", "left"), 0)
        self.bookmarks, self.links, self.anchors, self.forms = [], [], {}, {None: []}

    def paint(self, stream, scale=1):
        for page, x, y in self.laid:
            with stream.stacked():
                stream.transform(e=x * MM * scale, f=y * MM * scale)
                page.paint(stream, scale)


@cache
def _press():
    """WeasyPrint with the card's styles and face, loaded once and only when something is printed."""
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
    faces = "".join(_face(*face) for face in FACES)
    styles = {
        name: CSS(
            string=faces + (HERE / f"{name}.css").read_text(encoding="utf-8"),
            font_config=fonts,
            url_fetcher=fetcher,
        )
        for name in STYLES
    }
    empty = HTML(string="<p></p>", url_fetcher=fetcher).render(font_config=fonts)
    return {"HTML": HTML, "fonts": fonts, "fetcher": fetcher, "empty": empty, **styles}


def _face(weight, name):
    data = base64.b64encode((HERE / "fonts" / name).read_bytes()).decode()
    return f"@font-face {{ font-family: {FACE}; font-weight: {weight}; src: url(data:font/ttf;base64,{data}) }}\n"


atexit.register(_press.cache_clear)  # the face's temporary files go while Python still stands
