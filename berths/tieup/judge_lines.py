"""Is the set complete, are its sizes right, and do its fittings bear it."""

import numpy as np

from berths.tieup import candidates
from berths.tieup.roles import role_words
from berths.tieup.verdict import FittingLoad
from berths.tieup.work import not_known, raised
from vessels import rope


def judge(work):
    """Flags of the lines as they stand, found or planned, before water and wind are asked."""
    return [*unknown_lines(work), *set_complete(work), *sizes(work), *fastenings(work)]


def unknown_lines(work):
    """Lines whose length or ends nobody recorded, and water nobody knows."""
    flags, f = [], "length, heights, water"
    used = {line.shore_fitting for line in work.lines}
    for line in work.asked.lines or []:
        if line.length is None:
            text = f"length of line {line.tag or line.id} not known: cannot say at which water it comes tight"
            flags.append(not_known("short_for_range", "fix", text, "measure it", line=line.id, rests_on=f))
        used |= {line.shore_fitting} | ({line.via.fitting} if line.via else set())
    flags += _places_unknown(work)
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


def _places_unknown(work):
    """Her own fittings that carry a line and that nobody has placed on her deck."""
    placed = {f.id for f in work.scenario.boat.fittings}
    missing = sorted({line.boat_fitting for line in work.asked.lines or []} - placed)
    return [
        not_known(
            "hangs_her",
            "stop",
            f"place of {name.replace('_', ' ')} on her deck not known: lines from it are not worked out",
            "measure it",
            fitting=name,
            rests_on="place of the fitting",
        )
        for name in missing
    ]


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
    return f"; nothing here for a {', a '.join(role_words(m) for m in missing)}" if missing else ""


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
    kind, have = work.scenario.berth.kind, {p.role for p in work.picks} & set(candidates.SPRINGS)
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
        if given.mbs is None:
            text = f"strength of line {line.tag or line.id} not known: lowest table value used"
            do = "find its certificate, or what its maker states"
            if given.diameter_mm is None:
                do = "measure it, or find its certificate"
            flags.append(not_known("line_weak", "fix", text, do, line=line.id, rests_on="strength"))
        if given.diameter_mm is None:
            text = f"diameter of line {line.tag or line.id} not measured"
            flags.append(
                not_known("line_thin", "note", text, "measure it", line=line.id, rests_on="diameter")
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
    for name in sorted(_bears(work.lines)):
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
        for name in sorted(_bears(work.lines, end)):
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


def fitting_loads(work):
    """Every fitting with a line on it, ashore first: its greatest pull and what it may be asked for."""
    out = []
    there = (
        ("ashore", "shore_fitting", work.scenario.berth.fittings),
        ("aboard", "boat_fitting", work.scenario.boat.fittings),
    )
    for end, name_of, fittings in there:
        may = {
            f.id: f.strength and f.strength / work.figures.fitting_factor / work.figures.dynamic
            for f in fittings
        }
        for name in sorted(_bears(work.lines, name_of)):
            load = fitting_load(work.stiff, name, name_of)
            case = int(load.argmax())
            on_it = [i for i, line in enumerate(work.lines) if name in _bears([line], name_of)]
            out.append(
                FittingLoad(
                    id=name,
                    end=end,
                    lines=[work.lines[i].id for i in on_it],
                    pull=float(load[case]),
                    up=float(work.stiff.vertical[0, case, on_it].sum()),
                    case=work.stiff.cases[case].id,
                    may=may[name],
                )
            )
    return out


def _bears(lines, end="shore_fitting"):
    """Names of the fittings that lines pull on at this end; ashore also the piles they are led round."""
    round_piles = {line.via.fitting for line in lines if line.via} if end == "shore_fitting" else set()
    return {getattr(line, end) for line in lines} | round_piles


def fitting_load(outcome, name, end, k=0):
    """Pull of all lines on one fitting as the length of their vector sum, per case. (cases,) [N]"""
    n, lines = len(outcome.cases), outcome.sets[k]
    pulls = outcome.problem.pulls(outcome.solution.pose)[k * n : (k + 1) * n]
    total = np.zeros((n, 3))
    for i, line in enumerate(lines):
        if name in _bears([line], end):
            total += _on(outcome.scenario, line, name, pulls[:, i], outcome.tension[k, :, i])
    return np.linalg.norm(total, axis=1)


def _on(scenario, line, name, pull, tension):
    """What one line does to a fitting, as it pulls on her: round a pile the pile feels both its parts. (cases, 3) [N]

    A turn that holds leaves all of the pull on the pile; one that slides adds the part beyond it, so the pile takes
    2 T sin(angle / 2). Which of them is not known: the greater. What lies beyond is given the whole pull.
    """
    if line.via is None or name == line.boat_fitting:
        return pull
    there = {f.id: np.array([f.x, f.y, f.z], float) for f in scenario.berth.fittings}
    onward = there[line.shore_fitting] - there[line.via.fitting]
    beyond = tension[:, None] * onward / np.linalg.norm(onward)
    if name == line.shore_fitting:
        return beyond
    led = pull - beyond
    if line.via.turn is None:
        return np.where((np.linalg.norm(led, axis=1) > tension)[:, None], led, pull)
    return pull if line.via.turn == "fixed" else led
