"""What a drawing is made from: a Scenario and its Verdict set out in the frame of the picture.

The reader stands on the dock, which lies at the bottom; the water is above. In a slip the fairway (+x of the
berth) is therefore up, at a berth to lie alongside +x is to the right. Metres throughout, u right and v up.
"""

import math
from dataclasses import dataclass

import numpy as np

from berths.drawing import geometry as g
from berths.tieup.geometry import to_berth
from vessels import hull as hulls

CLEAT = 0.30  # m, length of a cleat that nobody measured; drawn only
PILE = 0.30  # m, likewise the diameter of a pile


@dataclass(frozen=True)
class Fitting:
    id: str
    kind: str
    at: tuple
    size: float  # m: a pile's diameter, a cleat's length
    used: bool
    along: tuple  # direction a cleat lies in
    z: float | None = None
    top_z: float | None = None
    floats: bool | None = None

    @property
    def radius(self):
        return self.size / 2


@dataclass(frozen=True)
class Lead:
    """One line as it runs: from the boat to its fitting ashore, round a pile where it is led so."""

    id: str
    order: int
    role: str
    path: tuple
    governs: bool
    boat_fitting: str
    shore_fitting: str


@dataclass(frozen=True)
class Edge:
    """A straight edge of dock or quay, and on which side of it the solid is: a unit vector away from her."""

    id: str
    ends: tuple
    solid: tuple
    floats: bool | None
    top_z: float | None
    underside_z: float | None


@dataclass(frozen=True)
class Scene:
    hull: tuple
    bow: tuple
    fittings: tuple
    aboard: dict  # boat fitting -> place
    edges: tuple
    leads: tuple
    undrawn: tuple  # (order, why) of lines whose ends are not known
    neighbours: tuple  # (id, outline)
    reach: tuple | None


def turned(scenario, point):
    """A point of the berth frame in the frame of the picture."""
    x, y = float(point[0]), float(point[1])
    return (-y, x) if scenario.berth.kind == "slip" else (x, y)


def angle_of(scenario, bearing):
    """A true bearing as an angle of the picture, radians counter-clockwise from u."""
    ahead = 90.0 if scenario.berth.kind == "slip" else 0.0
    return math.radians(ahead + scenario.bearing_deg - bearing)


def scene_of(scenario, verdict=None):
    """Set a Scenario out for drawing as it was entered; assumed are her shape and her usual fittings only."""
    boat, berth = scenario.boat, scenario.berth
    hull = [turned(scenario, p) for p in to_berth(boat, full_outline(boat))]
    bow = turned(scenario, to_berth(boat, [[boat.loa, 0.0]])[0])
    middle = turned(scenario, (boat.x, boat.y))
    aboard = {f: turned(scenario, to_berth(boat, [at])[0]) for f, at in deck_places(boat).items()}
    results = sorted(verdict.lines if verdict else [], key=lambda line: (line.order, line.id))
    used = {line.shore_fitting for line in results}
    edges = [_edge(scenario, face, middle) for face in berth.faces or [] if _has_ends(face)]
    edges = edges or [_plain_edge(scenario, middle)]
    fittings = {
        f.id: _fitting(scenario, f, used, edges)
        for f in berth.fittings or []
        if f.x is not None and f.y is not None
    }
    leads, undrawn = _leads(scenario, verdict, results, aboard, fittings)
    return Scene(
        hull=tuple(hull),
        bow=bow,
        fittings=tuple(fittings.values()),
        aboard=aboard,
        edges=tuple(edges),
        leads=tuple(leads),
        undrawn=tuple(undrawn),
        neighbours=tuple(
            (n.id, tuple(turned(scenario, p) for p in n.outline)) for n in berth.neighbours or [] if n.outline
        ),
        reach=_reach(scenario, verdict),
    )


