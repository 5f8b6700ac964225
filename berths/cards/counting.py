"""How tall the pieces of a card stand on its paper, counted in lines of the printed face. All lengths in mm.

What is counted here is what `card.css` and the template set; a test holds the two together.
"""

from dataclasses import dataclass

from berths.drawing.measure import text_width, wrap

# mm. A safe edge runs all round the paper; the ruler has the left edge below the corner for a hole.
EDGE = 5.0
RULER, CORNER, GAP = 14.0, 14.0, 2.0
PT = 25.4 / 72
FACE = "Card"

SMALL, SMALL_LINE = 8.5 * PT, 3.5  # the smallest type, and the height of its line
CODE, CODE_LINE = 44 * PT, 12.4
SIDE, SIDE_LINE, SIDE_ABOVE = 12 * PT, 4.9, 1.2
NAME, NAME_LINE = 13 * PT, 5.2
BAR, BAR_LINE = 11 * PT, 4.6
FIRST, FIRST_LINE = 11 * PT, 4.5
NUMBER, NUMBER_LINE = 13 * PT, 5.0
FIGURE, FIGURE_LINE = 9.5, 12.4  # room of the big 1
PAD = 1.0
BLOCK, CLOSE = 1.1, 0.7  # between blocks; where all else has given way
QR = 16.0
SAFE = 0.985  # of a width: what the measured words are kept to, for no two programs round alike


@dataclass(frozen=True)
class Stock:
    """The piece of paper that a card is. [mm]"""

    width: float
    height: float

    @property
    def full(self):
        return self.width - 2 * EDGE

    @property
    def tall(self):
        return self.height - 2 * EDGE

    @property
    def right(self):
        """What the ruler leaves."""
        return self.full - RULER - GAP


A6 = Stock(105.0, 148.0)
FOUR_BY_SIX = Stock(101.6, 152.4)
# A quarter of the sheet, less the millimetre between cards that the knife goes through.
QUARTER_A4 = Stock(104.5, 148.0)
QUARTER_LETTER = Stock(107.4, 139.2)


def height_of(card, layout):
    """How tall the right column stands. [mm]"""
    blocks = [
        _head(card, layout),
        _first(card, layout),
        _middle(card, layout),
        _rows(card, layout),
        _warnings(layout.warnings[layout.warned_beside :], layout.stock.right),
        _foot(card, layout),
    ]
    return sum(blocks) + block(layout) * sum(1 for b in blocks[1:] if b)


def block(layout):
    """Room between blocks: less on a card where all else has given way. [mm]"""
    return CLOSE if layout.close else BLOCK


def _lines(words, width, size=SMALL, *, bold=False):
    return len(wrap(words, width * SAFE, size, bold=bold))


def _led(label, words, width):
    """Lines of words that begin with a label in bold: the bold is wider, so the lines are counted shorter."""
    wider = (text_width(label, bold=True) - text_width(label)) * SMALL
    return _lines(f"{label} {words}", width - wider)


def head_room(card, stock):
    return stock.right - text_width(card.facts.berth, bold=True) * CODE - 3.0


def _head(card, layout):
    room = layout.stock.right if layout.head_below else head_room(card, layout.stock)
    sides = sum(
        _lines(w, room - (7.0 if i else 0.0), SIDE, bold=True) for i, w in enumerate(side_lines(card))
    )
    side = max(SIDE_ABOVE + sides * SIDE_LINE, 0 if layout.head_below else CODE_LINE)
    height = CODE_LINE + side if layout.head_below else side
    height += _lines(card.facts.boat, layout.stock.right, NAME, bold=True) * NAME_LINE
    height += SMALL_LINE if mark_below_name(card, layout) else 0.0
    if card.bar:
        height += (
            block(layout) + _lines(card.bar, layout.stock.right - 2 * PAD, BAR, bold=True) * BAR_LINE + PAD
        )
    return height


def side_lines(card):
    return [card.side or "side to: not known", card.bow or "BOW: not known"]


def mark_beside_name(card, stock):
    """Whether her mark has room on the (last) line of her name."""
    last = wrap(card.facts.boat, stock.right * SAFE, NAME, bold=True)[-1]
    used = text_width(last, bold=True) * NAME + 2.0 + text_width(card.facts.mark) * SMALL
    return used <= stock.right * SAFE


def mark_below_name(card, layout):
    return bool(card.facts.mark) and layout.with_mark and not mark_beside_name(card, layout.stock)


def _first(card, layout):
    frame = 2 * (0.7 + (CLOSE if layout.close else PAD))
    if card.first is None:
        return _lines(card.no_lines, layout.stock.right - frame, FIRST) * FIRST_LINE + NUMBER_LINE + frame
    # The length stands in the sentence in its own larger type: counted as if all were bold, with room for it.
    words, number = first_words(card, layout)
    room = layout.stock.right - frame - FIGURE
    stretched = words + " " + number + "  " * len(number.split())
    return frame + max(_lines(stretched, room, FIRST, bold=True) * FIRST_LINE, FIGURE_LINE)


def first_hint(card, layout):
    """What stands behind the first length; tight, the tag is left to the page of the stay."""
    return card.first.short_hint if layout.tight else card.first.hint


