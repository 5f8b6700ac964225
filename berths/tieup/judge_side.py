"""What she lies against: the piles under her quarter, and what holds her when no line does."""

import numpy as np

from berths.tieup import geometry
from berths.tieup.fenders import alongside
from berths.tieup.work import not_known, raised

OF_THE_FACE = 0.6  # m; a pile nearer to a face than this is one of its piles
LEANS = 1.0  # N; less than this is no contact
SURVEY = 0.01  # m; what a tape leaves open


def judge(work):
    """Flags of what she rests on and of the directions she is pushed from."""
    return [*quarter(work), *directions(work), *only_contact(work)]


# -- the pile under her quarter --


def quarter(work):
    """Side-to on piles: her stern is to stand a little past the last pile she lies on, her corner clear of any."""
    flags = []
    for face, asked in alongside(work) if work.scenario.berth.kind != "slip" else ():
        piles = _piles_of(work, face)
        if face.floats or asked.continuous or (asked.continuous is None and len(piles) < 2):
            continue
        if asked.continuous is None:
            text = (
                f"not known whether {face.id} has gaps between its piles: cannot say what her quarter lies on"
            )
            flags.append(not_known("corner_on_edge", "fix", text, "look at it", rests_on="face"))
        elif not len(piles) or _unplaced(work):
            text = f"the last pile's place at {face.id} not surveyed: cannot say what her quarter lies on"
            flags.append(not_known("corner_on_edge", "fix", text, "survey it", rests_on="piles"))
        else:
            flags += _corner(work, face, piles)
    return flags


def _unplaced(work):
    return [
        f.id for f in work.asked.berth.fittings or [] if f.kind == "pile" and (f.x is None or f.y is None)
    ]


def _piles_of(work, face):
    """Fixed piles of a face: place along it from its first end, and radius. (n, 2) [m]"""
    a, b = np.array([face.x1, face.y1]), np.array([face.x2, face.y2])
    rows = [f for f in work.scenario.berth.fittings if f.kind == "pile" and not f.floats]
    centres = np.array([(f.x, f.y) for f in rows]).reshape(-1, 2)
    near = geometry.distance_to_segments(centres, a[None], b[None])[:, 0] <= OF_THE_FACE if rows else []
    along = (b - a) / np.linalg.norm(b - a)
    return np.array(
        [((c - a) @ along, f.diameter / 2) for c, f, n in zip(centres, rows, near, strict=True) if n]
    ).reshape(-1, 2)


def _corner(work, face, piles):
    """Her stern past the edge of the last pile ahead of it, in metres; and no pile's edge near it."""
    boat, f = work.scenario.boat, work.figures
    a, b = np.array([face.x1, face.y1]), np.array([face.x2, face.y2])
    along = (b - a) / np.linalg.norm(b - a)
    stern = float((geometry.to_berth(boat, [[0.0, 0.0]])[0] - a) @ along)
    bow = float((geometry.to_berth(boat, [[boat.loa, 0.0]])[0] - a) @ along)
    ahead = np.sign(bow - stern)
    past = (piles[:, 0] - stern) * ahead  # of each pile's middle, forward of her stern
    gaps = np.abs(past) - piles[:, 1]
    under = np.flatnonzero((past > 0) & (past < abs(bow - stern)))
    if gaps.min() < f.past_pile_least - SURVEY:
        text = f"her stern corner is {max(gaps.min(), 0.0):.2f} m from the edge of a pile of {face.id}: it catches behind or on it"
        return [_shift(text, f.past_pile_least - gaps.min())]
    last = float((past[under] - piles[under, 1]).min()) if under.size else float("inf")
    if last > f.past_pile_most + SURVEY:
        where = f"stands {last:.2f} m past the last pile" if under.size else "lies on no pile"
        text = f"her stern {where} of {face.id}; {f.past_pile_least:.1f} to {f.past_pile_most:.1f} m lets her quarter lie on it"
        return [_shift(text, last - f.past_pile_most if under.size else None)]
    return []


def _shift(text, metres):
    do = (
        f"shift her {metres:.1f} m along"
        if metres is not None
        else "shift her along until a pile is under her quarter"
    )
    more = {"amount": metres, "unit": "m", "rests_on": "where she lies, piles (R-CP-7)"}
    return raised("corner_on_edge", "fix", text, do, **more)


# -- pushed, and from where --


def directions(work):
    """Winds and streams with a speed and no direction: tried from one side only, or not at all."""
    flags = []
    for case in work.asked.cases or []:
        for name, speed, way in (
            ("wind", case.wind_speed, case.wind_from_deg),
            ("stream", case.current_speed, case.current_toward_deg),
        ):
            if speed and way is None:
                flags.append(_no_direction(name, f"in case {case.id}", case.id))
    for stream in (work.asked.weather and work.asked.weather.currents) or []:
        if stream.speed and stream.toward_deg is None:
            flags.append(_no_direction("stream", f"of {stream.speed:g} m/s", None))
    return flags


def _no_direction(name, where, case):
    text = f"direction of the {name} {where} not known: cannot say what she is pushed against"
    return not_known("only_contact", "fix", text, "set it", case=case, rests_on="wind and stream")


def only_contact(work):
    """Wind that leaves every line slack and holds her on a pile, a corner or a dock end."""
    if not work.solved:
        return []
    outcome = work.middle
    pushed = (outcome.status[0] == "all_slack") & ~outcome.calm
    if not pushed.any():
        return []
    along_her = {face.id for face, _ in alongside(work)}
    rows = outcome.problem.contacts(outcome.solution.pose)
    hard = [r for r in rows if r["force"] > LEANS and pushed[r["row"]]]
    hard = [r for r in hard if not (r["kind"] == "face" and r["id"] in along_her)]
    if not hard:
        return []
    on, cases = sorted({str(r["id"]) for r in hard}), sorted({int(r["row"]) for r in hard})
    case = outcome.cases[cases[0]]
    names = on[0] if len(on) == 1 else f"{', '.join(on[:-1])} or {on[-1]}"
    text = f"in {len(cases)} case{'s' if len(cases) > 1 else ''} no line holds her: she lies on {names} until the wind turns (first: {case.id})"
    more = {"case": case.id, "level": case.level, "amount": len(cases), "unit": "cases", "rests_on": "cases"}
    return [raised("only_contact", "fix", text, "a line that takes her off it", fitting=on[0], **more)]
