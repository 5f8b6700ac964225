"""Do these lines hold her over this water: reach, pull, fittings, and whether the set is complete."""

import numpy as np

from berths.tieup import candidates, lengths, limits
from berths.tieup import outcome as outcomes
from berths.tieup.work import not_known, raised
from vessels import rope

SPRINGS = ("spring_aft", "spring_forward", "spring_port", "spring_starboard")


def judge(work):
    """Flags of the lines: those that were found, or those that are planned."""
    flags = [*unknown_lines(work), *reach(work), *set_complete(work), *sizes(work), *fastenings(work)]
    flags += lifts_off(work)
    if work.solved:
        flags += [*solved(work), *hangs(work), *weak(work)]
    return flags


def unknown_lines(work):
    """Lines whose length or ends nobody recorded, and water nobody knows."""
    flags, f = [], "length, heights, water"
    used = {line.shore_fitting for line in work.lines}
    for line in work.asked.lines or []:
        if line.length is None:
            text = f"length of line {line.tag or line.id} not known: cannot say at which water it comes tight"
            flags.append(not_known("short_for_range", "fix", text, "measure it", line=line.id, rests_on=f))
        used.add(line.shore_fitting)
    known = {s.id: s for s in work.asked.berth.fittings or []}
    for name in sorted(used & set(known)):
        if known[name].x is None or known[name].y is None:
            text = f"place of {name} not known: lines to it are not worked out"
            flags.append(
                not_known(
                    "hangs_her", "stop", text, "survey it", fitting=name, rests_on="place of the fitting"
                )
            )
        elif known[name].z is None:
            text = f"height of {name} not known: cannot say whether she hangs on it"
            flags.append(
                not_known(
                    "hangs_her", "stop", text, "measure it", fitting=name, rests_on="height of the fitting"
                )
            )
    floats = all(p.run.floats for p in work.picks)
    if work.low is None and not floats:
        text = "water at this berth not known: cannot say at which water the lines come tight"
        flags.append(
            not_known("short_for_range", "fix", text, "set the water of this berth", rests_on="water")
        )
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


def set_complete(work):
    """Few lines, straight stern lines, no spring: what the set lacks."""
    count = len(work.lines)
    if not work.planned and not (work.asked.lines or []):
        text = "lines not recorded: not made fast as far as we know"
        return [not_known("few_lines", "fix", text, "record what holds her", rests_on="lines used")]
    if work.planned and work.chosen is None:
        text = "no set of lines can be put on here" + _lacking(work.missing)
        do = "another berth, or a fastening where one is missing"
        return [raised("few_lines", "stop", text, do, rests_on="fittings")]
    flags, least = [], int(work.figures.least_lines)
    recorded = count if work.planned else len(work.asked.lines or [])
    lacking = _lacking(work.chosen.missing) if work.planned else ""
    if (recorded < least or lacking) and not work.short_stop:
        few = (
            f"{recorded} lines of the {least} this kind of berth asks for"
            if recorded < least
            else f"{recorded} lines"
        )
        text = f"{few}: one failure and she swings free{lacking}"
        more = {"amount": max(0, least - recorded), "unit": "lines", "rests_on": "house rule, lines used"}
        flags.append(raised("few_lines", "fix", text, f"add {max(1, least - recorded)}", **more))
    return flags + _not_crossed(work) + _no_spring(work)


def _lacking(missing):
    return f"; nothing here for a {', a '.join(candidates.role_words(m) for m in missing)}" if missing else ""


def _not_crossed(work):
    if work.scenario.berth.kind != "slip" or work.planned:
        return []
    straight = [p for p in work.picks if p.role.startswith("stern") and not p.crossed]
    if not straight:
        return []
    choices, _, _ = candidates.find(work.scenario, work.figures, work.levels)
    can = any(all(c.crossed for c in e) for ch in choices for e in ch if e[0].role.startswith("stern"))
    if not can:
        return []
    lines = " and ".join(work.name(work.picks.index(p)) for p in straight)
    text = f"{lines}: straight; she walks to one side, and they are half as long as they could be"
    return [
        raised("not_crossed", "fix", text, "cross the stern lines", rests_on="line ends, fastenings in use")
    ]


def _no_spring(work):
    """Nothing along her that limits movement ahead, or astern."""
    if work.short_stop:
        return []
    kind, have = work.scenario.berth.kind, {p.role for p in work.picks} & set(SPRINGS)
    lacking = None
    # A box, which asks for four lines in all, has none: its long lines to the outer piles keep her off the dock.
    if kind == "slip" and not have and work.figures.least_lines > 4:
        lacking = "toward the dock"
    elif kind == "floating" and not have:
        lacking = "ahead or astern"
    elif kind == "fixed" and len(have) < 2:
        lacking = "ahead" if "spring_aft" not in have else "astern"
        lacking = "ahead or astern" if not have else lacking
    if lacking is None:
        return []
    add = {"toward the dock": "away from the dock", "ahead": "AFT", "astern": "FORWARD"}.get(lacking, "AFT")
    text = f"no spring stops her going {lacking}: she ranges into the dock or her neighbour"
    return [raised("no_spring", "fix", text, f"add one that runs {add}", rests_on="line leads")]


