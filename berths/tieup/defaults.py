"""Fills the gaps of a Scenario where a default is honest, and says each one.

What a default would hide a danger in (depth, strengths, pile tops, undersides, surge, heights of fastenings)
stays None here; the flags then say 'not known'.
"""

import numpy as np

from berths.tieup import rules
from berths.tieup.scenario import BoatFitting, Drag, Rope, Stiffness, Water, Weather
from berths.tieup.verdict import Assumed
from vessels import hull, rope

NAME_SAYS_NOTHING = "nobody gave one"
SEEN = 0.005  # m; a dent that is shallower is the roundness of a side


class Gaps:
    """Collects what was assumed while a Scenario is filled."""

    def __init__(self):
        self.assumed = []

    def take(self, field, given, value, why, unit=""):
        """`given`, or else `value`, with a note that it was assumed."""
        if given is not None:
            return given
        shown = value if isinstance(value, float | int | str | bool | list | None) else str(value)
        shown = round(shown, 3) if isinstance(shown, float) else shown
        self.assumed.append(Assumed(field=field, value=shown, unit=unit, why=why))
        return value

    def note(self, field, why, value=None):
        self.assumed.append(Assumed(field=field, value=value, why=why))


def fill(scenario, figures):
    """A Scenario with every number the solver needs, and the list of what was assumed.

    Parameters
    ----------
    scenario : Scenario
    figures : the house figures, from `rules.of`.

    Returns
    -------
    filled : Scenario
        Fittings whose place nobody knows are gone from it; lines that cannot be worked out are, too.
    assumed : list of Assumed
    """
    gaps = Gaps()
    berth = _berth(scenario, figures, gaps)
    boat = _boat(scenario, berth, gaps)
    ropes = _rope(scenario.rope or Rope(), boat, gaps)
    lines = _lines(scenario, berth, boat, ropes, gaps)
    water = _water(scenario, gaps)
    weather = _weather(scenario.weather or Weather(), figures, gaps)
    cases = scenario.cases and [_case(c, i, water, gaps) for i, c in enumerate(scenario.cases)]
    if scenario.berth.bearing_deg is None and (scenario.frame is None or scenario.frame.bearing_deg is None):
        gaps.take("berth.bearing_deg", None, 0.0, "nobody gave one; winds are tried all round", "deg")
    update = {"berth": berth, "boat": boat, "rope": ropes, "lines": lines or None, "water": water}
    return scenario.model_copy(update=update | {"weather": weather, "cases": cases}), gaps.assumed


def _berth(scenario, figures, gaps):
    berth, floating = scenario.berth, scenario.berth.kind == "floating"
    faces = [_face(f, i, floating, figures, gaps) for i, f in enumerate(berth.faces or [])]
    faces = [f for f in faces if f]
    fittings = [
        _shore_fitting(f, i, scenario, floating, figures, gaps) for i, f in enumerate(berth.fittings or [])
    ]
    return berth.model_copy(
        update={
            "faces": faces,
            "fittings": [f for f in fittings if f],
            "neighbours": berth.neighbours or [],
            "zones": berth.zones or [],
            "overhang": gaps.take("berth.overhang", berth.overhang, figures.overhang, "house figure", "m"),
            "exposure": gaps.take("berth.exposure", berth.exposure, "normal", "nobody gave one"),
            "bed_kind": gaps.take(
                "berth.bed_kind", berth.bed_kind, "hard", "nobody gave one; hard asks for more"
            ),
        }
    )


def _face(face, i, floating, figures, gaps):
    where = f"berth.faces[{i}]"
    if None in (face.x1, face.y1, face.x2, face.y2):
        gaps.note(where, f"left out: where face {face.id} runs is not known")
        return None
    take = gaps.take
    return face.model_copy(
        update={
            "floats": take(f"{where}.floats", face.floats, floating, "by the kind of berth"),
            "fender_stiffness": take(
                f"{where}.fender_stiffness",
                face.fender_stiffness,
                50_000.0,
                "common practice, no source",
                "N/m",
            ),
            "fender_give": take(
                f"{where}.fender_give", face.fender_give, figures.fender_give, "house figure", "m"
            ),
            "continuous": take(f"{where}.continuous", face.continuous, True, "nobody gave one"),
        }
    )


