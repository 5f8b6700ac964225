"""Common layouts of berths: what the form of a survey starts with, to be corrected against the tape.

A layout fills in places and, where they were given, heights and strengths. What nobody gave stays empty: not
known. Distances are as taped: along the dock from the left-hand corner, and out from its edge.
"""

from decimal import Decimal

from berths.taping import Corner

PILE = Decimal("0.30")  # m, a pile's diameter to start with: common practice, no source
CLEAT_IN = Decimal("0.50")  # m, dock cleats of a slip from its corners: common practice, no source
BACK = Decimal("-0.20")  # m, cleats behind the edge of the dock: common practice, no source
FIRST_PILE = Decimal(
    "0.90"
)  # m, first face pile from the end of the berth, so that a stern can reach past it
SPACING = {"fixed_piles": Decimal("3.5"), "quay_rings": Decimal(9), "floating": Decimal("3.5")}
NAMES = {
    "two_piles": "slip, two outer piles",
    "four_piles": "slip, four piles",
    "shared_piles": "slip that shares piles with the berth on its left",
    "box": "box: outer piles only, no finger",
    "fixed_piles": "fixed dock with face piles every so many metres",
    "quay_rings": "quay with rings every so many metres",
    "floating": "floating dock with cleats",
    "empty": "none of these: begin with nothing",
}
KINDS = {
    "two_piles": "slip",
    "four_piles": "slip",
    "shared_piles": "slip",
    "box": "box",
    "fixed_piles": "fixed",
    "quay_rings": "quay",
    "floating": "floating",
}
END_ON = ("two_piles", "four_piles", "shared_piles", "box")


def start(layout, given, beside=None):
    """What the form starts with.

    Parameters
    ----------
    layout : str
        Key of `NAMES`.
    given : dict
        `length`, `width`, `spacing`, `dock_z`, `pile_top_z`, `bear_z` [m], `strength` [N], `strength_basis`,
        `last_checked`, `checked_by`; each may be missing or None.
    beside : Berth, optional
        The berth on its left, with `fastenings` and their fastening: its right-hand piles are shared.

    Returns
    -------
    (list of dict, list of dict)
        Fastenings and faces in the terms of the form's rows.
    """
    make = {
        "two_piles": _slip,
        "four_piles": _slip,
        "shared_piles": _slip,
        "box": _slip,
        "fixed_piles": _face_piles,
        "quay_rings": _quay,
        "floating": _floating,
    }.get(layout)
    return make(layout, given, beside) if make else ([], [])


def _known(given):
    names = ("strength", "strength_basis", "last_checked", "checked_by")
    return {name: given[name] for name in names if given.get(name) not in (None, "")}


def _slip(layout, given, beside):
    width, length, shared = given["width"], given["length"], right_hand_piles(beside)
    outs = [length] if layout in ("two_piles", "box") else [(length / 2).quantize(Decimal("0.1")), length]
    rows = [
        _row(given, f"D{n}", "cleat", along, BACK, words=f"dock cleat, {side} side")
        for n, (along, side) in enumerate([(CLEAT_IN, "left"), (width - CLEAT_IN, "right")], start=1)
    ]
    n = 0
    for out in outs:
        where = "outer" if out == outs[-1] else "middle"
        for along, side in ((-PILE / 2, "left"), (width + PILE / 2, "right")):
            n += 1
            words = f"{where} pile, {side} side"
            if side == "left" and layout == "shared_piles" and shared:
                near = min(shared, key=lambda pile: abs(pile[0] - out))
                rows.append({"code": f"P{n}", "same_as": near[1], "words": words})
                shared = [pile for pile in shared if pile is not near]
            else:
                rows.append(_pile(given, f"P{n}", along, out, words))
    return rows, [_face(given, "dock", Decimal(0), width, continuous=True)]


def right_hand_piles(berth):
    """(out, label) of the piles on the right of a berth; none without one. [m]"""
    if berth is None:
        return []
    corner = Corner.of(berth)
    found = []
    for row in berth.fastenings.all():
        along, out = corner.taped(row.fastening.east, row.fastening.north)
        if row.fastening.kind == "pile" and along > corner.to_middle:
            found.append((out, row.fastening.label))
    return sorted(found)


def _face_piles(layout, given, beside):
    rows = [
        _pile(given, f"P{n}", along, -PILE / 2, f"face pile {n}")
        for n, along in enumerate(_every(FIRST_PILE, given["spacing"], given["length"]), start=1)
    ]
    face = _face(given, "piles", Decimal(0), given["length"], continuous=False)
    return rows, [face | {"top_z": given.get("pile_top_z") or given.get("dock_z")}]


def _quay(layout, given, beside):
    rows = [
        _row(given, f"R{n}", "ring", along, Decimal(0), words=f"ring {n}")
        for n, along in enumerate(_every(Decimal(1), given["spacing"], given["length"]), start=1)
    ]
    return rows, [_face(given, "quay", Decimal(0), given["length"], continuous=True)]


def _floating(layout, given, beside):
    rows = [
        _row(given, f"D{n}", "cleat", along, BACK, words=f"dock cleat {n}", floats=True)
        for n, along in enumerate(_every(Decimal("0.5"), given["spacing"], given["length"]), start=1)
    ]
    return rows, [_face(given, "dock", Decimal(0), given["length"], continuous=True) | {"floats": True}]


def _every(first, spacing, length):
    places, along = [], first
    while along <= length and len(places) < 60:
        places.append(along)
        along += spacing
    return places


def _row(given, code, kind, along, out, words="", **more):
    height = given.get("bear_z") if given.get("bear_z") is not None else given.get("dock_z")
    row = {"code": code, "kind": kind, "along": along, "out": out, "words": words, "z": height}
    return row | _known(given) | more


def _pile(given, code, along, out, words):
    return _row(given, code, "pile", along, out, words, diameter=PILE, top_z=given.get("pile_top_z"))


def _face(given, code, start_at, end_at, *, continuous):
    return {
        "code": code,
        "along1": start_at,
        "out1": Decimal(0),
        "along2": end_at,
        "out2": Decimal(0),
        "top_z": given.get("dock_z"),
        "continuous": continuous,
    }
