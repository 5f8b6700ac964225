"""Reading a Scenario: every fault by its place, all at once, never a traceback."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from berths.tieup.scenario import BadScenario, from_data, read
from tests.engine import berthings


def faults(data):
    with pytest.raises(BadScenario) as bad:
        from_data(data)
    return bad.value.faults


WRONG = [
    ({"boat__loa": 0}, "boat.loa: must be greater than 0"),
    ({"boat__loa": True}, "boat.loa: must be a number"),
    ({"boat__loa": "9"}, "boat.loa: must be a number"),
    ({"boat__loa": 5000}, "boat.loa: must be at most 1000"),
    ({"boat__colour": "red"}, "boat.colour: not a field of this format"),
    ({"berth__kind": "mud"}, "berth.kind: must be 'floating', 'slip' or 'fixed'"),
    ({"berth__fittings__0__z": 400}, "berth.fittings[0].z: must be at most 100"),
    ({"berth__fittings__1__id": "D1"}, "berth.fittings[1].id: 'D1' is already the id of entry 0"),
    ({"version": 2}, "version: must be 1"),
    ({"cases": []}, "cases: an empty list; leave it out to have the cases built, or give at least one"),
    ({"water__low": 3.5}, "water.low: is above water.high"),
    ({"frame": {"bearing_deg": 10}}, "berth.bearing_deg: differs from frame.bearing_deg; give one of them"),
    ({"boat__hull_length": 12.0}, "boat.hull_length: is longer than loa, the length over everything"),
    ({"cases": [{"id": "a", "wind_speed": 101}]}, "cases[0].wind_speed: must be at most 100"),
    ({"cases": [{"id": "a"}, {"id": "a"}]}, "cases[1].id: 'a' is already the id of entry 0"),
    ({"house": {"H99": 1}}, "house.H99: no such rule here"),
    ({"house": {"overhang": "wide"}}, "house.overhang: must be a number from 0 to 1000"),
    ({"stay": {"arrive": "2027-10-14T20:30"}}, "stay.arrive: needs its zone"),
]


@pytest.mark.parametrize(("changes", "fault"), WRONG)
def test_a_wrong_field_is_named(changes, fault):
    assert any(line.startswith(fault) for line in faults(berthings.slip(**changes)))


LINE = {"id": "L1", "boat_fitting": "stern_port", "shore_fitting": "D2", "length": 4.0}
WRONG_LINES = [
    (
        {"shore_fitting": "P9"},
        "lines[0].shore_fitting: no fitting 'P9' at this berth (there are: D1, D2, M1, M2, P1, P2)",
    ),
    ({"boat_fitting": "davit"}, "lines[0].boat_fitting: no fitting 'davit' on this boat"),
    ({"length": -1}, "lines[0].length: must be greater than 0"),
    ({"stiffness": {}}, "lines[0].stiffness: give either ea or table"),
    (
        {"stiffness": {"table": [[0, 0.1], [0.2, 1]]}},
        "lines[0].stiffness.table: a line without stretch carries nothing",
    ),
    ({"stiffness": {"table": [[0, 0], [0.2, 1], [0.1, 1]]}}, "lines[0].stiffness.table: strain must rise"),
    (
        {"stiffness": {"table": [[0, 0], [0.1, 0.5], [0.2, 0.4]]}},
        "lines[0].stiffness.table: tension must not fall",
    ),
    ({"mbs": 1e11}, "lines[0].mbs: must be at most"),
    ({"via": {"fitting": "X"}}, "lines[0].via.fitting: no fitting 'X' at this berth"),
]


@pytest.mark.parametrize(("changes", "fault"), WRONG_LINES)
def test_a_wrong_line_is_named(changes, fault):
    assert any(line.startswith(fault) for line in faults(berthings.slip(lines=[{**LINE, **changes}])))


def test_all_faults_come_at_once():
    data = berthings.slip(
        boat__loa=-1, boat__beam="wide", berth__length=0, lines=[{**LINE, "shore_fitting": "P9"}]
    )
    assert {f.split(":")[0] for f in faults(data)} >= {
        "boat.loa", "boat.beam", "berth.length", "lines[0].shore_fitting",
    }  # fmt: skip


@pytest.mark.parametrize(
    "text", ["", "{", "[]", "null", "1", '{"version": NaN}', "[" * 100_000, '{"a": 1, "a": 2}', b"\xff"]
)
def test_text_that_is_no_scenario_is_refused(text):
    with pytest.raises(BadScenario):
        read(text)


def test_only_the_required_fields_are_needed():
    """What may be absent may also be null."""
    bare = {
        "version": 1,
        "berth": {"kind": "fixed"},
        "boat": {"loa": 9, "beam": 3, "x": 5, "y": 2, "heading_deg": 0},
    }
    assert from_data(bare) == from_data({**bare, "water": None, "lines": None, "stay": None})


scalars = st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=8))
values = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
)


@given(
    place=st.sampled_from(["boat", "berth", "lines", "cases", "water", "house", "stay", "rope", "version"]),
    value=values,
)
def test_nonsense_anywhere_is_a_fault_or_a_scenario(place, value):
    """Never anything but BadScenario, with at least one line that has a place."""
    data = {**berthings.slip(), place: value}
    try:
        read(json.dumps(data))
    except BadScenario as bad:
        assert bad.faults and all(": " in f for f in bad.faults)
