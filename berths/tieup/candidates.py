"""Lines worth trying: for each role the pairs of fittings that could serve, and why the others could not.

Roles come from how she lies, never from 'the dock end': a boat that lies bow-in in a slip has her stern lines
at the outer piles. A spring is told by where it leads and what it stops.
"""

from dataclasses import dataclass, replace

import numpy as np

from berths.tieup import geometry, lengths, prune
from berths.tieup.scenario import BoatFitting, ShoreFitting

AFT, FORWARD = 0.3, 0.7  # of loa: where a fitting counts as a stern or a bow fitting
KEPT = 6  # candidates a role keeps; more only repeat the same geometry with a worse score
SPRINGS = ("spring_aft", "spring_forward", "spring_port", "spring_starboard")  # what no_spring asks for


@dataclass(frozen=True)
class Candidate:
    """One possible line: its role, ends and lead at the berthed pose.

    `along` is the cosine of its lead with her bow (1 straight ahead, -1 straight astern), `score` orders the
    candidates of one role before anything is solved.
    """

    role: str
    boat: BoatFitting
    shore: ShoreFitting
    run: lengths.Run
    along: float
    crossed: bool
    score: float = 0.0

    @property
    def key(self):
        return f"{self.boat.id} to {self.shore.id}"


def leads(along):
    """forward, aft or abeam, by the cosine of a lead with her bow."""
    return "forward" if along > 0.35 else "aft" if along < -0.35 else "abeam"


def bow_points_out(scenario):
    """In a slip: whether her bow is at the outer end (stern-in)."""
    return bool(np.cos(np.radians(scenario.boat.heading_deg)) >= 0)


def line_between(scenario, role, boat_fitting, shore, via=None):
    """The `Candidate` of a line between these two fittings. Pure geometry; nothing is pruned here."""
    boat = scenario.boat
    end = via or shore
    (x, y), (sx, sy) = (boat_fitting.x, boat_fitting.y), geometry.to_boat(boat, [[end.x, end.y]])[0]
    berth_xy = geometry.to_berth(boat, [[x, y]])[0]
    run = lengths.run_of(berth_xy, boat_fitting.z, shore, via)
    along = (sx - x) / max(run.lead, 1e-9)
    return Candidate(role, boat_fitting, shore, run, float(along), bool(y * sy < 0))


def roles_of(scenario, figures, more=False):
    """The roles a set must fill at this kind of berth, each with a test and a score for a candidate.

    `more` adds the springs that are only put on where the usual set lets her go too far.

    Returns
    -------
    list of (roles, accept, score)
        `roles` is one name, or a port-starboard pair that is chosen together.
    """
    if scenario.berth.kind == "slip":
        return _slip_roles(scenario, more)
    return _side_roles(scenario, figures, more)


def _slip_roles(scenario, more):
    loa, out = scenario.boat.loa, 1 if bow_points_out(scenario) else -1

    def bow(c, side):
        return c.boat.x > FORWARD * loa and c.along > -0.25 and not c.crossed and _on(c.boat.y, side)

    def stern(c, side):
        return c.boat.x < AFT * loa and c.along < 0.25 and _on(c.boat.y, side)

    def spring(c, side):  # leads away from the dock: she cannot go toward it
        inner = c.boat.x < FORWARD * loa if out > 0 else c.boat.x > AFT * loa
        return inner and c.along * out > 0.5 and not c.crossed and _on(c.boat.y, side)

    def spring_back(c, side):  # leads toward the dock: she cannot go out into the fairway
        outer = c.boat.x > loa / 3 if out > 0 else c.boat.x < 2 * loa / 3
        return outer and c.along * out < -0.5 and not c.crossed and _on(c.boat.y, side)

    def long_lead(c):
        return min(c.run.lead / loa, 1.0)

    roles = [
        (("spring_port", "spring_starboard"), spring, long_lead),
        (("stern_port", "stern_starboard"), stern, lambda c: 2.0 * c.crossed + c.run.lead / loa),
        (("bow_port", "bow_starboard"), bow, long_lead),
    ]
    return (
        [*roles, (("spring_back_port", "spring_back_starboard"), spring_back, long_lead)] if more else roles
    )


def _on(y, side):
    return y >= 0 if side == "port" else y <= 0


def _side_roles(scenario, figures, more):
    loa, fixed = scenario.boat.loa, scenario.berth.kind == "fixed"
    dock = dock_sign(scenario)

    def near_side(c):
        return c.boat.y * dock >= 0

    def slanted(c):  # about 45 degrees alongside: Regal owner's manual, R-RULE-18
        return 1 - abs(abs(c.along) - np.sqrt(0.5)) + (min(c.run.lead / loa, 1.0) if fixed else 0.0)

    def long_spring(c):
        return min(c.run.lead / loa, figures.spring_most_lead)

    roles = [
        (("spring_aft",), lambda c, _: c.boat.x > loa / 3 and c.along < -0.6 and near_side(c), long_spring),
        (
            ("bow",),
            lambda c, _: c.boat.x > FORWARD * loa and c.along > -0.2 and (fixed or near_side(c)),
            slanted,
        ),
        (
            ("stern",),
            lambda c, _: c.boat.x < AFT * loa and c.along < 0.2 and (fixed or near_side(c)),
            slanted,
        ),
        (
            ("spring_forward",),
            lambda c, _: c.boat.x < 2 * loa / 3 and c.along > 0.6 and near_side(c),
            long_spring,
        ),
    ]
    few = not fixed and loa < figures.second_spring_loa and figures.least_lines <= 3
    return roles[:3] if few and not more else roles


