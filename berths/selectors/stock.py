"""The stock of lines: how many and how many metres of each sort, how old, and what to see to before the storms."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from berths.models import Berth
from berths.selectors.lines import register
from marina.base import house
from marina.base.workbook import plain
from vessels.models import Line
from vessels.selectors.lines import Use

GONE = ("retired", "destroyed", "sold", "ordered")  # not here, or not to be used by anybody
OLD = (
    10  # years: dock lines of 10 to 12 years kept 25 to 51 % of their strength (R-RET-5); age asks for a look
)
AGES = ((2, "under 2 years"), (5, "2 to 5 years"), (OLD, "5 to 10 years"), (1000, "10 years and more"))
UNKNOWN_AGE = "age not known"
FIRST = ("storm", "permanent", "store")  # what a storm finds first
NAMES = {"3strand": "three-strand", "_": " "}


@dataclass(frozen=True)
class Entry:
    """One line of the stock. `years` counts from its service, else from its making; None: not known."""

    line: Line
    use: Use
    berth: Berth | None
    metres: float | None
    years: float | None
    deed: str  # replace, look or nothing
    why: str

    @property
    def part(self):
        """0 nothing found, 1 to look at, 2 to replace."""
        return {"": 0, "look": 1, "replace": 2}[self.deed]


@dataclass
class Sort:
    """Lines of one material and diameter."""

    material: str
    diameter: str
    lines: list

    def _metres(self, part=None):
        return sum(e.metres or 0 for e in self.lines if part is None or e.part == part)

    @property
    def name(self):
        if self.diameter and self.material:
            return f"{self.diameter} {self.material}"
        if not self.diameter and not self.material:
            return "sort not known"
        lacking = "material" if self.diameter else "diameter"
        return f"{self.diameter or self.material}, {lacking} not known"

    @property
    def metres(self):
        return self._metres()

    @property
    def parts(self):
        return [self._metres(part) for part in range(3)]

    @property
    def replace(self):
        return self._metres(2)

    @property
    def replaced(self):
        return sum(e.part == 2 for e in self.lines)

    @property
    def unmeasured(self):
        return sum(e.metres is None for e in self.lines)

    @property
    def oldest(self):
        return max((e.years for e in self.lines if e.years is not None), default=None)


@dataclass(frozen=True)
class Stock:
    season: date  # the storms are to be expected from here on
    entries: list
    to_cut: list  # retired, still here
    others: int  # lines that are not the harbour's

    @property
    def replace(self):
        return [e for e in self.entries if e.deed == "replace"]

    @property
    def look(self):
        return [e for e in self.entries if e.deed == "look"]

    @property
    def sorts(self):
        """By diameter, then material; not known last."""
        found = defaultdict(list)
        for e in self.entries:
            found[e.line.diameter_mm, e.line.material].append(e)
        order = sorted(found, key=lambda key: (key[0] is None, key[0] or 0, not key[1], key[1]))
        return [Sort(_material(m), "" if d is None else f"{plain(d)} mm", found[d, m]) for d, m in order]

    @property
    def ages(self):
        """(words, number of lines: nothing found, to look at, to replace) from young to old."""
        rows = {words: [0, 0, 0] for _, words in AGES} | {UNKNOWN_AGE: [0, 0, 0]}
        for e in self.entries:
            rows[_age(e.years)][e.part] += 1
        return list(rows.items())

    @property
    def metres(self):
        return sum(sort.metres for sort in self.sorts)


def stock(user, today, *, everybody=False):
    """The stock this person may see, on a day. The questions of `register`, whatever the number of lines.

    Parameters
    ----------
    everybody : bool
        Lines of berth holders and visitors too; else only the harbour's.
    """
    season = next_season(today, house.value("storm_season"))
    rows = register(user)
    ours = [row for row in rows if everybody or row.line.owner_kind == "harbour"]
    entries = [_entry(row, today, season) for row in ours if row.line.state not in GONE]
    entries.sort(key=lambda e: (FIRST.index(e.line.kept_for), e.use.kind != "stop", e.line.tag))
    to_cut = sorted((row.line for row in ours if row.line.state == "retired"), key=lambda line: line.tag)
    return Stock(season, entries, to_cut, len(rows) - len(ours))


def next_season(today, month):
    """The first of that month, this year or next; on the day itself it has begun."""
    this = date(today.year, month, 1)
    return this if this >= today else date(today.year + 1, month, 1)


def _entry(row, today, season):
    line = row.line
    metres = line.total_length if line.total_length is not None else line.working_length
    began = line.in_service_on or line.made_on
    years = None if began is None else (today - began).days / 365.25
    deed, why = _deed(row, began, season)
    return Entry(line, row.use, row.berth, None if metres is None else float(metres), years, deed, why)


def _deed(row, began, season):
    """What is to be done with a line before the season, and why."""
    line, use = row.line, row.use
    if use.kind == "stop":
        return ("look" if line.state == "quarantine" else "replace"), use.why
    if use.kind in ("fix", "not_known"):
        return "look", use.why
    if line.next_inspection is None or line.next_inspection <= season:
        return (
            "look",
            "Its inspection falls due before then." if line.next_inspection else "No inspection is set.",
        )
    if began is not None and (season - began).days >= OLD * 365.25:
        return "look", f"{OLD} years old by then: its strength left is not known."
    return "", ""


def _age(years):
    if years is None:
        return UNKNOWN_AGE
    return next(words for limit, words in AGES if years < limit)


def _material(key):
    for ours, theirs in NAMES.items():
        key = key.replace(ours, theirs)
    return key


# --- as a workbook ---


def sheets(found):
    """(title, rows) of the stock, of what is to be done, and of every line."""
    sorts = [
        [
            "diameter",
            "material",
            "lines",
            "metres",
            "length not known",
            "oldest [years]",
            "replace",
            "replace [m]",
        ]
    ]
    sorts += [
        [
            s.diameter or "not known",
            s.material or "not known",
            len(s.lines),
            _one(s.metres),
            s.unmeasured,
            _one(s.oldest),
            s.replaced,
            _one(s.replace),
        ]
        for s in found.sorts
    ]
    head = ["tag", "do", "why", "kept for", "diameter [mm]", "material", "length [m]", "age [years]", "state"]
    head += ["at", "next inspection"]
    listed = [head, *(_line(e) for e in found.entries)]
    to_do = [head, *(_line(e) for e in [*found.replace, *found.look])]
    return [("stock", sorts), (f"before {found.season.isoformat()}", to_do), ("lines", listed)]


def _line(e):
    line = e.line
    return [
        line.tag, e.deed, e.why or e.use.why, line.get_kept_for_display(), line.diameter_mm, _material(line.material),
        _one(e.metres), _one(e.years), line.get_state_display(), str(e.berth or line.home or ""), line.next_inspection,
    ]  # fmt: skip


def _one(value):
    return None if value is None else round(value, 1)