def full_outline(boat):
    """Her outline all round, boat frame; a plain pointed one from length and beam where none is given."""
    half = boat.beam / 2
    given = boat.outline or [
        (0, 0.84 * half),
        (0.3 * boat.loa, half),
        (0.6 * boat.loa, 0.96 * half),
        (0.85 * boat.loa, 0.52 * half),
        (boat.loa, 0),
    ]
    if min(y for _, y in given) < -0.01:
        return [tuple(p) for p in given]  # drawn all round already
    return [*given, *((x, -y) for x, y in reversed(given) if y > 0)]


def deck_places(boat):
    """Where on her the deck fittings are, by id: as entered, else where most boats have them. [m]"""
    usual = {f["id"]: (f["x"], f["y"]) for f in hulls.fittings(boat.loa, boat.beam)}
    places = {}
    for f in boat.fittings or []:
        if f.x is not None and f.y is not None:
            places[f.id] = (f.x, f.y)
        elif f.id in usual:
            places[f.id] = usual[f.id]
    return places or usual


def _has_ends(face):
    return None not in (face.x1, face.y1, face.x2, face.y2)


def _edge(scenario, face, middle):
    ends = tuple(turned(scenario, p) for p in ((face.x1, face.y1), (face.x2, face.y2)))
    return Edge(face.id, ends, _away(ends, middle), face.floats, face.top_z, face.underside_z)


def _plain_edge(scenario, middle):
    """The edge that the frame of the berth itself lays down: x = 0 in a slip, y = 0 alongside."""
    berth, boat = scenario.berth, scenario.boat
    if berth.kind == "slip":
        half = (berth.clear_width or 1.3 * boat.beam) / 2
        ends = ((-half, 0.0), (half, 0.0))
    else:
        ends = ((0.0, 0.0), (berth.length or boat.x + boat.loa / 2, 0.0))
    return Edge("dock", ends, _away(ends, middle), berth.kind == "floating", None, None)


def _away(ends, middle):
    d = g.unit(g.sub(ends[1], ends[0]))
    normal = (-d[1], d[0])
    return normal if g.dot(normal, g.sub(middle, ends[0])) < 0 else g.scaled(normal, -1)


def _fitting(scenario, f, used, edges):
    at = turned(scenario, (f.x, f.y))
    near = min(edges, key=lambda e: g.to_segment(at, *e.ends))
    kind = f.kind or "cleat"
    size = (f.diameter or PILE) if kind == "pile" else (f.cleat_length or CLEAT)
    direction = g.unit(g.sub(near.ends[1], near.ends[0]))
    return Fitting(f.id, kind, at, size, f.id in used, direction, f.z, f.top_z, f.floats)


def _leads(scenario, verdict, results, aboard, fittings):
    given = {line.id: line for line in scenario.lines or []}
    worst = verdict.summary.peak_line if verdict else None
    leads, undrawn = [], []
    for line in results:
        start, end = aboard.get(line.boat_fitting), fittings.get(line.shore_fitting)
        if start is None or end is None:
            name = line.boat_fitting if start is None else line.shore_fitting
            undrawn.append((line.order, f"the place of {name} is not known"))
            continue
        via = line.id in given and given[line.id].via
        path = _path(start, end, fittings.get(via.fitting) if via else None)
        leads.append(
            Lead(
                line.id, line.order, line.role, path, line.id == worst, line.boat_fitting, line.shore_fitting
            )
        )
    return leads, undrawn


def _path(start, end, via):
    """Straight, or round the pile it is led by; at a pile the line ends on its face."""
    points = (
        g.round_pile(start, via.at, via.radius, end.at) if via and via.kind == "pile" else [start, end.at]
    )
    if end.kind == "pile" and g.length(g.sub(points[-2], end.at)) > end.radius:
        points[-1] = g.add(end.at, g.scaled(g.unit(g.sub(points[-2], end.at)), end.radius))
    return tuple(points)


def _reach(scenario, verdict):
    if verdict is None or verdict.summary.reach is None:
        return None
    x0, y0, x1, y1 = verdict.summary.reach
    corners = np.array([turned(scenario, p) for p in ((x0, y0), (x1, y1))])
    return (*corners.min(axis=0).tolist(), *corners.max(axis=0).tolist())
