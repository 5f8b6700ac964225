"""What water and wind do to these lines: reach, hanging, pull, lifting off a pile."""

from itertools import compress

import numpy as np

from berths.tieup import lengths, limits, parting
from berths.tieup import outcome as outcomes
from berths.tieup.candidates import SPRINGS
from berths.tieup.loads import KNOT
from berths.tieup.work import not_known, raised


def judge(work):
    """Flags that the water and the weather raise on the lines."""
    flags = [*reach(work), *lifts_off(work)]
    if work.solved:
        flags += [*hangs(work), *weak(work)]
    return flags


def reach(work):
    """Lines that do not reach over the water of the stay, or are short for a wall."""
    if work.short_stop or work.low is None:
        return []
    flags, f = [], work.figures
    room = _room(work)
    for i, (line, pick) in enumerate(zip(work.lines, work.picks, strict=True)):
        if pick.run.floats:
            continue
        strain = lengths.strain_at(lengths.curve_of(line), f.reach_share, f.stretch_stiff)
        least, _ = lengths.least_length(pick.run, work.levels, strain, min(f.reach_movement, room))
        if line.length < least - 1e-6:
            flags.append(_too_short(work, i, least, strain))
        elif note := _short_for_wall(work, i):
            flags.append(note)
    return flags


def _room(work):
    """How far she may move before she meets a dock end, at the berthed pose. [m]"""
    ends = outcomes.end_faces(work.scenario)
    if not work.solved or not ends.any():
        return work.figures.reach_movement
    pose = np.array(
        [[work.scenario.boat.x, work.scenario.boat.y, np.radians(work.scenario.boat.heading_deg)]]
    )
    gaps = work.middle.problem.clearance(pose)[0][ends]
    return float(np.clip(gaps.min(), 0, work.figures.reach_movement))


def _too_short(work, i, least, strain):
    line, run = work.lines[i], work.picks[i].run
    tight, way = lengths.tight_level(run, work.levels, line.length)
    start, until = (None, None)
    if tight is not None:
        start, until = work.below(tight) if way == "low" else work.above(tight)
    at = (
        f" at {work.clock(start)}" if start else f" at {tight:.2f} m above datum" if tight is not None else ""
    )
    before = f"before {way} water{at}" if way else "at every level"
    long_enough = lengths.working_length(run, work.levels, 0.6 * strain)
    text = (
        f"{work.name(i)}, {line.length:.2f} m, comes bar-tight {before}: it is {least - line.length:.2f} m "
        "too short, and it, or the cleat, breaks or she lists"
    )
    return raised(
        "short_for_range",
        "fix",
        text,
        f"put on {long_enough:.1f} m, or lead it to a fastening farther along",
        line=line.id,
        level=tight,
        amount=least - line.length,
        unit="m",
        rests_on="line length, both heights, water of the stay",
        **{"from": start, "until": until},
    )


def _short_for_wall(work, i):
    """At a fixed face every line is wanted at three times the range; ends only where nothing cuts their room."""
    span, f = work.scenario.water.range, work.figures
    if work.scenario.berth.kind != "fixed" or span is None:
        return None
    cut = bool(work.scenario.berth.neighbours) and work.picks[i].role not in SPRINGS
    asked_for = f.wall_range_multiple * span
    if cut or work.lines[i].length >= asked_for:
        return None
    text = (
        f"{work.name(i)} is {work.lines[i].length:.2f} m; {asked_for:.1f} m, three times the range of {span:.2f} m, "
        "is usual at a wall"
    )
    return raised(
        "short_for_range",
        "note",
        text,
        "longer if the dock allows",
        line=work.lines[i].id,
        amount=asked_for - work.lines[i].length,
        unit="m",
        rests_on="range without surge (R-GEO-10)",
    )


