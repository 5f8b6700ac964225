"""What became of the cases: those that could not be told, boats that got away, bad starts, lines off their curve."""

from itertools import pairwise

import numpy as np

from berths.tieup import geometry, lengths, limits
from berths.tieup.work import raised

ONE_PLACE = 0.05  # m; nearer than a survey's doubt


def judge(work):
    """Flags of the cases as they were solved."""
    return solved(work) if work.solved else []


def solved(work):
    """Cases that could not be told, boats that got away, lines beyond their tested curve, bad starts."""
    return [
        *_not_told(work),
        *_got_away(work),
        *_beyond_test(work),
        *(_starts_in(row) for row in work.middle.problem.starts_in_contact()),
        *_no_way_to_lead(work),
    ]


def _not_told(work):
    """Cases without a balance, and cases in which she could come to lie in either of two places."""
    three = (work.middle, work.soft, work.stiff)
    unsolved = np.any([o.folded(o.unsolved())[0] for o in three], axis=0)
    many = f"of {work.middle.stated} cases"
    flags = [_without_balance(work, np.flatnonzero(unsolved), many)] if unsolved.any() else []
    both = {n: _broken_in(work, n) for n in work.middle.two_places() if not unsolved[n]}
    for held in (False, True):
        if which := [n for n, broken in both.items() if bool(broken) != held]:
            flags.append(_two_places(work, which, many, held))
    return flags


def _broken_in(work, n):
    """Limits broken in stated case `n`, in either place, the worst first."""
    return limits.broken(work.soft.only(n), work.stiff.only(n), work.figures)


def _without_balance(work, which, many):
    case = work.middle.cases[int(which[0])]
    text = f"{len(which)} {many} could not be worked out (first: {case.id})"
    more = {"amount": len(which), "unit": "cases", "rests_on": "cases", "case": case.id, "level": case.level}
    return raised("not_solved", "stop", text, "treat as not held; look at the berth", **more)


def _two_places(work, which, many, held):
    """Where she could come to lie, how far apart, and what takes the choice from her.

    Where every limit is kept in either place she is held, and a word is enough; else it counts as not told.
    """
    outcome, places = work.middle, work.middle.two_places()
    hulls = outcome.corners()[0]
    apart = {n: np.linalg.norm(np.diff(hulls[outcome.rows_of(n)], axis=0), axis=-1).max() for n in which}
    n = max(which, key=apart.get) if held else which[0]
    case = outcome.cases[n]
    here, there = (_place(work, pose) for pose in places[n])
    text = f"in {len(which)} {many} she can come to lie in two places: {here}, or {there} (first: {case.id})"
    on = sorted({name for row in outcome.rows_of(n) for name in _rests_on(outcome, row)})
    do = f"a spring, or shorter lines, that keep her {'off ' + ' and '.join(on) if on else 'in one place'}"
    more = {"rests_on": "cases", "case": case.id, "level": case.level}
    if held:
        text = (
            f"in {len(which)} {many} she may lie in either of two places, up to {apart[n]:.2f} m apart, and every "
            f"limit is kept in both: {here}, or {there} ({case.id})"
        )
        return raised("either_place", "note", text, do, amount=apart[n], unit="m", **more)
    text += f"; in one of them {_broken_in(work, n)[0].words}"
    return raised("not_solved", "stop", text, do, amount=len(which), unit="cases", **more)


def _got_away(work):
    moved = work.middle.moved()[0]
    if moved.max() <= work.scenario.boat.loa:
        return []
    case = work.middle.cases[int(moved.argmax())]
    text = f"nothing keeps her in the berth: she drifts {moved.max():.1f} m ({case.id})"
    more = {"amount": moved.max(), "unit": "m", "rests_on": "lines, wind"}
    do = "lines that stop her that way"
    return [raised("not_held", "stop", text, do, case=case.id, level=case.level, **more)]


def _beyond_test(work):
    """Lines pulled past what their curve was measured for, or on a part of it where it carries nothing more."""
    flags, ratio = [], work.stiff.ratio()[0]
    for i, line in enumerate(work.lines):
        rows = lengths.curve_of(line)
        case = work.stiff.cases[int(ratio[:, i].argmax())]
        more = {"line": line.id, "case": case.id, "rests_on": "stretch curve"}
        if ratio[:, i].max() > (max(1.0, rows[-1][1]) if line.stiffness.table else 1.0):
            text = f"{work.name(i)} is pulled beyond its stretch curve ({case.id})"
            flags.append(raised("beyond_test", "note", text, "a longer or thicker line", **more))
        elif flat := [a for a, b in pairwise(rows) if a[1] == b[1] and a[0] > 0]:
            text = f"the stretch curve of {work.name(i)} is flat from {100 * flat[0][0]:.0f} % of stretch"
            flags.append(
                raised("beyond_test", "note", text, "measure the rope, or take its material's curve", **more)
            )
    return flags


def _place(work, pose):
    """Where she lies, told from where she was put: '0.40 m ahead, 0.12 m to port, turned 3 degrees to port'."""
    x, y = geometry.to_boat(work.scenario.boat, [pose[:2]])[0] - [work.scenario.boat.loa / 2, 0.0]
    turned = round(float(np.degrees(pose[2]) - work.scenario.boat.heading_deg))
    words = [f"{abs(x):.2f} m {'ahead' if x > 0 else 'astern'}"] if abs(x) >= 0.05 else []
    words += [f"{abs(y):.2f} m to {'port' if y > 0 else 'starboard'}"] if abs(y) >= 0.05 else []
    if turned:
        side = "port" if turned > 0 else "starboard"
        words.append(f"turned {abs(turned)} degree{'s' if abs(turned) > 1 else ''} to {side}")
    return ", ".join(words) or "where she was put"


def _rests_on(outcome, row):
    """Piles and dock ends she leans on in this row of the cases."""
    touched = outcome.problem.contacts(outcome.solution.pose)
    return [str(r["id"]) for r in touched[touched["row"] == row] if r["kind"] != "face"]


def _no_way_to_lead(work):
    """Lines whose two ends are at one place at some level: then the survey cannot be right, nor can the line."""
    flags = []
    for i, pick in enumerate(work.picks):
        heights = np.abs(pick.run.height(np.array([work.levels.min(), work.levels.max()])))
        crosses = pick.run.height(work.levels.min()) * pick.run.height(work.levels.max()) <= 0
        if pick.run.lead + pick.run.extra > ONE_PLACE or not (crosses or heights.min() <= ONE_PLACE):
            continue
        text = (
            f"{work.name(i)}: both ends are at one place at some level; she lies where {pick.shore.id} stands"
        )
        flags.append(
            raised(
                "starts_in_contact",
                "fix",
                text,
                "correct the survey, or where she lies",
                line=work.lines[i].id,
                fitting=pick.shore.id,
                rests_on="survey, her fittings",
            )
        )
    return flags


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
