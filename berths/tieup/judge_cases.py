"""What became of the cases: those that could not be told, boats that got away, bad starts, lines off their curve."""

from itertools import pairwise

import numpy as np

from berths.tieup import geometry, lengths
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
    flags, outcome = [], work.middle
    status = outcome.status[0]
    for word, told in (("not_converged", _without_balance), ("bistable", _two_places)):
        which = np.flatnonzero(status == word)
        if which.size:
            case = outcome.cases[int(which[0])]
            text, do = told(work, f"{which.size} of {status.size} cases", int(which[0]))
            more = {"amount": int(which.size), "unit": "cases", "rests_on": "cases"}
            flags.append(raised("not_solved", "stop", text, do, case=case.id, level=case.level, **more))
    return flags


def _without_balance(work, many, n):
    text = f"{many} could not be worked out (first: {work.middle.cases[n].id})"
    return text, "treat as not held; look at the berth"


def _two_places(work, many, n):
    """Where she could come to lie in case `n`, and what takes the choice from her."""
    outcome = work.middle
    poses = outcome.pose[0, n], outcome.solution.others[n]
    here, there = (_place(work, pose) for pose in poses)
    text = f"in {many} she can come to lie in two places: {here}, or {there} (first: {outcome.cases[n].id})"
    on = sorted({name for pose in poses for name in _rests_on(outcome, pose, n)})
    return (
        text,
        f"a spring, or shorter lines, that keep her {'off ' + ' and '.join(on) if on else 'in one place'}",
    )


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


def _rests_on(outcome, pose, case):
    """Piles and dock ends she leans on in this pose of one case."""
    poses = outcome.solution.pose.copy()
    poses[case] = pose
    rows = outcome.problem.contacts(poses)
    return [str(r["id"]) for r in rows[rows["row"] == case] if r["kind"] != "face"]


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
