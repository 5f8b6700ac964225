"""Emptying any one field of a question never turns a fault into a pass, and never breaks anything."""

import json

import pytest

from berths.tieup import tie_up
from berths.tieup.scenario import BadScenario, from_data
from tests.engine import berthings
from tests.engine.test_flags import BASIN, line, short_stern_lines
from tests.engine.test_flags_care import wall_set

FEW_WINDS = {"wind_speeds": [15.4], "wind_from_deg": [60.0, 200.0]}


def hung():
    return berthings.slip(lines=short_stern_lines(), water__curve=BASIN, weather=FEW_WINDS)


def at_the_wall(**changes):
    """Lines that are there: choosing a set two hundred times over would prove no more, and take a minute."""
    return berthings.fixed(weather=FEW_WINDS, lines=[
        line("L1", "bow_starboard", "P5", 6.0), line("L2", "stern_starboard", "P0", 6.0),
        line("L3", "bow_starboard", "P2", 8.6), line("L4", "stern_starboard", "P3", 8.6),
    ], **changes)  # fmt: skip


def aground():
    return at_the_wall(berth__bed_z=-1.0)


def over_the_dock():
    return at_the_wall(berth__faces__0__top_z=3.4)


def low_piles():
    lines = [line("L1", "bow_starboard", "C3", 2.6), line("L2", "stern_starboard", "C0", 2.2),
             line("L3", "bow_starboard", "C1", 6.2)]  # fmt: skip
    return berthings.floating(berth__guide_pile_top_z=3.8, weather=FEW_WINDS, lines=lines)


def too_long():
    lines = [line("S1", "stern_port", "D2", 4.4), line("S2", "stern_starboard", "D1", 4.4),
             line("M1", "mid_port", "P1", 6.0), line("M2", "mid_starboard", "P2", 6.0),
             line("B1", "bow_port", "P1", 2.6), line("B2", "bow_starboard", "P2", 2.6)]  # fmt: skip
    return berthings.slip(boat__loa=12.2, boat__x=6.7, weather=FEW_WINDS, lines=lines)


def leaves(data, path=()):
    """Every place in the data that can be emptied, as a path of keys and positions."""
    rows = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in rows:
        yield (*path, key)
        yield from leaves(value, (*path, key))


def emptied(data, path):
    data = json.loads(json.dumps(data))
    at = data
    for step in path[:-1]:
        at = at[step]
    at[path[-1]] = None
    return data


@pytest.mark.parametrize("scene", [hung, aground, low_piles, too_long, over_the_dock])
def test_no_emptied_field_turns_a_fault_into_a_pass(scene):
    """It may turn it into 'not known', or be refused by name."""
    data = scene()
    assert tie_up(from_data(data), stands=False).summary.answer == "does_not_hold"
    tried = 0
    for path in leaves(data):
        if path == ("lines",) or {"weather", "curve", "outline", "windage"} & set(path):
            continue  # another question; estimated by rule and said; only the clock time of a flag
        if any(isinstance(step, int) and step > 1 for step in path):
            continue  # two of each are enough
        try:
            verdict = tie_up(from_data(emptied(data, path)), stands=False)
        except BadScenario as bad:
            assert all(": " in fault for fault in bad.faults)
            continue
        tried += 1
        assert verdict.summary.answer != "holds", f"{'.'.join(map(str, path))} emptied: {verdict.summary}"
    assert tried > 40


# -- the same for what is to be put right --


MILD = {"wind_speeds": [10.3], "wind_from_deg": [60.0, 200.0]}


def in_order(**changes):
    """Four lines that hold her in a mild wind, and nothing that is not known."""
    return berthings.fixed(lines=wall_set(), weather=MILD, **changes)


def crossing_gear():
    gear = [{"id": "gear", "kind": "ladder", "x1": 13.2, "x2": 13.8, "y1": -0.2, "y2": 1.5}]
    return in_order(berth__zones=gear)


def dry():
    return in_order(berth__bed_z=0.4, boat__draft=0.9, boat__takes_ground=False)


def between_piles():
    return in_order(boat__fenders={"diameter": 0.2, "number": 2, "low": 0.05, "high": 0.9, "board": False})


def on_an_edge():
    return in_order(boat__x=7.5)


def over_a_coping():
    data = in_order(berth__faces__0__top_z=3.9, berth__faces__0__sharp=True, berth__faces__0__continuous=True)
    for fitting in data["berth"]["fittings"]:
        fitting |= {"kind": "bollard", "y": -0.8, "z": 4.15}
        fitting.pop("top_z"), fitting.pop("diameter")
    data["lines"] = [row | {"chafe_gear": False, "length": row["length"] + 0.6} for row in data["lines"]]
    return data


def stiff_beside_soft():
    data = in_order()
    data["lines"][3] |= {"material": "hmpe", "shore_fitting": "P5", "length": 13.0}
    data["lines"][0] |= {"material": "nylon_3strand"}
    return data


def three_on_one():
    data = in_order()
    data["lines"].append(line("X", "bow_starboard", "P4", 5.5))
    return data


def short_lead():
    post, inlet = {"x": 7.0, "y": -1.0, "z": 4.0, "lead": 3.0}, {"x": 1.0, "y": -1.9, "z": 1.2}
    return in_order(berth__power=post, boat__inlet=inlet)


def untended():
    return in_order(water__low=-0.6, water__range=3.3, stay={"attended": False})


FAULTS = [
    (crossing_gear, "over_gear"), (dry, "cannot_take_ground"), (between_piles, "fender_misses"),
    (on_an_edge, "corner_on_edge"), (over_a_coping, "chafe"), (stiff_beside_soft, "mixed_stretch"),
    (three_on_one, "crowded_fitting"), (short_lead, "power_reach"), (untended, "tend_her"),
]  # fmt: skip


OTHER_QUESTIONS = {("lines",), ("berth", "zones"), ("berth", "power")}  # no lines, no ladders, no post
TOLD_OF_ITSELF = {
    "weather",
    "curve",
    "outline",
    "windage",
    "fittings",
}  # estimated by rule and said, or walked above


def spoken(verdict):
    """Codes of all that is said, and whether anything of weight is not known."""
    flat = [f for flag in verdict.flags for f in (flag, *flag.under)]
    return {f.code for f in flat}, any(f.state == "not_known" and f.severity != "note" for f in flat)


@pytest.mark.parametrize(("scene", "code"), FAULTS, ids=[code for _, code in FAULTS])
def test_no_emptied_field_silences_a_flag(scene, code):
    """It is still raised, or something is not known that nothing else left so, or it is refused by name."""
    data = scene()
    said, gaps = spoken(tie_up(from_data(data), stands=False))
    assert code in said and not gaps
    for path in leaves(data):
        if path in OTHER_QUESTIONS or TOLD_OF_ITSELF & set(path):
            continue
        try:
            said, gaps = spoken(tie_up(from_data(emptied(data, path)), stands=False))
        except BadScenario as bad:
            assert all(": " in fault for fault in bad.faults)
            continue
        assert code in said or gaps, f"{'.'.join(map(str, path))} emptied"