def lifts_off(work):
    """Lines on piles without a stop, where her cleat rises near the pile's top."""
    flags, f = [], work.figures
    if work.high is None:
        return flags
    done = set()
    for i, pick in enumerate(work.picks):
        pile = pick.shore
        if pile.kind != "pile" or pile.floats or pile.stop or pile.id in done:
            continue
        done.add(pile.id)
        if pile.top_z is None:
            text = f"pile top of {pile.id} not surveyed: cannot say whether the line floats off it"
            flags.append(
                not_known(
                    "lifts_off",
                    "fix",
                    text,
                    "survey it, or put a stop on it",
                    fitting=pile.id,
                    rests_on="pile top",
                )
            )
            continue
        left = pile.top_z - (work.high + pick.boat.z)
        if left < f.lift_off_margin - 1e-9:
            level = pile.top_z - pick.boat.z - f.lift_off_margin
            start, until = work.above(level)
            text = f"at {work.high:.2f} m of water her cleat is {max(left, 0):.2f} m below the top of {pile.id}: {work.name(i)} floats off the pile"
            if left < 0:
                text = f"at {work.high:.2f} m of water her cleat stands {-left:.2f} m above the top of {pile.id}: {work.name(i)} floats off the pile"
            flags.append(
                raised(
                    "lifts_off",
                    "fix",
                    text,
                    "a stop on the pile, two turns, or a lower turn",
                    line=work.lines[i].id,
                    fitting=pile.id,
                    level=work.high,
                    amount=f.lift_off_margin - left,
                    unit="m",
                    rests_on="pile top, stop, her cleat's height",
                    **{"from": start, "until": until},
                )
            )
    return flags


def hangs(work):
    """Vertical pull of the lines in calm against her displacement."""
    f, outcome = work.figures, work.still
    use = limits.pulls(outcome, f)["vertical"][0]
    unsure = work.asked.boat.displacement is None
    calm = np.flatnonzero(outcome.calm)
    if not calm.size or use[calm].max() <= (0.5 if unsure else 1.0):
        return []
    level, low_side = _first_level(
        outcome.levels[calm], use[calm], 0.5 if unsure and use[calm].max() <= 1 else 1.0
    )
    start, until = work.below(level) if low_side else work.above(level)
    if use[calm].max() <= 1:
        text = "her weight is not known, and the pull of her lines comes near what it may: cannot say whether she hangs"
        return [
            not_known(
                "hangs_her",
                "stop",
                text,
                "find out her displacement",
                level=level,
                rests_on="displacement, heights, water",
            )
        ]
    worst = calm[int(use[calm].argmax())]
    pull = np.abs(outcome.vertical[0, worst]).sum()
    names = ", ".join(work.name(i) for i in hanging_lines(work))
    when = f" from {work.clock(start)}" if start else ""
    what = "she hangs on her lines" if low_side else "she is held down while the water rises over her deck"
    text = (
        f"{'below' if low_side else 'above'} {level:.2f} m{when} {what}: {pull / 1000:.1f} kN "
        f"{'up' if low_side else 'down'} at {outcome.cases[worst].level:.2f} m, {_of_her_weight(work, pull)} ({names})"
    )
    return [
        raised(
            "hangs_her",
            "stop",
            text,
            "longer lines, or somebody tends her from then on",
            level=level,
            case=outcome.cases[worst].id,
            amount=use[calm].max(),
            unit="times what it may",
            rests_on="heights, water of the stay, displacement",
            **{"from": start, "until": until},
        )
    ]


def _of_her_weight(work, pull):
    """What share of her weight a pull up or down is: '18 % of her own 5.7 t', '2.1 times what she is taken to weigh'."""
    hers = work.scenario.boat.displacement
    share = pull / (hers * limits.GRAVITY)
    known = work.asked.boat.displacement is not None
    whose = f"her own {hers / 1000:.1f} t" if known else f"the {hers / 1000:.1f} t she is taken to weigh"
    return f"{100 * share:.0f} % of {whose}" if share < 1 else f"{share:.1f} times {whose}"


