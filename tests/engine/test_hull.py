"""Estimates for boats nobody has measured."""

import numpy as np
import pytest

from berths.tieup.between import STANDARD_FITTINGS
from berths.tieup.loads import drag
from vessels import hull

CLASSES = (None, *hull.CLASSES)
# R-WIND-20: transverse current force by draft / depth, UFC 4-159-03 Table 4-6
SHALLOW = [(0.096, 1.0), (0.288, 1.203), (0.576, 1.878), (0.72, 2.382), (0.96, 3.472)]


@pytest.mark.parametrize(("share", "ratio"), SHALLOW)
def test_shallow_water_against_the_printed_ratios(share, ratio):
    """R-WIND-20, UFC 4-159-03 eq. 11 to 13 and Table 4-6."""
    factor = hull.shallow_factor(share * 10, 10) / hull.shallow_factor(0.96, 10)
    assert factor == pytest.approx(ratio, rel=0.005)


@pytest.mark.parametrize(("share", "meganewtons"), [(0.096, 0.547), (0.288, 0.658), (0.576, 1.028), (0.72, 1.303),
                                                    (0.96, 1.899)])  # fmt: skip
def test_shallow_water_against_the_printed_ship(share, meganewtons):
    """R-WIND-21, the same table: 1.5 m/s, draft 4.389 m, length 124.36 m, density 1026, deep coefficient 0.849."""
    force = drag(1026, 0.849 * hull.shallow_factor(share * 10, 10), 124.36 * 4.389, 1.5) / 1e6
    assert force == pytest.approx(meganewtons, rel=0.005)


def test_shallow_factor_stays_where_the_table_ends():
    assert hull.shallow_factor(2.0, 2.0) == hull.shallow_factor(2.0, 0.0) == hull.shallow_factor(0.96, 1.0)
    assert hull.shallow_factor(0.0, 5.0) == 1.0


def test_shallow_water_raises_only_the_coefficient_across():
    deep, shallow = hull.underwater(10.0), hull.underwater(10.0, draft=1.8, depth=2.0)
    assert shallow.pop("cd_side") == pytest.approx(deep.pop("cd_side") * hull.shallow_factor(1.8, 2.0))
    assert deep == shallow


@pytest.mark.parametrize("kind", CLASSES)
@pytest.mark.parametrize(("loa", "beam"), [(5.6, 2.2), (11.0, 3.6), (18.0, 5.0)])
def test_windage_lies_in_the_usual_bands(kind, loa, beam):
    """From memory in the references: side 0.09 to 0.20 LOA2 and a mast's 2 to 6 m2; drag 0.8-1.0 and 1.0-1.2."""
    areas = hull.windage(loa, beam, kind)
    mast = 0.4 * loa if kind in ("sail", "catamaran") else 0.0
    assert 0.09 * loa**2 <= areas["side_area"] - mast + 1e-9 <= 0.20 * loa**2
    assert 0.8 <= areas["cd_front"] <= 1.0 <= areas["cd_side"] <= 1.2
    assert 0 < areas["frontal_area"] < areas["side_area"] * 1.2


def test_an_unknown_boat_is_given_a_cabin_boat_s_windage():
    assert hull.windage(10.0, 3.4) == hull.windage(10.0, 3.4, "motor")


def test_fittings_are_the_six_that_a_scenario_names():
    rows = {row["id"]: row for row in hull.fittings(10.0, 3.0)}
    assert tuple(rows) == STANDARD_FITTINGS
    assert rows["bow_port"] == {"id": "bow_port", "x": 9.3, "y": pytest.approx(0.39), "z": pytest.approx(1.2)}
    assert rows["stern_starboard"]["y"] == pytest.approx(-1.26)
    assert rows["mid_port"]["z"] == pytest.approx(0.9)


@pytest.mark.parametrize("kind", CLASSES)
def test_outlines_are_port_halves_that_fit_her(kind):
    half = np.array(hull.outline(10.0, 3.4, kind))
    assert (half[:, 1] >= 0).all()
    assert hull.dent(half) == pytest.approx(0.0, abs=1e-9)
    whole = hull.closed_outline(half)
    assert np.ptp(whole, axis=0) == pytest.approx([10.0, 3.4])
    assert len(whole) <= 12  # every corner costs time in contact
    fittings = np.array([[f["x"], abs(f["y"])] for f in hull.fittings(10.0, 3.4)])
    deck = np.interp(fittings[:, 0], half[:, 0], half[:, 1])
    assert (fittings[:, 1] <= deck + 0.25).all()  # laid out on her, give or take a hand


def test_pointed_bows_except_where_there_is_none():
    for kind in ("sail", "motor", "open", "work"):
        assert hull.outline(10.0, 3.4, kind)[-1] == (10.0, 0.0)
    assert hull.outline(10.0, 3.4) == [(0.0, 1.7), (10.0, 1.7)]


def test_outline_turning_sense_and_repeated_point_do_not_matter():
    ring = [(0, -1), (8, -1), (10, 0), (8, 1), (0, 1)]
    one = hull.closed_outline(ring)
    assert np.array_equal(one, hull.closed_outline(ring[::-1]))
    assert np.array_equal(one, hull.closed_outline([*ring, ring[0]]))
    x, y = one.T
    assert 0.5 * np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) == pytest.approx(
        18.0
    )  # > 0: counter-clockwise


def test_points_along_a_straight_side_are_left_out():
    side = [(x, 1.5 + 0.002 * np.sin(x)) for x in np.linspace(0, 10, 30)]
    assert len(hull.closed_outline(side)) == 4


def test_no_left_out_point_is_farther_than_5_mm():
    angle = np.linspace(0, np.pi, 400)
    half = np.column_stack([5 - 5 * np.cos(angle), 1.7 * np.sin(angle)])
    whole = hull.closed_outline(half)
    assert len(whole) < 70
    edges = np.roll(whole, -1, axis=0) - whole
    outward = np.column_stack([edges[:, 1], -edges[:, 0]]) / np.hypot(*edges.T)[:, None]
    depth = ((half[:, None] - whole) * outward).sum(axis=2).max(axis=1)
    assert depth.max() < 0.005


def test_a_dented_outline_is_filled_and_the_dent_measured():
    dented = [(0, 1.5), (5, 0.9), (10, 1.5)]
    assert hull.dent(dented) == pytest.approx(0.6)
    assert len(hull.closed_outline(dented)) == 4


def test_an_outline_without_area_is_refused():
    with pytest.raises(ValueError, match="encloses no area"):
        hull.closed_outline([(0, 0), (5, 0), (10, 0)])


def test_side_that_can_touch_and_weight():
    assert hull.rub_band(11.0) == pytest.approx((0.3, 0.99))
    assert hull.rub_band(3.0) == pytest.approx((0.3, 0.5))
    assert hull.displacement(10.0, 3.4, draft=1.8) == hull.displacement(10.0, 3.4)  # a keel displaces little
    assert hull.displacement(10.0, 3.4, draft=0.3) < hull.displacement(10.0, 3.4)
    assert 3_000 < hull.displacement(10.0, 3.4) < 9_000


def test_an_unknown_class_is_refused():
    with pytest.raises(ValueError, match="no class of hull called 'raft'"):
        hull.outline(5.0, 2.0, "raft")
