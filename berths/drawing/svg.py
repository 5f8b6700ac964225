"""A drawing as SVG: presentation attributes only, so that it is the same under a strict content policy, in
print and in the PDF. Shapes that follow each other with one pen become one path, for few elements print
fast.

On a page the ink is the page's own (`currentColor`) and what is filled with paper carries a class of the
site's stylesheet, so that a dark page has light lines; without a stylesheet the attributes alone are right.
"""

from dataclasses import dataclass
from html import escape
from itertools import groupby

from berths.drawing.shapes import Circle, Polygon

INK, PAPER, WASH = "ink", "paper", "wash"
CAPITAL = 0.71  # em, height of a capital of the card's face

# Widths and dashes in pt. "wash" is the only tone, and stands on pages only: paper gets wet.
PENS = {
    "edge": {"stroke": INK, "width": 1.6},
    "solid": {"stroke": INK, "width": 0.35},
    "hull": {"stroke": INK, "width": 1.3, "fill": PAPER, "class": "sheet"},
    "hull-high": {"stroke": INK, "width": 0.9, "dash": "4 2"},
    "neighbour": {"stroke": INK, "width": 0.5, "dash": "3 2"},
    "reach": {"fill": WASH, "class": "wash"},
    "pile": {"stroke": INK, "width": 0.9, "fill": INK},
    "pile-side": {"stroke": INK, "width": 0.6, "fill": PAPER, "class": "sheet"},
    "cleat": {"stroke": INK, "width": 2.2},
    "ring": {"stroke": INK, "width": 0.9, "fill": PAPER, "class": "sheet"},
    "bollard": {"fill": INK},
    "deck": {"fill": INK},
    "thin": {"stroke": INK, "width": 0.5},
    "bar": {"stroke": INK, "width": 3.2},
    "water": {"stroke": INK, "width": 1.2},
    "water-high": {"stroke": INK, "width": 0.9, "dash": "5 2.5"},
    "arrow": {"stroke": INK, "width": 1.3},
    "head": {"fill": INK},
    "plate": {"fill": PAPER, "class": "sheet"},
    "disc": {"stroke": INK, "width": 0.9, "fill": PAPER, "class": "sheet"},
    "line-bow": {"stroke": INK, "width": 1.1},
    "line-stern": {"stroke": INK, "width": 1.1, "dash": "6 2"},
    "line-spring": {"stroke": INK, "width": 1.1, "dash": "6 2 1.2 2"},
    "line-breast": {"stroke": INK, "width": 1.1, "dash": "1.6 1.8"},
    "rope": {"stroke": INK, "width": 2.0},
    "blank": {"stroke": INK, "width": 0.9, "dash": "3 2"},
    "line-low": {"stroke": INK, "width": 0.9},
    "line-high": {"stroke": INK, "width": 0.8, "dash": "3 2"},
    "text": {"fill": INK, "text": 400},
    "text-bold": {"fill": INK, "text": 700},
}
HEAVY = 1.9  # times the width: the line that decides


class Svg(str):
    """Finished markup, which a template puts in as it stands."""

    def __html__(self):
        return self


@dataclass(frozen=True)
class _Press:
    """How a drawing is put down: what a pt is in its units, which inks, and whether classes are named."""

    point: float
    inks: dict
    classes: bool


ON_PAPER = _Press(25.4 / 72, {INK: "#000", PAPER: "#fff", WASH: "#e4e2d8"}, classes=False)
ON_PAGE = _Press(1.35, {INK: "currentColor", PAPER: "#fff", WASH: "#e4e2d8"}, classes=True)


def to_svg(drawing, *, unit="", font=None):
    """SVG text of a drawing.

    Parameters
    ----------
    drawing : Drawing
    unit : str
        'mm' for a card, where the size is fixed; '' for a page, where it follows the column.
    font : str, optional
        The family that words are set in; the page's own when left out.

    Returns
    -------
    Svg
    """
    press = ON_PAPER if unit == "mm" else ON_PAGE
    w, h = drawing.width, drawing.height
    size = f' width="{w:.2f}mm" height="{h:.2f}mm"' if unit == "mm" else ""
    family = f' font-family="{escape(font)}"' if font else ""
    runs = groupby(drawing.shapes, key=lambda s: s.pen)
    body = "".join(_run(pen, list(shapes), drawing, press) for pen, shapes in runs)
    words = f"<title>{escape(drawing.title)}</title><desc>{escape(' '.join(drawing.sentences))}</desc>"
    frame = f'viewBox="0 0 {w:.2f} {h:.2f}"{size}{family}'
    return Svg(f'<svg xmlns="http://www.w3.org/2000/svg" role="img" {frame}>{words}{body}</svg>')


def _run(pen, shapes, drawing, press):
    """Shapes of one pen that follow each other: one path, and what a path cannot hold."""
    style = PENS[pen.removesuffix("+")]
    attributes = _attributes(style, HEAVY if pen.endswith("+") else 1.0, press)
    if "text" in style:
        return "".join(_text(s, style, drawing, attributes) for s in shapes)
    path = "".join(_path(s, drawing) for s in shapes if not isinstance(s, Circle))
    out = f'<path d="{path}"{attributes}/>' if path else ""
    for s in shapes:
        if isinstance(s, Circle):
            x, y = _at(drawing, s.u, s.v)
            out += f'<circle cx="{x}" cy="{y}" r="{s.radius * drawing.per_metre:.2f}"{attributes}/>'
    return out


def _attributes(style, weight, press):
    name = f' class="{style["class"]}"' if press.classes and "class" in style else ""
    out = f'{name} fill="{press.inks[style["fill"]] if "fill" in style else "none"}"'
    if "stroke" in style:
        width = style["width"] * weight * press.point
        out += f' stroke="{press.inks[style["stroke"]]}" stroke-width="{width:.2f}" stroke-linejoin="round"'
    if "dash" in style:
        dash = " ".join(f"{float(n) * press.point:.2f}" for n in style["dash"].split())
        out += f' stroke-dasharray="{dash}"'
    return out


def _at(drawing, u, v):
    x, y = (u - drawing.box[0]) * drawing.per_metre, (drawing.box[3] - v) * drawing.per_metre
    return f"{x:.2f}", f"{y:.2f}"


def _path(shape, drawing):
    points = " L".join(" ".join(_at(drawing, u, v)) for u, v in shape.points)
    return f"M{points}{'Z' if isinstance(shape, Polygon) else ''}"


def _text(shape, style, drawing, attributes):
    size = shape.size * drawing.per_metre
    x, y = _at(drawing, shape.u, shape.v - CAPITAL / 2 * shape.size)
    weight = ' font-weight="700"' if style["text"] == 700 else ""
    anchor = "" if shape.anchor == "start" else f' text-anchor="{shape.anchor}"'
    words = escape(shape.words)
    return f'<text x="{x}" y="{y}" font-size="{size:.2f}"{weight}{anchor}{attributes}>{words}</text>'
