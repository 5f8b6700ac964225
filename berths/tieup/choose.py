"""Chooses the lines: candidates are combined, solved in three passes, and the best set that holds is taken.

The passes get fewer sets and more cases: a coarse look at many sets, the full range of water and wind for the
good ones, and every case with soft and stiff rope for the winner. Limits come before the score; where nothing
keeps them all the best set is still returned, with what it breaks.
"""

import heapq
import itertools
from dataclasses import dataclass, field

import numpy as np

from berths.tieup import candidates, compare, leads, lengths, limits, outcome
from berths.tieup import cases as casework
from berths.tieup.scenario import Line, Stiffness
from vessels import rope

SETS, KEPT, FINAL = 100, 64, 8
TRIED_AGAIN = 3  # sets that are looked at on all cases when each breaks a limit there
SLACKS = (1.0, 1.015, 1.04)
MOST_CASES = 169  # of the full pass


@dataclass
class Chosen:
    """The set taken, on all cases (soft, middle, stiff rope), and how it came about."""

    picks: tuple
    lines: list
    cases: list
    soft: outcome.Outcome
    middle: outcome.Outcome
    stiff: outcome.Outcome
    broken: list
    pruned: list
    missing: list
    tried: int = 0
    why: dict = field(default_factory=dict)
    following: list = field(default_factory=list)

    @property
    def faults(self):
        """How many limits it breaks, in either place where she has two; a case that is not solved counts as one more."""
        return len(self.broken) + any(o.unsolved().any() for o in (self.soft, self.middle, self.stiff))

    @property
    def rank(self):
        """Least is best: limits broken, then cases in which she could lie in two places."""
        return self.faults, len(self.middle.second)


@dataclass
class Entry:
    """One set with one slack while it is compared: its use of limits and its score."""

    picks: tuple
    slack: float
    lines: list
    short_springs: float = 0.0
    use: dict = field(default_factory=dict)
    peak: float = 0.0
    excursion: float = 0.0
    unsolved: int = 0

    @property
    def over(self):
        """By how much limits are broken; 0 when all are kept."""
        return 100.0 * self.unsolved + sum(max(0.0, u - 1) for u in self.use.values())

    @property
    def unknown(self):
        """Fastenings whose strength nobody knows."""
        return len({c.shore.id for c in self.picks if c.shore.strength is None})

    @property
    def rope(self):
        """All its lines together. [m]"""
        return sum(line.length for line in self.lines)

    def parts_of_score(self, loa):
        """What the score is made of, by what it counts."""
        return {
            "pull": 3 * self.peak,
            "movement": self.excursion,
            "lines": 0.1 * len(self.lines),
            "rope": 0.02 * self.rope / loa,
            "strengths that are not known": 0.3 * self.unknown,
        }

    def score(self, loa):
        return sum(self.parts_of_score(loa).values())

    def rank(self, loa):
        """Limits first, then the rule that springs at a wall are as long as the face allows, then the score."""
        names = tuple(c.key for c in self.picks)
        return (
            round(self.over, 6),
            self.short_springs,
            round(self.score(loa), 6),
            len(self.lines),
            names,
            self.slack,
        )


