"""Work a tie-up out and keep it: what was asked, what came out, and by which engine, as it was then.

The engine runs without any lock; only the row is written in a transaction. Where it cannot run, or fails, the
row says 'not known' and why: a boat is never shown as held because something went wrong.
"""

import hashlib
import json
import logging
from contextlib import contextmanager

from django.db.models import Case, Value, When
from pydantic import ValidationError as BadInput

from berths import survey
from berths.models import MadeFast, Stay, TieUp
from berths.models.stay import StayState
from berths.models.tieup import Sort
from berths.tieup import flags as flagging
from berths.tieup import tie_up
from berths.tieup.scenario import BadScenario, Scenario
from berths.tieup.verdict import ENGINE_VERSION, Flag, Verdict
from berths.worse import compare
from marina.base import clock
from marina.base.writing import in_one_go

log = logging.getLogger(__name__)
NOT_YET = "tie-up not known yet"
MOST_RENEWED = 8


def work_out(stay, by=None, *, found=True, stands=True):
    """Work out the tie-up of a stay and keep it.

    Parameters
    ----------
    stay : Stay
    by : User, optional
        Who asked for it.
    found : bool
        Judge the lines she was last made fast with, where there are any; False recommends a set.
    stands : bool
        Look for the water and wind the set stands, too; this takes longer than the rest.

    Returns
    -------
    TieUp
        A new one; or the newest one, where the very same question has been answered by the same engine.
    """

    def lines_there():
        return found and MadeFast.objects.filter(stay=stay.pk, lines__isnull=False).exists()

    values = _worked_out(lambda: survey.read(stay, found=found), stands, lines_there)
    return _keep({"stay": stay}, values, by)


def work_out_set(line_set, by=None, *, stands=True):
    """Work out the tie-up of a permanent set with the lines that fill it, from LAT to HAT, and keep it.

    Returns
    -------
    TieUp
        As `work_out` does.
    """
    values = _worked_out(lambda: survey.read_set(line_set), stands, lines_there=lambda: True)
    return _keep({"line_set": line_set}, values, by)


def _keep(whose, values, by):
    """The columns as a new TieUp of this stay or set; or the newest one, where it says the same."""
    last = TieUp.objects.filter(**whose, sort=values["sort"]).order_by("-made_at", "-id").first()
    if last and not last.stale and _same(last, values):
        return last
    values["compared"] = _against(last, values)
    return in_one_go(lambda: TieUp.objects.create(**whose, made_at=clock.now(), by=by, **values), by=by)


def _against(last, values):
    """What got worse against the tie-up before; None where there is none that can be compared."""
    if last is None or not last.verdict or not values.get("verdict"):
        return None
    try:
        before, after = (
            (Scenario.model_validate(asked), Verdict.model_validate(answered))
            for asked, answered in ((last.scenario, last.verdict), (values["scenario"], values["verdict"]))
        )
    except BadInput:  # kept by an older version of the site
        return None
    found = compare(before, after)
    return found and found | {"why": last.stale_why if last.stale else ""}


def work_out_all(stays, by=None):
    """The newest tie-up of each stay, in order; worked out where there is none, or an old or failed one."""
    return [
        fresh if (fresh := newest(stay)) and counts_still(fresh) else work_out(stay, by, stands=False)
        for stay in stays
    ]


@contextmanager
def renewing(by):
    """Work out again what goes out of date in the block: the boats beside one that comes or goes.

    A deed that changes what lies beside a few boats would else leave the day full of 'not known'. More than
    `MOST_RENEWED` are left as out of date; then it was no such deed.
    """
    before = set(_out_of_date())
    yield
    gone = Stay.objects.filter(pk__in=set(_out_of_date()) - before).order_by("berth__walking_order")
    if len(gone) <= MOST_RENEWED:
        work_out_all(gone, by)


def _out_of_date():
    live = TieUp.objects.filter(stale=True, stay__state__in=(StayState.BOOKED, StayState.FAST))
    return live.values_list("stay", flat=True)


