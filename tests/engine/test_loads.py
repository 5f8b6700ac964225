"""Wind and stream against printed arithmetic and signs that can be seen."""

import numpy as np
import pytest

from berths.tieup.loads import KNOT, coefficient, drag, force
from tests.engine.scenes import scene, still

AIR = 1.221  # kg/m3, UFC 4-159-03 Table 4-2
WIND = {"frontal_area": 20.0, "side_area": 20.0, "cd_front": 1.1, "cd_side": 1.1}


@pytest.mark.parametrize(
    ("knots", "pascal"), [(15, 36.4), (30, 145.4), (45, 327.2), (60, 581.7), (100, 1615.7)]
)
def test_wind_pressure(knots, pascal):
    """R-WIND-1: density printed in UFC 4-159-03."""
    assert coefficient("air_density").value == AIR
    assert drag(coefficient("air_density").value, 1.0, 1.0, knots * KNOT) == pytest.approx(pascal, abs=0.1)


@pytest.mark.parametrize(("knots", "pascal"), [(35, 197.9), (64, 661.8), (95, 1458.2)])
def test_wind_pressure_of_the_service_types(knots, pascal):
    """R-WIND-2: speeds of UFC 4-159-03 Table 3-6b."""
    assert drag(AIR, 1.0, 1.0, knots * KNOT) == pytest.approx(pascal, abs=0.1)


def test_wind_pressure_in_pounds_and_feet():
    """R-WIND-4: 0.003376 lbf / ft2 per knot squared."""
    assert drag(AIR, 1.0, 0.3048**2, KNOT) / 4.4482216 == pytest.approx(0.003376, rel=0.005)


def test_square_law():
    """R-WIND-6: twice the speed four times the load; 20 to 25 kn 1.5625 times."""
    assert drag(AIR, 1, 1, 2 * 7.3) == pytest.approx(4 * drag(AIR, 1, 1, 7.3))
    assert drag(AIR, 1, 1, 25) / drag(AIR, 1, 1, 20) == pytest.approx(1.5625)
    assert drag(AIR, 1, 1, -9.0) == -drag(AIR, 1, 1, 9.0)


@pytest.mark.parametrize(("coefficient_", "area", "kilonewtons"), [(-0.73, 818, -346), (0.13, 3225, 243)])
def test_a_tanker_in_sixty_knots(coefficient_, area, kilonewtons):
    """R-WIND-15 and -16, OCIMF Mooring Equipment Guidelines 2nd ed. App. D; it rounds 7,557 to 7,600 (R-WIND-19)."""
    ours = drag(1.223, coefficient_, area, 60 * KNOT) / 1000 * 7557 / 7600
    assert ours == pytest.approx(kilonewtons, abs=0.5)


@pytest.mark.parametrize(("coefficient_", "kilonewtons"), [(0.175, 597), (0.45, 1534)])
def test_a_tanker_in_two_knots_of_stream(coefficient_, kilonewtons):
    """R-WIND-18, the same example: draft 19.2 m, length 329.3 m, density 1025."""
    ours = drag(1025, coefficient_, 19.2 * 329.3, 2 * KNOT) / 1000 * 7557 / 7600
    assert ours == pytest.approx(kilonewtons, abs=1.0)


def test_plain_loads():
    """By hand: 15 m/s on 20 m2 at Cd 1.1 is 3022.0 N; 1 m/s on 2.5 m2 at Cd 0.3 is 384.4 N."""
    case = still(wind_speed=15.0, wind_from_deg=270.0)
    assert force(scene(boat_more={"windage": WIND}), [case])[0] == pytest.approx([3022.0, 0, 0], abs=0.05)
    case = still(current_speed=1.0, current_toward_deg=90.0)
    assert force(scene(), [case])[0] == pytest.approx([384.4, 0, 0], abs=0.05)


def test_wind_comes_from_and_stream_goes_toward():
    """R-CF-25: wind from 270 and stream toward 090 push the same way, +x where the bearing is 090."""
    wind, stream = force(scene(bearing=90.0), [
        still(wind_speed=10.0, wind_from_deg=270.0), still(current_speed=1.0, current_toward_deg=90.0),
    ])  # fmt: skip
    assert wind[0] > 0
    assert stream[0] > 0
    assert wind[1] == pytest.approx(0, abs=1e-9)
    assert stream[1] == pytest.approx(0, abs=1e-9)


def test_bearing_230_wind_from_230_pushes_her_in():
    fx, fy, _ = force(scene(bearing=230.0), [still(wind_speed=10.0, wind_from_deg=230.0)])[0]
    assert fx < 0
    assert fy == pytest.approx(0, abs=1e-9)


def test_wind_from_the_right_of_x_pushes_to_y():
    """Bearing 000: +x north, +y west; an east wind pushes west."""
    fx, fy, _ = force(scene(bearing=0.0), [still(wind_speed=10.0, wind_from_deg=90.0)])[0]
    assert fy > 0
    assert fx == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("heading", [0.0, 37.0, 180.0, 250.0])
def test_heading_turns_which_face_is_hit(heading):
    """Wind from dead ahead, whatever way she lies, gives the bow-on load straight astern of her."""
    boat = scene(bearing=90.0, boat_more={"heading_deg": heading})
    fx, fy, _ = force(boat, [still(wind_speed=12.0, wind_from_deg=90.0 - heading)])[0]
    expected = -drag(AIR, 0.9, 8.0, 12.0) * np.array(
        [np.cos(np.radians(heading)), np.sin(np.radians(heading))]
    )
    assert (fx, fy) == pytest.approx(expected)


def test_a_quartering_wind_gives_half_of_each_face():
    """v|v| by component: at 45 degrees half of the load ahead and half of that across, not 0.707."""
    boat = scene(bearing=90.0)
    fx, fy, _ = force(boat, [still(wind_speed=10.0, wind_from_deg=225.0)])[0]
    assert fx == pytest.approx(drag(AIR, 0.9, 8.0, 10.0) / 2)
    assert fy == pytest.approx(drag(AIR, 1.1, 18.0, 10.0) / 2)


def test_wind_stream_and_moment_add_up():
    boat = scene()
    one = force(boat, [still(wind_speed=9.0, wind_from_deg=200.0)])
    two = force(boat, [still(current_speed=0.7, current_toward_deg=10.0)])
    both = force(boat, [still(wind_speed=9.0, wind_from_deg=200.0, current_speed=0.7, current_toward_deg=10.0,
                              yaw_moment=-350.0)])  # fmt: skip
    assert both == pytest.approx(one + two + [0, 0, -350.0])


def test_absent_weather_is_no_load():
    assert np.array_equal(force(scene(), [still(), still(wind_speed=0.0)]), np.zeros((2, 3)))
    assert force(scene(), []).shape == (0, 3)


@pytest.mark.parametrize(("boat", "case", "words"), [
    ({}, {"wind_speed": 5.0}, "case 'still': wind_speed without wind_from_deg"),
    ({}, {"current_speed": 1.0}, "current_speed without current_toward_deg"),
    ({"windage": None}, {"wind_speed": 5.0, "wind_from_deg": 0.0}, "boat.windage.frontal_area: missing"),
    ({"underwater": {"frontal_area": 1.0, "side_area": 3.0, "cd_front": 0.3}},
     {"current_speed": 1.0, "current_toward_deg": 0.0}, "boat.underwater.cd_side: missing"),
])  # fmt: skip
def test_what_is_missing_is_named(boat, case, words):
    with pytest.raises(ValueError, match=words):
        force(scene(boat_more=boat), [still(**case)])
