"""Cards made by hand for tests and the bench: the facts of a stay, and tie-ups of every answer."""

from dataclasses import replace
from datetime import date, timedelta
from types import SimpleNamespace
from zoneinfo import ZoneInfo

from berths.cards.card import Facts, Turn, compose
from berths.cards.words import Reader
from tests.berths import tieups

LONDON = ZoneInfo("Europe/London")
READER = Reader(zone=LONDON)
NOW = tieups.NOON + timedelta(minutes=55)
LONG_NAME = "The Exceedingly Long and Windy Wanderer of Wendlow Haven XVII"[:60]


def flag(kind, message, *, code="grounds_at_low", do="", place="", level=None):
    return SimpleNamespace(
        kind=kind, code=code, message=message, do=do, place=place, level=level, accepted=None
    )


def facts(**changes):
    given = Facts(
        berth="B3",
        kind="slip",
        boat="Slow Biscuit",
        mark="blue hull, one mast",
        side_to="stern",
        url="https://haven.example/stays/123/card/",
        today=date(2027, 10, 14),
        printed=NOW,
        now=0.93,
        turns=(
            Turn(tieups.NOON + timedelta(hours=6, minutes=19), 2.28, True),
            Turn(tieups.NOON + timedelta(hours=12, minutes=40), 0.41, False),
        ),
        datum="chart datum",
        water_source="Wendlow Bar",
        look_again=(tieups.NOON + timedelta(hours=12, minutes=10), "before low"),
        channel="12",
        telephone="01632 960 123",
        worked_out=NOW - timedelta(minutes=3),
        holds_until=tieups.NOON + timedelta(days=2),
        marks={"WH-044": "one band"},
    )
    return replace(given, **changes)


def slip_card(**changes):
    return compose(facts(**changes), tieups.slip(), tieups.slip_answer(), READER)


def fixed_card(**changes):
    changes = {"berth": "C4", "kind": "fixed", "boat": "Plum Halyard", "side_to": "starboard"} | changes
    return compose(facts(**changes), tieups.alongside(), tieups.alongside_answer(), READER)


def floating_card(**changes):
    changes = {"berth": "A2", "kind": "floating", "boat": "Tin Whistle", "side_to": "starboard"} | changes
    return compose(facts(**changes), tieups.alongside("floating"), tieups.alongside_answer(), READER)


def crowded_card(**changes):
    """The longest name, nine lines, three warnings and more, much that is not known."""
    flags = [
        flag("stop", "touches at Fri 04:04, aground till 07:13: at Fri 05:40 the depth is 1.61 m, could be 1.31 m",
             do="another berth, or leave before the water is that low", level=0.41),
        flag("stop", "line WH-044 (mid starboard to P4) is retired: known bad rope holds a boat",
             code="line_condemned", do="swap it now and destroy it", place="WH-044"),
        flag("fix", "line L2 (stern port to D2), 3.80 m, comes bar-tight before low water at Fri 04:40",
             code="short_for_range", do="put on 5.5 m, or lead it to a fastening farther along", place="L2"),
        flag("fix", "hull bare on the pile at low water", code="fender_misses", do="a fender board here"),
        flag("note", "declared and measured length differ", code="length_differs"),
        flag("note", "length differs again", code="length_differs"),
        flag("not_known", "strength of D1 not known", code="fastening_out", place="D1"),
        flag("not_known", "strength of D2 not known", code="fastening_out", place="D2"),
        flag("not_known", "surge not known", code="surge_unknown"),
    ]  # fmt: skip
    lines = [
        *tieups.slip_lines(),
        tieups.line(7, "spring_back_port", "bow_port", "P1", "aft", "going ahead", length=5.65),
        tieups.line(8, "spring_back_starboard", "bow_starboard", "P2", "aft", "going ahead", length=5.65),
        tieups.line(9, "breast_port", "mid_port", "P1", "abeam", "moving off", length=None),
    ]
    answer = tieups.answer(lines, answer="does_not_hold")
    given = facts(boat=LONG_NAME, mark="a mark as long as they come: blue hull, tan sails, two masts, red awning",
                  flags=tuple(flags), number=3, invented=True, look_again=None, **changes)  # fmt: skip
    return compose(given, tieups.slip(), answer, READER)


def holed_card(**changes):
    """Nothing known that need not be: no water, no heights, no fenders, lines without length."""
    scenario = tieups.slip(
        water=None, boat=tieups.boat(draft=None, fenders=None, rub_low=None, rub_high=None)
    )
    lines = [
        line.model_copy(update={"card_length": None, "working_length": None}) for line in tieups.slip_lines()
    ]
    flags = (
        flag("not_known", "depth at this berth not known"),
        flag("not_known", "surge not known", code="surge_unknown"),
    )
    given = facts(
        flags=flags, now=None, turns=(), look_again=None, channel="", telephone="", side_to=None, **changes
    )
    return compose(given, scenario, tieups.answer(lines, answer="not_known"), READER)


def unworked_card(**changes):
    trouble = "no tie-up worked out for this kind of berth"
    given = facts(
        berth="Q7", kind="stern_to", boat="Copper Thimble", trouble=trouble, worked_out=None, **changes
    )
    return compose(given, None, None, READER)


def feet_card(**changes):
    reader = Reader(units="ft", words="us", clock="12", zone=LONDON)
    return compose(facts(**changes), tieups.slip(), tieups.slip_answer(), reader)


EVERY = {
    "slip": slip_card,
    "fixed": fixed_card,
    "floating": floating_card,
    "crowded": crowded_card,
    "holed": holed_card,
    "unworked": unworked_card,
    "feet": feet_card,
}
