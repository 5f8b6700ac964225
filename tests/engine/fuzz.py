"""Spoilt questions: good Scenarios with something deleted, emptied, swapped, mistyped or made huge; seeded.

Whatever comes in, the engine keeps one promise: it refuses with places, or it answers with finite numbers, and it
never says 'holds' while something that a good answer rests on is not known.
"""

import json
import math
from copy import deepcopy

import numpy as np

from berths.tieup import tie_up
from berths.tieup.scenario import BadScenario, read
from berths.tieup.table import as_table
from tests.engine import berthings

ODD = [
    None, True, False, "", "x", "12", [], {}, [1, 2], {"a": 1}, 0, -1, 1, 2, 7, 0.001, -0.001, 1e-9, 1e-300, 5e-324,
    0.5, 99, 100, 101, -100, 360, 720, 999, 1000, 1001, 9999, 10_000, -10_000, 1e5, 1e9, 1e10, 1.0000001e10, 1e300,
    -1e300, 10**30, "2027-10-15T04:00:00Z", "2027-10-15", "port", "pile", "fixed", "\u0000", "é" * 70,
]  # fmt: skip
FEW = {"wind_speeds": [10.3], "wind_from_deg": [60.0, 200.0]}


def good_ones():
    """Questions that can be answered, small enough to be asked ten thousand times."""
    cases = [
        {"id": f"c{i}", "level": z, "wind_speed": v, "wind_from_deg": d}
        for i, (z, v, d) in enumerate([(1.4, 0, 0), (2.4, 7, 60), (3.0, 15.4, 230), (2.0, 6, 320)])
    ]
    mild = {"water__low": 2.0, "water__high": 2.4}
    slip = [
        _line("S1", "stern_port", "D2", 4.3), _line("S2", "stern_starboard", "D1", 4.3),
        _line("M1", "mid_port", "P1", 6.6, stiffness={"ea": 120_000.0}), _line("M2", "mid_starboard", "P2", 6.6),
        _line("B1", "bow_port", "P1", 3.6), _line("B2", "bow_starboard", "P2", 3.6, tag="WH-001"),
    ]  # fmt: skip
    wall = [
        _line("L1", "bow_starboard", "P5", 8.0), _line("L2", "stern_starboard", "P0", 8.0),
        _line("L3", "bow_starboard", "P1", 11.5, via={"fitting": "P2", "turn": "slides"}),
        _line("L4", "stern_starboard", "P4", 11.5, stiffness={"table": [[0, 0], [0.1, 0.1], [0.3, 1.0]]}),
    ]  # fmt: skip
    dock = [
        _line("L1", "bow_starboard", "C3", 2.6), _line("L2", "stern_starboard", "C0", 2.2),
        _line("L3", "mid_starboard", "C3", 6.0, via={"fitting": "C2", "turn": "fixed"}),
    ]  # fmt: skip
    curve = [["2027-10-14T16:45:00Z", 2.4], ["2027-10-15T05:30:00Z", 1.6], ["2027-10-18T00:00:00Z", 1.6]]
    stream = {**FEW, "currents": [{"speed": 0.5, "toward_deg": 40.0}]}
    stay = {"arrive": "2027-10-14T18:00:00Z", "depart": "2027-10-16T12:00:00Z", "attended": False}
    full = {
        "berth__power": {"x": 5.0, "y": -1.0, "z": 4.0, "lead": 15.0},
        "berth__gangway": {"length": 12.0, "hinge_z": 4.0},
        "berth__neighbours": [{"id": "B4", "outline": [[20, 2.6], [29, 2.6], [29, 6], [20, 6]], "spreader_height": 9.0}],
        "berth__zones": [{"id": "ladder", "kind": "ladder", "x1": 8.6, "x2": 9.2, "y1": -0.3, "y2": 0.0}],
        "boat__zones": [{"id": "prop", "kind": "propeller", "x1": 1.5, "x2": 2.0, "y1": -0.3, "y2": 0.3}],
        "boat__inlet": {"x": 1.0, "y": 1.2, "z": 1.2},
        "boat__fenders": {"diameter": 0.2, "number": 4, "low": 0.05, "high": 1.0, "board": True},
        "rope": {"material": "nylon_3strand", "diameter_mm": 14.0, "stock_mm": [12, 14, 16], "longest": 20.0},
        "house": {"H7": 3.0, "overhang": 0.6, "zone": "Europe/London"},
        "stay": stay,
    }  # fmt: skip
    return [
        berthings.slip(lines=slip, cases=cases, berth__length=12.5),
        berthings.slip(lines=slip, weather=stream, water__curve=curve, berth__length=12.5, **full, **mild),
        berthings.fixed(lines=wall, cases=cases[1:2]),
        berthings.fixed(lines=wall, weather=FEW, **full, **mild),
        berthings.floating(lines=dock, weather=stream, stay=stay, **mild),
        berthings.fixed(cases=cases[:3], **full),  # nothing given: a set is chosen
        berthings.slip(cases=cases[:2]),
        berthings.floating(cases=cases[:2]),
    ]


def _line(name, boat_fitting, shore_fitting, length, **more):
    return {
        "id": name, "boat_fitting": boat_fitting, "shore_fitting": shore_fitting, "length": length,
        "material": "nylon_3strand", "diameter_mm": 14.0, "mbs": 31_000.0, **more,
    }  # fmt: skip


def spoilt(rng, data):
    """A copy with one to four things wrong with it."""
    data = deepcopy(data)
    for _ in range(rng.choice([1, 2, 3, 4], p=[0.5, 0.25, 0.15, 0.1])):
        places = list(_places(data))
        at, key = places[rng.integers(len(places))]
        SPOILERS[rng.integers(len(SPOILERS))](rng, data, at, key)
    return data


