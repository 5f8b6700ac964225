"""Cuts the card's two faces down to Latin, and notes how wide each letter is.

    python -m berths.cards.cut_fonts /usr/share/fonts/truetype/roboto/unhinted

The whole face would cost every card 0.4 s; the cut one costs 0.05 s. The widths lie beside it as data, so
that a drawing can keep its labels apart without opening a font. Run again only when the face changes
(fontTools comes with WeasyPrint).
"""

import json
import sys
from pathlib import Path

FOLDER = Path(__file__).parent / "fonts"
FACES = {"regular": "RobotoCondensed-Regular", "bold": "RobotoCondensed-Bold"}
LETTERS = [*range(0x20, 0x7F), *range(0xA0, 0x180), *map(ord, "ŞşȘșȚț–—‘’‚“”„…•‹›€™−")]


def cut(source):
    from fontTools import subset  # noqa: PLC0415 - a tool's import, not needed to print a card

    widths = {}
    for face, name in FACES.items():
        options = subset.Options(
            layout_features=["kern"], hinting=False, notdef_outline=True, desubroutinize=True
        )
        options.name_IDs = [0, 1, 2, 3, 4, 5, 6, 13, 14]  # copyright and licence stay inside the file
        font = subset.load_font(str(Path(source) / f"{name}.ttf"), options)
        cutter = subset.Subsetter(options)
        cutter.populate(unicodes=LETTERS)
        cutter.subset(font)
        subset.save_font(font, str(FOLDER / f"{name}-latin.ttf"), options)
        em, table, glyphs = font["head"].unitsPerEm, font["hmtx"], font.getBestCmap()
        widths[face] = {chr(code): round(table[glyph][0] / em, 4) for code, glyph in sorted(glyphs.items())}
    (FOLDER.parents[1] / "drawing" / "widths.json").write_text(
        json.dumps(widths, ensure_ascii=False, indent=0) + "\n"
    )


if __name__ == "__main__":
    cut(sys.argv[1])
