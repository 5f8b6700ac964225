"""A berth as it has been surveyed so far, from above and without a boat: every fastening by its name.

It is drawn from what could be read of a form that somebody is still filling in, so anything may be missing.
"""

from dataclasses import dataclass, field

from berths.drawing import geometry as g
from berths.drawing.labels import Label, place
from berths.drawing.marks import _arrow_sign, _corners, _name, _name_label, _scale_sign, _segments
from berths.drawing.measure import text_width
from berths.drawing.paper import Paper, Sheet
from berths.drawing.scene import CLEAT, PILE, Edge, Fitting
from berths.drawing.shapes import Circle, Drawing, Polygon, Polyline, Text, bounds_of

PAPER = Paper(width=520, least_height=240, most_height=560, text=14)
WIDE = Paper(width=1400, least_height=240, most_height=560, text=14)
TITLE = "The berth from above, the dock at the bottom"
AIR, DOCK = 1.2, 1.6  # m of water around, and of dock behind its edge


@dataclass(frozen=True)
class Seen:
    """What could be read, in the frame of the picture: u along the dock to the right, v out from it. [m]

    bounds : (u0, v0, u1, v1) of what must be in the picture: the berth, or several.
    parts : (code, bounds) of several berths beside each other; one berth needs none.
    fastenings : (name, kind, (u, v), size); one without a name is drawn without
    faces : (name, (u, v), (u, v))
    others : (name, kind, (u, v), size) of what stands there already and is not this berth's.
    north : angle of true north in the picture, radians counter-clockwise from u; None: not told.
    """

    bounds: tuple
    parts: list = field(default_factory=list)
    fastenings: list = field(default_factory=list)
    faces: list = field(default_factory=list)
    others: list = field(default_factory=list)
    north: float | None = None


def survey_plan(seen, *, feet=False, sentences=(), wide=False):
    """Draw it to scale, the dock at the bottom.

    Parameters
    ----------
    seen : Seen
    feet : bool
        The scale bar in feet.
    sentences : sequence of str
        The same in words.
    wide : bool
        On broad paper, for many berths in a row.

    Returns
    -------
    Drawing
    """
    u0, v0, u1, v1 = bounds_of(
        [seen.bounds[:2], seen.bounds[2:], (0.0, 0.0), *(f[2] for f in seen.fastenings)]
    )
    box = (u0 - AIR, min(v0, -DOCK) - AIR / 2, u1 + AIR, v1 + AIR)
    sheet = _sheet(box, WIDE if wide else PAPER)
    box, text = sheet.box, sheet.text
    edges = [Edge(name, (p, q), _solid(p, q), None, None, None) for name, p, q in seen.faces]
    fittings = [_fitting(row, edges) for row in seen.fastenings]
    others = [_fitting(row, edges) for row in seen.others if _inside(row[2], box)]
    shapes = _edges(edges, box, text)
    for _, bounds in seen.parts or [("", seen.bounds)]:
        shapes += _bounds(bounds)
    shapes += [Circle(*f.at, max(f.radius, 0.32 * text), "blank", f"other {f.id}") for f in others]
    shapes += [_mark(f, text) for f in fittings]
    shapes += _corner(text)
    shapes += _names(seen, fittings, others, edges, sheet, feet)
    return Drawing(tuple(shapes), box, sheet.per_metre, TITLE, tuple(sentences))


def _bounds(bounds):
    u0, v0, u1, v1 = bounds
    corners = ((u0, v0), (u1, v0), (u1, v1), (u0, v1), (u0, v0))
    return [Polyline(side, "neighbour", "bound") for side in _segments(corners)]


def _sheet(box, paper):
    """The scale at which the whole fits, and the paper as high as that needs."""
    wide, high = box[2] - box[0], box[3] - box[1]
    scale = min(paper.width / wide, paper.most_height / high)
    half = paper.width / scale / 2
    middle = (box[0] + box[2]) / 2
    top = box[1] + max(high, paper.least_height / scale)
    return Sheet((middle - half, box[1], middle + half, top), scale, paper)


def _inside(at, box):
    return box[0] + 0.2 < at[0] < box[2] - 0.2 and box[1] + 0.2 < at[1] < box[3] - 0.2


def _solid(p, q):
    """Away from the water: down for an edge along the dock, away from the middle of the picture for a finger."""
    d = g.unit(g.sub(q, p))
    return (d[1], -d[0]) if d[0] > 0 else (-d[1], d[0])


