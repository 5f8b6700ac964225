"""What the working of a stay rests on: her newest tie-up as it was kept, and the engine asked again.

The engine is asked only where one stay's working is opened, and once for all of its pages.
"""

from functools import lru_cache

from berths.models import TieUp
from berths.selectors.standing import standings
from berths.selectors.stay import number_lines, read
from berths.tieup import tie
from berths.tieup.curves import over_water_and_wind
from berths.tieup.explain import working
from berths.tieup.scenario import Scenario
from berths.tieup.verdict import ENGINE_VERSION

NEAR = 0.01  # share of a pull by which a working may differ from what was kept


def kept(user, stay):
    """Her standing in this person's words, the tie-up that counts, and what was asked and answered in it.

    Returns
    -------
    dict
        `standing`, `tie_up`, `scenario`, `verdict`, `trouble`; without a tie-up the last four but `trouble` are None.
    """
    standing = standings([stay], user)[stay.pk]
    tie_up = TieUp.objects.select_related("by").get(pk=standing.tie_up["id"]) if standing.tie_up else None
    scenario, verdict, trouble = read(tie_up)
    number_lines(standing, verdict)
    if scenario is not None and verdict is None and not trouble:
        trouble = "it has not been worked out"
    return {
        "standing": standing,
        "tie_up": tie_up,
        "scenario": scenario,
        "verdict": verdict,
        "trouble": trouble,
        "older": bool(tie_up and verdict and tie_up.engine_version != ENGINE_VERSION),
    }


def work_of(scenario):
    """The engine's `Work` of a kept Scenario; the last few stay at hand, for a reader turns from page to page."""
    return _solved(scenario.model_dump_json(exclude_none=True))


@lru_cache(maxsize=4)
def _solved(text):
    return tie.solve(Scenario.model_validate_json(text))[0]


def curves_of(scenario):
    """What her lines do over the water and round the compass; None where the engine no longer takes the Scenario."""
    try:
        return over_water_and_wind(work_of(scenario))
    except ValueError:
        return None


def working_of(scenario, row):
    """The engine's working of one kept line, and whether its pull still is what was kept.

    Parameters
    ----------
    scenario : Scenario
    row : LineResult
        As it was kept.

    Returns
    -------
    (Working or None, bool)
        None where the engine gives no such line, or nothing pulls on it.
    """
    try:
        found = working(work_of(scenario), row.id)
    except ValueError:  # another engine, or figures it no longer accepts
        return None, False
    pull = next(step.value for step in found.steps if step.what == "pull")
    return found, abs(pull - (row.peak_tension or 0.0)) <= max(NEAR * pull, 1.0)
