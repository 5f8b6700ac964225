"""Sets a card out on its paper: what stands where, and what gives way when there is much to say.

The sizes of type never give way. All at full size may stand taller than the paper; then, in this order: the
picture shrinks to its least, warnings go to one line each, the cautions to one line, rows to what a hand must
have, and the last rows to the page of the stay, which the card says. Heights are counted in lines of
the printed face, so that one card is laid out once.
"""

from dataclasses import dataclass, replace
from io import BytesIO

import segno

from berths.cards.card import CAUTIONS, DEFERS, ONE_CAUTION
from berths.drawing.measure import text_width, wrap
from berths.drawing.paper import Paper
from berths.drawing.plan import DOCK, RIM, extent
from berths.drawing.svg import Svg, to_svg

# mm. The paper is A6 with a safe edge all round; the ruler has the left edge below the corner for a hole.
WIDTH, HEIGHT, EDGE = 105.0, 148.0, 5.0
RULER, CORNER, GAP = 14.0, 14.0, 2.0
FULL, TALL = WIDTH - 2 * EDGE, HEIGHT - 2 * EDGE
RIGHT = FULL - RULER - GAP
PT = 25.4 / 72
FACE = "Card"

SMALL, SMALL_LINE = 8.5 * PT, 3.5  # the smallest type, and the height of its line
CODE, CODE_LINE = 44 * PT, 12.4
SIDE, SIDE_LINE = 12 * PT, 4.9
NAME, NAME_LINE = 13 * PT, 5.2
BAR, BAR_LINE = 11 * PT, 4.6
FIRST, FIRST_LINE = 11 * PT, 4.5
NUMBER, NUMBER_LINE = 13 * PT, 5.0
FIGURE, FIGURE_LINE = 9.5, 12.4  # room of the big 1
PAD = 1.0
BLOCK = 1.1  # between blocks
QR = 16.0
LEAST_TALL, LEAST_WIDE, MOST_PICTURE = 38.0, (60.0, 24.0), 60.0
MOST_ROWS = 7
SPARE = 0.4  # of the height, likewise
SAFE = 0.985  # of a width: what the measured words are kept to, for no two programs round alike


@dataclass(frozen=True)
class Layout:
    """One card set out: what is shown and in which sizes. Lengths in mm."""

    rows: tuple
    rest: str = ""
    tight: bool = False  # rows without what a line stops and the slack to leave
    warnings: tuple = ()
    cautions: tuple = ()
    beside: bool = False
    picture: tuple = (0.0, 0.0)
    number_width: float = 14.0
    head_below: bool = False
    warned_beside: bool = False


def lay_out(card):
    """Choose what gives way, and give the picture what is left.

    Parameters
    ----------
    card : card.Card

    Returns
    -------
    list of Layout
        From the one that fits by counting to the tightest; the next is for when the printer counts otherwise.
    """
    ladder = list(_ladder(card))
    first = next(
        (i for i, layout in enumerate(ladder) if _height(card, layout) <= TALL - SPARE), len(ladder) - 1
    )
    return [_grown(card, layout) for layout in ladder[first:]]


def _ladder(card):
    """Layouts with the least picture, each giving way more than the one before."""
    wide, high = extent(card.scenario, card.verdict) if card.scenario else (0.0, 0.0)
    full = tuple((f"{w.letter} {w.word}", f"{w.sentence} {w.do}".strip()) for w in card.warnings)
    short = tuple(
        (lead, one_line(words, RIGHT - text_width(f"{lead} ", bold=True) * SMALL)) for lead, words in full
    )
    layout = Layout(
        rows=card.rows,
        rest=_rest([], card.more),
        warnings=full,
        cautions=(*CAUTIONS, DEFERS),
        beside=_tall(wide, high),
        picture=_picture(_least(wide, high), wide, high),
        number_width=_number_width(card.rows, tight=False),
        head_below=_head_room(card) < 32.0,
    )
    yield from _warned(layout, full)
    yield from _warned(layout, short)
    layout = replace(layout, cautions=(ONE_CAUTION,))
    yield from _warned(layout, short)
    layout = replace(layout, tight=True, number_width=_number_width(card.rows, tight=True))
    yield from _warned(layout, short)
    for kept in range(min(len(card.rows), MOST_ROWS), -1, -1):
        left = [str(row.order) for row in card.rows[kept:]]
        rows = card.rows[:kept]
        less = replace(
            layout, rows=rows, rest=_rest(left, card.more), number_width=_number_width(rows, tight=True)
        )
        yield from _warned(less, short)


