"""What floats and what holds it: owners, vessels with their fittings, and the register of lines."""

from vessels.models.line import Inspection, Line, LineEvent
from vessels.models.people import Owner
from vessels.models.vessel import DeckFitting, GearZone, Vessel

__all__ = ["DeckFitting", "GearZone", "Inspection", "Line", "LineEvent", "Owner", "Vessel"]
