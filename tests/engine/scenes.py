"""Small Scenarios for the engine's tests: each names what its test is about, the rest is plain."""

from math import atan2, degrees, hypot

from berths.tieup.scenario import Case, Line, from_data
from vessels import hull
from vessels.rope import strength

KNOT = 0.514444


def boat(**more):
    """A square hull of 10 x 3 m, heading along +x, middle at the origin unless said."""
    return {
        "loa": 10.0,
        "beam": 3.0,
        "x": 0.0,
        "y": 0.0,
        "heading_deg": 0.0,
        "windage": {"frontal_area": 8.0, "side_area": 18.0, "cd_front": 0.9, "cd_side": 1.1},
        "underwater": {"frontal_area": 2.5, "side_area": 8.0, "cd_front": 0.3, "cd_side": 0.9},
        **more,
    }


def aboard(name, x, y, z=1.0):
    """A boat fitting, x from her stern."""
    return {"id": name, "x": x, "y": y, "z": z}


def ashore(name, x, y, z=1.0, **more):
    return {"id": name, "kind": "cleat", "x": x, "y": y, "z": z, "floats": False, **more}


def pile(name, x, y, z=2.0, diameter=0.3, **more):
    return ashore(name, x, y, z, kind="pile", diameter=diameter, **more)


def face(name, x1, y1, x2, y2, **more):
    return {"id": name, "x1": x1, "y1": y1, "x2": x2, "y2": y2, "floats": False, **more}


def line(boat_fitting, shore_fitting, length, ea=100_000.0, **more):
    stretch = {} if ea is None else {"stiffness": {"ea": ea}}
    name = f"{boat_fitting}-{shore_fitting}"
    row = {"id": name, "boat_fitting": boat_fitting, "shore_fitting": shore_fitting, "length": length}
    return {**row, "mbs": 50_000.0, **stretch, **more}


def scene(lines=(), aboard=(), ashore=(), faces=(), *, kind="fixed", bearing=90.0, boat_more=None, **more):
    """A Scenario. With bearing 90 the berth's +x is east and +y north, so wind from 270 pushes to +x."""
    return from_data({
        "version": 1,
        "berth": {"kind": kind, "bearing_deg": bearing, "fittings": list(ashore), "faces": list(faces)},
        "boat": boat(fittings=list(aboard), **(boat_more or {})),
        "lines": list(lines),
        **more,
    })  # fmt: skip


def still(level=0.0, name="still", **more):
    return Case(id=name, level=level, **more)


def pressed(fx=0.0, fy=0.0, *, level=0.0, bearing=90.0, name="pressed"):
    """A case whose wind gives exactly this force on `boat()` lying at heading 0. [N]"""
    per_front, per_side = 0.5 * 1.221 * 0.9 * 8.0, 0.5 * 1.221 * 1.1 * 18.0
    u, w = ((abs(f) / per) ** 0.5 * (1 if f >= 0 else -1) for f, per in ((fx, per_front), (fy, per_side)))
    return still(
        level, name, wind_speed=hypot(u, w), wind_from_deg=(bearing - degrees(atan2(w, u)) + 180) % 360
    )


def slip(tide=1.5, ropes="nylon_3strand", **more):
    """A 10 x 3.4 m yacht stern-in in a slip: dock cleats, two mid and two outer piles, six lines."""
    mbs = strength("nylon_3strand", 14).mbs
    cleats = [ashore("D1", 0, 2.0, 1.6), ashore("D2", 0, -2.0, 1.6)]
    piles = [pile("M1", 6.0, 2.5), pile("M2", 6.0, -2.5), pile("P1", 12.5, 2.5), pile("P2", 12.5, -2.5)]
    pairs = [("stern_port", "D2", 4.2), ("stern_starboard", "D1", 4.2), ("bow_port", "P1", 3.5),
             ("bow_starboard", "P2", 3.5), ("mid_port", "P1", 6.6), ("mid_starboard", "P2", 6.6)]  # fmt: skip
    return from_data({
        "version": 1,
        "berth": {"kind": "slip", "bearing_deg": 200.0, "length": 12.5, "fittings": cleats + piles,
                  "faces": [face("dock", 0, -3, 0, 3, top_z=1.6, underside_z=1.2)]},
        "boat": boat(beam=3.4, x=6.2, outline=[list(p) for p in hull.outline(10, 3.4, "sail")],
                     fittings=hull.fittings(10, 3.4), windage=hull.windage(10, 3.4, "sail"),
                     underwater=hull.underwater(10), rub_low=0.3, rub_high=0.9),
        "lines": [line(b, s, n, ea=None, mbs=mbs, material=ropes) for b, s, n in pairs],
        "water": {"low": 0.2, "high": 0.2 + tide},
        **more,
    })  # fmt: skip


def alongside(tide=3.0, ropes="nylon_3strand", **more):
    """An 11 x 3.6 m boat starboard side to a fixed quay: bow, stern and two springs."""
    mbs = strength("nylon_3strand", 14).mbs
    shore = [ashore(f"R{i}", 2.0 * i, -0.2, 2.5, kind="ring") for i in range(11)]
    pairs = [("stern_starboard", "R0", 6.2), ("bow_starboard", "R10", 6.5), ("bow_starboard", "R3", 8.9),
             ("stern_starboard", "R7", 9.4)]  # fmt: skip
    return from_data({
        "version": 1,
        "berth": {"kind": "fixed", "bearing_deg": 140.0, "length": 20.0, "fittings": shore,
                  "faces": [face("quay", 0, 0, 20, 0, top_z=2.8)]},
        "boat": boat(loa=11.0, beam=3.6, x=9.9, y=2.0,
                     outline=[list(p) for p in hull.outline(11, 3.6, "motor")],
                     fittings=hull.fittings(11, 3.6), windage=hull.windage(11, 3.6, "motor"),
                     underwater=hull.underwater(11), rub_low=0.3, rub_high=1.0),
        "lines": [line(b, s, n, ea=None, mbs=mbs, material=ropes) for b, s, n in pairs],
        "water": {"low": 0.2, "high": 0.2 + tide},
        **more,
    })  # fmt: skip


