"""The few shapes a drawing is made of, all in metres: u to the right, v up.

A shape says with which `pen` it is drawn (see `svg.PENS`) and what it is `of`, so that a test can ask for
'hull' or 'line L1' and a reader of the SVG source finds it again. Sizes of text are metres too: the drawing
knows how large it will be printed and has chosen them so that they come out as asked.
"""

import math
from dataclasses import dataclass, field

from berths.drawing.measure import text_width


@dataclass(frozen=True)
class Polygon:
    points: tuple
    pen: str
    of: str = ""

    def bounds(self):
        return bounds_of(self.points)


@dataclass(frozen=True)
class Polyline:
    points: tuple
    pen: str
    of: str = ""

    def bounds(self):
        return bounds_of(self.points)


@dataclass(frozen=True)
class Circle:
    u: float
    v: float
    radius: float
    pen: str
    of: str = ""

    def bounds(self):
        return (self.u - self.radius, self.v - self.radius, self.u + self.radius, self.v + self.radius)


@dataclass(frozen=True)
class Text:
    """`u, v` is the middle of the words' height, at their start, middle or end as `anchor` says.

    `href` leads somewhere when it is pressed on a page, and so does the `area` around it.
    """

    u: float
    v: float
    words: str
    size: float
    pen: str = "text"
    anchor: str = "middle"
    of: str = ""
    href: str = ""
    area: tuple = ()

    def bounds(self):
        width = text_width(self.words, bold=self.pen.endswith("bold")) * self.size
        left = self.u - {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * width
        return (left, self.v - 0.45 * self.size, left + width, self.v + 0.45 * self.size)


@dataclass(frozen=True)
class Drawing:
    """Shapes in the order they are laid down, the frame they keep to, and the same thing in words.

    `box` is (u low, v low, u high, v high) in metres; `per_metre` how many units of the page (mm on a card)
    one metre takes; `sentences` say what the picture shows, one thing each.
    """

    shapes: tuple
    box: tuple
    per_metre: float
    title: str
    sentences: tuple = field(default=())

    @property
    def width(self):
        return (self.box[2] - self.box[0]) * self.per_metre

    @property
    def height(self):
        return (self.box[3] - self.box[1]) * self.per_metre

    def of(self, what):
        """The shapes that stand for `what`, as 'hull', or for everything of a sort, as 'pile '."""
        return [s for s in self.shapes if s.of == what or (what.endswith(" ") and s.of.startswith(what))]


def thinned(points, tolerance):
    """A closed outline without the points that lie within `tolerance` of the side that then joins their neighbours.

    >>> thinned(((0, 0), (5, 0.01), (10, 0), (10, 4), (0, 4)), 0.1)
    ((0, 0), (10, 0), (10, 4), (0, 4))
    """
    kept, start = [points[0]], 0
    for end in range(2, len(points)):
        if any(_off(points[n], points[start], points[end]) > tolerance for n in range(start + 1, end)):
            start = end - 1
            kept.append(points[start])
    last = points[-1]
    return tuple(kept if _off(last, kept[-1], points[0]) <= tolerance else [*kept, last])


def _off(point, one, other):
    """Distance of a point from the straight side between two others."""
    (x, y), (x1, y1), (x2, y2) = point, one, other
    dx, dy = x2 - x1, y2 - y1
    long = dx * dx + dy * dy
    share = 0.0 if long == 0 else min(1.0, max(0.0, ((x - x1) * dx + (y - y1) * dy) / long))
    return math.hypot(x - x1 - share * dx, y - y1 - share * dy)


def bounds_of(points):
    us, vs = [p[0] for p in points], [p[1] for p in points]
    return (min(us), min(vs), max(us), max(vs))
