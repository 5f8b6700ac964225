"""The boat on the radio: she gets the best free berth by the same rules as on the site, and her tie-up."""

from berths.cards.facts import reader_of
from berths.models import Stay
from berths.selectors.options import Teller, asked_for, options
from berths.services import placing
from marina.base import clock, house
from marina.desk.demo.rows import data, metres
from vessels.models import Vessel


def place(loading):
    """Give the boat on the radio a berth, unless she has one.

    Returns
    -------
    stay : Stay
        With her tie-up worked out.
    option : Option or None
        Why this berth; None when she had been placed before.

    Raises
    ------
    LookupError
        With the reason, when no berth of the kind she asks for is free for her.
    """
    row, by = data("stays")["on_the_radio"], loading.users["harbourmaster"]
    known = Stay.objects.filter(vessel__name=row["name"], state__in=("booked", "fast"))
    if stay := known.select_related("vessel", "berth").order_by("-arrive").first():
        return stay, None
    boat = Vessel.objects.filter(name=row["name"]).first() or _told(loading, row)
    arrive, depart = loading.time(row["arrives"]), loading.time(row["departs"])
    found = options(asked_for(boat, house.rules()), arrive, depart, Teller(reader_of(by), clock.today()))
    option = next((o for o in found.fitting if o.berth.kind in row["asks_for"]), None)
    if option is None:
        raise LookupError(f"no slip is free for {boat}: see the list of berths on the site")
    return placing.place(boat=boat, option=option, arrive=arrive, depart=depart, by=by), option


def _told(loading, row):
    """As she is entered from a radio call: what she declared; the rest is laid out by estimate."""
    told = row["declared"]
    measures = {}
    for field in ("loa", "beam", "draft"):
        measures |= {
            f"{field}_declared": metres(told[field]),
            f"{field}_declared_on": loading.day(told["day"]),
            f"{field}_declared_by": "her skipper",
        }
    return Vessel(
        name=row["name"],
        mark=row["mark"],
        contact="on the radio",
        hull_class=row["class"],
        displacement=row["displacement"] * 1000,
        inlet_side=row["inlet"]["side"],
        inlet_x=metres(row["inlet"]["x"]),
        inlet_z=metres(row["inlet"]["z"]),
        propellers="single",
        propeller_turn="right",
        thruster="none",
        takes_ground=False,
        own_lines=row["own_lines"],
        note="invented",
        **measures,
    )
