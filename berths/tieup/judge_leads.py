"""Where the lines run and what they share: gear, edges, each other, one fitting, one direction."""

from collections import Counter
from itertools import combinations

import numpy as np

from berths.tieup import leads, lengths
from berths.tieup.work import not_known, raised


def judge(work):
    """Flags of the lines' leads; a set that the engine made itself keeps clear of gear and of other lines."""
    found = [*crowded(work), *mixed(work), *over_gear(work)]
    return found if work.planned else [*found, *chafe(work)]


def crowded(work):
    """More lines on a fitting than it takes, or both of a pair on one fitting ashore."""
    flags = []
    for end, there in (
        ("shore_fitting", work.scenario.berth.fittings),
        ("boat_fitting", work.scenario.boat.fittings),
    ):
        takes = {f.id: f.takes for f in there}
        for name, count in sorted(Counter(getattr(line, end) for line in work.lines).items()):
            if count > takes[name]:
                lines = ", ".join(work.name(i) for i, li in enumerate(work.lines) if getattr(li, end) == name)
                text = f"{count} lines on {name.replace('_', ' ')}, which takes {takes[name]}: the one under the others cannot be freed ({lines})"
                flags.append(_crowded(text, name, count - takes[name]))
    for word in ("stern", "bow"):
        pair = [p for p in work.picks if p.role in (f"{word}_port", f"{word}_starboard")]
        if len({p.role for p in pair}) == 2 and len({p.shore.id for p in pair}) == 1:
            text = f"both {word} lines on {pair[0].shore.id}: one failure frees both"
            flags.append(_crowded(text, pair[0].shore.id, 1))
    return flags


def _crowded(text, fitting, amount):
    more = {"fitting": fitting, "amount": amount, "unit": "lines", "rests_on": "fittings, lines used"}
    return raised("crowded_fitting", "fix", text, "move one to another fitting", **more)


def mixed(work):
    """Stiff and stretchy lines that pull the same way: the stiff one takes the pull of both (R-CP-19)."""
    asked, f, flags = {line.id: line for line in work.asked.lines or []}, work.figures, []
    stretch = [lengths.strain_at(lengths.curve_of(line), f.reach_share) for line in work.lines]
    for i, j in combinations(range(len(work.lines)), 2):
        if not _same_way(work, i, j, f.same_direction):
            continue
        unknown = [
            work.name(n) for n in (i, j) if not work.planned and _kind_unknown(asked[work.lines[n].id])
        ]
        stiff, soft = sorted((i, j), key=lambda n: stretch[n])
        if unknown:
            text = f"kind of rope of {' and '.join(unknown)} not known: cannot say which of two lines takes the pull"
            line = next(work.lines[n].id for n in (i, j) if _kind_unknown(asked[work.lines[n].id]))
            flags.append(
                not_known(
                    "mixed_stretch", "fix", text, "look at the rope", line=line, rests_on="kind of rope"
                )
            )
        elif stretch[soft] > f.mixed_stretch * stretch[stiff]:
            text = (
                f"{work.name(stiff)} and {work.name(soft)} pull the same way, and the second stretches "
                f"{stretch[soft] / stretch[stiff]:.1f} times as far: the stiff one carries all, then breaks"
            )
            more = {
                "line": work.lines[stiff].id,
                "amount": stretch[soft] / stretch[stiff],
                "unit": "times the stretch",
            }
            do = "the same kind of rope, or leave the stiff one slack"
            flags.append(
                raised("mixed_stretch", "fix", text, do, rests_on="kinds of rope, leads (R-CP-19)", **more)
            )
    return _once_a_line(flags)


def _kind_unknown(line):
    return line.material is None and line.stiffness is None


def _same_way(work, i, j, least):
    """Whether two lines lead within an angle of each other whose cosine is `least`."""
    ways = [work.runs[n][0].end - work.runs[n][0].start for n in (i, j)]
    sizes = [float(np.linalg.norm(w)) for w in ways]
    return min(sizes) > leads.AT_ITS_END and float(ways[0] @ ways[1]) / (sizes[0] * sizes[1]) >= least