def _warned(layout, warnings):
    """In full beside a tall picture, where words stand anyway; else below it, as long as they may be."""
    if layout.beside and warnings:
        yield replace(layout, warned_beside=True)
    yield replace(layout, warnings=warnings)


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


def one_line(words, width=RIGHT):
    """Words cut to one line; what is cut off can be read on the page of the stay."""
    if text_width(words) * SMALL <= width * SAFE:
        return words
    kept = words
    while kept and text_width(f"{kept} …") * SMALL > width * SAFE:
        kept = kept.rpartition(" ")[0]
    return f"{kept.rstrip(',;:.')} …"


# --- the picture ---


def _picture(height, wide, high):
    """Width and height of the picture: as wide as what it shows where it stands beside words."""
    if not wide:
        return (0.0, 0.0)
    if _tall(wide, high):
        scale = (height - (RIM + DOCK) * SMALL) / high
        return (min(46.0, max(30.0, wide * scale + 2 * RIM * SMALL)), height)
    return (RIGHT, min(height, max(_needed(RIGHT, wide, high), LEAST_WIDE[1])))


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
    if card.scenario is None:
        return layout
    wide, high = extent(card.scenario, card.verdict)
    height, least = MOST_PICTURE, _least(wide, high)
    while height > least:
        larger = replace(layout, picture=_picture(height, wide, high))
        if _height(card, larger) <= TALL - SPARE:
            return larger
        height -= 0.5
    return layout


# --- counting ---


def _height(card, layout):
    """How tall the right column stands. [mm]"""
    blocks = [
        _head(card, layout),
        _first(card),
        _middle(card, layout),
        _rows(card, layout),
        0.0 if layout.warned_beside else _warnings(layout, RIGHT),
        _foot(card, layout),
    ]
    return sum(blocks) + BLOCK * sum(1 for b in blocks[1:] if b)


def _lines(words, width, size=SMALL, *, bold=False):
    return len(wrap(words, width * SAFE, size, bold=bold))


def _head_room(card):
    return RIGHT - text_width(card.facts.berth, bold=True) * CODE - 3.0


def _head(card, layout):
    room = RIGHT if layout.head_below else _head_room(card)
    sides = sum(
        _lines(w, room - (7.0 if i else 0.0), SIDE, bold=True) for i, w in enumerate(side_lines(card))
    )
    side = max(sides * SIDE_LINE, 0 if layout.head_below else CODE_LINE)
    height = CODE_LINE + side if layout.head_below else side
    height += _lines(card.facts.boat, RIGHT, NAME, bold=True) * NAME_LINE
    height += 0.0 if not card.facts.mark or mark_beside_name(card) else SMALL_LINE
    if card.bar:
        height += BLOCK + _lines(card.bar, RIGHT - 2 * PAD, BAR, bold=True) * BAR_LINE + PAD
    return height


def side_lines(card):
    return [card.side or "side to: not known", card.bow or "BOW: not known"]


def mark_beside_name(card):
    """Whether her mark has room on the (last) line of her name."""
    last = wrap(card.facts.boat, RIGHT * SAFE, NAME, bold=True)[-1]
    used = text_width(last, bold=True) * NAME + 2.0 + text_width(card.facts.mark) * SMALL
    return used <= RIGHT * SAFE


def _first(card):
    frame = 2 * (0.7 + PAD)
    if card.first is None:
        return _lines(card.no_lines, RIGHT - frame, FIRST) * FIRST_LINE + NUMBER_LINE + frame
    # The length stands in the sentence in its own larger type: counted as if all were bold, with room for it.
    words, number = first_words(card)
    room = RIGHT - frame - FIGURE
    stretched = words + " " + number + "  " * len(number.split())
    return frame + max(_lines(stretched, room, FIRST, bold=True) * FIRST_LINE, FIGURE_LINE)


def first_words(card):
    line = card.first
    words = f"From the {line.source}, runs {line.runs_comma} to {line.to}" + (
        f": {line.stops}." if line.stops else "."
    )
    return words, f"{line.length} {line.hint}".strip()


