"""Whole questions for the choice of lines and the flags: plain data, so that a test can change one figure."""

from copy import deepcopy

from berths.tieup.scenario import from_data
from vessels import hull

STRENGTH = 30_000.0  # N, of every fitting: a figure for tests, not for a dock


def _fittings(loa, beam):
    return [{**f, "strength": STRENGTH} for f in hull.fittings(loa, beam)]


def _boat(loa, beam, draft, x, y, **more):
    return {
        "loa": loa, "beam": beam, "draft": draft, "x": x, "y": y, "heading_deg": 0.0,
        "displacement": 95.0 * loa * beam * 2, "rub_low": 0.3, "rub_high": 1.1,
        "outline": [list(p) for p in hull.outline(loa, beam, "sail")], "fittings": _fittings(loa, beam),
        "windage": hull.windage(loa, beam, "sail"), "zones": [],
        "fenders": {"diameter": 0.2, "number": 4, "low": 0.05, "high": 0.9, "board": True}, **more,
    }  # fmt: skip


def _shore(name, kind, x, y, z, **more):
    return {"id": name, "kind": kind, "x": x, "y": y, "z": z, "floats": False, "strength": STRENGTH, **more}


def slip(**changes):
    """Stern-in between four piles, dock behind, 1.6 m of water with surge."""
    pile = {"diameter": 0.3, "top_z": 4.6, "stop": True}
    data = {
        "version": 1,
        "berth": {
            "kind": "slip", "bearing_deg": 230.0, "length": 11.0, "overhang": 0.6, "clear_width": 4.4,
            "bed_z": -0.8, "bed_kind": "soft",
            "fittings": [
                _shore("D1", "cleat", 0, 1.7, 3.7), _shore("D2", "cleat", 0, -1.7, 3.7),
                _shore("M1", "pile", 5.5, 2.35, 3.0, **pile), _shore("M2", "pile", 5.5, -2.35, 3.0, **pile),
                _shore("P1", "pile", 11.5, 2.35, 3.0, **pile), _shore("P2", "pile", 11.5, -2.35, 3.0, **pile),
            ],
            "faces": [{"id": "dock", "x1": 0, "y1": -3, "x2": 0, "y2": 3, "top_z": 3.7, "underside_z": 1.2,
                       "floats": False, "sharp": False}],
        },
        "boat": _boat(9.4, 3.2, 1.4, 5.3, 0.0),
        "water": {"low": 1.6, "high": 2.8, "surge_down": 0.2, "surge_up": 0.2, "now": 2.4, "datum": "CD"},
    }  # fmt: skip
    return changed(data, changes)


def fixed(**changes):
    """Starboard side to a pier on piles, 3.6 m of water with surge."""
    piles = [
        _shore(f"P{i}", "pile", 3.5 * i - 1.75, -0.15, 3.5, diameter=0.3, top_z=5.2, stop=True)
        for i in range(6)
    ]
    data = {
        "version": 1,
        "berth": {
            "kind": "fixed", "bearing_deg": 90.0, "length": 14.0, "overhang": 0.6, "bed_z": -2.8,
            "bed_kind": "soft", "fittings": piles,
            "faces": [{"id": "face", "x1": -2, "y1": 0, "x2": 17, "y2": 0, "top_z": 5.2, "underside_z": -2.4,
                       "floats": False, "continuous": False, "sharp": False}],
        },
        "boat": _boat(12.0, 3.8, 1.8, 7.0, 2.1),
        "water": {"low": 0.05, "high": 2.77, "surge_down": 0.3, "surge_up": 0.6, "now": 0.6, "datum": "CD"},
    }  # fmt: skip
    return changed(data, changes)


def floating(**changes):
    """Starboard side to a pontoon with four cleats."""
    cleats = [{**_shore(f"C{i}", "cleat", 0.6 + 3.6 * i, -0.2, 0.45), "floats": True} for i in range(4)]
    data = {
        "version": 1,
        "berth": {
            "kind": "floating", "bearing_deg": 90.0, "length": 12.0, "overhang": 0.6, "bed_z": -2.8,
            "bed_kind": "soft", "guide_pile_top_z": 4.4, "hoop_height": 0.5, "fittings": cleats,
            "faces": [{"id": "pontoon", "x1": 0, "y1": 0, "x2": 12, "y2": 0, "top_z": 0.4, "underside_z": -0.3,
                       "floats": True, "continuous": True, "sharp": False}],
        },
        "boat": _boat(9.8, 3.2, 1.6, 6.0, 1.8),
        "water": {"low": 0.05, "high": 2.77, "surge_down": 0.3, "surge_up": 0.6, "now": 0.6, "datum": "CD"},
    }  # fmt: skip
    return changed(data, changes)


def changed(data, changes):
    """A copy with values set at dotted places: {'boat__loa': 12} or {'berth__fittings__0__z': None}."""
    data = deepcopy(data)
    for path, value in changes.items():
        *steps, last = (int(p) if p.isdigit() else p for p in path.split("__"))
        at = data
        for step in steps:
            at = at[step]
        at[last] = value
    return data


def scenario(data):
    return from_data(data)


def by_role(verdict):
    return {line.role: line for line in verdict.lines if not line.optional}


def codes(verdict, state="raised"):
    """Codes of the flags in this state, those folded under another included."""
    return {f.code for flag in verdict.flags for f in (flag, *flag.under) if f.state == state}


