"""The cast: invented people, and boats and berths with honest defaults.

`make_*` fills every field a reader would expect to be filled, so a test names only what it is about. What is
meant to be unknown is given as None.
"""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from functools import cached_property
from itertools import count

from berths.models import Berth, BerthFace, BerthFastening, Face, Fastening, Pier, Stay, TieUp, Water
from marina.base.models import HouseRule, Role, User
from vessels.models import DeckFitting, Line, Owner, Vessel

NOON = datetime(2027, 10, 14, 12, 0, tzinfo=UTC)
_numbers = count(1)  # codes and places differ within a run, so nothing made here meets by accident


def number():
    """A number that nothing else of this run has."""
    return next(_numbers)


def days(n):
    return timedelta(days=n)


def hours(n):
    return timedelta(hours=n)


TWO_DAYS_ON = NOON + days(2)


class Cast:
    """Who is who. `holder` has a boat's owner behind the sign-in, `stranger` is a holder of something else."""

    @cached_property
    def harbourmaster(self):
        return make_user("harbourmaster", Role.HARBOURMASTER)

    @cached_property
    def hand(self):
        return make_user("hand", Role.HAND)

    @cached_property
    def holder(self):
        return self._with_owner("holder", "Tansy Quillfeather")

    @cached_property
    def stranger(self):
        return self._with_owner("stranger", "Percival Nudge")

    def _with_owner(self, username, name):
        user = make_user(username, Role.HOLDER)
        Owner.objects.create(name=name, user=user)
        return user


def make_user(username, role, **fields):
    return User.objects.create(username=username, role=role, **fields)


def fix_clock(moment):
    """The harbour's clock stands at this moment from now on."""
    rule = HouseRule.objects.filter(key="demo_clock").first() or HouseRule(key="demo_clock")
    rule.value = {"at": moment.isoformat()}
    rule.save()
    return moment


def make_water(*, tide_range="2.0", low="0.5", **fields):
    """A regulated water with its surge allowances set."""
    defaults = {
        "name": f"Water {number()}",
        "kind": "limits",
        "datum": "CD",
        "low": Decimal(low),
        "high": Decimal(low) + Decimal(str(tide_range)),
        "surge_up": Decimal("0.6"),
        "surge_down": Decimal("0.3"),
        "surge_reason": "ten winters of the harbour's own gauge (invented)",
    }
    return Water.objects.create(**defaults | fields)


def make_pier(**fields):
    mine = number()
    return Pier.objects.create(**{"name": f"Pier {mine}", "walking_order": mine} | fields)


def make_berth(*, kind="fixed", tide_range="2.0", fitted=True, **fields):
    """A berth of 12 m with bed, bearing, fastenings and a face; 200 m from any other berth of this run."""
    mine = number()
    water = fields.pop("water", None) or make_water(tide_range=tide_range)
    end_on = kind in ("slip", "box", "stern_to")
    defaults = {
        "pier": fields.pop("pier", None) or make_pier(),
        "code": f"T{mine}",
        "kind": kind,
        "walking_order": mine,
        "east": Decimal(200 * (mine % 40)),
        "north": Decimal(0),
        "bearing_deg": Decimal(90),
        "length": Decimal(12),
        "overhang": Decimal("0.6"),
        "clear_width": Decimal("4.6") if end_on else None,
        "bed_z": Decimal(-3),
        "bed_kind": "soft",
        "sounded_on": NOON.date(),
        "sounded_by": "hand 1",
        "exposure": "normal",
    }
    if kind == "floating":
        defaults |= {"guide_pile_top_z": Decimal("4.4"), "hoop_height": Decimal("0.5")}
    berth = Berth.objects.create(**defaults | fields, water=water)
    if fitted:
        _fit_out(berth, end_on)
    return berth


# Fastenings in the berth's frame: code, kind, x, y. Bearing 90: +x is east and y, to its left, is north.
END_ON = [("D1", "cleat", 0, 1.7), ("D2", "cleat", 0, -1.7)] + [
    (f"P{n}", "pile", x, y)
    for n, (x, y) in enumerate([(5.5, 2.3), (5.5, -2.3), (12, 2.3), (12, -2.3)], start=1)
]
SIDE_TO = [(f"D{n}", "cleat", x, -0.3) for n, x in enumerate([-4, 0, 4, 8, 12, 16], start=1)]


