"""The harbour: piers, berths, fastenings and water; stays and their tie-ups; line sets, loans and rounds."""

from berths.models.feed import CalendarFeed
from berths.models.harbour import Berth, BerthFace, BerthFastening, Face, Fastening, Pier
from berths.models.lineset import LineSet, LineUse, SetPosition
from berths.models.picture import Picture
from berths.models.round import Look, Round, Sighting
from berths.models.stay import MadeFast, MadeFastLine, Message, Recheck, Stay
from berths.models.tieup import Card, CardBatch, FlagAccepted, TieUp
from berths.models.water import Forecast, Notice, Reading, Water
from berths.models.word import OwnersWord

__all__ = [
    "Berth",
    "BerthFace",
    "BerthFastening",
    "CalendarFeed",
    "Card",
    "CardBatch",
    "Face",
    "Fastening",
    "FlagAccepted",
    "Forecast",
    "LineSet",
    "LineUse",
    "Look",
    "MadeFast",
    "MadeFastLine",
    "Message",
    "Notice",
    "OwnersWord",
    "Picture",
    "Pier",
    "Reading",
    "Recheck",
    "Round",
    "SetPosition",
    "Sighting",
    "Stay",
    "TieUp",
    "Water",
]
