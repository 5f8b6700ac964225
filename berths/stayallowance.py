"""What the page of a stay shows of its allowance for weather: what counts, what the gauge says, and the form."""

from berths.cards.facts import reader_of
from berths.selectors.waterpage import gauge_of, held_against, offer_for_stay
from berths.waterforms import StayAllowance, StayLeaves
from berths.window import Surge, WaterSpan
from marina.base import clock

LIVE = ("booked", "fast")


def allowing(request, stay, window, typed=None):
    """Nothing for a stay that is over. The gauge is told to staff, the form is the harbourmaster's.

    Parameters
    ----------
    window : WaterWindow
        Of the stay.
    typed : StayAllowance, optional
        The form that was refused, with what was typed.
    """
    if stay.state not in LIVE:
        return {}
    found = {"house_surge": stay.berth.water.surge_down, "house_surge_up": stay.berth.water.surge_up}
    if request.user.is_holder:
        return found
    reader = reader_of(request.user)
    reading = gauge_of(stay.berth.water, clock.now())
    if reading is not None:
        found["gauge"] = held_against(
            reading, WaterSpan.of(stay.berth.water, reading.at, reading.at), Surge.of_stay(stay)
        )
    if request.user.is_harbourmaster:
        start = {
            "surge_down": window.surge_down,
            "surge_up": window.surge_up,
            "surge_reason": stay.surge_reason,
        }
        found["allowance_form"] = typed or StayAllowance(initial=start, units=reader.units)
        found["leaves_form"] = StayLeaves(initial={"depart": stay.depart})
        found["allowance_open"] = typed is not None
        found["gauge_offer"] = reading and offer_for_stay(stay, reading, reader)
    return found