def _places(data):
    """Every (container, key) of the data, the deep ones too."""
    for key in list(data) if isinstance(data, dict) else range(len(data)):
        yield data, key
        if isinstance(data[key], dict | list):
            yield from _places(data[key])


def _odd(rng, data, at, key):
    at[key] = deepcopy(ODD[rng.integers(len(ODD))])


def _none(rng, data, at, key):
    at[key] = None


def _gone(rng, data, at, key):
    del at[key]


def _scaled(rng, data, at, key):
    if isinstance(at[key], int | float) and not isinstance(at[key], bool):
        at[key] = float(at[key] * rng.choice([-1, 0, 0.01, 0.1, 0.5, 0.9, 1.1, 2, 10, 100, 1000]))


def _swapped(rng, data, at, key):
    other = list(at)[rng.integers(len(at))] if isinstance(at, dict) else int(rng.integers(len(at)))
    at[key], at[other] = at[other], at[key]


def _from_elsewhere(rng, data, at, key):
    """A value of the same type from another place of the question: a height for a length, a name for a name."""
    like = [
        a[k] for a, k in _places(data) if type(a[k]) is type(at[key]) and not isinstance(a[k], dict | list)
    ]
    if like:
        at[key] = like[rng.integers(len(like))]


def _twice(rng, data, at, key):
    if isinstance(at, list):
        at.insert(int(rng.integers(len(at) + 1)), deepcopy(at[key]))
    elif rng.random() < 0.2:
        at[f"{key}_"] = at[key]


def _onto_another(rng, data, at, key):
    """One fitting, corner or face end at the place of another."""
    rows = [a for a, k in _places(data) if k == "x"]
    if len(rows) > 1:
        a, b = rng.choice(len(rows), 2, replace=False)
        rows[a].update({k: rows[b].get(k) for k in ("x", "y", "z") if k in rows[b]})


# the small slips that still leave a question are the ones that reach the physics: they come up more often
SPOILERS = [_odd, _none, _none, _gone, _scaled, _scaled, _scaled, _swapped, _from_elsewhere, _from_elsewhere, _twice,
            _onto_another]  # fmt: skip


def text_of(rng, data):
    """The question as JSON text; now and then cut off or garbled."""
    text = json.dumps(data)
    if rng.random() < 0.02:
        text = text[: rng.integers(len(text))]
    if rng.random() < 0.02:
        i = int(rng.integers(len(text)))
        text = text[:i] + str(rng.choice(["NaN", "-Infinity", "1e999", ",", "]", "nul", '"'])) + text[i + 1 :]
    return text


def asked(text, stands=False):
    """What becomes of a question: 'refused' or its answer. Raises AssertionError where the promise is broken."""
    try:
        scenario = read(text)
        verdict = tie_up(scenario, stands=stands)
    except BadScenario as bad:
        assert bad.faults and all(": " in fault for fault in bad.faults), bad.faults
        return "refused"
    answer = json.loads(verdict.to_json(), parse_constant=_no_number)
    assert not list(_odd_numbers(verdict.model_dump())), "a number that is none"
    table = as_table(verdict)
    assert "nan" not in table.lower().replace("finance", "") and "safe" not in table.lower()
    if answer["summary"]["answer"] == "holds":
        gaps = list(unknown(scenario))
        assert not gaps, f"'holds' though not known: {gaps}"
    return answer["summary"]["answer"]


def _no_number(name):
    raise AssertionError(f"{name} in the answer")


def _odd_numbers(value):
    if isinstance(value, dict | list | tuple):
        for part in value.values() if isinstance(value, dict) else value:
            yield from _odd_numbers(part)
    elif isinstance(value, float) and not math.isfinite(value):
        yield value


def unknown(scenario):
    """What an honest 'holds' rests on and this question does not say; told from the question alone."""
    berth, boat, water = scenario.berth, scenario.boat, scenario.water
    yield from (
        f"water.{k}" for k in ("surge_down", "surge_up") if water is None or getattr(water, k) is None
    )
    if not boat.takes_ground:
        yield from (name for name, v in (("bed_z", berth.bed_z), ("draft", boat.draft)) if v is None)
    if berth.length is None:
        yield "berth.length"
    if berth.kind == "slip" and berth.clear_width is None:
        yield "berth.clear_width"
    if berth.kind == "floating":
        yield from (k for k in ("guide_pile_top_z", "hoop_height") if getattr(berth, k) is None)
    if boat.zones is None and scenario.lines:
        yield "boat.zones"
    ashore = {f.id: f for f in berth.fittings or []}
    aboard = {f.id: f for f in boat.fittings or []}
    for line in scenario.lines or []:
        end = ashore.get(line.shore_fitting)
        if line.length is None:
            yield f"{line.id}.length"
        if end is None or None in (end.x, end.y, end.z, end.strength):
            yield f"{line.shore_fitting}"
        if line.boat_fitting not in aboard or aboard[line.boat_fitting].strength is None:
            yield f"{line.boat_fitting}.strength"
        if line.mbs is None and line.diameter_mm is None:
            yield f"{line.id}.strength"


def trial(seed):
    """The text of the question with this number."""
    rng = np.random.default_rng(seed)
    bases = good_ones()
    # choosing a set takes far longer than judging one: few of these
    weights = np.array([4, 3, 4, 3, 4, 0.3, 0.3, 0.3])
    data = bases[rng.choice(len(bases), p=weights / weights.sum())]
    return text_of(rng, spoilt(rng, data))
