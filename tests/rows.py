"""One honest row of every table, for tests that walk over all of them."""

from decimal import Decimal

from berths import models as harbour
from marina.base.models import HouseRule, Trail
from tests import cast
from tests.cast import NOON, hours
from vessels import models as afloat


def _with(model, **fields):
    return lambda: model.objects.create(**{k: v() if callable(v) else v for k, v in fields.items()})


def line_set():
    return harbour.LineSet.objects.create(
        berth=cast.make_berth(), vessel=cast.make_vessel(), starts=NOON.date()
    )


def position():
    return harbour.SetPosition.objects.create(line_set=line_set(), number=1, length=Decimal("8.5"))


def made_fast():
    return harbour.MadeFast.objects.create(stay=cast.make_stay(), at=NOON)


def card():
    tie_up = cast.make_tie_up()
    return harbour.Card.objects.create(tie_up=tie_up, stay=tie_up.stay, number=1, printed=NOON, pdf=b"%PDF-")


def fastening():
    return harbour.Fastening.objects.create(label=f"P{cast.number()}", kind="pile", east=0, north=0)


def face():
    return harbour.Face.objects.create(label=f"dock {cast.number()}", east1=0, north1=0, east2=1, north2=0)


def deck_fitting():
    return afloat.DeckFitting.objects.create(
        vessel=cast.make_vessel(fitted=False), code="mid_port", x=5, y=1, z=1
    )


def gear_zone():
    vessel = cast.make_vessel(fitted=False)
    return afloat.GearZone.objects.create(
        vessel=vessel, code="screw", kind="propeller", x1=1, x2=2, y1=0, y2=1
    )


def flag_accepted():
    return harbour.FlagAccepted.objects.create(
        tie_up=cast.make_tie_up(),
        code="chafe",
        reason="sleeve on its way",
        by=cast.make_user("h", "hand"),
        at=NOON,
    )


def calendar_feed():
    return harbour.CalendarFeed.objects.create(
        user=cast.make_user("w", "hand"), token_hash="0" * 64, made=NOON
    )


def owner():
    return afloat.Owner.objects.create(name="Wren Scuppernong")


def bare_berth():
    return cast.make_berth(fitted=False)


ROWS = {
    "User": lambda: cast.make_user("somebody", "hand"),
    "HouseRule": _with(HouseRule, key="H7", value=2.5),
    "Trail": _with(Trail, table="vessel", row="1", when=NOON),
    "Owner": owner,
    "Vessel": lambda: cast.make_vessel(fitted=False),
    "DeckFitting": deck_fitting,
    "GearZone": gear_zone,
    "Line": cast.make_line,
    "LineEvent": _with(afloat.LineEvent, line=cast.make_line, kind="received", at=NOON),
    "Inspection": _with(afloat.Inspection, line=cast.make_line, advice="keep", at=NOON),
    "Pier": cast.make_pier,
    "Berth": bare_berth,
    "Fastening": fastening,
    "Face": face,
    "BerthFastening": _with(harbour.BerthFastening, berth=bare_berth, fastening=fastening, code="P1"),
    "BerthFace": _with(harbour.BerthFace, berth=bare_berth, face=face, code="dock"),
    "Water": cast.make_water,
    "Notice": _with(harbour.Notice, water=cast.make_water, low=1, high=2, starts=NOON, reason="sill"),
    "Reading": _with(harbour.Reading, water=cast.make_water, level=1, at=NOON),
    "Forecast": _with(harbour.Forecast, at=NOON, starts=NOON, ends=NOON + hours(6), surge_up=1, surge_down=0),
    "CalendarFeed": calendar_feed,
    "Stay": cast.make_stay,
    "MadeFast": made_fast,
    "MadeFastLine": _with(harbour.MadeFastLine, made_fast=made_fast, number=1, description="blue, 12 mm"),
    "Picture": _with(harbour.Picture, stay=cast.make_stay, at=NOON, jpeg=b"dots"),
    "Recheck": _with(harbour.Recheck, stay=cast.make_stay, why="first_low", due=NOON),
    "Message": _with(harbour.Message, owner=owner, text="Line 3 has been changed.", at=NOON),
    "OwnersWord": _with(
        harbour.OwnersWord,
        kind="worry",
        vessel=lambda: cast.make_vessel(fitted=False),
        text="It chafes.",
        at=NOON,
    ),
    "TieUp": cast.make_tie_up,
    "Card": card,
    "CardBatch": _with(harbour.CardBatch, printed=NOON, words="Arrivals", paper="A4", pdf=b"%PDF-"),
    "FlagAccepted": flag_accepted,
    "LineSet": line_set,
    "SetPosition": position,
    "LineUse": _with(harbour.LineUse, line=cast.make_line, stay=cast.make_stay, at=NOON),
    "Round": _with(harbour.Round, name="morning", started=NOON),
    "Look": _with(harbour.Look, berth=bare_berth, mark="as_planned", at=NOON),
    "Sighting": _with(harbour.Sighting, berth=bare_berth, tag="WH-1", at=NOON),
}
