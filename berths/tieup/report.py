"""Rows of the Verdict: lines as a hand needs them, cases, levels, and what one lost line would mean."""

import numpy as np

from berths.curve import moment
from berths.tieup import candidates, choose, leads, lengths, limits
from berths.tieup import outcome as outcomes
from berths.tieup.roles import role_words
from berths.tieup.verdict import (
    Alternative,
    CaseResult,
    Contact,
    LevelResult,
    LineAtLevel,
    LineResult,
    LineState,
    LostLine,
    Pose,
)

# The line that stops her first goes on first; then the ends.
ORDER = ("spring_aft", "spring", "stern_slip", "bow", "stern", "spring_forward", "spring_back", "breast")


def role_of(scenario, pick):
    """The role of a line that is there, from where it starts on her and where it leads."""
    loa, x, along = scenario.boat.loa, pick.boat.x, pick.along
    if x < candidates.AFT * loa:
        role = "spring_forward" if along > 0.5 else "stern"
    elif x > candidates.FORWARD * loa:
        role = "spring_aft" if along < -0.5 else "bow"
    else:
        role = "spring_forward" if along > 0.5 else "spring_aft" if along < -0.5 else "breast"
    if scenario.berth.kind != "slip" or role == "breast":
        return role
    side = "port" if pick.boat.y >= 0 else "starboard"
    if role.startswith("spring"):
        out = along > 0 if candidates.bow_points_out(scenario) else along < 0
        return f"spring_{side}" if out else f"spring_back_{side}"
    return f"{role}_{side}"


def put_on_order(scenario, picks):
    """Indices of the lines in the order they go on: what stops her first, windward before lee."""
    winds = scenario.weather.wind_from_deg
    windward = None
    if len(winds) == 1:  # only where one wind is stated is there a windward side
        angle = np.radians(scenario.bearing_deg - winds[0] - scenario.boat.heading_deg)
        windward = 1 if np.sin(angle) > 0 else -1
    return sorted(
        range(len(picks)),
        key=lambda i: (
            _turn(scenario, picks[i].role),
            windward is not None and np.sign(picks[i].boat.y) != windward,
            picks[i].role,
            i,
        ),
    )


def _turn(scenario, role):
    """Place of a role in the order of putting on; in a slip the stern lines come before the bow lines."""
    name = role.removesuffix("_port").removesuffix("_starboard")
    if scenario.berth.kind == "slip" and name == "stern" and candidates.bow_points_out(scenario):
        name = "stern_slip"
    return ORDER.index(name)


def lines(work):
    """Every line of the set in the order it goes on, and the far-side stern line where it is an option."""
    if not work.lines:
        return []
    out = [_line(work, i, n + 1) for n, i in enumerate(work.order)]
    if work.planned:
        out += _optional(work, len(out) + 1)
    return out


def _line(work, i, order):
    line, pick, now = work.lines[i], work.picks[i], work.scenario.water.now
    tension, ratio = work.middle.tension[0, :, i], work.middle.ratio()[0, :, i]
    case = int(tension.argmax())
    role_words = work.chosen.why.get(pick.role, "") if work.chosen else ""
    return LineResult(
        id=line.id,
        order=order,
        peak_tension=float(tension[case]),
        peak_ratio=float(ratio[case]),
        governing_case=work.middle.cases[case].id if tension[case] > 0 else None,
        tag=line.tag,
        why="; ".join(filter(None, (_reason(pick), role_words, _sleeve(work, i)))),
        **_measures(work, line, pick, now),
    )


def _measures(work, line, pick, now):
    """What the geometry alone says of a line."""
    run, floats = pick.run, pick.run.floats
    level = None if now is None and not floats else (now if now is not None else 0.0)
    return {
        "role": pick.role,
        "boat_fitting": line.boat_fitting,
        "shore_fitting": line.shore_fitting,
        "leads": candidates.leads(pick.along),
        "stops": stops(pick),
        "crossed": pick.crossed and pick.role.startswith("stern_"),
        "working_length": line.length,
        "card_length": lengths.card_length(line.length, run, pick.shore),
        "cut_length": lengths.cut_length(line.length, pick.shore, pick.boat, line.diameter_mm, work.figures),
        "diameter_mm": line.diameter_mm,
        "material": line.material,
        "mbs": line.mbs,
        "set_level": lengths.set_level(run, work.levels, line.length),
        "slack_now": None if level is None else float(line.length - run.distance([level])[0]),
    }


def stops(pick):
    """What a line keeps her from doing, told from where it leads."""
    way = candidates.leads(pick.along)
    if way == "abeam":
        return "moving off"
    return "going back" if way == "forward" else "going ahead"


def _reason(pick):
    role, lead = pick.role, f"{pick.run.lead:.1f} m of lead"
    if role.startswith("stern_") and pick.crossed:
        return "crossed: longer, forgives more water, and keeps her stern in the middle"
    if role.startswith("spring_back"):
        return f"{lead} along her, keeps her in the berth"
    if role.startswith("spring"):
        return f"{lead} along her, " + (
            "keeps her off the dock" if role.endswith(("port", "starboard")) else "stops her ranging"
        )
    return f"{lead}, clear of her and her neighbours"


def _sleeve(work, i):
    """What goes on with a planned line where it bears on a sharp edge."""
    edges = leads.sharp_edges(work.scenario, work.runs[i], work.levels) if work.planned else []
    return f"with a sleeve where it bears on the edge of {' and '.join(edges)}" if edges else ""


