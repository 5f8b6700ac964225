"""Emptying any one field of a question never turns a fault into a pass, and never breaks anything."""

import json

import pytest

from berths.tieup import tie_up
from berths.tieup.scenario import BadScenario, from_data
from tests.engine import berthings
from tests.engine.test_flags import BASIN, line, short_stern_lines

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
