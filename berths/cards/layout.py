"""Sets a card out on its paper: what stands where, and what gives way when there is much to say.

The sizes of type never give way. All at full size may stand taller than the paper; then, in this order: the
picture shrinks to its least, warnings go to one line each (the last first), the cautions to one line, rows to
what a hand must have, and the rows after the fifth to the page of the stay, which the card says. Only a card
that is still too tall gives up air, her mark, and picture below its least; the first five rows always stay.
What room a step leaves over goes back to the warnings, then to the picture. Heights are counted in lines of
the printed face, so that one card is laid out once.
"""

from dataclasses import dataclass, replace
from io import BytesIO

import segno

from berths.cards.card import CAUTIONS, DEFERS, ONE_CAUTION
from berths.cards.counting import (
    A6,
    CORNER,
    FACE,
    NUMBER,
    QR,
    RULER,
    SAFE,
    SMALL,
    Stock,
    head_room,
    height_of,
    right_height,
    row_hint,
)
from berths.drawing.measure import text_width
from berths.drawing.paper import Paper
from berths.drawing.plan import DOCK, RIM, extent
from berths.drawing.svg import Svg, to_svg

LEAST_TALL, LEAST_WIDE, MOST_PICTURE = 38.0, (60.0, 24.0), 60.0
MOST_ROWS, KEPT_ROWS = 7, 5
LAST = ((34.0, 3), (30.0, 3), (30.0, 2), (24.0, 2), (0.0, 2), (0.0, 1), (0.0, 0))  # picture [mm], warnings
SPARE = 0.4  # of the height, kept free: no two programs round alike


@dataclass(frozen=True)
class Layout:
    """One card set out: what is shown and in which sizes. Lengths in mm."""

    stock: Stock
    rows: tuple
    rest: str = ""
    tight: bool = False  # rows without what a line stops and the slack to leave
    warnings: tuple = ()
    cautions: tuple = ()
    beside: bool = False
    picture: tuple = (0.0, 0.0)
    number_width: float = 14.0
    head_below: bool = False
    warned_beside: int = 0  # how many of the warnings stand beside the picture; the others below the rows
    most_warnings: int = 3
    with_mark: bool = True
    close: bool = False  # less air, and short sentences share a line


def lay_out(card, stock=A6):
    """Choose what gives way, and give the picture what is left.

    Parameters
    ----------
    card : card.Card
    stock : counting.Stock

    Returns
    -------
    list of Layout
        From the one that fits by counting to the tightest; the next is for when the printer counts otherwise.
    """
    ladder = list(_ladder(card, stock))
    first = next(
        (i for i, layout in enumerate(ladder) if height_of(card, layout) <= stock.tall - SPARE),
        len(ladder) - 1,
    )
    return [_grown(card, ladder[first]), *ladder[first:]]


def _ladder(card, stock):
    """Layouts with the least picture, each giving way more than the one before."""
    wide, high = extent(card.scenario, card.verdict) if card.scenario else (0.0, 0.0)
    layout = Layout(
        stock=stock,
        rows=card.rows,
        cautions=(*CAUTIONS, DEFERS),
        beside=_tall(wide, high),
        picture=_picture(_least(wide, high), wide, high, stock),
        head_below=head_room(card, stock) < 32.0,
    )
    for step in _steps(card, layout, wide, high):
        yield from _warned(card, step)


def _steps(card, layout, wide, high):
    """What gives way beside the warnings, step by step."""
    yield (layout := _with_rows(card, layout, MOST_ROWS))
    yield (layout := replace(layout, cautions=(ONE_CAUTION,)))
    yield (layout := _with_rows(card, replace(layout, tight=True), MOST_ROWS))
    for kept in range(min(len(card.rows), MOST_ROWS) - 1, KEPT_ROWS - 1, -1):
        yield (layout := _with_rows(card, layout, kept))
    yield (layout := replace(layout, close=True))
    yield (layout := replace(layout, with_mark=False))
    for height, most in LAST:
        beside = layout.beside and height > 0
        told = replace(
            layout, most_warnings=most, picture=_picture(height, wide, high, layout.stock), beside=beside
        )
        yield _with_rows(card, told, KEPT_ROWS)


def _with_rows(card, layout, kept):
    rows, left = card.rows[:kept], [str(row.order) for row in card.rows[kept:]]
    width = _number_width(rows, tight=layout.tight)
    folded = [f"warning {w.letter}" for w in card.warnings[layout.most_warnings :]]
    return replace(layout, rows=rows, rest=_rest(left, [*folded, *card.more]), number_width=width)


