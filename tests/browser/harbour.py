"""A small harbour for browser stories: a holder with a boat that needs something, a stranger, a visitor."""

from decimal import Decimal

from berths.models import LineSet, LineUse, Notice, Reading, Recheck, SetPosition
from marina.base import house
from tests.cast import (
    NOON,
    days,
    fix_clock,
    hours,
    make_berth,
    make_line,
    make_stay,
    make_tie_up,
    make_vessel,
    make_water,
)
from vessels.models import Inspection

PASSWORD = "seven wet gulls on a pile"

HANGS = {
    "code": "hangs_her",
    "severity": "stop",
    "line": "L1",
    "from": (NOON + hours(17)).isoformat(),
    "message": "As the basin falls to 1.60 m her stern lines hang her.",
    "do": "Put on 3.50 m, crossed.",
    "rests_on": "line length, notice of 8 October",
    "under": [{"code": "short_for_range", "severity": "fix", "message": "Line 1 is 0.40 m too short."}],
}
NO_SPRING = {
    "code": "no_spring",
    "severity": "fix",
    "message": "Nothing stops her going ahead.",
    "do": "Add a spring.",
}
UNKNOWN = {
    "code": "line_weak",
    "severity": "fix",
    "state": "not_known",
    "message": "Strength of line 3 not known.",
}
NOTE = {"code": "length_differs", "severity": "note", "message": "Measured 10.40 m, declared 10.00 m."}


def sign_in_with_password(*users):
    for user in users:
        user.set_password(PASSWORD)
        user.save()


def make_harbour(cast):
    """Fill the harbour; returns the holder's boat."""
    sign_in_with_password(cast.harbourmaster, cast.hand, cast.holder, cast.stranger)
    fix_clock(NOON)
    for key, value in (("harbour_name", "Wendlow Haven"), ("zone", "Europe/London"), ("channel", "80")):
        house.set_rule(key=key, value=value, by=cast.harbourmaster)
    basin = make_water(name="Inner basin", low="1.6", tide_range="1.2")
    Reading.objects.create(water=basin, level=Decimal("2.4"), at=NOON - hours(1), by=cast.hand)
    level = Decimal("1.6")
    Notice.objects.create(
        water=basin, low=level, high=level, starts=NOON + hours(17), reason="Work on the sill"
    )
    boat = _permanent("Slow Biscuit", "B3", cast.holder.owner, basin, [HANGS, NO_SPRING, UNKNOWN, NOTE])
    _permanent("Loud Umbrella", "B8", cast.stranger.owner, basin, [NO_SPRING])
    visitor = make_vessel(name="Paper Comet", loa_measured=None)
    berth = make_berth(code="Q3", water=basin, bed_z=None)
    coming = make_stay(vessel=visitor, berth=berth, arrive=NOON + hours(7), depart=NOON + days(2))
    make_stay(berth=make_berth(kind="floating", code="A4", water=basin), state="fast", arrive=NOON - days(1))
    Recheck.objects.create(stay=coming, why="first_low", due=NOON - hours(1))
    make_line(tag="WH-086", state="retired")
    return boat


def _permanent(name, code, owner, water, flags):
    boat = make_vessel(name=name, owner=owner)
    berth = make_berth(kind="slip", code=code, water=water)
    stay = make_stay(
        vessel=boat,
        berth=berth,
        state="fast",
        purpose="permanent",
        arrive=NOON - days(90),
        depart=None,
        end_in="bow",
    )
    line_set = LineSet.objects.create(berth=berth, vessel=boat, owner=owner, starts=(NOON - days(200)).date())
    for number, role in enumerate(("stern line", "stern line", "bow line"), start=1):
        position = SetPosition.objects.create(
            line_set=line_set,
            number=number,
            role=role,
            length=Decimal("3.5"),
            boat_end=boat.fittings.get(code="stern_port"),
            shore_end=berth.fastenings.get(code=f"P{number}"),
        )
        line = make_line(
            tag=f"{code}-{number}", state="out", next_inspection=(NOON + days(60 * number - 80)).date()
        )
        LineUse.objects.create(line=line, position=position, at=NOON - days(200))
        if number != 3:
            Inspection.objects.create(line=line, at=NOON - days(120), advice="keep", zones={"eye": ["fuzz"]})
    make_tie_up(stay=stay, sort="found", answer="does_not_hold", stops=1, flags=flags)
    return boat
