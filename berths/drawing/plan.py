"""The plan: the berth from above, the dock at the bottom where the reader stands."""

from berths.drawing import geometry as g
from berths.drawing.marks import marks_of
from berths.drawing.paper import CARD, PAGE, Sheet
from berths.drawing.scene import scene_of
from berths.drawing.shapes import Circle, Drawing, Polygon, Polyline, bounds_of

__all__ = ["CARD", "PAGE", "plan"]

FINGER = 0.8  # m, width that a finger or a row of piles is drawn with; nobody measured it


def plan(scenario, verdict=None, paper=PAGE, *, arrows=(), feet=False, neighbours=True, sentences=()):
    """Draw the berth from above with her in it and her lines numbered in the order they go on.

    Parameters
    ----------
    scenario : Scenario
    verdict : Verdict, optional
        Without one there are no lines in the picture.
    paper : Paper
    arrows : sequence of (words, true bearing toward which it points, degrees)
        'wind now' and 'stream', where they are known.
    feet : bool
        The scale bar in feet.
    neighbours : bool
        False leaves the neighbours out (for a holder, who is not told of them).
    sentences : sequence of str
        What the picture says, for those who do not see it; see `describe`.

    Returns
    -------
    Drawing
    """
    scene = scene_of(scenario, verdict)
    sheet = _frame(scene, paper)
    box, text = sheet.box, sheet.text
    shapes = []
    if scene.reach and not paper.card:
        shapes.append(_reach(scene, box))
    shapes += _docks(scene, box, text)
    if neighbours:
        shapes += _neighbours(scene, box)
    shapes.append(Polygon(scene.hull, "hull", "hull"))
    fittings = [f for f in scene.fittings if _within(f, box)]
    shapes += [_fitting(f, text) for f in fittings]
    shapes += [Circle(*at, 0.13 * text, "deck", f"aboard {name}") for name, at in _aboard(scene)]
    shapes += [Polyline(line.path, _pen(line), f"line {line.id}") for line in scene.leads]
    shapes += marks_of(scenario, scene, fittings, sheet, arrows=arrows, feet=feet)
    return Drawing(
        tuple(shapes), box, sheet.per_metre, "Plan from above, the dock at the bottom", tuple(sentences)
    )


def kind_of_line(role):
    """Which of the four strokes a role is drawn with."""
    for word in ("spring", "breast", "stern", "bow"):
        if word in role:
            return word
    return "spring"


def _pen(line):
    return f"line-{kind_of_line(line.role)}" + ("+" if line.governs else "")


def extent(scenario, verdict=None):
    """How wide and how high what must be in the picture is: her, her lines and the dock's edge. [m]"""
    u0, v0, u1, v1 = _must_show(scene_of(scenario, verdict))
    return u1 - u0, v1 - v0


RIM, DOCK = 1.3, 2.0  # times the size of type: water left round what is shown, and the strip of dock below


def _must_show(scene):
    points = [*scene.hull, *(p for line in scene.leads for p in line.path)]
    for f in scene.fittings:
        if f.used:
            points += [g.add(f.at, (f.radius, f.radius)), g.sub(f.at, (f.radius, f.radius))]
    u0, v0, u1, v1 = bounds_of(points)
    return u0, min([v0, *(v for edge in scene.edges if _below(edge) for _, v in edge.ends)]), u1, v1


def _frame(scene, paper):
    """The frame and the scale: everything that counts inside, the dock's strip below, the rest water."""
    u0, v0, u1, v1 = _must_show(scene)
    if scene.reach and not paper.card:
        u0, v0, u1, v1 = bounds_of([(u0, v0), (u1, v1), scene.reach[:2], scene.reach[2:]])
    rim, dock = RIM * paper.text, DOCK * paper.text
    wide, room = paper.width - 2 * rim, paper.most_height - rim - dock
    scale = min(wide / max(u1 - u0, 1.0), room / max(v1 - v0, 1.0))
    height = min(paper.most_height, max(paper.least_height, (v1 - v0) * scale + rim + dock))
    middle, half = (u0 + u1) / 2, paper.width / scale / 2
    low = v0 - dock / scale
    return Sheet((middle - half, low, middle + half, low + height / scale), scale, paper)


def _below(edge):
    return edge.solid[1] < -0.7


def _reach(scene, box):
    u0, v0, u1, v1 = scene.reach
    corners = g.clip_polygon([(u0, v0), (u1, v0), (u1, v1), (u0, v1)], box)
    return Polygon(tuple(corners), "reach", "reach")


def _docks(scene, box, text):
    """Each edge, and behind it a hatched band: down to the frame for the dock, narrow for a finger."""
    hatching, edges = [], []
    for edge in scene.edges:
        depth = (max(v for _, v in edge.ends) - box[1]) if _below(edge) else FINGER
        back = g.scaled(edge.solid, depth)
        band = g.clip_polygon([*edge.ends, g.add(edge.ends[1], back), g.add(edge.ends[0], back)], box)
        if band:
            hatching += [Polyline(s, "solid", f"solid {edge.id}") for s in g.hatch(band, 0.55 * text)]
        kept = g.clip_segment(*edge.ends, box)
        if kept:
            edges.append(Polyline(kept, "edge", f"edge {edge.id}"))
    return hatching + edges


def _neighbours(scene, box):
    out = []
    for name, outline in scene.neighbours:
        for p, q in zip(outline, outline[1:] + outline[:1], strict=True):
            kept = g.clip_segment(p, q, box)
            if kept:
                out.append(Polyline(kept, "neighbour", f"neighbour {name}"))
    return out


def _within(f, box):
    u, v = f.at
    r = max(f.radius, 0.2)
    return box[0] + r <= u <= box[2] - r and box[1] + r <= v <= box[3] - r


def _fitting(f, text):
    """A pile round and filled at its true diameter, a cleat a short bar, a ring open, a bollard square."""
    what, least = f"{f.kind} {f.id}", 0.22 * text  # never smaller than can be seen
    if f.kind == "pile":
        return Circle(*f.at, f.radius, "pile" if f.used else "ring", what)
    if f.kind == "ring":
        return Circle(*f.at, max(f.radius, least), "ring", what)
    half = max(f.radius, least * 1.3)
    if f.kind == "bollard":
        (u, v), h = f.at, half * 0.8
        return Polygon(((u - h, v - h), (u + h, v - h), (u + h, v + h), (u - h, v + h)), "bollard", what)
    reach = g.scaled(f.along, half)
    return Polyline((g.sub(f.at, reach), g.add(f.at, reach)), "cleat", what)


def _aboard(scene):
    used = {line.boat_fitting for line in scene.leads}
    return [(name, at) for name, at in scene.aboard.items() if name in used]
