"""Why a tie-up is to be worked out again, also where nobody said that something changed.

Signals mark what a change of a record touches. What moves without one (time that passes, rows written past the
models, a newer engine) is found by putting the question together anew and comparing it with the one kept.
"""

from datetime import datetime, timedelta

from pydantic import ValidationError as BadInput

from berths import survey
from berths.services.tieups import counts_still, fingerprint, newest
from berths.tieup.scenario import BadScenario
from berths.tieup.verdict import ENGINE_VERSION
from marina.base import clock

MOVED = "what it was worked out from is not the same any more"
WATER_ENDS = "the water of the coming days was not in it"
NEXT_DAYS = timedelta(days=7)  # common practice, no source


def why_again(stay):
    """Why the tie-up of a stay is to be worked out again; empty where it answers the question as it is today."""
    kept = newest(stay)
    if kept is None:
        return "none was worked out"
    if not counts_still(kept):
        return kept.stale_why or kept.trouble
    if kept.engine_version != ENGINE_VERSION:
        return f"worked out by version {kept.engine_version or 'not known'} of the engine, now it is {ENGINE_VERSION}"
    return moved(kept, stay)


def moved(kept, stay):
    """What a kept tie-up was asked, against what would be asked today."""
    try:
        surveyed = survey.read(stay)
    except (BadInput, BadScenario):
        return MOVED
    if surveyed.scenario is None:
        return "" if kept.trouble == surveyed.reason[:300] else MOVED
    asked = surveyed.scenario.model_dump(mode="json", exclude_none=True)
    told = {flag["message"] for flag in kept.flags if flag["code"] == "water_not_known"}
    if not kept.scenario or told != set(surveyed.water_not_known):
        return MOVED
    always = stay.purpose == "permanent" or stay.depart is None
    if _lasting(kept.scenario, always) != _lasting(asked, always):
        return MOVED
    return WATER_ENDS if always and _water_ends(kept.scenario) else ""


def _lasting(asked, always):
    """The question without what goes on by the minute: the level now, and of a stay without end the days ahead."""
    left = {"now", "curve"} if always else {"now"}
    water = {name: value for name, value in asked.get("water", {}).items() if name not in left}
    return fingerprint(asked | {"water": water})


def _water_ends(asked):
    """Whether the days ahead that were looked at are nearly over: what is told of them would be of the past."""
    curve = asked["water"].get("curve")
    return bool(curve) and datetime.fromisoformat(curve[-1][0]) < clock.now() + NEXT_DAYS
