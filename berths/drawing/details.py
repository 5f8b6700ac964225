"""Small pictures of how a line is made fast: drawn shapes, each with what it shows in sentences.

A strand that passes under another is broken there. Units are millimetres of the picture; nothing is to scale.
"""

import math
from dataclasses import replace

from berths.drawing.shapes import Circle, Drawing, Polygon, Polyline, Text

BOX = (0.0, 0.0, 24.0, 22.0)
TYPE = 3.0
MIDDLE = (12.0, 9.0)  # of a cleat


def details_for(scenario, verdict, eye=""):
    """Names of the pictures that show something this tie-up asks for, in the order of doing.

    Parameters
    ----------
    scenario : Scenario or None
    verdict : Verdict or None
    eye : str
        The house's rule for her: 'ashore' or 'aboard'; empty where it is not told.

    Returns
    -------
    tuple of str
        Keys of `DETAILS`, what is done ashore first; none where nothing is worked out.
    """
    if scenario is None or verdict is None:
        return ()
    kinds = {f.id: f.kind for f in scenario.berth.fittings or []}
    used = {kinds.get(line.shore_fitting) for line in verdict.lines}
    out = list(ON_CLEATS[eye]) if "cleat" in used else []
    out += ["hitch"] if used & {"pile", "ring"} else []
    out += ["low"] if "pile" in used and scenario.berth.kind != "floating" else []
    return tuple(out)


def detail(name, height=BOX[3], text=TYPE):
    """One of the pictures, by its key in `DETAILS`: its height and that of its figures in units of the page."""
    draw, title, sentences = DETAILS[name]
    scale = height / BOX[3]
    shapes = [replace(s, size=text / scale) if isinstance(s, Text) else s for s in draw()]
    return Drawing(tuple(shapes), BOX, scale, title, sentences)


def _eye():
    """Seen from above, the boat at the top: in through the base, out, and back over both horns."""
    pair = [Polyline(((x, 21.0), (x, 14.2)), "rope", "standing part") for x in (11.0, 13.0)]
    pair += [Polyline(((x, 11.9), (x, 8.0)), "rope", "through the base") for x in (11.0, 13.0)]
    loop = []
    for side in (-1, 1):
        way = (
            (1.0, 7.4),
            (1.6, 5.6),
            (3.4, 4.9),
            (5.4, 5.6),
            (6.4, 8.0),
            (5.8, 11.0),
            (3.6, 12.8),
            (0.0, 13.1),
        )
        loop.append(Polyline(_smooth([(12.0 + side * u, v) for u, v in way]), "rope", "eye over the horns"))
    return [*pair, *_cleat(), *loop]


def _turn():
    """The far horn first (1), a full turn round the base (2), then across (3)."""
    u, v = MIDDLE
    turns = []
    for n in range(106):
        a, k = math.radians(120 - 6 * n), 1 - n / 300
        turns.append((u + 5.8 * k * math.cos(a), v + 3.8 * k * math.sin(a)))
    under = Polyline((*_smooth([(2.5, 21.0), (4.6, 16.2), turns[0]]), *turns), "rope", "far horn, round turn")
    over = _smooth([turns[-1], (u, v), (u + 5.0, v + 3.2), (u + 8.6, v + 3.6)])
    marks = [
        (15.0, 15.4, "1"),
        (12.0, 2.6, "2"),
        (22.2, 13.6, "3"),
    ]
    words = [Text(x, y, n, TYPE, "text-bold", of=f"step {n}") for x, y, n in marks]
    return [under, *_cleat(), Polyline(over, "rope", "across"), *words]


def _hitch():
    """A pile from the side: both ends under the crossing, the tail round again and hitched on the line."""
    strands = {
        "standing part": (
            ((23.0, 17.0), (17.0, 14.4), (11.0, 12.2), (9.8, 11.9)),
            ((7.8, 11.5), (4.8, 11.2)),
        ),
        "crossing": (((11.2, 14.6), (8.0, 11.1), (4.8, 7.6)),),
        "tail": (
            ((11.2, 9.2), (8.2, 9.8)),
            ((6.0, 10.1), (4.8, 10.2)),
            ((11.2, 6.4), (14.2, 8.6), (15.6, 12.6)),
        ),
        "half hitch": (
            ((15.9, 15.4), (16.8, 17.6), (18.7, 17.6), (18.9, 16.4)),
            ((18.6, 13.6), (17.6, 11.2), (19.0, 9.0), (21.4, 8.4)),
        ),
    }
    ropes = [Polyline(_smooth(list(s)), "rope", what) for what, parts in strands.items() for s in parts]
    return [*_pile(5.0, 11.0), *ropes]