def _once_a_line(flags):
    """One flag for each stiff line, with the partner that it takes most from."""
    worst = {}
    for flag in sorted(flags, key=lambda f: -(f.amount or 0.0)):
        worst.setdefault((flag.line, flag.state), flag)
    return list(worst.values())


def over_gear(work):
    """Lines across or close over what turns, steers, or lets people through."""
    flags = []
    if work.asked.boat.zones is None and work.lines:
        flags.append(_gear_not_recorded(work))
    for zone, whose in (
        (z, w)
        for there, w in ((work.scenario.boat, "her "), (work.scenario.berth, "the "))
        for z in there.zones
    ):
        if work.lines and None in (zone.x1, zone.x2, zone.y1, zone.y2):
            text = (
                f"place of {whose}{zone.kind or zone.id} not recorded: cannot say whether a line crosses it"
            )
            flags.append(not_known("over_gear", "stop", text, "measure where it is", rests_on="gear zones"))
    for i, run in enumerate(work.runs):
        crossed = [leads.over_gear(work.scenario, work.figures, work.levels, piece) for piece in run]
        if gear := next(filter(None, crossed), None):
            text = f"{work.name(i)} passes over {gear}: caught and cut at the next start, or in the way of whoever climbs"
            more = {"line": work.lines[i].id, "rests_on": "line's lead, gear zones"}
            flags.append(raised("over_gear", "stop", text, "lead it the other way", **more))
    return flags


def _gear_not_recorded(work):
    """With lines that are recommended the hand is told what to look for; with those that are there nobody knows."""
    text = "place of her drive, rudder and ladders not recorded"
    if work.planned:
        do = "see that no line crosses a drive, outboard, rudder or ladder, and lead it the other way where one does"
        return not_known("over_gear", "note", text, do, rests_on="gear zones")
    text += ": cannot say whether a line crosses them"
    return not_known("over_gear", "stop", text, "record them", rests_on="gear zones")


def chafe(work):
    """Lines that bend over a sharp edge, or saw another rope, without gear against it."""
    asked, flags = {line.id: line for line in work.asked.lines or []}, []
    for i, run in enumerate(work.runs):
        gear = asked[work.lines[i].id].chafe_gear
        if gear:
            continue
        for face in work.scenario.berth.faces:
            bends = [leads.bends_over(piece, face, work.levels) for piece in run]
            if face.sharp is False or not any(b or b is None for b in bends):
                continue
            known = face.sharp is not None and gear is not None and True in bends
            flags.append(_over_edge(work, i, face, known, gear))
    for i, j in combinations(range(len(work.lines)), 2):
        gear = [asked[work.lines[n].id].chafe_gear for n in (i, j)]
        if True in gear or _pair(work, i, j):
            continue
        if any(leads.saw(a, b, work.levels) for a in work.runs[i] for b in work.runs[j]):
            text = f"{work.name(i)} and {work.name(j)} saw each other where they cross"
            do, more = "a sleeve where they cross, or lead one the other way", {"rests_on": "leads, sleeves"}
            if None in gear:
                text, make = f"{text}; whether they have a sleeve there is not recorded", not_known
            else:
                make = raised
            flags.append(make("chafe", "fix", text, do, line=work.lines[i].id, **more))
    return flags


def _pair(work, i, j):
    """Two lines of one name: crossed stern lines, or springs that pass each other along her side."""
    return work.picks[i].role.split("_")[0] == work.picks[j].role.split("_")[0]


def _over_edge(work, i, face, known, gear):
    where, more = (
        f"{work.name(i)} bends over the edge of {face.id}",
        {"line": work.lines[i].id, "rests_on": "lead, edge"},
    )
    if known:
        text, do = f"{where} without a sleeve: sawn through in a night of wash", "a sleeve there, 0.6 m of it"
        return raised("chafe", "fix", text, do, **more)
    missing = "whether it has a sleeve there is not recorded" if face.sharp else "that edge is not described"
    if face.sharp is None and gear is None:
        missing = "neither that edge nor a sleeve is recorded"
    return not_known("chafe", "fix", f"{where}: {missing}", "look at it", **more)
