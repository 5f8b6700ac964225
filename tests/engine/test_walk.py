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


def aground():
    return berthings.fixed(berth__bed_z=-1.0, weather=FEW_WINDS, lines=[
        line("L1", "bow_starboard", "P5", 6.0), line("L2", "stern_starboard", "P0", 6.0),
        line("L3", "bow_starboard", "P2", 8.6), line("L4", "stern_starboard", "P3", 8.6),
    ])  # fmt: skip


def low_piles():
    return berthings.floating(berth__guide_pile_top_z=3.8, weather=FEW_WINDS)


def too_long():
    return berthings.slip(boat__loa=12.2, boat__x=6.7, weather=FEW_WINDS)


def over_the_dock():
    return berthings.fixed(berth__faces__0__top_z=3.4, weather=FEW_WINDS)


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