def _shore_fitting(fitting, i, scenario, floating, figures, gaps):
    where = f"berth.fittings[{i}]"
    if fitting.x is None or fitting.y is None:
        gaps.note(where, f"left out: the place of {fitting.id} is not known")
        return None
    take = gaps.take
    floats = take(f"{where}.floats", fitting.floats, floating, "by the kind of berth")
    kind = take(f"{where}.kind", fitting.kind, "cleat", NAME_SAYS_NOTHING)
    update = {"kind": kind, "floats": floats}
    update["in_use"] = take(f"{where}.in_use", fitting.in_use, True, "nobody said it is out of use")
    update["takes"] = take(f"{where}.takes", fitting.takes, int(figures.takes_lines), "house figure", "lines")
    if fitting.z is None:
        update["z"] = _likely_height(scenario, floats)
        gaps.note(
            f"{where}.z", f"not known: only to work out the pull along the water, {update['z']:.2f} m taken"
        )
    if kind == "pile":
        update["diameter"] = take(
            f"{where}.diameter", fitting.diameter, 0.3, "common practice, no source", "m"
        )
    return fitting.model_copy(update=update)


def _likely_height(scenario, floats):
    """A height that keeps the solver going for a fastening nobody measured; its flags say 'not known'."""
    if floats:
        return 0.4
    tops = [f.top_z for f in scenario.berth.faces or [] if f.top_z is not None]
    high = scenario.water.high if scenario.water and scenario.water.high is not None else 0.0
    return max(tops) if tops else high + 0.5


def _boat(scenario, berth, gaps):
    boat, take = scenario.boat, gaps.take
    length = take("boat.hull_length", boat.hull_length, boat.loa, "taken as length over everything", "m")
    update = {"hull_length": length, "outline": _outline(boat, gaps), "fittings": _deck_fittings(boat, gaps)}
    low, high = hull.rub_band(length)
    update["rub_low"] = take("boat.rub_low", boat.rub_low, low, "estimated: check by eye at high water", "m")
    update["rub_high"] = take(
        "boat.rub_high",
        boat.rub_high,
        max(high, update["rub_low"] + 0.1),
        "estimated: check by eye at high water",
        "m",
    )
    update["displacement"] = take(
        "boat.displacement",
        boat.displacement,
        hull.displacement(length, boat.beam, boat.draft),
        "estimated",
        "kg",
    )
    update["gm"] = take("boat.gm", boat.gm, 0.8, "common practice, no source", "m")
    update["zones"] = boat.zones or []
    update["side_to"] = take("boat.side_to", boat.side_to, side_at_face(scenario), "by how she lies")
    lowest = _lowest(scenario.water)
    depth = None if berth.bed_z is None or lowest is None else lowest - berth.bed_z
    update["windage"] = _drag("boat.windage", boat.windage, hull.windage(length, boat.beam), gaps)
    update["underwater"] = _drag(
        "boat.underwater", boat.underwater, hull.underwater(length, boat.draft, depth), gaps
    )
    return boat.model_copy(update=update)


def _lowest(water):
    if water is None or water.low is None:
        return None
    return water.low - (water.surge_down or 0.0)


def side_at_face(scenario):
    """The side of her that lies at the face of a berth to lie alongside; 'either' in a slip."""
    if scenario.berth.kind == "slip":
        return "either"
    ahead = abs((scenario.boat.heading_deg + 180) % 360 - 180) < 90
    return "starboard" if (scenario.boat.y >= 0) == ahead else "port"


