"""Hard limits: what a set of lines may not exceed in any stated case.

Each check is a use of a limit per case: up to 1 it is kept, above it is broken. Pulls are judged on the stiff
stretch curve, movement on the soft one.
"""

from dataclasses import dataclass

import numpy as np

from berths.tieup import outcome as outcomes
from vessels import rope

GRAVITY = 9.81  # m/s2
OVER = 1 + 1e-6  # use of a limit that breaks it
PER_METRE = 10.0  # a gap that is 0.1 m too small counts as much as a pull at twice its limit
PULLS = ("line", "fitting", "calm", "vertical")
MOVES = ("dock_end", "alongside", "out_of_berth", "held")


@dataclass(frozen=True)
class Broken:
    """One limit that a set breaks: by how much (as a share of the limit, or m), where, and in words."""

    limit: str
    use: float
    case: object
    line: object
    words: str
    mend: str


def pulls(outcome, figures):
    """Use of the limits on tension, (sets, cases) each."""
    width = outcome.tension.shape[2]
    strength = _per_line(outcome, lambda line: usable(line, figures), width)
    pull = outcome.tension * figures.dynamic
    out = {"line": _worst_line(pull * figures.strength_factor / strength)}
    ashore = {f.id: f.strength for f in outcome.scenario.berth.fittings}
    aboard = {f.id: f.strength for f in outcome.scenario.boat.fittings}
    weakest = _per_line(
        outcome,
        lambda line: min(ashore[line.shore_fitting] or np.inf, aboard[line.boat_fitting] or np.inf),
        width,
    )
    out["fitting"] = _worst_line(pull * figures.fitting_factor / weakest)
    calm = outcome.calm[None, :]
    out["calm"] = np.where(calm, _worst_line(outcome.tension / (outcome.mbs * figures.calm_share)), 0)
    allowed = figures.vertical_share * outcome.scenario.boat.displacement * GRAVITY
    out["vertical"] = np.where(calm, np.abs(outcome.vertical).sum(axis=2) / allowed, 0)
    return out


def usable(line, figures):
    """Strength of a line as it lies there: wet, and worn where it was found so. [N]"""
    return line.mbs * wet_share(line, figures) * (figures.worn_share if line.worn else 1.0)


def wet_share(line, figures):
    """What wet rope keeps; 1 where the strength was stated wet already: it is taken once, never twice (R-RET-14)."""
    if line.mbs_wet:
        return 1.0
    return figures.wet_nylon if line.material.startswith("nylon") else rope.wet_factor(line.material)


def moves(outcome, figures):
    """Use of the limits on where she may lie, (sets, cases) each."""
    berth = outcome.scenario.berth
    ends = outcomes.end_faces(outcome.scenario)
    gap = outcome.faces()
    zero = np.zeros(outcome.pose.shape[:2])
    held = outcome.moved() / outcome.scenario.boat.loa
    out = {"dock_end": zero, "alongside": zero, "out_of_berth": zero, "held": held}
    if ends.any():
        out["dock_end"] = 1 - PER_METRE * gap[..., ends].min(axis=2)
    if (~ends).any():
        give = np.array([f.fender_give for f, end in zip(berth.faces, ends, strict=True) if not end])
        out["alongside"] = (np.maximum(0, -gap[..., ~ends]) / give).max(axis=2)
    if berth.length is not None:
        x = outcome.corners()[..., 0]
        beyond = x.max(axis=2) - berth.length - berth.overhang
        if berth.kind != "slip":  # a slip's inner end is its dock
            beyond = np.maximum(beyond, -berth.overhang - x.min(axis=2))
        out["out_of_berth"] = 1 + PER_METRE * beyond
    return out


def _per_line(outcome, value, width):
    rows = [[value(line) for line in s] + [np.inf] * (width - len(s)) for s in outcome.sets]
    return np.array(rows, float).reshape(len(outcome.sets), 1, width)


def _worst_line(use):
    return use.max(axis=2) if use.shape[2] else np.zeros(use.shape[:2])


def worst(soft, stiff, figures):
    """Greatest use of each limit over all cases, (sets,) each; `soft` and `stiff` may be the same outcome."""
    uses = pulls(stiff, figures) | moves(soft, figures)
    return {name: use.max(axis=1) for name, use in uses.items()}


def holds_to(soft, stiff, figures, k=0):
    """Greatest stated gust up to which every limit is kept; None if one is broken without wind. [m/s]"""
    over = worst_case(soft, stiff, figures, k) > OVER
    speed = np.round([c.wind_speed or 0.0 for c in soft.cases[: soft.stated]], 6)
    first = speed[over].min() if over.any() else np.inf
    kept = [v for v in np.unique(speed) if v < first]
    return float(kept[-1]) if kept else None