def _fit_out(berth, end_on):
    """Cleats, piles and one face, as a berth of this kind has them."""
    floats = berth.kind == "floating"
    height = Decimal("0.5") if floats else Decimal("3.7")
    for code, kind, x, y in END_ON if end_on else SIDE_TO:
        fastening = Fastening.objects.create(
            label=f"{berth.code}/{code}",
            kind=kind,
            east=berth.east + Decimal(str(x)),
            north=berth.north + Decimal(str(y)),
            z=height,
            floats=floats,
            diameter=Decimal("0.3") if kind == "pile" else None,
            cleat_length=Decimal("0.3") if kind == "cleat" else None,
            top_z=Decimal("4.6") if kind == "pile" else None,
            stop="cleat" if kind == "pile" else "",
            strength=25_000,
            strength_basis="the harbour's drawings (invented)",
            condition="sound",
            last_checked=NOON.date(),
        )
        BerthFastening.objects.create(berth=berth, fastening=fastening, code=code)
    (x1, y1), (x2, y2) = ((0, -3), (0, 3)) if end_on else ((0, 0), (12, 0))
    face = Face.objects.create(
        label=f"{berth.code}/dock",
        east1=berth.east + x1,
        north1=berth.north + y1,
        east2=berth.east + x2,
        north2=berth.north + y2,
        top_z=height,
        underside_z=height - Decimal("0.4") if floats else Decimal("0.2"),
        floats=floats,
        continuous=True,
        sharp=False,
        fender_stiffness=Decimal(50_000),
    )
    BerthFace.objects.create(berth=berth, face=face, code="dock")


def make_vessel(*, name=None, loa="10.4", beam="3.5", draft="1.6", fitted=True, **fields):
    """A measured sailing boat with six cleats; `owner` is None for a visitor."""
    mine = number()
    measured = {"loa": loa, "beam": beam, "draft": draft}
    defaults = {
        "name": name or f"Boat {mine}",
        "mark": "blue hull, one mast",
        "hull_class": "sail_fin_keel",
        **{f"{what}_declared": _metres(value) for what, value in measured.items()},
        **{f"{what}_measured": _metres(value) for what, value in measured.items()},
        "displacement": Decimal(6000),
        "rub_low": Decimal("0.3"),
        "rub_high": Decimal("1.0"),
        "freeboard_estimated": True,
        "takes_ground": False,
        "inlet_side": "port",
        "fender_diameter": Decimal("0.2"),
        "fender_number": 4,
        "fender_low": Decimal("0.2"),
        "fender_high": Decimal("0.8"),
        "fender_board": False,
    }
    vessel = Vessel.objects.create(**defaults | fields)
    if fitted and loa is not None and beam is not None:
        for place, share in (("stern", "0.05"), ("mid", "0.5"), ("bow", "0.93")):
            for side, sign in (("port", 1), ("starboard", -1)):
                DeckFitting.objects.create(
                    vessel=vessel,
                    code=f"{place}_{side}",
                    x=_metres(loa) * Decimal(share),
                    y=_metres(beam) / 2 * sign * Decimal("0.8"),
                    z=Decimal("1.0"),
                    strength=20_000,
                    cleat_length=Decimal("0.25"),
                )
    return vessel


def _metres(value):
    return None if value is None else Decimal(str(value))


def make_line(**fields):
    """16 mm three-strand nylon in the harbour's store."""
    defaults = {
        "tag": f"WH-{number()}",
        "material": "nylon_3strand",
        "diameter_mm": Decimal(16),
        "total_length": Decimal(12),
        "working_length": Decimal("10.5"),
        "eyes": "one",
        "strength": 39_600,
        "strength_basis": "generic",
    }
    return Line.objects.create(**defaults | fields)


def make_stay(*, vessel=None, berth=None, arrive=NOON, depart=TWO_DAYS_ON, **fields):
    """Two days from noon, starboard side to; saved without asking the booking service."""
    return Stay.objects.create(
        **{"side_to": "starboard"} | fields,
        vessel=vessel or make_vessel(),
        berth=berth or make_berth(),
        arrive=arrive,
        depart=depart,
    )


def make_tie_up(*, stay=None, line_set=None, **fields):
    """A stored tie-up whose Scenario and Verdict are placeholders: for tests of what is kept, not of physics."""
    defaults = {
        "sort": "planned",
        "scenario": {"version": 1},
        "scenario_hash": "0" * 64,
        "verdict": {"version": 1},
        "engine_version": "test",
        "answer": "holds",
        "made_at": NOON,
    }
    stay = stay or (None if line_set else make_stay())
    return TieUp.objects.create(**defaults | fields, stay=stay, line_set=line_set)
