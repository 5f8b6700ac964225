"""How wide words print, so that labels can be kept apart and lines broken where the paper ends.

The widths are those of the face the card is printed in (`berths/cards/fonts`). On a page the reader's own
system face is used, which may be wider: drawings for pages ask for `SYSTEM` times as much room.
"""

import json
from functools import cache, lru_cache
from pathlib import Path

SYSTEM = 1.25  # system faces are not condensed; measured against the common ones, rounded up
UNKNOWN = 1.0  # em, for a letter that the face does not have


@cache
def _widths():
    return json.loads((Path(__file__).parent / "widths.json").read_text(encoding="utf-8"))


def text_width(words, *, bold=False):
    """Width of words in ems: times the size of the type it is a length.

    >>> text_width("B7") < text_width("B12", bold=True)
    True
    """
    widths = _widths()["bold" if bold else "regular"]
    return sum(widths.get(letter, UNKNOWN) for letter in words)


@lru_cache(4096)  # a card tries the same words in several layouts
def wrap(words, width, size, *, bold=False):
    """Break words into lines that are at most `width` long in type of `size` (same unit). Returns a tuple.

    A single word wider than the line is cut into pieces, so that nothing ever runs off the paper.

    >>> wrap("dock cleat behind her", 20.0, 3.0)
    ('dock cleat', 'behind her')
    """
    lines, line = [], ""
    for word in words.split():
        for piece in _pieces(word, width, size, bold):
            longer = f"{line} {piece}" if line else piece
            if line and text_width(longer, bold=bold) * size > width:
                lines.append(line)
                line = piece
            else:
                line = longer
    return (*lines, line) if line else tuple(lines)


def _pieces(word, width, size, bold):
    if text_width(word, bold=bold) * size <= width:
        return [word]
    pieces, piece = [], ""
    for letter in word:
        if piece and text_width(piece + letter, bold=bold) * size > width:
            pieces.append(piece)
            piece = ""
        piece += letter
    return [*pieces, piece]