def flag(verdict, code):
    return next(f for flag in verdict.flags for f in (flag, *flag.under) if f.code == code)


def as_found(verdict):
    """The lines of a Verdict as given lines of another question."""
    return [
        {"id": x.id, "boat_fitting": x.boat_fitting, "shore_fitting": x.shore_fitting, "length": x.working_length,
         "diameter_mm": x.diameter_mm, "mbs": x.mbs, "material": x.material}
        for x in verdict.lines if not x.optional
    ]  # fmt: skip


def sensible(rng, kind):
    """A berth of this kind as a harbour would build it, with a boat it was built for; every figure drawn anew.

    Plain numbers, so that any of them can be looked at; no lines and no cases.
    """

    def between(low, high):
        return round(float(rng.uniform(low, high)), 2)

    loa = between(6, 15)
    beam = round(loa * (0.42 - 0.009 * loa) * between(0.92, 1.05), 2)
    draft, tide = (
        round(loa * between(0.09, 0.17), 2),
        between(0.2, {"slip": 2.0, "fixed": 3.5, "floating": 5.0}[kind]),
    )
    low, surge = between(-0.5, 1.0), between(0.1, 0.5)
    high = round(low + tide, 2)
    top, bed = round(high + surge + between(0.2, 0.7), 2), round(low - surge - draft - 0.6, 2)
    water = {
        "low": low,
        "high": high,
        "surge_down": surge,
        "surge_up": surge,
        "now": round(low + 0.4 * tide, 2),
    }
    hull_class = str(rng.choice(["sail", "motor", "work"]))
    shapes = {
        "outline": [list(p) for p in hull.outline(loa, beam, hull_class)],
        "windage": hull.windage(loa, beam, hull_class), "rub_high": round(max(0.9, 0.11 * loa), 2),
        "displacement": hull.displacement(loa, beam, draft),
    }  # fmt: skip
    base = {"kind": kind, "bearing_deg": between(0, 360), "overhang": 0.6, "bed_z": bed, "bed_kind": "soft",
            "exposure": "normal"}  # fmt: skip
    turned = float(rng.choice([0.0, 180.0]))
    build = {"slip": _sensible_slip, "fixed": _sensible_wall, "floating": _sensible_pontoon}[kind]
    berth, x, y = build(between, rng, loa, beam, top)
    boat = _boat(loa, beam, draft, x, y, **shapes) | {"heading_deg": turned}
    return {"version": 1, "berth": base | berth, "boat": boat, "water": water}


def _sensible_slip(between, rng, loa, beam, top):
    width, length = round(beam + 0.4 + between(0.3, 1.0), 2), round(loa + between(0.8, 2.0), 2)
    across = round(width / 2 + 0.15, 2)
    stand = {"diameter": 0.3, "top_z": top + 1.5, "stop": True}
    cleats = [_shore(f"D{i}", "cleat", 0.0, s * round(0.4 * width, 2), top) for i, s in ((1, 1), (2, -1))]
    outer = between(1.0, 1.15) * loa
    rows = [("P", outer)] + ([("M", 0.5 * length)] if rng.random() < 0.6 else [])
    piles = [
        _shore(f"{name}{i}", "pile", round(x, 2), s * across, top - 0.5, **stand)
        for name, x in rows
        for i, s in ((1, 1), (2, -1))
    ]
    dock = {"id": "dock", "x1": 0, "y1": -across - 1, "x2": 0, "y2": across + 1, "top_z": top, "underside_z": top - 3.5,
            "floats": False, "sharp": False}  # fmt: skip
    berth = {"length": length, "clear_width": width, "fittings": cleats + piles, "faces": [dock]}
    return berth, round(loa / 2 + 0.6, 2), 0.0


def _sensible_wall(between, rng, loa, beam, top):
    length, step = round(loa + between(1.0, 4.0), 2), between(2.5, 4.0)
    number = int((2 * length) // step) + 1
    piles = [
        _shore(
            f"P{i}",
            "pile",
            round(-0.5 * length + step * i, 2),
            -0.15,
            top,
            diameter=0.3,
            top_z=top + 1.5,
            stop=True,
        )
        for i in range(number)
    ]
    face = {"id": "face", "x1": -0.6 * length, "y1": 0, "x2": 1.6 * length, "y2": 0, "top_z": top + 1.5,
            "underside_z": -30.0, "floats": False, "continuous": True, "sharp": False}  # fmt: skip
    return (
        {"length": length, "fittings": piles, "faces": [face]},
        round(length / 2, 2),
        round(beam / 2 + 0.2, 2),
    )


def _sensible_pontoon(between, rng, loa, beam, top):
    length = round(loa + between(0.5, 3.0), 2)
    number = int(rng.integers(4, 7))
    cleats = [
        {
            **_shore(f"C{i}", "cleat", round(0.4 + (length - 0.8) * i / (number - 1), 2), -0.2, 0.45),
            "floats": True,
        }
        for i in range(number)
    ]
    face = {
        "id": "pontoon",
        "x1": 0,
        "y1": 0,
        "x2": length,
        "y2": 0,
        "top_z": 0.4,
        "underside_z": -0.3,
        "floats": True,
    }
    berth = {
        "length": length,
        "fittings": cleats,
        "faces": [face],
        "guide_pile_top_z": top + 2,
        "hoop_height": 0.5,
    }
    return berth, round(length / 2, 2), round(beam / 2 + 0.2, 2)