def _edges(edges, box, text):
    hatching, lines = [], []
    for edge in edges:
        kept = g.clip_segment(*edge.ends, box)
        if not kept:
            continue
        if edge.solid[1] < -0.7:
            (ua, va), (ub, vb) = kept
            band = g.clip_polygon([(ua, va), (ub, vb), (ub, box[1]), (ua, box[1])], box)
            hatching += (
                [Polyline(s, "solid", f"solid {edge.id}") for s in g.hatch(band, 0.7 * text)] if band else []
            )
        lines.append(Polyline(kept, "edge", f"edge {edge.id}"))
    return hatching + lines


def _fitting(row, edges):
    name, kind, at, size = row
    near = min(edges, key=lambda e: g.to_segment(at, *e.ends), default=None)
    along = g.unit(g.sub(near.ends[1], near.ends[0])) if near else (1.0, 0.0)
    return Fitting(name, kind, at, size or (PILE if kind == "pile" else CLEAT), True, along)


def _mark(f, text):
    what, least = f"{f.kind} {f.id}", 0.22 * text
    if f.kind == "pile":
        return Circle(*f.at, max(f.radius, 0.5 * least), "pile", what)
    half = max(f.radius, 1.3 * least)
    if f.kind == "bollard":
        (u, v), h = f.at, 0.8 * half
        return Polygon(((u - h, v - h), (u + h, v - h), (u + h, v + h), (u - h, v + h)), "bollard", what)
    if f.kind == "cleat":
        reach = g.scaled(f.along, half)
        return Polyline((g.sub(f.at, reach), g.add(f.at, reach)), "cleat", what)
    return Circle(*f.at, max(0.5 * f.radius, least), "ring", what)


def _corner(text):
    """Where the tape begins."""
    arm = 0.9 * text
    return [Polyline(((0.0, arm), (0.0, 0.0), (arm, 0.0)), "arrow", "corner")]


def _names(seen, fittings, others, edges, sheet, feet):
    """Names clear of each other, of the marks and of the edges."""
    box, text = sheet.box, sheet.text
    rim = 0.25 * text
    frame = (box[0] + rim, box[1] + rim, box[2] - rim, box[3] - rim)
    named = {f"name {f.id}": f for f in [*fittings, *others] if f.id}
    signs = [_scale_sign(sheet, feet)]
    if seen.north is not None:
        signs.insert(0, _arrow_sign("N", seen.north, sheet, "ne nw e w"))
    words = [_word("corner", "corner", _around_corner(text, sheet), sheet)]
    for code, (u0, v0, u1, v1) in seen.parts:
        spots = tuple(((u0 + u1) / 2, v0 + share * (v1 - v0), share) for share in (0.45, 0.6, 0.3))
        words.append(_word(f"berth {code}", code, spots, sheet))
    wanted = [label for _, label in words] + [_name_label(name, f, sheet) for name, f in named.items()]
    wanted += [Label(s.id, s.half, _corners(frame, s.half, s.corners), (0, 0)) for s in signs]
    solids = [(*f.at, max(f.radius, 0.3 * text)) for f in [*fittings, *others]]
    strokes = [s for s in (g.clip_segment(*e.ends, box) for e in edges) if s]
    strokes += [line.points for _, bounds in seen.parts for line in _bounds(bounds)]
    placed = place(wanted, frame=frame, solids=solids, strokes=strokes, gap=0.1 * text)
    shapes = []
    for name, f in named.items():
        if name in placed:
            shapes += _name(placed[name], f, text)
    for sign in signs:
        if sign.id in placed:
            shapes += sign.draw(placed[sign.id])
    for said, label in words:
        if label.id in placed:
            pen = "text" if said == "corner" else "text-bold"
            spot = placed[label.id]
            shapes.append(Text(spot.u, spot.v, said, text, pen, of=label.id))
    order = {"thin": 0, "plate": 1}
    return sorted(shapes, key=lambda s: order.get(s.pen, 4 if isinstance(s, Text) else 3))


def _word(name, said, spots, sheet):
    half = (sheet.room(text_width(said)) / 2, 0.45 * sheet.text)
    return said, Label(name, half, spots, spots[0][:2])


def _around_corner(text, sheet):
    half = sheet.room(text_width("corner")) / 2
    spots = [
        (-half - 0.5 * text, -0.8 * text),
        (half + 0.5 * text, -0.8 * text),
        (-half - 0.5 * text, 0.8 * text),
    ]
    return tuple((u, v, 0.2 * n) for n, (u, v) in enumerate(spots))