def _low():
    """A pile in the water: the turn low, and crossed out the one that would slide or lift off."""
    water = Polyline(tuple((n / 2, 4.0 + 0.35 * math.sin(n * 0.9)) for n in range(49)), "water", "water")
    hull = Polygon(((16.0, 9.4), (23.6, 9.4), (23.6, 2.6), (18.0, 2.6)), "hull", "her side")
    shapes = [water, *_pile(3.6, 8.0), hull]
    shapes += [
        Polyline(((3.4, 6.6), (8.2, 6.9)), "rope", "turn"),
        Polyline(((3.4, 7.6), (8.2, 7.9)), "rope", "turn"),
        Polyline(((8.2, 7.4), (17.0, 9.6)), "rope", "line"),
        Circle(17.0, 9.6, 0.5, "deck", "her cleat"),
        Polyline(((3.4, 16.6), (8.2, 16.2)), "line-breast", "turn too high"),
        Polyline(((8.2, 16.0), (17.0, 9.9)), "line-breast", "line too high"),
    ]
    shapes += [
        Polyline(ends, "arrow", "not so")
        for ends in (((10.6, 16.6), (14.0, 12.0)), ((10.2, 12.4), (14.4, 16.2)))
    ]
    return shapes


def _cleat():
    """A cleat from above: its base, and the bar with two horns over it."""
    (u, v), half = MIDDLE, 9.0
    bar = [(u - half, v), (u - half + 1, v + 1.1), (u, v + 1.5), (u + half - 1, v + 1.1), (u + half, v)]
    bar += [(u + half - 1, v - 1.1), (u, v - 1.5), (u - half + 1, v - 1.1)]
    return [Polygon(tuple(bar), "ring", "cleat")]


def _pile(left, right):
    return [Polygon(((left, 0.4), (right, 0.4), (right, 21.0), (left, 21.0)), "pile-side", "pile")]


def _smooth(points, steps=6):
    """A path through points without corners (Catmull and Rom's way)."""
    ends = [points[0], *points, points[-1]]
    path = []
    for a, b, c, d in zip(ends, ends[1:], ends[2:], ends[3:], strict=False):
        for n in range(steps):
            t = n / steps
            path.append(tuple(_spline(*p, t) for p in zip(a, b, c, d, strict=True)))
    return (*path, points[-1])


def _spline(a, b, c, d, t):
    return 0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3)


EYE = "in through the base from her side, out, back over both horns."
TAIL = "far horn (1), a full turn (2), only then across (3)."
DETAILS = {
    "eye": (
        _eye,
        "Eye on a cleat, seen from the dock side",
        (f"Eye: {EYE}",),
    ),
    "turn": (
        _turn,
        "A tail on a cleat: round turn before crossing",
        (f"Tail: {TAIL}",),
    ),
    "eye ashore": (
        _eye,
        "The eye ashore, on a cleat, seen from the dock side",
        ("Eye ashore: in through the base, out, back over both horns.",),
    ),
    "tail aboard": (
        _turn,
        "The tail aboard: round turn before crossing",
        ("Tail aboard: far horn (1), a full turn (2), then across (3).",),
    ),
    "tail ashore": (
        _turn,
        "The tail ashore, on a cleat: round turn before crossing",
        ("Tail ashore: far horn (1), a full turn (2), then across (3).",),
    ),
    "eye aboard": (
        _eye,
        "The eye aboard, on her cleat",
        ("Eye aboard: in through the base, out, back over both horns.",),
    ),
    "hitch": (
        _hitch,
        "Clove hitch and half hitch",
        ("Clove hitch, and a half hitch on the line: alone it rolls out.",),
    ),
    "low": (
        _low,
        "Low on the pile",
        ("Low on the pile: a high turn slides or lifts off.",),
    ),
}  # key -> how it is drawn, its title, what it shows
# The house's rule for the eye -> what is done on cleats, ashore first.
ON_CLEATS = {
    "": ("eye", "turn"),
    "ashore": ("eye ashore", "tail aboard"),
    "aboard": ("tail ashore", "eye aboard"),
}