def _optional(work, order):
    """The far-side stern line at a fixed face, as an option with its reason."""
    rule = work.figures.far_side_stern
    if work.scenario.berth.kind != "fixed" or rule == "forbid":
        return []
    pick, reasons = candidates.far_side_stern(work.scenario, work.figures, work.levels)
    work.pruned += [r for r in reasons if r not in work.pruned]
    if pick is None or any(pick.key == p.key for p in work.picks):
        return []
    chooser = choose.Chooser(work.scenario, work.figures, work.levels, [])
    line = chooser.lines_for([pick], 1.0, work.lines[0].diameter_mm)[0].model_copy(update={"id": f"L{order}"})
    near = next((p.run.lead for p in work.picks if p.role == "stern"), 0.0)
    why = (
        f"an option: from the far quarter the lead is {pick.run.lead:.1f} m instead of {near:.1f} m, so it follows the "
        "water with less tending"
    )
    measures = _measures(work, line, pick, work.scenario.water.now)
    return [LineResult(id=line.id, order=order, optional=True, why=why, **measures)]


def cases(work):
    """Every case with pose, lines, contacts and what is left over."""
    outcome = work.middle
    touching = {}
    for row in outcome.problem.contacts(outcome.solution.pose):
        kind, name = str(row["kind"]), str(row["id"])
        numbers = {k: float(row[k]) for k in ("x", "y", "depth", "force")}
        touching.setdefault(int(row["row"]), []).append(Contact(kind=kind, id=name, **numbers))
    out = []
    for n, case in enumerate(outcome.cases[: outcome.stated]):
        states = [
            LineState(
                id=line.id,
                length=float(outcome.distance[0, n, i]),
                tension=float(outcome.tension[0, n, i]),
                slack=float(outcome.slack[0, n, i]),
            )
            for i, line in enumerate(work.lines)
        ]
        out.append(
            CaseResult(
                id=case.id,
                status=str(outcome.status[0, n]),
                level=case.level,
                pose=pose(outcome.pose[0, n]),
                lines=states,
                contacts=touching.get(n, []),
                residual=float(outcome.solution.residual[n]),
            )
        )
    return out


def pose(row):
    """x, y [m] and heading [rad] as the public `Pose`."""
    return Pose(x=float(row[0]), y=float(row[1]), heading_deg=float(np.degrees(row[2])))


def levels(work):
    """Per level the slack in calm, the greatest pull, how far she moves, and her gap to the dock ends."""
    soft, middle = work.soft, work.middle
    ends = outcomes.end_faces(work.scenario)
    gaps = soft.faces()[0][:, ends].min(axis=1) if ends.any() else np.full(len(soft.cases), np.inf)
    out = []
    for level in sorted(set(middle.levels)):
        here = middle.levels == level
        gap = gaps[here].min()
        rows = [
            LineAtLevel(
                id=line.id,
                slack_calm=float(line.length - work.picks[i].run.distance([level])[0]),
                tension_max=float(middle.tension[0, here, i].max()),
            )
            for i, line in enumerate(work.lines)
        ]
        moved = float(soft.moved()[0, here].max())
        out.append(LevelResult(level=float(level), lines=rows, moves=moved, clearance=_finite(gap)))
    return out


def _finite(value):
    return float(value) if np.isfinite(value) else None


def one_line_lost(work, cases):
    """Each line gone in turn, over the range of water in the strongest wind: does she hold on what is left?"""
    if len(work.lines) < 2:
        return []
    few = choose.thinned(cases, choose.MOST_CASES)
    sets = [[x for x in work.lines if x is not gone] for gone in work.lines]
    lost = outcomes.run(work.scenario, sets, few, second="none")
    use = limits.worst(lost, lost, work.figures)
    return [
        _lost(work, lost, {name: float(u[k]) for name, u in use.items()}, k) for k in range(len(work.lines))
    ]


def _lost(work, lost, use, k):
    """What becomes of her without line `k`, the worst first."""
    f, beam = work.figures, work.scenario.boat.beam
    band, unsolved = lost.band(k), int(lost.unsolved()[k].sum())
    pull = use["line"] * f.strength_factor_one_lost / f.strength_factor
    gaps = {name: gap for name, (gap, _) in outcomes.neighbour_gaps(lost, k).items() if gap < 0}
    then = [f"{unsolved} cases cannot be told"] if unsolved else []
    if pull > 1:
        then.append(f"line {band.peak_line} pulls {pull:.1f} times what it may with one line gone")
    if use["dock_end"] > 1:
        into = (use["dock_end"] - 1) / limits.PER_METRE
        then.append(f"she comes {into:.2f} m into the dock" if into >= 0.005 else "she touches the dock")
    then += [f"she comes {-gap:.1f} m into the boat at {name}" for name, gap in gaps.items()]
    if band.excursion > f.lost_line_movement * beam:
        then.append(f"she swings {band.excursion:.1f} m from her place")
    return LostLine(
        line=work.lines[k].id,
        holds=not then,
        then=", ".join(then),
        peak_ratio=band.peak_ratio,
        peak_line=band.peak_line,
        excursion=band.excursion,
        min_clearance=band.min_clearance,
        unsolved=unsolved,
    )


def alternative(entry, text):
    names = [f"{role_words(p.role)}: {p.boat.id} to {p.shore.id}" for p in entry.picks]
    return Alternative(lines=names, difference=text)


def aground(work, touch):
    """Spans of the stay in which her keel is on the bed."""
    curve = work.curve
    return [tuple(moment(t) for t in span) for span in curve.below(touch)] if curve else []