def first_words(card, layout):
    line = card.first
    words = f"From the {line.source}, runs {line.runs_comma} to {line.to}" + (
        f": {line.stops}." if line.stops else "."
    )
    return words, f"{line.length} {first_hint(card, layout)}".strip()


def right_height(card, layout):
    """How tall the right column is at least, so that the foot stands at the bottom of the paper."""
    return layout.stock.tall - _foot(card, layout) - block(layout)


def places(card, layout):
    """Where what stands side by side begins, and how tall it is at least; the rest is the stylesheet's. [mm]"""
    width, height = layout.picture
    return {
        "sides": layout.stock.right - head_room(card, layout.stock),
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


def notes(card, layout):
    """What stands beside or below the picture: water, fenders, and what is not known."""
    told = [" ".join(card.water), f"Fenders: {card.fenders}." if card.fenders else ""]
    yield from [Note(" ".join(told))] if layout.close else [Note(words) for words in told if words]
    if not card.fenders:
        yield Note("Fenders: not known", dashed=True)
    if card.unknown:
        yield Note(f"Not known: {', '.join(card.unknown)}", dashed=True)


def _notes_height(card, layout, width):
    height = NUMBER_LINE * _lines(card.next_low, width, NUMBER, bold=True)
    for note in notes(card, layout):
        lines = _lines(note.words, width - (2.6 if note.dashed else 0.0))
        height += lines * SMALL_LINE + (1.8 if note.dashed else 0.4)
    return height


def _middle(card, layout):
    width, height = layout.picture
    if layout.beside:
        room = layout.stock.right - width - GAP
        return max(
            height,
            _notes_height(card, layout, room) + _warnings(layout.warnings[: layout.warned_beside], room),
        )
    return height + (0.8 if height else 0.0) + _notes_height(card, layout, layout.stock.right)


def _rows(card, layout):
    height = sum(row_height(row, layout) for row in layout.rows)
    return height + (_lines(layout.rest, layout.stock.right, bold=True) * SMALL_LINE if layout.rest else 0.0)


def row_height(row, layout):
    text = _lines(row_words(row, layout), _row_room(layout)) * SMALL_LINE
    if layout.close:
        return max(text + 0.5, NUMBER_LINE - 0.3) + 0.3
    below = SMALL_LINE if row_hint(row, layout.tight) and not layout.tight else 0.0
    return max(text + 0.7, NUMBER_LINE + below) + 0.4


def _row_room(layout):
    return layout.stock.right - 6.5 - layout.number_width - 1.5


def row_words(row, layout):
    """Where a line of the rows runs; tight, 'cleat' is left out where it would cost a second line."""
    if not layout.tight:
        return f"{row.row}; {row.stops}" if row.stops else row.row
    short = row.row.replace(" cleat,", ",", 1)
    fits = text_width(row.row) * SMALL <= _row_room(layout) * SAFE
    return row.row if fits else short


def row_hint(row, tight):
    """Below the length its tag and mark, else the slack to leave; tight, the mark alone, beside it."""
    if not tight:
        return row.hint
    return row.mark.replace("one band", "1 band").replace("two bands", "2 bands")


def _warnings(warnings, width):
    """Each warning with its letter and word, which are bold. [mm]"""
    return sum(_led(lead, words, width) * SMALL_LINE for lead, words in warnings)


def strip_lines(card, layout):
    """The bottom strip beside the square code, paragraph by paragraph.

    Returns
    -------
    list of list of (str, str, str)
        Label in bold, words, and what stands in a box where there are none.
    """
    told = f"{card.ordinal}, invented data." if card.facts.invented else f"{card.ordinal}."
    look, call = ("Look again", card.look_again, "not set"), ("Call", card.call, "not set")
    age, address = (told, card.age, ""), ("", short_address(card), "")
    if not layout.close:
        return [[look], [call], [age], [address]]
    return [*([[look, call]] if _in_one_line(layout, look, call) else [[look], [call]]), [age, address]]


def _in_one_line(layout, *pieces):
    words = " ".join(f"{label} {words or missing}" for label, words, missing in pieces)
    return _lines(words, layout.stock.full - QR - GAP - 4.0, bold=True) == 1


def short_address(card):
    return card.facts.url.split("://", 1)[-1].rstrip("/")


def _foot(card, layout):
    """The strip and the cautions below it, both as wide as the card."""
    height, cautions = 0.0, _lines(" ".join(layout.cautions), layout.stock.full) * SMALL_LINE
    for pieces in strip_lines(card, layout):
        labels = " ".join(label for label, _, _ in pieces)
        words = " ".join(words or missing for _, words, missing in pieces)
        boxes = 2.6 * sum(not words for _, words, _ in pieces)
        height += _led(labels, words, layout.stock.full - QR - GAP - boxes) * SMALL_LINE
    if caution_in_strip(layout):
        return max(height + SMALL_LINE, QR)
    return max(height, QR) + cautions


def caution_in_strip(layout):
    """Whether the one line of caution stands beside the square code."""
    return layout.close and _lines(" ".join(layout.cautions), layout.stock.full - QR - GAP) == 1