def _warned(card, layout):
    """The layout with its warnings in full, then from the last to the first with one line each."""
    told = card.warnings[: layout.most_warnings]
    full = [(f"{w.letter} {w.word}", f"{w.sentence} {w.do}".strip()) for w in told]
    short = [
        (lead, one_line(words, layout.stock.right - text_width(f"{lead} ", bold=True) * SMALL))
        for lead, words in full
    ]
    ways = [_shortest(card, layout, tuple(short))]
    if height_of(card, ways[0]) <= layout.stock.tall - SPARE:  # else nothing longer fits either
        ways += [_shortest(card, layout, (*full[:n], *short[n:])) for n in range(1, len(full) + 1)]
    yield from reversed(ways)


def _shortest(card, layout, warnings):
    """So many of the warnings beside a tall picture, the others below, that the card stands least tall."""
    beside = range(len(warnings) + 1) if layout.beside else (0,)
    ways = [replace(layout, warnings=warnings, warned_beside=k) for k in beside]
    return min(ways, key=lambda way: height_of(card, way))


def _rest(orders, more):
    """What is left out of the card: 'Lines 7 to 9, 1 fix, 2 notes: see the page of the stay.'"""
    lines = (
        [f"lines {orders[0]} to {orders[-1]}" if len(orders) > 1 else f"line {orders[0]}"] if orders else []
    )
    left = ", ".join([*lines, *more])
    return f"{left[0].upper()}{left[1:]}: see the page of the stay." if left else ""


def _number_width(rows, *, tight):
    """Room of the column of lengths: the widest of them, with the box of one that is not known."""
    widest = 14.0
    for row in rows:
        width = text_width(row.length, bold=True) * NUMBER + (0.0 if row.known else 2.6)
        hint = text_width(row_hint(row, tight)) * SMALL
        widest = max(widest, width + 1.0 + hint if tight and hint else max(width, hint))
    return widest


def one_line(words, width):
    """Words cut to one line; what is cut off can be read on the page of the stay."""
    if text_width(words) * SMALL <= width * SAFE:
        return words
    kept = words
    while kept and text_width(f"{kept} …") * SMALL > width * SAFE:
        kept = kept.rpartition(" ")[0]
    return f"{kept.rstrip(',;:.')} …"


# --- the picture ---


def _picture(height, wide, high, stock):
    """Width and height of the picture: as wide as what it shows where it stands beside words."""
    if not wide or not height:
        return (0.0, 0.0)
    if _tall(wide, high):
        scale = (height - (RIM + DOCK) * SMALL) / high
        return (min(46.0, max(30.0, wide * scale + 2 * RIM * SMALL)), height)
    return (stock.right, min(height, max(_needed(stock.right, wide, high), LEAST_WIDE[1])))


def _tall(wide, high):
    return high > 1.1 * wide


def _needed(width, wide, high):
    """How high a picture is that fills a width. [mm]"""
    return (width - 2 * RIM * SMALL) / wide * high + (RIM + DOCK) * SMALL


def _least(wide, high):
    """The least height of the picture: 38 mm, and less where that is more than 60 mm of width need."""
    if not wide or _tall(wide, high):
        return LEAST_TALL
    return min(max(_needed(LEAST_WIDE[0], wide, high), LEAST_WIDE[1]), LEAST_TALL)


def _grown(card, layout):
    """The layout with the largest picture that the paper has room for."""
    if not layout.picture[1]:
        return layout
    wide, high = extent(card.scenario, card.verdict)
    height, least = MOST_PICTURE, layout.picture[1]
    while height > least:
        larger = replace(layout, picture=_picture(height, wide, high, layout.stock))
        if larger.picture[1] > least and height_of(card, larger) <= layout.stock.tall - SPARE:
            return larger
        height -= 0.5
    return layout


def pictures(card, layout):
    """The plan, the water ruler and the square code as SVG."""
    out = {"qr": qr(card.facts.url)}
    width, height = layout.picture
    if height:
        paper = Paper(width, height, height, SMALL, card=True)
        out["plan"] = to_svg(card.draw_plan(paper), unit="mm", font=FACE)
    if card.scenario is not None:
        size = {"width": RULER, "height": right_height(card, layout) - CORNER, "text": SMALL}
        out["ruler"] = to_svg(card.draw_ruler(**size), unit="mm", font=FACE)
    return out


def qr(address):
    """A square code that phones read: never the small kind."""
    code = segno.make(address, micro=False, error="m")
    modules = code.symbol_size(border=2)[0]
    out = BytesIO()
    code.save(
        out,
        kind="svg",
        xmldecl=False,
        nl=False,
        scale=round(QR / modules, 4),
        border=2,
        unit="mm",
        dark="#000",
    )
    return Svg(out.getvalue().decode())