class Chooser:
    """One search for one filled Scenario; the diameter may grow while it runs."""

    def __init__(self, scenario, figures, levels, all_cases):
        self.scenario, self.figures = scenario, figures
        self.levels, self.all_cases = np.asarray(levels, float), all_cases
        self.loa = scenario.boat.loa
        self.diameter = scenario.rope.diameter_mm
        self.longest = {}  # lead of the longest spring there is, by role; only at a fixed face

    def lines_for(self, picks, slack, diameter=None):
        """Real lines for a set of candidates: strength, stretch and working length."""
        diameter = diameter or self.diameter
        material = self.scenario.rope.material
        table = [tuple(row) for row in rope.stretch(material)]
        mbs = rope.strength(material, diameter).mbs
        calm = lengths.strain_at(table, self.figures.calm_share, self.figures.stretch_stiff)
        return [
            Line.model_construct(  # made of checked figures; a wrong survey may make it longer than any rope
                id=f"L{i + 1}",
                boat_fitting=c.boat.id,
                shore_fitting=c.shore.id,
                length=lengths.working_length(c.run, self.levels, calm) * slack,
                material=material,
                diameter_mm=diameter,
                mbs=mbs,
                stiffness=Stiffness(table=table),
            )
            for i, c in enumerate(picks)
        ]

    def entry(self, picks, slack):
        """An `Entry` with real lines, and by how much its springs fall short of the longest there are."""
        short = sum(self.longest[c.role] - c.run.lead for c in picks if c.role in self.longest)
        return Entry(picks, slack, self.lines_for(picks, slack), round(short, 1))

    def look(self, entries, cases, both_curves=False):
        """Solve these entries over these cases and note their use of limits, best first."""
        sets = [e.lines for e in entries]
        curves = (self.figures.stretch_soft, self.figures.stretch_stiff) if both_curves else (1.0,)
        seen = [outcome.run(self.scenario, sets, cases, slope, second="none") for slope in curves]
        soft, stiff = seen[0], seen[-1]
        use = limits.worst(soft, stiff, self.figures)
        peak, moved = stiff.ratio().max(axis=(1, 2)), soft.moved().max(axis=1)
        unsolved = soft.unsolved().sum(axis=1) + (stiff.unsolved().sum(axis=1) if both_curves else 0)
        for k, entry in enumerate(entries):
            entry.use = {name: float(u[k]) for name, u in use.items()}
            entry.peak, entry.excursion, entry.unsolved = float(peak[k]), float(moved[k]), int(unsolved[k])
        return sorted(entries, key=lambda e: e.rank(self.loa))

    def search(self):
        """The usual set; where that lets her go too far, the usual set with more springs, if that is better.

        Returns
        -------
        chosen : Chosen or None
            None where no set can be put on.
        pruned : list of str
        missing : list of str
            Roles that nothing here can fill.
        """
        chosen, pruned, missing = self._search(more=False)
        if chosen is None or not _gives_way(chosen):
            return chosen, pruned, missing
        second, pruned_too, _ = self._search(more=True)
        if second and len(second.lines) > len(chosen.lines) and _over(second) < _over(chosen):
            reason = chosen.broken[0].words if chosen.broken else "some cases could not be worked out"
            for pick in second.picks[len(chosen.picks) :]:
                second.why[pick.role] = f"without it {reason}"
            return second, [*pruned, *(r for r in pruned_too if r not in pruned)], missing
        return chosen, pruned, missing

    def _search(self, more):
        choices, pruning, missing = candidates.find(self.scenario, self.figures, self.levels, more)
        if not choices:
            return None, pruning.reasons, missing
        if self.scenario.berth.kind == "fixed":
            springs = [c for entries in choices for e in entries for c in e if c.role.startswith("spring")]
            self.longest = {c.role: max(s.run.lead for s in springs if s.role == c.role) for c in springs}
        sets = self._sets(choices, pruning)
        if not sets:
            return None, pruning.reasons, missing
        entries = self.look([Entry(p, 1.0, self.lines_for(p, 1.0)) for p in sets], self._coarse())
        best = entries[: KEPT // len(SLACKS)]
        entries = [Entry(e.picks, s, self.lines_for(e.picks, s)) for e in best for s in SLACKS]
        full = self.look(entries, self._full())
        final = self.look(
            [Entry(e.picks, e.slack, e.lines) for e in full[:FINAL]], self._full(), both_curves=True
        )
        chosen = self._settle(final)
        chosen.pruned, chosen.missing, chosen.tried = pruning.reasons, missing, len(sets)
        chosen.why, chosen.following = self._why(chosen, full), self._following(chosen, final)
        return chosen, pruning.reasons, missing

    def _sets(self, choices, pruning):
        """Combinations whose fittings can take them, the best by summed score of their candidates."""
        combos = itertools.product(*choices)
        best = heapq.nlargest(
            4 * SETS, (tuple(c for entry in combo for c in entry) for combo in combos), key=_promise
        )
        out = []
        for picks in best:
            reason = self._clash(picks)
            if reason is None:
                out.append(picks)
            elif reason not in pruning.reasons:
                pruning.reasons.append(reason)
            if len(out) == SETS:
                break
        return out

    def _clash(self, picks):
        """Why these lines cannot be put on together, or None."""
        for side in ("shore", "boat"):
            used = {}
            for c in picks:
                used.setdefault(getattr(c, side).id, []).append(c)
            for name, group in used.items():
                if len(group) > getattr(group[0], side).takes:
                    return f"{len(group)} lines on {name}, which takes {getattr(group[0], side).takes}"
        ends = [self.levels.min(), self.levels.max()]
        pieces = {c.key: leads.pieces(self.scenario, c.boat, c.shore)[0] for c in picks}
        for a, b in itertools.combinations(picks, 2):
            twins = a.role.split("_")[0] == b.role.split("_")[0]
            if not twins and leads.saw(pieces[a.key], pieces[b.key], ends):
                return f"{a.key} and {b.key} would saw each other where they cross"
        return None

    def _coarse(self):
        if self.scenario.cases is not None:
            return thinned(self.all_cases, 25)
        few = np.linspace(self.levels.min(), self.levels.max(), 5)
        return self._grid(few, 4)

    def _full(self):
        if self.scenario.cases is not None:
            return thinned(self.all_cases, MOST_CASES)
        return self._grid(np.linspace(self.levels.min(), self.levels.max(), 13), 12)

    def _grid(self, levels, directions):
        weather = self.scenario.weather
        winds = weather.wind_from_deg[:: max(1, len(weather.wind_from_deg) // directions)]
        levels = np.unique(np.round(levels, 4))
        return casework.grid(self.scenario, [float(z) for z in levels], winds, [max(weather.wind_speeds)])

    def _settle(self, ranked):
        """The best entry that keeps every limit over all cases, with thicker rope where strength asks for it.

        Only all cases with a second start tell whether she could lie elsewhere as well: a set that lets her gives
        way to one that does not, as long as that keeps the limits too.
        """
        best = None
        for n, entry in enumerate(ranked):
            if best and (entry.over != 0 or (best.faults and n >= TRIED_AGAIN)):
                break
            chosen = self._with_rope(entry)
            if best is None or chosen.rank < best.rank:
                best = chosen
            if chosen.rank == (0, 0) or ranked[0].over != 0:
                break
        return best

    def _with_rope(self, entry):
        stock = [d for d in self.scenario.rope.stock_mm if d > self.diameter]
        for diameter in [self.diameter, *stock[:3]]:
            chosen = self._on_all_cases(entry.picks, self.lines_for(entry.picks, entry.slack, diameter))
            if not any(b.limit == "line" for b in chosen.broken):
                break
        return chosen

    def _on_all_cases(self, picks, lines):
        f, s = self.figures, self.scenario
        soft, middle, stiff = outcome.in_all_curves(s, lines, self.all_cases, f)
        broken = limits.broken(soft, stiff, f)
        return Chosen(picks, lines, self.all_cases, soft, middle, stiff, broken, [], [])

    def _why(self, chosen, full):
        """For each line, what its next best fitting would change, from the sets of the full pass."""
        mine = next(e for e in full if e.picks == chosen.picks)
        out = {}
        for i, pick in enumerate(chosen.picks):
            others = [e for e in full if self._differs_only(e.picks, chosen.picks, pick.role)]
            if others:
                out[pick.role] = compare.one_line(pick, mine, others[0], others[0].picks[i], self.loa)
        return out

    @staticmethod
    def _differs_only(other, mine, role):
        kin = role.rsplit("_", 1)[0] if role.endswith(("port", "starboard")) else role
        different = [a.role for a, b in zip(other, mine, strict=False) if a.key != b.key]
        return len(other) == len(mine) and bool(different) and all(r.startswith(kin) for r in different)

    def _following(self, chosen, ranked):
        seen, out = {tuple(c.key for c in chosen.picks)}, []
        mine = next((e for e in ranked if e.picks == chosen.picks), ranked[0])
        for entry in ranked:
            names = tuple(c.key for c in entry.picks)
            if names not in seen:
                seen.add(names)
                out.append((entry, compare.sets(entry, mine, self.loa)))
        return out[:2]


def _gives_way(chosen):
    """Whether she moves too far, or where cannot be told: what one more pair of springs may mend."""
    return bool(chosen.middle.unsolved().any()) or any(b.limit in limits.MOVES for b in chosen.broken)


def _over(chosen):
    """By how much limits are broken; cases without an answer weigh as much as twice a limit, by their share."""
    return sum(b.use - 1 for b in chosen.broken) + float(chosen.middle.unsolved().mean())


def _promise(picks):
    return (sum(c.score for c in picks), [c.key for c in picks])


def thinned(cases, most):
    """At most this many of given cases: the calm ones and the strongest weather, spread over the levels."""
    if len(cases) <= most:
        return list(cases)

    def push(c):
        return (c.wind_speed or 0) ** 2 + 800 * (c.current_speed or 0) ** 2 + abs(c.yaw_moment or 0)

    by_level = {}
    for c in sorted(cases, key=push, reverse=True):
        by_level.setdefault(c.level, []).append(c)
    levels = sorted(by_level)
    keep = max(2, most // 2)
    levels = [
        levels[i] for i in np.unique(np.linspace(0, len(levels) - 1, min(len(levels), keep)).astype(int))
    ]
    each = max(1, most // len(levels))
    picked = []
    for level in levels:
        rows = by_level[level]
        picked += [*rows[: each - 1], rows[-1]] if each < len(rows) else rows
    return picked[:most]