def _outline(boat, gaps):
    """A closed convex polygon, counter-clockwise in the boat frame."""
    given = boat.outline
    if given is None:
        given = hull.outline(boat.loa, boat.beam)
        gaps.note("boat.outline", "nobody gave one: a rectangle of length by beam", None)
    elif (depth := hull.dent(given)) > SEEN:
        gaps.note(
            "boat.outline",
            f"taken without its dents, the deepest of {depth:.2f} m: the smallest convex outline round it",
        )
    points = hull.closed_outline(given)
    (x, y), over = points.T, SEEN + 0.1
    if x.max() > boat.loa + over or x.min() < -over or np.abs(y).max() > boat.beam / 2 + over:
        size = [round(float(np.ptp(x)), 2), round(float(np.ptp(y)), 2)]
        why = "larger than length over everything and beam: contact goes by the outline, what fits by the others"
        gaps.note("boat.outline", why, size)
    return [(float(x), float(y)) for x, y in points]


def _deck_fittings(boat, gaps):
    laid_out = {f["id"]: f for f in hull.fittings(boat.loa, boat.beam)}
    if not boat.fittings:
        gaps.note("boat.fittings", "laid out by length and beam, strength not known", ", ".join(laid_out))
        return [BoatFitting(**f, in_use=True, takes=2) for f in laid_out.values()]
    out = []
    for i, fitting in enumerate(boat.fittings):
        where, usual = f"boat.fittings[{i}]", laid_out.get(fitting.id, {})
        x = fitting.x if fitting.x is not None else usual.get("x")
        y = fitting.y if fitting.y is not None else usual.get("y")
        if x is None or y is None:
            gaps.note(where, f"left out: the place of {fitting.id} on her deck is not known")
            continue
        if fitting.x is None or fitting.y is None:
            gaps.note(where, f"place of {fitting.id} laid out by length and beam", [round(x, 2), round(y, 2)])
        nearest = min(laid_out.values(), key=lambda f: abs(f["x"] - x))
        z = gaps.take(f"{where}.z", fitting.z, nearest["z"], "estimated by length", "m")
        update = {
            "x": x,
            "y": y,
            "z": z,
            "in_use": fitting.in_use is not False,
            "takes": 2 if fitting.takes is None else fitting.takes,
        }
        out.append(fitting.model_copy(update=update))
    return out


def _drag(where, given, estimate, gaps):
    given = given or Drag()
    return given.model_copy(
        update={
            name: gaps.take(
                f"{where}.{name}", getattr(given, name), value, "estimated by length and beam", unit
            )
            for name, value, unit in (
                ("frontal_area", estimate["frontal_area"], "m2"),
                ("side_area", estimate["side_area"], "m2"),
                ("cd_front", estimate["cd_front"], "1"),
                ("cd_side", estimate["cd_side"], "1"),
            )
        }
    )


def _rope(given, boat, gaps):
    stock = gaps.take(
        "rope.stock_mm", given.stock_mm or None, [10, 12, 14, 16, 18, 20, 22, 24], "usual sizes", "mm"
    )
    material = gaps.take("rope.material", given.material, "nylon_3strand", "usual for dock lines")
    diameter = given.diameter_mm
    if diameter is None:
        diameter, short = rope.house_diameter(boat.loa, stock)
        why = f"length over everything / 864, next size up (America's Boating Club: R-RULE-1){short and '; ' + short}"
        gaps.take("rope.diameter_mm", None, diameter, why, "mm")
    return given.model_copy(update={"stock_mm": sorted(stock), "material": material, "diameter_mm": diameter})