def sizes(work):
    """Diameter against the house size, and against the cleats it is turned up on."""
    flags, boat = [], work.scenario.boat
    stock = work.scenario.rope.stock_mm
    house = rope.house_diameter(boat.loa, stock)[0]
    asked = {line.id: line for line in work.asked.lines or []}
    ashore = {s.id: s for s in work.scenario.berth.fittings}
    aboard = {b.id: b for b in boat.fittings}
    for i, line in enumerate(work.lines):
        given = asked.get(line.id, line)
        if given.diameter_mm is None:
            text = f"diameter of line {line.tag or line.id} not measured"
            flags.append(
                not_known("line_thin", "note", text, "measure it", line=line.id, rests_on="diameter")
            )
            if given.mbs is None:
                text = f"strength of line {line.tag or line.id} not known: lowest table value used"
                flags.append(
                    not_known(
                        "line_weak",
                        "fix",
                        text,
                        "measure it, or find its certificate",
                        line=line.id,
                        rests_on="strength",
                    )
                )
            continue
        if line.diameter_mm < house - 0.01:
            text = f"{work.name(i)} is {line.diameter_mm:g} mm; a boat of {boat.loa:.1f} m asks for {house:g} mm: it wears fast"
            flags.append(
                raised(
                    "line_thin",
                    "note",
                    text,
                    f"{house:g} mm when it is replaced",
                    line=line.id,
                    amount=house - line.diameter_mm,
                    unit="mm",
                    rests_on="house size (R-RULE-1)",
                )
            )
        for fitting in (ashore.get(line.shore_fitting), aboard.get(line.boat_fitting)):
            wanted = rope.cleat_length_for(line.diameter_mm)
            if fitting and fitting.cleat_length and fitting.cleat_length < wanted - 0.0255:
                text = f"{work.name(i)}: {line.diameter_mm:g} mm is too thick for a cleat of {fitting.cleat_length:.2f} m; it cannot be turned up properly"
                flags.append(
                    raised(
                        "line_thick",
                        "note",
                        text,
                        f"a cleat of {wanted:.2f} m",
                        line=line.id,
                        fitting=fitting.id,
                        amount=wanted - fitting.cleat_length,
                        unit="m",
                        rests_on="cleat length 16 x diameter (R-CLEAT-1)",
                    )
                )
    return flags


def fastenings(work):
    """Fittings out of use, of unknown strength, or weaker than what the lines bring."""
    flags, asked = [], {s.id: s for s in work.asked.berth.fittings or []}
    for name in sorted({line.shore_fitting for line in work.lines}):
        if asked[name].in_use is False:
            text = f"{name} is out of use: it pulls out and takes the plank along"
            flags.append(
                raised(
                    "fastening_out",
                    "stop",
                    text,
                    "another fitting; report it",
                    fitting=name,
                    rests_on="condition",
                )
            )
        elif asked[name].strength is None:
            text = f"strength of {name} not known"
            flags.append(
                not_known(
                    "fastening_out",
                    "stop",
                    text,
                    "find out, or have it tested",
                    fitting=name,
                    rests_on="strength",
                )
            )
    aboard = {b.id: b for b in work.scenario.boat.fittings}
    weakless = [n for n in sorted({line.boat_fitting for line in work.lines}) if aboard[n].strength is None]
    if weakless:
        text = f"strength of her own fittings not known ({', '.join(n.replace('_', ' ') for n in weakless)})"
        flags.append(
            not_known(
                "fastening_out",
                "stop",
                text,
                "ask her skipper; look at how they are backed",
                rests_on="strength",
            )
        )
    return flags + (_overloaded(work, aboard) if work.solved else [])


def _overloaded(work, aboard):
    """Vector sum of the lines on each fitting, with the dynamic allowance, against its strength."""
    flags, ashore = [], {s.id: s for s in work.scenario.berth.fittings}
    for group, end in ((ashore, "shore_fitting"), (aboard, "boat_fitting")):
        for name in sorted({getattr(line, end) for line in work.lines}):
            strength = group[name].strength
            if strength is None:
                continue
            load = fitting_load(work.stiff, name, end)
            use = load * work.figures.dynamic * work.figures.fitting_factor / strength
            case = int(use.argmax())
            if use[case] > 1 + 1e-6:
                text = (
                    f"{name.replace('_', ' ')} takes {load[case] * work.figures.dynamic / 1000:.1f} kN "
                    f"({work.stiff.cases[case].id}); {strength / work.figures.fitting_factor / 1000:.1f} kN of its "
                    f"{strength / 1000:.1f} kN may be used: it pulls out"
                )
                flags.append(
                    raised(
                        "fastening_out",
                        "stop",
                        text,
                        "another fitting, or share the pull",
                        fitting=name,
                        case=work.stiff.cases[case].id,
                        level=work.stiff.cases[case].level,
                        amount=use[case],
                        unit="times what it may",
                        rests_on="strength, stiff rope, dynamic allowance",
                    )
                )
    return flags


