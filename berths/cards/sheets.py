"""Cards laid on sheets: which piece of paper each is, four to a sheet with marks to cut by, fronts and backs.

Four to a sheet stand in stack order: the sheets are cut as one stack, the four piles laid on each other from
the upper left, and every card is in its place. All lengths in mm.
"""

from dataclasses import dataclass
from functools import cache

from berths.cards import press
from berths.cards.counting import A6, FOUR_BY_SIX, QUARTER_A4, QUARTER_LETTER, Stock

MARK = (3.0, 8.0)  # from the edge of the sheet: where a mark to cut by begins and ends
CROSS = 4.0  # half of the cross in the middle


@dataclass(frozen=True)
class Paper:
    """What goes into the printer: its size, the stock of the cards on it, and how many there are."""

    key: str
    words: str
    width: float
    height: float
    stock: Stock
    up: int = 1


PAPERS = {
    paper.key: paper
    for paper in (
        Paper("a6", "A6, one card each", A6.width, A6.height, A6),
        Paper("4x6", "4 x 6 in, one card each", FOUR_BY_SIX.width, FOUR_BY_SIX.height, FOUR_BY_SIX),
        Paper("a4", "A4, four cards to cut", 210.0, 297.0, QUARTER_A4, 4),
        Paper("letter", "Letter, four cards to cut", 215.9, 279.4, QUARTER_LETTER, 4),
    )
}
A4, LETTER = PAPERS["a4"], PAPERS["letter"]


def cells(paper):
    """The upper left corners of the cards on a sheet, row by row."""
    stock = paper.stock
    across, down = (0.0, paper.width - stock.width), (0.0, paper.height - stock.height)
    return [(x, y) for y in down for x in across] if paper.up == 4 else [(0.0, 0.0)]


def marks(paper):
    """The strokes to cut by, in the strips between the cards: ((x, y), (x, y)) each."""
    if paper.up == 1:
        return []
    (w, h), (begin, end) = (paper.width, paper.height), MARK
    x, y = w / 2, h / 2
    upright = [((x, a), (x, b)) for a, b in ((begin, end), (h - end, h - begin), (y - CROSS, y + CROSS))]
    level = [((a, y), (b, y)) for a, b in ((begin, end), (w - end, w - begin), (x - CROSS, x + CROSS))]
    return upright + level


def lay(pieces, paper):
    """Pieces of paper put on sheets.

    Parameters
    ----------
    pieces : sequence of (front, back or None)
        Pages of the paper's stock, in the order in which they are wanted. With one back every sheet has one.
    paper : Paper

    Returns
    -------
    list of pages
        Sheet after sheet; with backs front and back in turn, to be turned over the long edge.
    """
    double = any(back is not None for _, back in pieces)
    if paper.up == 1:
        blank = [_blank(paper.stock.width, paper.stock.height)] if double else []
        return [page for front, back in pieces for page in ([front, back] if back else [front, *blank])]
    count = -(-len(pieces) // paper.up)
    spots, out = cells(paper), []
    for sheet in range(count):
        here = [(n, pieces[n * count + sheet]) for n in range(paper.up) if n * count + sheet < len(pieces)]
        out.append(_sheet(paper, [(front, *spots[n]) for n, (front, _) in here]))
        if double:  # the sheet is turned over its long edge: what lay left lies right
            out.append(_sheet(paper, [(back, *spots[n ^ 1]) for n, (_, back) in here if back]))
    return out


def _sheet(paper, laid):
    return press.Sheet(paper.width, paper.height, [(_marks_page(paper), 0.0, 0.0), *laid])


@cache
def _marks_page(paper):
    w, h = paper.width, paper.height
    strokes = "".join(f"M{a} {b}L{c} {d}" for (a, b), (c, d) in marks(paper))
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}">'
        f'<path d="{strokes}" fill="none" stroke="#000" stroke-width="0.2"/></svg>'
    )
    style = f"<style>@page {{ size: {w}mm {h}mm; margin: 0 }}</style>"
    return press.render(style + press.image(svg), "sheet").pages[0]


@cache
def _blank(width, height):
    return press.render(f"<style>@page {{ size: {width}mm {height}mm }}</style>", "sheet").pages[0]
