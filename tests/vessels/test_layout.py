"""What is laid out of a boat that nobody measured: said to be an estimate, and never in the way of a measure."""

from decimal import Decimal

import pytest

from tests.cast import make_vessel
from vessels import hull
from vessels.forms import Measured
from vessels.services.layout import lay_out, lay_out_again, said

pytestmark = pytest.mark.django_db
BARE = {
    "fitted": False,
    "rub_low": None,
    "rub_high": None,
    "freeboard_estimated": False,
    "displacement": None,
}


def radio_boat(**fields):
    """As a skipper tells her: length, beam, draft, and nothing measured."""
    untold = {f"{what}_measured": None for what in ("loa", "beam", "draft")}
    return make_vessel(loa="11.3", beam="3.7", draft="1.9", **BARE | untold | fields)


def test_every_part_is_stored_and_said_to_be_an_estimate():
    vessel = lay_out(radio_boat(), loa=11.865)
    vessel.refresh_from_db()
    assert vessel.estimated == ["displacement", "fittings", "heights", "outline", "windage"]
    assert vessel.freeboard_estimated and vessel.rub_low < vessel.rub_high
    assert vessel.outline[-1][0] == pytest.approx(11.865)
    assert {fitting.code for fitting in vessel.fittings.all()} == {
        f"{place}_{side}" for place in ("bow", "mid", "stern") for side in ("port", "starboard")
    }
    assert len(said(vessel)) == 5


def test_a_cleat_is_taken_to_bear_what_the_weakest_of_the_published_tests_bore():
    """BoatUS Foundation, Findings 16: a 6 in cleat bore 1,190 lbf in its weakest direction, 5.3 kN (R-CLEAT-3).

    A boat of 11.3 m has 14 mm lines and cleats of 16 diameters, 224 mm (R-CLEAT-1); strength goes with the square
    of the length (R-CLEAT-11): 5.293 x (224 / 152.4)^2 = 11.4 kN. A small boat's cleat is little over 6 in.
    """
    vessel = lay_out(radio_boat(), loa=11.3)
    for fitting in vessel.fittings.all():
        assert fitting.strength == pytest.approx(1190 * 4.448 * (224 / 152.4) ** 2, rel=0.01)
        assert "estimate" in fitting.strength_basis and "BoatUS" in fitting.strength_basis
        assert fitting.z_estimated
    assert hull.fitting_strength(6.0)[0] == pytest.approx(5293 * (160 / 152.4) ** 2, rel=0.01)


def test_what_is_known_is_left_as_it_is():
    vessel = make_vessel(displacement=Decimal(9000))
    before = list(vessel.fittings.values_list("code", "x", "strength"))
    lay_out(vessel, loa=10.4)
    vessel.refresh_from_db()
    assert (
        vessel.displacement == 9000 and list(vessel.fittings.values_list("code", "x", "strength")) == before
    )
    assert vessel.estimated == ["outline", "windage"]


def test_without_a_kind_neither_outline_nor_wind_area_is_made_up():
    vessel = lay_out(radio_boat(hull_class=""), loa=11.3)
    assert vessel.outline is None and vessel.windage is None
    assert "outline" not in vessel.estimated


def test_estimates_follow_a_corrected_length_and_measures_do_not():
    vessel = lay_out(radio_boat(), loa=11.3)
    vessel.displacement, vessel.estimated = (
        Decimal(8000),
        [e for e in vessel.estimated if e != "displacement"],
    )
    lay_out_again(vessel, loa=12.9)
    vessel.refresh_from_db()
    assert vessel.outline[-1][0] == pytest.approx(12.9) and vessel.displacement == 8000
    assert float(vessel.fittings.get(code="bow_port").x) == pytest.approx(0.93 * 12.9, abs=0.001)
    assert vessel.fittings.count() == 6


def test_measuring_her_at_the_dock_lays_her_out_again(cast):
    vessel = lay_out(radio_boat(), loa=11.865)
    form = Measured(
        {"loa_measured": "12.9", "beam_measured": "3.7", "draft_measured": ""}, instance=vessel, by=cast.hand
    )
    assert form.is_valid(), form.errors
    form.save()
    vessel.refresh_from_db()
    assert vessel.outline[-1][0] == pytest.approx(12.9)
