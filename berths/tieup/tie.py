"""The one way from a Scenario to a Verdict."""

from dataclasses import replace

import numpy as np

from berths.tieup import (
    between,
    candidates,
    choose,
    defaults,
    fenders,
    flags,
    judge_lines,
    leads,
    limits,
    mend,
    report,
    rules,
)
from berths.tieup import cases as casework
from berths.tieup import outcome as outcomes
from berths.tieup.explain import working
from berths.tieup.roles import role_words
from berths.tieup.scenario import BadScenario, Case
from berths.tieup.stands import how_far
from berths.tieup.verdict import Choice, Summary, Verdict
from berths.tieup.work import Work

LEFT_OUT = (
    "heave, roll and pitch under the pull of lines: a boat that hangs on them is shown worse than she is",
    "weight and friction of rope, its history and heat",
    "waves, wash and surge in the basin: tension is multiplied by the dynamic allowance where it meets a limit",
    "how far fittings, piles and docks give way",
)


def tie_up(scenario, stands=True):
    """Work out how this boat is tied up at this berth, or what the lines she has will do.

    Parameters
    ----------
    scenario : Scenario
        With `lines` these are judged; without them a set is recommended. With `cases` these are worked out;
        without them they are built from `water` and `weather`.
    stands : bool
        Whether to look for the water and wind the set stands as well, which takes as long as all the rest.

    Returns
    -------
    Verdict
        Every case has a status; what was not given and had to be taken stands in `assumed`, and what may not
        be taken is 'not known' among the flags.

    Raises
    ------
    BadScenario
        Where two figures cannot both be right, each fault with its place.
    """
    work, _, assumed = solve(scenario)
    return _verdict(work, assumed, stands)


def explain(scenario, line_id):
    """The working of one line's greatest pull; see `explain.working`.

    Raises
    ------
    ValueError
        If there is no such line.
    """
    return working(solve(scenario)[0], line_id)


def solve(scenario):
    """Everything up to the judgement: a `Work` with its outcomes, the cases, and what was assumed."""
    if faults := between.between_fields(scenario.model_dump()):  # also of a Scenario that was never read
        raise BadScenario(faults)
    figures = rules.of(scenario)
    filled, assumed = defaults.fill(scenario, figures)
    filled, cases = _cases(filled, assumed)
    levels = _levels(filled, cases)
    if faults := between.short_of_their_pile(filled, levels):
        raise BadScenario(faults)
    work = Work(asked=scenario, scenario=filled, figures=figures, levels=levels, planned=not scenario.lines)
    (_recommend if work.planned else _judge_given)(work, cases)
    if work.solved:
        work.still = _in_still_water(work)
        work.broken = limits.broken(work.soft, work.stiff, figures, still=work.still)
        work.lost = report.one_line_lost(work, cases)
        work.runs = _runs(work)
        work.fenders = fenders.prescribe(work)
        assumed += fenders.assumed(work.fenders)
    return work, cases, assumed


def _cases(filled, assumed):
    """The cases, and the Scenario that says them; a berth without known water is worked out at one level."""
    water = filled.water
    if filled.cases is None and None in (water.low, water.high):
        known = [z for z in (water.now, water.low, water.high) if z is not None]
        level = known[0] if known else 0.0
        gaps = defaults.Gaps()
        gaps.note("water", "range of water not known: worked out at one level only", level)
        assumed += gaps.assumed
        grid = casework.grid(filled, [level], filled.weather.wind_from_deg, filled.weather.wind_speeds)
        return filled.model_copy(update={"cases": grid}), grid
    return filled, casework.build(filled)


def _levels(filled, cases):
    """Levels that lengths are judged on: those of the cases and the whole window of the water."""
    levels = {c.level for c in cases}
    if None not in (filled.water.low, filled.water.high):
        levels |= set(casework.levels(filled.model_copy(update={"cases": None})))
    return np.array(sorted(levels))


def _recommend(work, cases):
    chooser = choose.Chooser(work.scenario, work.figures, work.levels, cases)
    chosen, pruned, missing = chooser.search()
    work.pruned = pruned
    if chosen is None:
        work.missing = missing
        return
    order = report.put_on_order(work.scenario, chosen.picks)
    work.chosen = chosen
    work.lines, work.picks = chosen.lines, list(chosen.picks)
    work.soft, work.middle, work.stiff = chosen.soft, chosen.middle, chosen.stiff
    work.order = order