def worst_case(soft, stiff, figures, k=0):
    """Greatest use of any limit in each stated case, in either place she may lie; inf where unsolved. (cases,)"""
    uses = [stiff.folded(u)[k] for u in pulls(stiff, figures).values()]
    uses += [soft.folded(u)[k] for u in moves(soft, figures).values()]
    uses += [np.where(o.folded(o.unsolved())[k], np.inf, 0.0) for o in (soft, stiff)]
    uses.append(soft.folded(1 - PER_METRE * outcomes.gap_beside(soft, k)[None])[0])
    return np.max(uses, axis=0)


def broken(soft, stiff, figures, k=0, still=None):
    """What set `k` breaks, worst first, in words with what would mend it.

    still : Outcome of the stiff curve in which the limits of calm water are told; `stiff` without it.
    """
    found, calm = [], ("calm", "vertical")
    judged = [(stiff, pulls(stiff, figures), PULLS), (soft, moves(soft, figures), MOVES)]
    if still is not None and still is not stiff:
        judged[0] = (*judged[0][:2], [name for name in PULLS if name not in calm])
        judged.append((still, pulls(still, figures), calm))
    for outcome, uses, names in judged:
        for name, use in uses.items():
            if name not in names:
                continue
            case = int(use[k].argmax())
            if use[k, case] > OVER:
                found.append(_in_words(name, float(use[k, case]), outcome, k, case, figures))
    for neighbour, (gap, case) in outcomes.neighbour_gaps(soft, k).items():
        if gap < 0:
            words = f"she reaches {-gap:.2f} m into the boat at {neighbour}"
            found.append(
                Broken("neighbour", 1 - PER_METRE * gap, soft.cases[case], None, words, "another berth")
            )
    return sorted(found, key=lambda b: -b.use)


def _in_words(name, use, outcome, k, case, figures):
    at = outcome.cases[case]
    line = None
    if name in PULLS and outcome.sets[k]:
        ratio = outcome.ratio()[k, case]
        line = outcome.sets[k][int(ratio[: len(outcome.sets[k])].argmax())]
    metres = (use - 1) / PER_METRE
    words = {
        "line": f"a line pulls {use:.1f} times what it may ({at.id})",
        "fitting": f"a fitting takes {use:.1f} times what it may ({at.id})",
        "calm": f"a line comes hard tight without any wind ({at.id})",
        "vertical": f"the lines pull up or down {use:.1f} times what they may ({at.id})",
        "dock_end": f"she comes {metres:.2f} m into the dock ({at.id})",
        "alongside": f"her fenders are pressed {use:.1f} times as far as they give ({at.id})",
        "held": f"she drifts {use * outcome.scenario.boat.loa:.1f} m: nothing keeps her in the berth ({at.id})",
        "out_of_berth": f"she reaches {metres:.2f} m past the end of the berth ({at.id})",
    }[name]
    mend = {
        "line": "thicker or longer rope, or double it to another fitting",
        "fitting": _stronger(outcome, k, case, figures) if name == "fitting" else "",
        "calm": "a longer rope led farther, or somebody to tend her",
        "vertical": "longer ropes led farther, or somebody to tend her",
        "dock_end": f"a spring that keeps her off, or a fender of {max(metres, 0.01):.2f} m of give at the dock",
        "alongside": "more or larger fenders, or a stand-off that keeps her farther from the dock",
        "out_of_berth": f"a berth {metres:.2f} m longer, or another spring against that way",
        "held": "lines that stop her that way",
    }[name]
    return Broken(name, use, at, line, words, mend)


def _stronger(outcome, k, case, figures):
    """Which fastening is too weak in this case, and what it would have to bear."""
    ashore = {f.id: f.strength for f in outcome.scenario.berth.fittings}
    aboard = {f.id: f.strength for f in outcome.scenario.boat.fittings}
    wanted = outcome.tension[k, case] * figures.dynamic * figures.fitting_factor
    ends = [
        (pull / strength, name, pull)
        for line, pull in zip(outcome.sets[k], wanted, strict=False)
        for name, strength in (
            (line.shore_fitting, ashore[line.shore_fitting]),
            (line.boat_fitting, aboard[line.boat_fitting]),
        )
        if strength
    ]
    if not ends:  # of no end is the strength known: then no fastening was found too weak
        return ""
    _, name, pull = max(ends)
    where = name.replace("_", " ")
    return f"another fastening in place of {where}, of at least {pull / 1000:.0f} kN, or a second line to share the pull"
