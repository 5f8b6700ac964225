"""What the engine makes of the figures that a published check gives. No physics of its own: only its functions.

Each function is named by rows of `data/checks.yaml`; units stand in its docstring where they are not those of SI.
"""

from functools import cache
from pathlib import Path

import numpy as np
import yaml

from berths.tieup import lengths, rules, tie_up
from berths.tieup.energy import Energy
from berths.tieup.equilibrium import Problem
from berths.tieup.explain import working
from berths.tieup.loads import KNOT, drag, force
from berths.tieup.scenario import Case, from_data
from berths.tieup.tie import solve
from vessels import hull, rope

_DATA = Path(__file__).parent / "data"
FOOT = 0.3048  # m


@cache
def berths():
    """Invented berths with boats, whole questions as plain data, by kind."""
    return yaml.safe_load((_DATA / "example.yaml").read_text())


@cache
def example():
    """The `Working` of the greatest pull in the first of the invented berths, with the lines recommended there."""
    work, _, _ = solve(from_data(berths()["slip"]))
    worst = work.middle.band().peak_line
    return working(work, worst)


# -- rope --


def break_strength(material, inches):
    """[lbf]"""
    return rope.strength(material, inches * rope.INCH).mbs / rope.LBF


def wet_strength(material, inches):
    """[lbf]"""
    return break_strength(material, inches) * rope.wet_factor(material)


def wet_share(material):
    return rope.wet_factor(material)


def stretch_percent(material, share):
    """Stretch at a share of strength, on the middle curve. [%]"""
    return 100 * lengths.strain_at(rope.stretch(material), share)


def stretch_ratio(material, other, share):
    return stretch_percent(material, share) / stretch_percent(other, share)


def stiffness_at_break(material):
    """EA / strength from nothing to the break. [1]"""
    return 1 / rope.stretch(material)[-1][0]


def house_size(feet, stock):
    """Rope for a length over everything, from a stock in inches. [in]"""
    return rope.house_diameter(feet * FOOT, [inch * rope.INCH for inch in stock]).mm / rope.INCH


def house_size_mm(metres):
    return rope.house_diameter(metres).mm


def cleat_inches(inches):
    return rope.cleat_length_for(inches * rope.INCH) * 1000 / rope.INCH


def figure(name):
    """A limit as it stands in the table of limits."""
    return rules.table()[name]["value"]


# -- wind and stream --


def pressure(knots):
    """[Pa]"""
    return float(drag(1.221, 1.0, 1.0, knots * KNOT))


def pressure_ratio(knots, other):
    return pressure(other) / pressure(knots)


def load_kilonewtons(density, coefficient, area, knots):
    return float(drag(density, coefficient, area, knots * KNOT)) / 1000


def shallow_ratio(share, deep):
    """Cross stream at one draft over depth, to that at another. [1]"""
    return hull.shallow_factor(share, 1.0) / hull.shallow_factor(deep, 1.0)


def shallow_force(share, length_draft):
    """Cross stream of 1.5 m/s on a ship of this length x draft, deep-water coefficient 0.849. [MN]"""
    return float(drag(1026.0, 0.849 * hull.shallow_factor(share, 1.0), length_draft, 1.5)) / 1e6


def push_ahead(bearing, wind_from=None, stream_toward=None):
    """Which way along +x a wind or a stream pushes a boat that heads along it."""
    case = Case(
        id="c", wind_speed=10.0 if wind_from is not None else 0.0, wind_from_deg=wind_from,
        current_speed=1.0 if stream_toward is not None else 0.0, current_toward_deg=stream_toward,
    )  # fmt: skip
    fx = force(_scene(bearing=bearing), [case])[0, 0]
    return "ahead" if fx > 0 else "astern"


# -- lines over a range of water --


def distance(lead, rise):
    """Along a line whose far end stands `rise` higher. [m]"""
    return float(lengths.Run(lead, rise, floats=False).distance([0.0])[0])


def extra_percent(lead_over_rise):
    """What a line needs more than its lead. [%]"""
    return 100 * (distance(lead_over_rise, 1.0) / lead_over_rise - 1)


def slack_at_other_end(length, span):
    """Slack at one end of the range of a line that is straight at the other. [m]"""
    lead = (length**2 - span**2) ** 0.5
    return length - distance(lead, 0.0)


def tide_pull(lead, rise, stiffness):
    """Pull of a line that was snug and rises: share of its strength. [1]"""
    scene = _scene(
        aboard=[(0, 0)], ashore=[(-lead, 0, 1.0 + rise)], lines=[(0, 0, lead, stiffness * 20_000.0, 20_000.0)]
    )
    return float(Problem(scene, [scene.lines], [_still()]).lines(np.zeros((1, 3)))[0][0, 0] / 20_000.0)