def _judge_given(work, cases):
    s, f = work.scenario, work.figures
    work.lines = list(s.lines or [])
    if not work.lines:
        return
    aboard, ashore = {b.id: b for b in s.boat.fittings}, {x.id: x for x in s.berth.fittings}
    for line in work.lines:
        via = ashore[line.via.fitting] if line.via else None
        pick = candidates.line_between(s, "", aboard[line.boat_fitting], ashore[line.shore_fitting], via)
        work.picks.append(replace(pick, role=report.role_of(s, pick)))
    work.soft, work.middle, work.stiff = outcomes.in_all_curves(s, work.lines, cases, f)
    work.order = report.put_on_order(s, work.picks)


def _runs(work):
    ashore = {f.id: f for f in work.scenario.berth.fittings}
    return [
        leads.pieces(work.scenario, pick.boat, pick.shore, ashore[line.via.fitting] if line.via else None)
        for line, pick in zip(work.lines, work.picks, strict=True)
    ]


def _in_still_water(work):
    """Whether she hangs is told in still water; stated cases may all have wind, and none at the lowest level."""
    if work.asked.cases is None:
        return work.stiff
    still = [
        Case.model_construct(
            id=f"still water at {z:.2f} m", level=float(z), wind_speed=0.0, current_speed=0.0
        )
        for z in work.levels
    ]
    return outcomes.run(work.scenario, [work.lines], still, work.figures.stretch_stiff, second="none")


def _verdict(work, assumed, stands):
    found = flags.judge(work)
    answer, why = flags.answer(found, work.broken)
    summary = Summary(answer=answer, why=why, dynamic_allowance=work.figures.dynamic, left_out=list(LEFT_OUT))
    _water(work, summary)
    if work.solved:
        _extremes(work, summary)
    return Verdict(
        sort="planned" if work.planned else "found",
        summary=summary,
        lines=report.lines(work),
        fittings=judge_lines.fitting_loads(work) if work.solved else [],
        fenders=work.fenders,
        flags=found,
        assumed=assumed,
        levels=report.levels(work) if work.solved else [],
        choice=_choice(work) if work.planned else None,
        stands=how_far(work) if work.solved and stands else None,
        cases=report.cases(work) if work.solved else [],
    )


def _water(work, summary):
    water, boat, berth = work.scenario.water, work.scenario.boat, work.scenario.berth
    summary.low, summary.high = water.low, water.high
    summary.surge_down, summary.surge_up = water.surge_down, water.surge_up
    if None not in (work.low, boat.draft, berth.bed_z):
        summary.depth_least = work.low - boat.draft - berth.bed_z
        if boat.takes_ground:
            if summary.depth_least < 0:
                summary.left_out.append(
                    "her keel on the bed: there she stands while the water leaves her, and is worked out as if she went down with it"
                )
            summary.aground = report.aground(work, berth.bed_z + boat.draft)


def _extremes(work, summary):
    middle = work.middle
    for name, value in middle.band().model_dump().items():
        setattr(summary, name, value)
    summary.holds_to = limits.holds_to(work.soft, work.stiff, work.figures)
    summary.other_places = {
        middle.cases[n].id: report.pose(other) for n, (_, other) in middle.two_places().items()
    }
    summary.soft, summary.stiff = work.soft.band(), work.stiff.band()
    names, numbers = np.unique(middle.status[0, : middle.stated], return_counts=True)
    summary.counts = {str(n): int(k) for n, k in zip(names, numbers, strict=True)}
    summary.reach = outcomes.reach(work.soft)
    summary.one_line_lost = work.lost
    summary.hangs_on = [row.line for row in work.lost if not row.holds]


def _choice(work):
    chosen = work.chosen
    if chosen is None:
        return Choice(
            pruned=work.pruned,
            failed_limits=[f"nothing to lead a {role_words(m)} to" for m in work.missing],
            mend=mend.words(work),
        )
    return Choice(
        tried=chosen.tried,
        pruned=work.pruned,
        next=[report.alternative(entry, text) for entry, text in chosen.following],
        failed_limits=[b.words for b in work.broken],
        mend=mend.words(work),
    )