def hanging_lines(work):
    """Indices of the lines that make most of the vertical pull in the worst calm case."""
    calm = np.flatnonzero(work.still.calm)
    use = limits.pulls(work.still, work.figures)["vertical"][0]
    pull = np.abs(work.still.vertical[0, calm[int(use[calm].argmax())], : len(work.lines)])
    return [i for i in range(len(work.lines)) if pull[i] > 0.2 * pull.max()]


def _first_level(levels, use, limit):
    """The level, from the middle outward, at which the use passes the limit; and whether that is low water."""
    order = np.argsort(levels)
    z, u = levels[order], use[order]
    low_side = bool(u[0] >= u[-1])
    if not low_side:
        z, u = z[::-1], u[::-1]
    over = np.flatnonzero(u > limit)
    last = int(
        over[np.argmax(np.diff(np.append(over, len(u) + 1)) > 1)]
    )  # end of the run that starts at the end
    if last + 1 >= len(z):
        return float(z[last]), low_side
    share = (u[last] - limit) / max(u[last] - u[last + 1], 1e-12)
    return float(z[last] + share * (z[last + 1] - z[last])), low_side


def weak(work):
    """Lines that pull more than a third of their strength, with the dynamic allowance, in some case."""
    f, outcome, flags = work.figures, work.stiff, []
    for i, line in enumerate(work.lines):
        allowed = limits.usable(line, f) / f.strength_factor
        use = outcome.tension[0, :, i] * f.dynamic / allowed
        case = int(use.argmax())
        if use[case] <= 1 + 1e-6:
            continue
        parted = parting.rows(work, i)
        parts = bool(parted.size)
        over = [work.middle.cases[n] for n in parted] if parts else compress(outcome.cases, use > 1)
        least = min(c.wind_speed or 0.0 for c in over)
        verb = "parts" if parts else "may part"
        text = f"{work.name(i)} {verb} {_in_which_wind(work, i, use, allowed, least)}"
        if then := parting.words(work, i) if parts else None:
            text += f"; {then}"
        flags.append(
            raised(
                "line_weak",
                "stop" if parts else "fix",
                text,
                "thicker, longer, or doubled to another fitting",
                line=line.id,
                case=outcome.cases[case].id,
                level=outcome.cases[case].level,
                amount=use[case],
                unit="times what it may",
                rests_on="strength, dynamic allowance",
            )
        )
    return flags


def _in_which_wind(work, i, use, allowed, least):
    """'from 20 kn on: 5.2 kN where 4.0 kN may be used (low 0.41 m, 30 kn from 240)'.

    The wind is the `least` stated one that asks too much [m/s], the pull is the greatest; where no wind is needed
    both are told.
    """
    cases, pull = work.stiff.cases, work.stiff.tension[0, :, i] * work.figures.dynamic / 1000
    winds = np.array([c.wind_speed or 0.0 for c in cases])
    worst = int(use.argmax())
    may = f"where {allowed / 1000:.1f} kN may be used"
    if least:
        return f"from {least / KNOT:.0f} kn on: {pull[worst]:.1f} kN {may} ({cases[worst].id})"
    windless = int(np.where(winds == 0, use, -np.inf).argmax())
    told = f"even without wind: {pull[windless]:.1f} kN {may} ({cases[windless].id})"
    return told if windless == worst else f"{told}; at the most {pull[worst]:.1f} kN ({cases[worst].id})"


def calm_overload(work, line_id):
    """Whether this line breaks its limit without wind: then the water is the cause, not the weather."""
    i = next(i for i, line in enumerate(work.lines) if line.id == line_id)
    line, f = work.lines[i], work.figures
    allowed = limits.usable(line, f) / f.strength_factor
    calm = work.still.calm
    return bool(calm.any() and (work.still.tension[0, calm, i] * f.dynamic > allowed).any())
