"""A boat drawn small in a berth she has not been given yet: dock, piles and the berth's own bounds, to scale."""

from berths.drawing import geometry as g
from berths.drawing.scene import full_outline, scene_of
from berths.drawing.shapes import Circle, Drawing, Polygon, Polyline, Text, bounds_of
from berths.drawing.svg import to_svg
from berths.lying import Frame, half_outline, length_of, lying, piles_of
from berths.models import Stay
from berths.survey import ENGINE_KIND
from berths.tieup import scenario as wanted
from marina.base.units import FOOT

WIDTH, MOST_HEIGHT, TEXT = 300.0, 210.0, 12.0  # units of the page
AIR = 1.0  # m of water shown around what counts
DOCK = 1.6  # m of the dock that is shown


def sketch(option, boat, rules, *, feet=False):
    """SVG of one option.

    Parameters
    ----------
    option : selectors.options.Option
        Its berth with `survey.SURVEYED` fetched.
    boat : Vessel
        With length and beam; she need not be saved.
    rules : mapping
        House rules.
    feet : bool
        The scale bar in feet.

    Returns
    -------
    Svg or None
        None where boats are not drawn: in a raft, or in a kind of berth that is not worked out.
    """
    berth, fit = option.berth, option.fit
    if option.raft_place or berth.kind not in ENGINE_KIND:
        return None
    stay = Stay(vessel=boat, berth=berth, side_to=fit.side_to, end_in=fit.end_in)
    loa, _ = length_of(boat, rules)
    x, y, heading = lying(stay, loa, piles_of(berth))
    afloat = wanted.Boat(
        loa=loa, beam=float(boat.beam), x=x, y=y, heading_deg=heading, outline=half_outline(boat, loa)
    )
    afloat = afloat.model_copy(update={"outline": full_outline(afloat)})
    scene = scene_of(wanted.Scenario(version=1, berth=_berth(berth), boat=afloat))
    return to_svg(_drawing(berth, scene, feet))


def _drawing(berth, scene, feet):
    """The dock at the bottom; broken lines bound the berth; a bar tells the scale."""
    bounds = _bounds(berth, scene.hull)
    u0, v0, u1, v1 = bounds_of([*scene.hull, *(p for line in bounds for p in line)])
    box = (u0 - AIR, min(v0, -DOCK), u1 + AIR, v1 + AIR)
    per_metre = min(WIDTH / (box[2] - box[0]), MOST_HEIGHT / (box[3] - box[1]))
    text = TEXT / per_metre
    shapes = [*_dock(scene, box, text), *(Polyline(line, "neighbour", "bound") for line in bounds)]
    shapes += [_fastening(f, text) for f in scene.fittings if _inside(f.at, box)]
    shapes += [Polygon(scene.hull, "hull", "hull"), *_bar(box, text, feet)]
    words = (f"{berth.code} from above, the dock at the bottom; broken lines are the bounds of the berth.",)
    return Drawing(tuple(shapes), box, per_metre, f"She in {berth.code}, to scale", words)


def _bounds(berth, hull):
    """Where the berth ends: across the dock at both ends alongside; in a slip both sides and the outer end."""
    long = float(berth.length)
    if ENGINE_KIND[berth.kind] != "slip":
        out = max(v for _, v in hull) + AIR / 2
        return [((0.0, 0.0), (0.0, out)), ((long, 0.0), (long, out))]
    half = float(berth.clear_width) / 2 if berth.clear_width else max(u for u, _ in hull) + AIR / 2
    return [((-half, 0.0), (-half, long)), ((half, 0.0), (half, long)), ((-half, long), (half, long))]


def _dock(scene, box, text):
    """Every edge, and hatching under those that lie at the bottom."""
    out = []
    for edge in scene.edges:
        kept = g.clip_segment(*edge.ends, box)
        if not kept:
            continue
        if edge.solid[1] < -0.7:
            (ua, va), (ub, vb) = kept
            band = g.clip_polygon([(ua, va), (ub, vb), (ub, box[1]), (ua, box[1])], box)
            out += [Polyline(s, "solid", "dock") for s in g.hatch(band, 0.55 * text)] if band else []
        out.append(Polyline(kept, "edge", f"edge {edge.id}"))
    return out


def _fastening(f, text):
    if f.kind == "pile":
        return Circle(*f.at, f.radius, "pile", f"pile {f.id}")
    least = 0.2 * text
    if f.kind == "cleat":
        reach = g.scaled(f.along, max(f.radius, 1.3 * least))
        return Polyline((g.sub(f.at, reach), g.add(f.at, reach)), "cleat", f"cleat {f.id}")
    return Circle(*f.at, max(f.radius, least), "ring", f"{f.kind} {f.id}")


def _inside(at, box):
    return box[0] + 0.3 < at[0] < box[2] - 0.3 and box[1] + 0.3 < at[1] < box[3] - 0.3


def _bar(box, text, feet):
    """A bar of 2 m or 5 ft in the upper corner, clear of her."""
    long, words = (5 * float(FOOT), "5 ft") if feet else (2.0, "2 m")
    u, v = box[2] - long - 0.4 * text, box[3] - 0.5 * text
    return [
        Polyline(((u, v), (u + long, v)), "bar", "scale"),
        Text(u - 0.3 * text, v, words, text, anchor="end", of="scale"),
    ]


def _berth(berth):
    frame = Frame(berth)
    fittings, faces = [], []
    for row in berth.fastenings.all():
        x, y = frame.of_plan(row.fastening.east, row.fastening.north)
        size = float(row.fastening.diameter) if row.fastening.diameter else None
        fittings.append(wanted.ShoreFitting(id=row.code, kind=row.fastening.kind, x=x, y=y, diameter=size))
    for row in berth.faces.all():
        x1, y1 = frame.of_plan(row.face.east1, row.face.north1)
        x2, y2 = frame.of_plan(row.face.east2, row.face.north2)
        faces.append(wanted.Face(id=row.code, x1=x1, y1=y1, x2=x2, y2=y2, floats=row.face.floats))
    return wanted.Berth(
        kind=ENGINE_KIND[berth.kind],
        bearing_deg=float(berth.bearing_deg),
        length=float(berth.length),
        clear_width=None if berth.clear_width is None else float(berth.clear_width),
        fittings=fittings,
        faces=faces,
    )