def right_height(card, layout):
    """How tall the right column is at least, so that the foot stands at the bottom of the paper."""
    return TALL - _foot(card, layout) - BLOCK


def places(card, layout):
    """Where what stands side by side begins, and how tall it is at least; the rest is the stylesheet's. [mm]"""
    width, height = layout.picture
    return {
        "sides": RIGHT - _head_room(card),
        "notes": width + GAP,
        "picture_height": height,
        "row": layout.number_width + 1.5,
        "right_height": right_height(card, layout) - 0.05,
    }


@dataclass(frozen=True)
class Note:
    """A paragraph; `dashed` where something is not known, so that a hand may write it in."""

    words: str
    dashed: bool = False


def notes(card):
    """What stands beside or below the picture: water, fenders, and what is not known."""
    yield Note(" ".join(card.water))
    yield Note(f"Fenders: {card.fenders}.") if card.fenders else Note("Fenders: not known", dashed=True)
    if card.unknown:
        yield Note(f"Not known: {', '.join(card.unknown)}", dashed=True)


def _notes_height(card, width):
    height = NUMBER_LINE * _lines(card.next_low, width, NUMBER, bold=True)
    for note in notes(card):
        lines = _lines(note.words, width - (2.6 if note.dashed else 0.0))
        height += lines * SMALL_LINE + (1.8 if note.dashed else 0.4)
    return height


def _middle(card, layout):
    width, height = layout.picture
    if layout.beside:
        room = RIGHT - width - GAP
        return max(
            height, _notes_height(card, room) + (_warnings(layout, room) if layout.warned_beside else 0.0)
        )
    return height + (0.8 if height else 0.0) + _notes_height(card, RIGHT)


def _rows(card, layout):
    height = sum(row_height(row, layout) for row in layout.rows)
    return height + (_lines(layout.rest, RIGHT, bold=True) * SMALL_LINE if layout.rest else 0.0)


def row_height(row, layout):
    text = _lines(row_words(row, layout), _row_room(layout)) * SMALL_LINE + 0.7
    below = SMALL_LINE if row_hint(row, layout.tight) and not layout.tight else 0.0
    return max(text, NUMBER_LINE + below) + 0.4


def _row_room(layout):
    return RIGHT - 6.5 - layout.number_width - 1.5


def row_words(row, layout):
    """Where a line of the rows runs; tight, 'cleat' is left out where it would cost a second line."""
    if not layout.tight:
        return f"{row.row}; {row.stops}" if row.stops else row.row
    short = row.row.replace(" cleat,", ",", 1)
    fits = text_width(row.row) * SMALL <= _row_room(layout) * SAFE
    return row.row if fits else short


def row_hint(row, tight):
    """Below the length its mark, else the slack to leave; tight, the mark alone, beside it."""
    if not tight:
        return row.hint
    return row.mark.replace("one band", "1 band").replace("two bands", "2 bands")


def _warnings(layout, width):
    """Each warning as counted with its letter and word, which are bold."""
    return sum(_lines(f"{lead} {words}", width, bold=True) * SMALL_LINE for lead, words in layout.warnings)


def strip_lines(card):
    """The bottom strip beside the square code: (label in bold, words, what stands in a box where there are none)."""
    told = f"{card.ordinal}, invented data." if card.facts.invented else f"{card.ordinal}."
    return [
        ("Look again", card.look_again, "not set"),
        ("Call", card.call, "not set"),
        (told, card.age, ""),
        ("", short_address(card), ""),
    ]


def short_address(card):
    return card.facts.url.split("://", 1)[-1].rstrip("/")


def _foot(card, layout):
    """The strip and the cautions below it, both as wide as the card."""
    height = 0.0
    for label, words, missing in strip_lines(card):
        height += _lines(f"{label} {words or missing}", FULL - QR - GAP, bold=bool(label)) * SMALL_LINE
    return max(height, QR) + _lines(" ".join(layout.cautions), FULL) * SMALL_LINE


# --- what the template draws ---


def pictures(card, layout):
    """The plan, the water ruler and the square code as SVG."""
    out = {"qr": qr(card.facts.url)}
    if card.scenario is not None:
        width, height = layout.picture
        paper = Paper(width, height, height, SMALL, card=True)
        out["plan"] = to_svg(card.draw_plan(paper), unit="mm", font=FACE)
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