def fitting_load(outcome, name, end, k=0):
    """Pull of all lines on one fitting as the length of their vector sum, per case. (cases,) [N]"""
    n = len(outcome.cases)
    here = [i for i, line in enumerate(outcome.sets[k]) if getattr(line, end) == name]
    pulls = outcome.problem.pulls(outcome.solution.pose)[k * n : (k + 1) * n]
    return np.linalg.norm(pulls[:, here].sum(axis=1), axis=1)


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


def solved(work):
    """Cases that could not be told, boats that got away, lines beyond their tested curve, bad starts."""
    flags, outcome = [], work.middle
    status, moved = outcome.status[0], outcome.moved()[0]
    for word, text in (("not_converged", "could not be worked out"), ("bistable", "have two answers")):
        n = int((status == word).sum())
        if n:
            case = outcome.cases[int(np.argmax(status == word))]
            flags.append(
                raised(
                    "not_solved",
                    "stop",
                    f"{n} of {status.size} cases {text} (first: {case.id})",
                    "treat as not held; look at the berth",
                    case=case.id,
                    level=case.level,
                    amount=n,
                    unit="cases",
                    rests_on="cases",
                )
            )
    if moved.max() > work.scenario.boat.loa:
        case = outcome.cases[int(moved.argmax())]
        flags.append(
            raised(
                "not_held",
                "stop",
                f"nothing keeps her in the berth: she drifts {moved.max():.1f} m ({case.id})",
                "lines that stop her that way",
                case=case.id,
                level=case.level,
                amount=moved.max(),
                unit="m",
                rests_on="lines, wind",
            )
        )
    ratio = work.stiff.ratio()[0]
    for i, line in enumerate(work.lines):
        tested = max(t for _, t in lengths.curve_of(line)) if line.stiffness.table else 1.0
        if ratio[:, i].max() > max(tested, 1.0):
            case = outcome.cases[int(ratio[:, i].argmax())]
            flags.append(
                raised(
                    "beyond_test",
                    "note",
                    f"{work.name(i)} is pulled beyond its stretch curve ({case.id})",
                    "a longer or thicker line",
                    line=line.id,
                    case=case.id,
                    rests_on="stretch curve",
                )
            )
    return flags + [_starts_in(row) for row in outcome.problem.starts_in_contact()]


def _starts_in(row):
    text = (
        f"where she was put, {row['kind'].replace('_', ' ')} {row['id']} is {row['depth']:.2f} m inside her"
    )
    return raised(
        "starts_in_contact",
        "fix",
        text,
        "correct the survey, or where she lies",
        fitting=str(row["id"]),
        amount=row["depth"],
        unit="m",
        rests_on="survey, her outline",
    )


def hangs(work):
    """Vertical pull of the lines in calm against her displacement."""
    f, outcome = work.figures, work.stiff
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
        f"{'up' if low_side else 'down'} at {outcome.cases[worst].level:.2f} m ({names})"
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


def hanging_lines(work):
    """Indices of the lines that make most of the vertical pull in the worst calm case."""
    calm = np.flatnonzero(work.stiff.calm)
    use = limits.pulls(work.stiff, work.figures)["vertical"][0]
    pull = np.abs(work.stiff.vertical[0, calm[int(use[calm].argmax())], : len(work.lines)])
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
    parted = work.middle.status[0] == "parted"
    for i, line in enumerate(work.lines):
        allowed = line.mbs * rope.wet_factor(line.material) / f.strength_factor
        use = outcome.tension[0, :, i] * f.dynamic / allowed
        case = int(use.argmax())
        if use[case] <= 1 + 1e-6:
            continue
        parts = bool((parted & (work.middle.tension[0, :, i] > line.mbs)).any())
        over = [c for c, u in zip(outcome.cases, use, strict=True) if u > 1]
        wind = min((c.wind_speed or 0.0) for c in over)
        above = f" above {int(wind / 0.514444 * 0.999)} kn" if wind else " without any wind"
        verb = "parts" if parts else "may part"
        text = (
            f"{work.name(i)} {verb}{above}: {outcome.tension[0, case, i] * f.dynamic / 1000:.1f} kN where "
            f"{allowed / 1000:.1f} kN may be used ({outcome.cases[case].id})"
        )
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


def calm_overload(work, line_id):
    """Whether this line breaks its limit without wind: then the water is the cause, not the weather."""
    i = next(i for i, line in enumerate(work.lines) if line.id == line_id)
    line, f = work.lines[i], work.figures
    allowed = line.mbs * rope.wet_factor(line.material) / f.strength_factor
    calm = work.stiff.calm
    return bool(calm.any() and (work.stiff.tension[0, calm, i] * f.dynamic > allowed).any())
