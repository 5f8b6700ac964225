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
AIR, DOCK = 1.2, 1.6  # m of water around, and of dock behind its edge


@dataclass(frozen=True)
class Seen:
    """What could be read, in the frame of the picture: u along the dock to the right, v out from it. [m]

    length, width : the berth's bounds; `u0` where they begin.
    fastenings : (name, kind, (u, v), size)
    faces : (name, (u, v), (u, v))
    others : (name, kind, (u, v), size) of what stands there already and is not this berth's.
    north : angle of true north in the picture, radians counter-clockwise from u; None: not told.
    """

    bounds: tuple
    fastenings: list = field(default_factory=list)
    faces: list = field(default_factory=list)
    others: list = field(default_factory=list)
    north: float | None = None


def survey_plan(seen, *, feet=False, sentences=()):
    """Draw it to scale, the dock at the bottom.

    Returns
    -------
    Drawing
    """
    u0, v0, u1, v1 = seen.bounds
    points = [(u0, v0), (u1, v1), (0.0, 0.0), *(f[2] for f in seen.fastenings)]
    b = bounds_of(points)
    box = (b[0] - AIR, min(b[1], -DOCK) - AIR / 2, b[2] + AIR, b[3] + AIR)
    sheet = _sheet(box)
    box, text = sheet.box, sheet.text
    edges = [Edge(name, (p, q), _solid(p, q), None, None, None) for name, p, q in seen.faces]
    fittings = [_fitting(row, edges) for row in seen.fastenings]
    others = [_fitting(row, edges) for row in seen.others if _inside(row[2], box)]
    frame = ((u0, v0), (u1, v0), (u1, v1), (u0, v1))
    shapes = _edges(edges, box, text)
    shapes += [Polyline((p, q), "neighbour", "bound") for p, q in _segments((*frame, frame[0]))]
    shapes += [Circle(*f.at, max(f.radius, 0.15 * text), "blank", f"other {f.id}") for f in others]
    shapes += [_mark(f, text) for f in fittings]
    shapes += _corner(text)
    shapes += _names(fittings, others, edges, sheet, seen.north, feet)
    return Drawing(
        tuple(shapes), box, sheet.per_metre, "The berth from above, the dock at the bottom", tuple(sentences)
    )


def _sheet(box):
    """The scale at which the whole fits, and the paper as large as that needs."""
    wide, high = box[2] - box[0], box[3] - box[1]
    scale = min(PAPER.width / wide, PAPER.most_height / high)
    least = PAPER.least_height / scale
    half = PAPER.width / scale / 2
    middle = (box[0] + box[2]) / 2
    return Sheet((middle - half, box[1], middle + half, box[1] + max(high, least)), scale, PAPER)


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


def _names(fittings, others, edges, sheet, north, feet):
    """Names clear of each other, of the marks and of the edges."""
    box, text = sheet.box, sheet.text
    frame = (box[0] + 0.25 * text, box[1] + 0.25 * text, box[2] - 0.25 * text, box[3] - 0.25 * text)
    named = {f"name {f.id}": f for f in [*fittings, *others]}
    signs = [_scale_sign(sheet, feet)]
    if north is not None:
        signs.insert(0, _arrow_sign("N", north, sheet, "ne nw e w"))
    corner = Label(
        "corner", (sheet.room(text_width("corner")) / 2, 0.45 * text), _around_corner(text, sheet), (0.0, 0.0)
    )
    wanted = [corner, *(_name_label(name, f, sheet) for name, f in named.items())]
    wanted += [Label(s.id, s.half, _corners(frame, s.half, s.corners), (0, 0)) for s in signs]
    solids = [(*f.at, max(f.radius, 0.3 * text)) for f in [*fittings, *others]]
    strokes = [s for s in (g.clip_segment(*e.ends, box) for e in edges) if s]
    placed = place(wanted, frame=frame, solids=solids, strokes=strokes, gap=0.1 * text)
    shapes = []
    for name, f in named.items():
        if name in placed:
            shapes += _name(placed[name], f, text)
    for sign in signs:
        if sign.id in placed:
            shapes += sign.draw(placed[sign.id])
    if "corner" in placed:
        spot = placed["corner"]
        shapes.append(Text(spot.u, spot.v, "corner", text, of="corner"))
    order = {"thin": 0, "plate": 1}
    return sorted(shapes, key=lambda s: order.get(s.pen, 4 if isinstance(s, Text) else 3))


def _around_corner(text, sheet):
    half = sheet.room(text_width("corner")) / 2
    spots = [
        (-half - 0.5 * text, -0.8 * text),
        (half + 0.5 * text, -0.8 * text),
        (-half - 0.5 * text, 0.8 * text),
    ]
    return tuple((u, v, 0.2 * n) for n, (u, v) in enumerate(spots))