def tide_status(lead, rise, stiffness):
    """What is said of that line when nothing lets her move."""
    scene = _scene(
        aboard=[(0, 0), (0, 0)], ashore=[(-lead, 0, 1.0 + rise), (lead, 0, 1.0 + rise)],
        lines=[(i, i, lead, stiffness * 20_000.0, 20_000.0) for i in (0, 1)],
    )  # fmt: skip
    return str(Problem(scene, [scene.lines], [_still()]).solve().status[0])


def drift(length, along, away):
    """How far she drifts square off before two equal slack lines, one each way, hold her. [m]"""
    scene = _scene(
        aboard=[(0, 0)],
        ashore=[(along, -away), (-along, -away)],
        lines=[(0, 0, length, 1e9), (0, 1, length, 1e9)],
    )
    return float(_pose(scene, [0.0, 20.0, 0.0])[1])


# -- the balance --


def straight_pull(length, ea, apart):
    """Pull of one straight line between ends so far apart. [kN]"""
    scene = _scene(aboard=[(0, 0)], ashore=[(-apart, 0)], lines=[(0, 0, length, ea)])
    return float(Problem(scene, [scene.lines], [_still()]).lines(np.zeros((1, 3)))[0][0, 0]) / 1000


def pair_pull(degrees, load):
    """Pull of each of two equal, hardly stretching lines, so far off the load's direction. [kN]"""
    a = np.radians(degrees)
    ends = [(-10 * np.cos(a), s * 10 * np.sin(a)) for s in (1, -1)]
    scene = _scene(aboard=[(0, 0)], ashore=ends, lines=[(0, i, 10.0, 1e8) for i in (0, 1)])
    return float(_pulls(scene, [1000.0 * load, 0.0, 0.0])[0]) / 1000


def shares(load, lengths_m=(10.0, 10.0), eas=(1e5, 1e5), of=0):
    """Pull of one of several parallel lines that were all just straight. [kN]"""
    ends = [(-length, 0.0) for length in lengths_m]
    rows_ = [(0, i, length, ea) for i, (length, ea) in enumerate(zip(lengths_m, eas, strict=True))]
    return (
        float(_pulls(_scene(aboard=[(0, 0)], ashore=ends, lines=rows_), [1000.0 * load, 0.0, 0.0])[of]) / 1000
    )


def lost_ratio(number):
    """How much more each of equal parallel lines pulls when one of them is gone. [1]"""
    more, less = (shares(4.0, (10.0,) * n, (1e5,) * n) for n in (number, number - 1))
    return less / more


def opposed(load, what):
    """Two opposed equal lines, 10 kN/m and 1 kN of pretension each: she moves [m], or one pulls [kN]."""
    scene = _scene(aboard=[(0, 0)], ashore=[(-10.1, 0), (10.1, 0)], lines=[(0, i, 10.0, 1e5) for i in (0, 1)])
    force_ = [1000.0 * load, 0.0, 0.0]
    return float({"moves": lambda: _pose(scene, force_)[0], "aft": lambda: _pulls(scene, force_)[0] / 1000,
                  "forward": lambda: _pulls(scene, force_)[1] / 1000}[what]())  # fmt: skip


def in_space(what):
    """A line from her fitting at (0, 3, 1.5) to a fastening at (8, 1, 0): its length [m] or part of its pull [1]."""
    scene = _scene(aboard=[(0, 3, 1.5)], ashore=[(8, 1, 0.0)], lines=[(0, 0, 8.0, 1e5)])
    problem, pose = Problem(scene, [scene.lines], [_still()]), np.zeros((1, 3))
    if what == "length":
        return float(problem.lines(pose)[1][0, 0])
    pull = problem.pulls(pose)[0, 0]
    return float(pull["xyz".index(what)] / np.linalg.norm(pull))


def turning(x, y):
    """Moment about her middle of a pull of 1 kN to starboard from this fitting. [kN m]"""
    scene = _scene(aboard=[(x, y)], ashore=[(x, y - 5.0)], lines=[(0, 0, 4.9, 49_000.0)])
    problem = Problem(scene, [scene.lines], [_still()])
    energy = Energy(problem, np.array([0])).evaluate(problem.scaled(np.zeros((1, 3))))
    return -float(energy[3, 0]) * problem.half / 1000


def left_over():
    """Forces on her in the worked example, which must add up to nothing. [N]"""
    return example().residual


def mirrored():
    """A scene and its mirror image about her axis: greatest difference of place and turn, mirrored back. [m]"""
    poses = []
    for s in (1, -1):
        scene = _scene(
            aboard=[(4, 1 * s), (-4, 1 * s)], ashore=[(7, 5 * s), (-8, 3 * s)],
            lines=[(0, 0, 5.0, 8e4), (1, 1, 4.5, 6e4)],
        )  # fmt: skip
        poses.append(_pose(scene, [500.0, -900.0 * s, 0.0]) * [1, s, s])
    return float(np.abs(poses[0] - poses[1]).max())