def _lines(scenario, berth, boat, ropes, gaps):
    """Given lines with strength and stretch; those of unknown length or place are left out and said."""
    ashore, aboard = {f.id for f in berth.fittings}, {f.id for f in boat.fittings}
    out = []
    for i, line in enumerate(scenario.lines or []):
        where = f"lines[{i}]"
        ends = line.boat_fitting in aboard and line.shore_fitting in ashore
        if not ends or (line.via and line.via.fitting not in ashore):
            gaps.note(where, f"line {line.id} left out: the place of one of its fittings is not known")
            continue
        if line.length is None:
            gaps.note(where, f"line {line.id} left out: its length is not known")
            continue
        out.append(with_rope(line, ropes, gaps, where))
    return out


def with_rope(line, ropes, gaps=None, where="lines"):
    """A line with material, diameter, strength and stretch filled from its rope or the berth's."""
    gaps = gaps or Gaps()
    material = gaps.take(f"{where}.material", line.material, ropes.material, "as the rope of this berth")
    diameter = line.diameter_mm
    if diameter is None:
        diameter = min(ropes.stock_mm)
        gaps.take(f"{where}.diameter_mm", None, diameter, "not known: the thinnest in stock taken", "mm")
    mbs = line.mbs
    if mbs is None:
        strength = rope.strength(material, diameter)
        mbs = gaps.take(f"{where}.mbs", None, strength.mbs, strength.rests_on, "N")
    stiffness = line.stiffness or Stiffness()
    if stiffness.ea is None and stiffness.table is None:
        stiffness = Stiffness(table=[tuple(row) for row in rope.stretch(material)])
        gaps.note(f"{where}.stiffness", f"stretch curve of {material.replace('_', ' ')}")
    return line.model_copy(
        update={"material": material, "diameter_mm": diameter, "mbs": mbs, "stiffness": stiffness}
    )


def _water(scenario, gaps):
    water = scenario.water or Water()
    low, high = water.low, water.high
    if low is None and high is None and water.curve:
        low, high = min(z for _, z in water.curve), max(z for _, z in water.curve)
        gaps.note("water.low", "lowest and highest of the curve", [low, high])
    if low is None and high is None and scenario.cases and all(c.level is not None for c in scenario.cases):
        low, high = min(c.level for c in scenario.cases), max(c.level for c in scenario.cases)
        gaps.note("water.low", "lowest and highest of the stated cases", [low, high])
    span = water.range
    if span is None and low is not None and high is not None:
        span = gaps.take("water.range", None, high - low, "highest less lowest", "m")
    return water.model_copy(update={"low": low, "high": high, "range": span})


def _weather(weather, figures, gaps):
    speeds = rules.gusts(figures)
    currents = weather.currents or []
    for i, stream in enumerate(currents):
        if stream.speed and stream.toward_deg is None:
            gaps.note(f"weather.currents[{i}]", "left out: which way it runs is not known")
    return weather.model_copy(
        update={
            "wind_speeds": gaps.take(
                "weather.wind_speeds", weather.wind_speeds or None, speeds, "house gusts", "m/s"
            ),
            "wind_from_deg": gaps.take(
                "weather.wind_from_deg",
                weather.wind_from_deg or None,
                [30.0 * i for i in range(12)],
                "all round",
                "deg",
            ),
            "currents": [c for c in currents if c.speed and c.toward_deg is not None],
        }
    )


def _case(case, i, water, gaps):
    level = case.level
    if level is None:
        known = [z for z in (water.now, water.low, water.high) if z is not None]
        level = gaps.take(f"cases[{i}].level", None, known[0] if known else 0.0, "nobody gave one", "m")
    update = {"level": level}
    for kind, way in (("wind", "from_deg"), ("current", "toward_deg")):
        speed, field = getattr(case, f"{kind}_speed"), f"{kind}_{way}"
        update[f"{kind}_speed"] = speed or 0.0
        given = getattr(case, field)
        why = "nobody gave one: this case is tried, and says nothing of other directions"
        update[field] = gaps.take(f"cases[{i}].{field}", given, 0.0, why, "deg") if speed else given or 0.0
    return case.model_copy(update=update | {"yaw_moment": case.yaw_moment or 0.0})
