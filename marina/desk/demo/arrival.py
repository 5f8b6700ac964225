"""The boat on the radio: she gets the best free berth by the same rules as on the site, and her tie-up."""

from berths.cards.facts import reader_of
from berths.models import Stay
from berths.selectors.options import Teller, asked_for, options
from berths.services import tieups
from berths.services.stays import book_stay
from marina.base import clock, house
from marina.desk.demo.rows import data, ensure, metres
from vessels.models import Vessel
from vessels.services.layout import lay_out


def place(loading):
    """Give the boat on the radio a berth, unless she has one.

    Returns
    -------
    stay : Stay
    option : Option or None
        Why this berth; None when she had been placed before.

    Raises
    ------
    LookupError
        With the reason, when no berth of the kind she asks for is free for her.
    """
    row, by = data("stays")["on_the_radio"], loading.users["harbourmaster"]
    boat = _vessel(loading, row)
    known = Stay.objects.filter(vessel=boat, state__in=("booked", "fast")).order_by("-arrive").first()
    if known:
        return known, None
    arrive, depart = loading.time(row["arrives"]), loading.time(row["departs"])
    rules = house.rules()
    found = options(asked_for(boat, rules), arrive, depart, Teller(reader_of(by), clock.today()))
    option = next((o for o in found.fitting if o.berth.kind in row["asks_for"]), None)
    if option is None:
        raise LookupError(f"no slip is free for {boat}: see the list of berths on the site")
    fit = option.fit
    stay = book_stay(
        vessel=boat,
        berth=option.berth,
        raft_place=option.raft_place,
        arrive=arrive,
        depart=depart,
        side_to=fit.side_to,
        side_told=fit.side_to,
        end_in=fit.end_in,
        note="On the radio.",
        by=by,
    )
    return stay, option


def tie_up_of(stay, by):
    """Her tie-up: the one that counts, worked out now if there is none or it is out of date."""
    return tieups.work_out_all([stay], by)[0]


def _vessel(loading, row):
    """As she is entered from a radio call: what she declared, the rest by estimate."""
    told = row["declared"]
    kind = data("boats")["classes"][row["class"]]
    values = {"mark": row["mark"], "contact": "on the radio", "hull_class": row["class"], "note": "invented"}
    for field in ("loa", "beam", "draft"):
        values |= {
            f"{field}_declared": metres(told[field]),
            f"{field}_declared_on": loading.day(told["day"]),
            f"{field}_declared_by": "her skipper",
        }
    known = Vessel.objects.filter(name=row["name"]).first()
    if known:
        return known
    boat = ensure(
        Vessel,
        {"name": row["name"]},
        displacement=row["displacement"] * 1000,
        inlet_side=row["inlet"],
        inlet_x=metres(round(kind["inlet"] * told["loa"], 2)),
        propellers="single",
        propeller_turn="right",
        thruster="none",
        takes_ground=False,
        own_lines=row["own_lines"],
        **values,
    )
    loa, _ = boat.length_that_counts(house.rules())
    return lay_out(boat, loa=float(loa))
