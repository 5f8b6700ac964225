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
        "windage": hull.windage(loa, beam, "sail"), "fenders": {"diameter": 0.2, "number": 4}, **more,
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
                       "floats": False}],
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
                       "floats": False}],
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
                       "floats": True}],
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
