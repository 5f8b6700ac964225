"""A drawing as SVG: presentation attributes only, so that it is the same under a strict content policy, in
print and in the PDF. Shapes that follow each other with one pen become one path, for few elements print
fast.

What is the same for many is said once, for a large plan must still load on a phone: texts of one style share a
group, and round piles are points of a round pen.

On a page the ink is the page's own (`currentColor`) and what is filled with paper carries a class of the
site's stylesheet, so that a dark page has light lines; without a stylesheet the attributes alone are right.
"""

from dataclasses import dataclass, replace
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
    "hull-now": {"stroke": INK, "width": 0.5, "dash": "1 1.6"},
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
MANY = 8  # from so many on, what they share is said once
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
    digits: int = 2  # of a coordinate; 1: a large plan, told as shortly as can be

    @property
    def short(self):
        return self.digits == 1


ON_PAPER = _Press(25.4 / 72, {INK: "#000", PAPER: "#fff", WASH: "#e4e2d8"}, classes=False)
ON_PAGE = _Press(1.35, {INK: "currentColor", PAPER: "#fff", WASH: "#e4e2d8"}, classes=True)
ON_PLAN = replace(ON_PAGE, digits=1)


def to_svg(drawing, *, unit="", font=None, large=False):
    """SVG text of a drawing.

    Parameters
    ----------
    drawing : Drawing
    unit : str
        'mm' for a card, where the size is fixed; '' for a page, where it follows the column.
    font : str, optional
        The family that words are set in; the page's own when left out.
    large : bool
        A page's drawing of very many shapes: told as shortly as can be, to a tenth of a unit.

    Returns
    -------
    Svg
    """
    press = ON_PAPER if unit == "mm" else ON_PLAN if large else ON_PAGE
    w, h = drawing.width, drawing.height
    size = f' width="{w:.2f}mm" height="{h:.2f}mm"' if unit == "mm" else ""
    family = f' font-family="{escape(font)}"' if font else ""
    runs = groupby(drawing.shapes, key=lambda s: s.pen)
    body = "".join(_run(pen, list(shapes), drawing, press) for pen, shapes in runs)
    words = f"<title>{escape(drawing.title)}</title><desc>{escape(' '.join(drawing.sentences))}</desc>"
    frame = f'viewBox="0 0 {w:.2f} {h:.2f}"{size}{family}'
    role = "group" if any(getattr(s, "href", "") for s in drawing.shapes) else "img"
    return Svg(f'<svg xmlns="http://www.w3.org/2000/svg" role="{role}" {frame}>{words}{body}</svg>')


def _run(pen, shapes, drawing, press):
    """Shapes of one pen that follow each other: one path, and what a path cannot hold."""
    style = PENS[pen.removesuffix("+")]
    weight = HEAVY if pen.endswith("+") else 1.0
    attributes = _attributes(style, weight, press)
    if "text" in style:
        return _texts(shapes, style, drawing, attributes, press)
    path = "".join(_path(s, drawing, press) for s in shapes if not isinstance(s, Circle))
    out = f'<path d="{path}"{attributes}/>' if path else ""
    rounds = [s for s in shapes if isinstance(s, Circle)]
    if press.short and len(rounds) >= MANY and style.get("fill") == style.get("stroke"):
        return out + _dots(rounds, style, weight, drawing, press)
    for s in rounds:
        x, y = _at(drawing, s.u, s.v, press)
        out += f'<circle cx="{x}" cy="{y}" r="{s.radius * drawing.per_metre:.2f}"{attributes}/>'
    return out


def _dots(rounds, style, weight, drawing, press):
    """Full circles as points of a round pen that is as wide as they are: one path for each size."""
    out, rim = "", style["width"] * weight * press.point
    for radius, same in groupby(sorted(rounds, key=lambda s: s.radius), key=lambda s: s.radius):
        path = "".join("M" + " ".join(_at(drawing, s.u, s.v, press)) + "h0" for s in same)
        width = 2 * radius * drawing.per_metre + rim
        ink = press.inks[style["fill"]]
        out += (
            f'<path d="{path}" fill="none" stroke="{ink}" stroke-width="{width:.2f}" stroke-linecap="round"/>'
        )
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


def _at(drawing, u, v, press):
    x, y = (u - drawing.box[0]) * drawing.per_metre, (drawing.box[3] - v) * drawing.per_metre
    return f"{x:.{press.digits}f}", f"{y:.{press.digits}f}"


def _path(shape, drawing, press):
    """In a large drawing each point is told from the one before: half the digits."""
    closed = "Z" if isinstance(shape, Polygon) else ""
    places = [_at(drawing, u, v, press) for u, v in shape.points]
    if not press.short:
        return f"M{' L'.join(' '.join(place) for place in places)}{closed}"
    (x, y), *rest = [(round(10 * float(x)), round(10 * float(y))) for x, y in places]
    steps = ""
    for nx, ny in rest:
        steps += _tenths(nx - x, first=not steps) + _tenths(ny - y)
        x, y = nx, ny
    return f"M{' '.join(places[0])}{'l' if steps else ''}{steps}{closed.lower()}"


def _tenths(n, first=False):
    """A number of tenths as short as a path takes it: 0.5 is .5, and a minus parts it from the one before."""
    text = f"{n / 10:g}".replace("0.", ".", 1) if -10 < n < 10 else f"{n / 10:g}"
    return text if first or n < 0 else f" {text}"


def _texts(shapes, style, drawing, attributes, press):
    """Texts that follow each other; many of one size and anchor say both once."""
    weight = ' font-weight="700"' if style["text"] == 700 else ""
    out = ""
    for (size, anchor), group in groupby(shapes, key=lambda s: (s.size, s.anchor)):
        same = list(group)
        held = "" if anchor == "start" else f' text-anchor="{anchor}"'
        manner = f' font-size="{size * drawing.per_metre:.2f}"{weight}{held}{attributes}'
        leads = press.classes and any(s.href for s in same)
        if leads or (press.short and len(same) >= MANY):
            # A reader of screens and keys has the list below: a hundred stops inside a picture help nobody.
            reach = ' pointer-events="all" aria-hidden="true"' if leads else ""
            out += f"<g{manner}{reach}>{''.join(_text(s, drawing, '', press) for s in same)}</g>"
        else:
            out += "".join(_text(s, drawing, manner, press) for s in same)
    return out


def _text(shape, drawing, manner, press):
    x, y = _at(drawing, shape.u, shape.v - CAPITAL / 2 * shape.size, press)
    text = f'<text x="{x}" y="{y}"{manner}>{escape(shape.words)}</text>'
    if not (shape.href and press.classes):
        return text
    area = f'<path fill="none" d="{_path(Polygon(shape.area, ""), drawing, press)}"/>' if shape.area else ""
    return f'<a href="{escape(shape.href)}" tabindex="-1">{area}{text}</a>'
