"""Levels and weather."""

import numpy as np
import pytest

from berths.tieup import cases
from tests.engine import scenes
from tests.engine.scenes import aboard, ashore, face, line, scene

WATER = {"low": 0.4, "high": 2.8, "surge_down": 0.3, "surge_up": 0.2}


def test_thirteen_even_steps_with_surge():
    levels = cases.levels(scene(water=WATER))
    assert levels == pytest.approx(np.linspace(0.1, 3.0, 13))


def test_levels_at_which_a_line_lies_flat():
    """Line length over level is least where its two ends are level: z of the shore end - z of the boat's."""
    here = scene(
        [line("b", "s", 5.0), line("b", "f", 5.0)], [aboard("b", 5, 0, 1.0)],
        [ashore("s", 0, 3, 2.234), ashore("f", 0, -3, 2.9, floats=True), ashore("far", 0, 9, 9.0)], water=WATER,
    )  # fmt: skip
    levels = cases.levels(here)
    assert len(levels) == 14
    assert min(abs(z - 1.234) for z in levels) < 0.006


def test_levels_at_which_the_side_passes_a_dock():
    """Rub 0.3 to 0.9 m above water, dock from 1.2 to 1.6 m: 0.3, 0.7, 0.9 and 1.3 m; a floating dock has none."""
    docks = [face("d", 0, -3, 0, 3, top_z=1.6, underside_z=1.2)]
    rub = {"rub_low": 0.3, "rub_high": 0.9}
    levels = cases.levels(scene(faces=docks, boat_more=rub, water=WATER))
    for z in (0.3, 0.7, 0.9, 1.3):
        assert min(abs(z - level) for level in levels) < 0.011
    docks[0]["floats"] = True
    assert len(cases.levels(scene(faces=docks, boat_more=rub, water=WATER))) == 13


def test_levels_are_sorted_and_apart():
    levels = cases.levels(scenes.slip(tide=3.0))
    assert (np.diff(levels) > 0.01).all()
    assert levels[0] == 0.2
    assert levels[-1] == pytest.approx(3.2)


def test_standing_water_has_one_level():
    assert cases.levels(scene(water={"low": 1.0, "high": 1.0})) == [1.0]


def test_the_scenario_s_own_cases_are_taken_as_they_are():
    own = [{"id": "b", "level": 2.0}, {"id": "a", "level": 1.0}, {"id": "c", "level": 2.0}]
    here = scene(cases=own)
    assert [c.id for c in cases.build(here)] == ["b", "a", "c"]
    assert cases.levels(here) == [1.0, 2.0]


def test_weather_of_the_house_where_none_is_given():
    """Calm, and 10, 20, 30 kn from twelve directions, at each level."""
    built = cases.build(scene(water=WATER))
    assert len(built) == 13 * (1 + 36)
    assert {round(c.wind_speed, 2) for c in built} == {0.0, 5.14, 10.29, 15.43}
    assert {c.wind_from_deg for c in built if c.wind_speed} == {30.0 * i for i in range(12)}
    assert sum(c.wind_speed == 0 for c in built) == 13


def test_readable_names_no_two_alike():
    built = cases.build(scenes.slip(tide=2.6))
    names = [c.id for c in built]
    assert len(set(names)) == len(names)
    assert names[0] == "low 0.20 m, calm"
    assert "high 2.80 m, 20 kn from 240" in names
    assert max(map(len, names)) <= 60


def test_close_levels_get_more_digits():
    built = cases.grid(scene(), [1.001, 1.004], [0.0], [5.0])
    assert [c.id for c in built[::2]] == ["low 1.001 m, calm", "high 1.004 m, calm"]


def test_streams_come_alone_and_with_every_wind():
    weather = {"wind_speeds": [10.0], "wind_from_deg": [0.0, 90.0],
               "currents": [{"speed": 0.5, "toward_deg": 90.0}, {"speed": 0.4, "toward_deg": 270.0}]}  # fmt: skip
    built = cases.build(scene(water={"low": 1.0, "high": 1.0}, weather=weather))
    assert len(built) == 1 + 2 + 2 * 2
    assert built[0].wind_speed == built[0].current_speed == 0.0
    assert sum(c.wind_speed > 0 and c.current_speed > 0 for c in built) == 4


def test_grid_for_a_first_look():
    built = cases.grid(scene(), [0.0, 1.0, 2.0], [0.0, 90.0, 180.0, 270.0], [15.0])
    assert len(built) == 3 * 5
    assert [c.level for c in built[::5]] == [0.0, 1.0, 2.0]


@pytest.mark.parametrize("water", [None, {"low": 1.0}, {"high": 1.0}])
def test_water_that_is_not_known_is_said(water):
    with pytest.raises(ValueError, match=r"water.low, water.high: missing"):
        cases.build(scene(water=water))


def test_a_case_without_level_is_named():
    with pytest.raises(ValueError, match="case 'x': level is missing"):
        cases.levels(scene(cases=[{"id": "x"}]))