def scaled(times):
    """Pull when load and stiffness are both so many times as great, over the pull before. [1]"""
    before, after = (
        _pulls(_scene(aboard=[(0, 0)], ashore=[(-8, 3), (-8, -2)], lines=[(0, i, 8.4, k * 1e5) for i in (0, 1)]),
               [k * 2000.0, 0.0, 0.0])[0]
        for k in (1, times)
    )  # fmt: skip
    return float(after / before)


def turned(degrees):
    """Greatest change of the load on her when berth and wind are turned together. [N]"""
    loads = [
        force(_scene(bearing=b), [Case(id="c", wind_speed=12.0, wind_from_deg=b + 40.0)])[0]
        for b in (90.0, 90.0 + degrees)
    ]
    return float(np.abs(loads[0] - loads[1]).max())


# -- what is told, and what is recommended --


def told(berth, code, change=None):
    """Whether a flag is raised in one of the invented berths, changed at some places."""
    flags = [f for flag in _changed(berth, change).flags for f in (flag, *flag.under)]
    states = {f.state for f in flags if f.code == code}
    return "told" if "raised" in states else "not known" if states else "silent"


def answered(berth, change=None):
    return _changed(berth, change).summary.answer.replace("_", " ")


def recommended(berth, what):
    """Something about the lines that are recommended in one of the invented berths."""
    verdict = _as_it_is(berth)
    lines = [line for line in verdict.lines if not line.optional]
    springs = [line.working_length for line in lines if line.role.startswith("spring")]
    peak = verdict.summary.stiff.peak_ratio * verdict.summary.dynamic_allowance
    return {
        "lines": len(lines),
        "crossed": "crossed"
        if all(line.crossed for line in lines if line.role.startswith("stern"))
        else "straight",
        "shortest spring": min(springs) / berths()[berth]["boat"]["loa"],
        "spare": rope.wet_factor(lines[0].material) / peak,
    }[what]


@cache
def _as_it_is(berth):
    return _changed(berth, None)


def _changed(berth, change):
    data = yaml.safe_load(yaml.safe_dump(berths()[berth]))
    for path, value in (change or {}).items():
        *steps, last = (int(step) if step.isdigit() else step for step in path.split("."))
        at = data
        for step in steps:
            at = at[step]
        at[last] = value
    return tie_up(from_data(data), stands=False)


# -- small scenes: a boat of 10 x 3 m at the origin, heading along +x --


def _scene(aboard=(), ashore=(), lines=(), bearing=90.0):
    """aboard: (x, y[, z]) from her middle; ashore: (x, y[, z]); lines: (from, to, length, EA[, strength])."""
    return from_data({
        "version": 1,
        "berth": {"kind": "fixed", "bearing_deg": bearing, "fittings": [
            {"id": f"s{i}", "kind": "cleat", "x": p[0], "y": p[1], "z": p[2] if len(p) > 2 else 1.0, "floats": False}
            for i, p in enumerate(ashore)
        ]},
        "boat": {"loa": 10.0, "beam": 3.0, "x": 0.0, "y": 0.0, "heading_deg": 0.0, "fittings": [
            {"id": f"b{i}", "x": p[0] + 5.0, "y": p[1], "z": p[2] if len(p) > 2 else 1.0} for i, p in enumerate(aboard)
        ], "windage": {"frontal_area": 8.0, "side_area": 18.0, "cd_front": 0.9, "cd_side": 1.1},
           "underwater": {"frontal_area": 2.5, "side_area": 8.0, "cd_front": 0.3, "cd_side": 0.9}},
        "lines": [
            {"id": f"l{i}", "boat_fitting": f"b{r[0]}", "shore_fitting": f"s{r[1]}", "length": r[2],
             "stiffness": {"ea": r[3]}, "mbs": r[4] if len(r) > 4 else 1e9}
            for i, r in enumerate(lines)
        ] or None,
    })  # fmt: skip


def _still():
    return Case(id="still", level=0.0)


def _solved(scene, push):
    problem = Problem(scene, [scene.lines], [_still()])
    problem.force[0] = push
    return problem, problem.solve(second_start="none").pose


def _pose(scene, push):
    return _solved(scene, push)[1][0]


def _pulls(scene, push):
    problem, pose = _solved(scene, push)
    return problem.lines(pose)[0][0]


HOW = {
    f.__name__: f
    for f in (
        break_strength, wet_strength, wet_share, stretch_percent, stretch_ratio, stiffness_at_break, house_size,
        house_size_mm, cleat_inches, figure, pressure, pressure_ratio, load_kilonewtons, shallow_ratio, shallow_force,
        push_ahead, distance, extra_percent, slack_at_other_end, tide_pull, tide_status, drift, straight_pull,
        pair_pull, shares, lost_ratio, opposed, in_space, turning, left_over, mirrored, scaled, turned, told,
        answered, recommended,
    )
}  # fmt: skip