def open_water(**more):
    """A 10 m boat held by six linear lines with nothing to touch: what a mooring library can solve too."""
    fastenings = [("A", -9.0, 2.5, 2.2), ("B", -9.0, -2.5, 2.2), ("C", 9.0, 4.0, 1.5), ("D", 9.0, -4.0, 1.5),
                  ("E", -1.0, 5.0, 1.8), ("F", 1.0, -5.0, 1.8)]  # fmt: skip
    pairs = [("stern_port", "B", 7.4), ("stern_starboard", "A", 7.4), ("bow_port", "C", 6.3),
             ("bow_starboard", "D", 6.3), ("mid_port", "E", 4.2), ("mid_starboard", "F", 4.2)]  # fmt: skip
    return scene(
        [line(b, s, n, ea=60e3 + 10e3 * i) for i, (b, s, n) in enumerate(pairs)],
        hull.fittings(10.0, 3.4),
        [ashore(*row) for row in fastenings],
        water={"low": 0.2, "high": 1.7},
        **more,
    )


def random_harbour(rng, sets=4, cases=125):
    """A harbour no one would moor in: winds to 50 m/s, two to seven random lines, half-length to over-long.

    Returns the Scenario, K sets of lines and N cases.
    """
    number = lambda low, high: float(rng.uniform(low, high))  # noqa: E731
    loa = number(5, 16)
    beam = loa * number(0.25, 0.5)
    deck = [{**f, "z": number(0.4, 2)} for f in hull.fittings(loa, beam)]
    shore = []
    for i in range(rng.integers(2, 9)):
        place = number(-loa, loa), number(beam / 2 + 0.3, beam * 2) * float(rng.choice([-1, 1])), number(0, 4)
        make = pile if rng.random() < 0.5 else ashore
        shore.append(make(f"S{i}", *place, floats=bool(rng.random() < 0.2)))
    faces = []
    if rng.random() < 0.6:
        y = -beam / 2 - number(0, 0.5)
        faces.append(face("side", -number(0.2, 1.5) * loa, y, number(0.2, 1.5) * loa, y))
    if rng.random() < 0.4:
        x = -loa / 2 - number(0.1, 1)
        faces.append(face("end", x, -4.0, x, 4.0))

    def random_line(i):
        b, s = deck[rng.integers(len(deck))], shore[rng.integers(len(shore))]
        away = hypot(b["x"] - loa / 2 - s["x"], b["y"] - s["y"])
        material = str(rng.choice(["nylon_3strand", "hmpe", "polyester_braid"]))
        rope = {"ea": 10 ** number(4.3, 6.3)} if rng.random() < 0.3 else {"ea": None, "material": material}
        row = line(b["id"], s["id"], max(0.5, away * number(0.9, 1.5)), mbs=number(1e4, 1e5), **rope)
        return Line(**{**row, "id": f"L{i}"})

    chosen = [[random_line(i) for i in range(rng.integers(2, 8))] for _ in range(sets)]
    weather = [
        still(number(0, 4), f"c{i}", wind_speed=number(0, 50), wind_from_deg=number(0, 360),
              current_speed=number(0, 1.5), current_toward_deg=number(0, 360))
        for i in range(cases)
    ]  # fmt: skip
    kind = str(rng.choice(["sail", "motor", "open", "work"]))
    more = {"loa": loa, "beam": beam, "outline": [list(p) for p in hull.outline(loa, beam, kind)]}
    return scene((), deck, shore, faces, boat_more=more), chosen, weather


def simple_harbour(rng):
    """A square boat held by four linear lines, off a long face and with a pile beside her; one wind."""
    number = lambda low, high: float(rng.uniform(low, high))  # noqa: E731
    deck = [aboard("fp", 9.0, 1.2), aboard("fs", 9.0, -1.2), aboard("ap", 1.0, 1.2), aboard("as", 1.0, -1.2)]
    places = [(number(6, 9), number(2, 4)), (number(6, 9), -number(1.8, 3)), (-number(6, 9), number(2, 4)),
              (-number(6, 9), -number(1.8, 3))]  # fmt: skip
    shore = [ashore(f"s{i}", x, y, number(0.5, 2.5)) for i, (x, y) in enumerate(places)]
    rows = []
    for b, s in zip(deck, shore, strict=True):
        away = hypot(hypot(b["x"] - 5 - s["x"], b["y"] - s["y"]), b["z"] - s["z"])
        rows.append(line(b["id"], s["id"], away * number(1.0, 1.06), ea=number(50e3, 200e3)))
    shore.append(pile("p", number(-4, 4), 1.65 + number(0.05, 0.3)))
    wall = -1.5 - number(0.05, 0.4)
    here = scene(rows, deck, shore, [face("wall", -60, wall, 60, wall)])
    return here, still(0.0, "wind", wind_speed=number(8, 22), wind_from_deg=number(0, 360))