def find(scenario, figures, levels, more=False):
    """Candidates of each role, best first, as choices of one line or of a port-starboard pair.

    Returns
    -------
    choices : list of list of tuple of Candidate
        One list a role (or pair of roles); each entry is put on together.
    pruning : Pruning
        With the reasons against the rest.
    missing : list of str
        Roles that nothing here can fill.
    """
    pruning = prune.Pruning(scenario, figures, levels)
    choices, missing = [], []
    for roles, accept, score in roles_of(scenario, figures, more):
        found = [_of_role(scenario, role, accept, score, pruning) for role in roles]
        found = [_near_side_first(f, scenario, pruning) for f in found]
        found = [_long_enough(f, scenario, figures, levels, pruning) for f in found]
        entries = _pairs(*found) if len(found) == 2 and all(found) else [(c,) for f in found for c in f]
        entries = _rules(entries, roles, scenario, figures, pruning)
        if not entries:
            missing += roles
            continue
        missing += [r for r, f in zip(roles, found, strict=True) if not f]
        choices.append(sorted(entries, key=lambda e: (-sum(c.score for c in e), [c.key for c in e]))[:KEPT])
    return choices, pruning, missing


def _of_role(scenario, role, accept, score, pruning):
    side = "port" if role.endswith("port") else "starboard"
    out = []
    for boat_fitting in scenario.boat.fittings:
        for shore in scenario.berth.fittings:
            c = line_between(scenario, role, boat_fitting, shore)
            if accept(c, side) and pruning.keeps(c):
                penalty = 0.3 * (shore.strength is None)
                out.append(replace(c, score=float(score(c)) - penalty))
    return out


def _long_enough(found, scenario, figures, levels, pruning):
    """Drop leads too short for the range while a longer one exists; 0.2 is the strain of a hard pull."""
    span = float(np.ptp(levels))
    middle = float(np.mean([np.min(levels), np.max(levels)]))
    keep = []
    for c in found:
        least = 0.0 if c.run.floats else lengths.least_lead(float(c.run.height(middle)), span, 0.15)
        if c.run.lead >= least:
            keep.append(c)
    if keep and len(keep) < len(found):
        for c in found:
            if c not in keep:
                pruning.drop(
                    c,
                    f"a lead of {c.run.lead:.1f} m is short for {span:.1f} m of water, and there is a longer one",
                )
    return keep or found


def _pairs(port, starboard):
    """Port candidates with the starboard one that mirrors them best."""
    pairs = []
    for p in port:
        best = min(starboard, key=lambda s: (s.crossed != p.crossed, _unlike(p, s), s.key))
        pairs.append((p, best))
    return pairs


def _unlike(p, s):
    return abs(p.boat.x - s.boat.x) + abs(p.boat.y + s.boat.y) + abs(p.run.lead - s.run.lead)


def _rules(entries, roles, scenario, figures, pruning):
    """Preferences that are rules: crossed stern lines in a slip; springs half a length or more alongside."""
    if roles[0] == "stern_port" and any(all(c.crossed for c in e) for e in entries):
        for c in (c for e in entries for c in e if not c.crossed):
            pruning.drop(c, "straight, and both far fittings can be used: stern lines are crossed")
        return [e for e in entries if all(c.crossed for c in e)]
    if scenario.berth.kind != "fixed":
        return entries
    if roles[0].startswith("spring"):
        low, high = (f * scenario.boat.loa for f in (figures.spring_least_lead, figures.spring_most_lead))
        long = [e for e in entries if low <= e[0].run.lead <= high]
        for c in (c for e in entries for c in e if long and e not in long):
            pruning.drop(c, f"a lead of {c.run.lead:.1f} m; springs of {low:.1f} to {high:.1f} m can be had")
        return long or entries
    return entries


def _near_side_first(found, scenario, pruning):
    """Bow and stern lines start from the side at the dock, unless a neighbour cuts the room for their lead."""
    if scenario.berth.kind != "fixed" or scenario.berth.neighbours or not found:
        return found
    near = [c for c in found if c.boat.y * dock_sign(scenario) >= 0]
    for c in found if near else ():
        if c not in near:
            pruning.drop(c, "starts from the far side, and the near side has room")
    return near or found


def dock_sign(scenario):
    """Sign of boat-frame y on the side that lies at the face."""
    return -1 if scenario.boat.side_to == "starboard" else 1


def far_side_stern(scenario, figures, levels):
    """The stern line from the off-side quarter to the dock, if it clears everything; else None and why.

    Longer than the near one, so it follows the water with less tending (Regal owner's manual, R-GEO-18).
    """
    boat, dock = scenario.boat, dock_sign(scenario)
    pruning = prune.Pruning(scenario, figures, levels)
    found = [
        c
        for f in boat.fittings
        if f.x < AFT * boat.loa and f.y * dock < 0
        for s in scenario.berth.fittings
        if (c := line_between(scenario, "far_side_stern", f, s)).along < -0.2 and pruning.keeps(c)
    ]
    return max(found, key=lambda c: (c.run.lead, c.key), default=None), pruning.reasons