def counts_still(kept):
    """Whether a kept tie-up is neither out of date nor without an answer because the working stopped."""
    return not kept.stale and not kept.trouble.startswith(NOT_YET)


def newest(stay):
    """The tie-up that counts for a stay: the newest with the lines that are there, else the newest planned."""
    found_first = Case(When(sort=Sort.FOUND, then=Value(0)), default=Value(1))
    return stay.tie_ups.order_by(found_first, "-made_at", "-id").first()


def _same(last, values):
    """Whether a kept tie-up answers the same question in the same way."""
    same_engine = last.engine_version == values.get("engine_version", "")
    return same_engine and last.scenario_hash == values.get("scenario_hash", "") and (
        last.trouble == values.get("trouble", "")
    )  # fmt: skip


def _worked_out(read, stands, lines_there):
    """The columns of the TieUp, whatever happens."""
    try:
        surveyed = read()
        if surveyed.scenario is None:
            return _trouble(lines_there, surveyed.reason)
        verdict = _with_water(tie_up(surveyed.scenario, stands=stands), surveyed.water_not_known)
        return _kept(surveyed.scenario, verdict)
    except BadInput as error:
        places = "; ".join(f"{'.'.join(map(str, e['loc']))}: {e['msg']}" for e in error.errors())
        return _trouble(lines_there, f"{NOT_YET}: a figure cannot be right: {places}")
    except BadScenario as error:
        return _trouble(lines_there, f"{NOT_YET}: figures cannot all be right: {'; '.join(error.faults)}")
    except Exception as error:  # whatever it is, the stay stands, and says that nothing is known
        log.exception("tie-up")
        return _trouble(lines_there, f"{NOT_YET}: the working stopped ({type(error).__name__}: {error})")


def _trouble(lines_there, reason):
    sort = Sort.FOUND if lines_there() else Sort.PLANNED
    return {"sort": sort, "trouble": reason[:300], "engine_version": ENGINE_VERSION}


def _with_water(verdict, gaps):
    """The verdict, with what is not known of the water's window: it may hold up to there and not beyond."""
    if not gaps:
        return verdict
    told = [
        Flag(
            code="water_not_known",
            severity="stop",
            state="not_known",
            message=words,
            do="settle it before she is left",
            rests_on="water",
        )
        for words in gaps
    ]
    summary = verdict.summary
    if summary.answer == "holds":
        summary = summary.model_copy(update={"answer": "not_known", "why": gaps[0]})
    return verdict.model_copy(
        update={"flags": flagging.in_order([*verdict.flags, *told]), "summary": summary}
    )


def _kept(scenario, verdict):
    asked = scenario.model_dump(mode="json", exclude_none=True)
    counted = flagging.counts(verdict.flags)
    thin = verdict.model_copy(update={"cases": governing(verdict)})
    answered = json.loads(thin.to_json())
    return {
        "sort": verdict.sort,
        "scenario": asked,
        "scenario_hash": fingerprint(asked),
        "verdict": answered,
        "engine_version": verdict.engine,
        "answer": verdict.summary.answer,
        "flags": answered["flags"],
        "stops": counted["stop"],
        "fixes": counted["fix"],
        "notes": counted["note"],
        "not_known": counted["not_known"],
    }


def fingerprint(asked):
    """sha256 of a Scenario as canonical JSON: keys in order, no spaces.

    >>> fingerprint({"b": 1, "a": 2}) == fingerprint({"a": 2, "b": 1})
    True
    """
    text = json.dumps(asked, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()


def governing(verdict):
    """The cases that a reported extreme or a flag names; the rest is worked out again from the Scenario."""
    summary = verdict.summary
    bands = [band for band in (summary, summary.soft, summary.stiff) if band is not None]
    named = {case for band in bands for case in (band.peak_case, band.excursion_case, band.clearance_case)}
    named |= {line.governing_case for line in verdict.lines} | {flag.case for flag in _all(verdict.flags)}
    return [case for case in verdict.cases if case.id in named]


def _all(flags):
    return [inner for flag in flags for inner in (flag, *_all(flag.under))]
