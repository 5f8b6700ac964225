"""How a stay stands: the flags of its newest tie-up, worst first, without opening a stored result.

A found tie-up (what is really there) goes before a planned one. No tie-up at all is 'not known', never fine.
"""

import re
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import partial

from django.db.models import Case, F, OuterRef, Subquery, Value, When

from berths.changes import changed
from berths.models import TieUp
from berths.reader import reader_of
from berths.saying import named, say
from berths.selectors.answered import Accepted, answered, by_place, moment_of
from berths.selectors.linerecords import flags_of_lines, uses_of
from berths.selectors.recorded import flags_of_records, flags_of_stays, record_columns

RANK = {"stop": 0, "fix": 1, "not_known": 2, "note": 3}
WORDS = {"stop": "STOP", "fix": "FIX", "not_known": "NOT KNOWN", "note": "NOTE"}
DOES_NOT_HOLD = "Try her other side, or another berth. Until it holds, somebody tends her."
COLUMNS = ["id", "sort", "answer", "trouble", "flags", "made_at", "stale", "stale_why", "compared"]


@dataclass
class Mark:
    """One flag as it stands on a list or page."""

    code: str
    kind: str  # stop, fix, not_known, note
    message: str
    do: str = ""
    place: str = ""
    starts: datetime | None = None
    until: datetime | None = None
    level: float | None = None
    rests_on: str = ""
    under: list = field(default_factory=list)
    accepted: Accepted | None = None
    minor: bool = False  # not known, and would be a mere note if it were known

    @property
    def word(self):
        return WORDS[self.kind]

    @property
    def urgent(self):
        """Someone must do or find out something: a STOP, a FIX, or what would be one if it were known."""
        return self.kind != "note" and not self.minor and self.accepted is None

    @property
    def acceptable(self):
        """Whether a person can answer for it: it asks for somebody, and is more than a result that is missing."""
        return self.urgent and self.code not in ("stale", "no_tie_up", "does_not_hold")


@dataclass
class Standing:
    """Flags of one stay or line set, and how old they are."""

    marks: list
    tie_up: dict | None = None

    @property
    def worst(self):
        return next((mark for mark in self.marks if mark.urgent), None)

    @property
    def words(self):
        """'2 fix, 3 not known'; what is not known is always counted, never left out."""
        kinds = [mark.kind for mark in self.marks]
        told = {"stop": "stop", "fix": "fix", "not_known": "not known", "note": "note"}
        counts = [(kinds.count(kind), word) for kind, word in told.items()]
        return ", ".join(f"{n} {word}{'s' if word == 'note' and n > 1 else ''}" for n, word in counts if n)

    @property
    def order(self):
        """Sorts the worst first, then by the time at which it bites."""
        return order_of(self.worst) if self.worst else (len(RANK), "")


def order_of(mark):
    return RANK["note" if mark.minor else mark.kind], mark.starts.isoformat() if mark.starts else ""


def place_of(flag):
    """Line or fitting that a flag is about."""
    return flag.get("line") or flag.get("fitting") or ""


def mark_of(flag, accepted=None, said=named):
    """One flag as a Mark; what is not known counts as such, and needs nobody if it would be a mere note.

    `said` puts its words into the reader's; without one they stand as they were kept, but for her fittings.
    """
    known = flag.get("state") != "not_known"
    return Mark(
        code=flag["code"],
        kind=flag["severity"] if known else "not_known",
        message=said(flag["message"]),
        do=said(flag.get("do") or ""),
        place=place_of(flag),
        starts=moment_of(flag.get("from")),
        until=moment_of(flag.get("until")),
        level=flag.get("level"),
        rests_on=said(re.sub(r" \(R-[^)]*\)", "", flag.get("rests_on") or "")),
        under=[mark_of(inner, said=said) for inner in flag.get("under") or []],
        accepted=accepted,
        minor=not known and flag["severity"] == "note",
    )


def standings(stays, user=None):
    """{stay id: Standing} for many stays, in two or three queries, in the words that this user may read."""
    return _standings("stay", [stay.pk for stay in stays], user)


def standings_of_sets(line_sets, user=None):
    """{line set id: Standing} for many line sets, in two queries."""
    return _standings("line_set", [line_set.pk for line_set in line_sets], user)


def _standings(owner, ids, user):
    newest = (
        TieUp.objects.filter(**{owner: OuterRef(owner)})
        .annotate(found_first=Case(When(sort="found", then=Value(0)), default=Value(1)))
        .order_by("found_first", "-made_at", "-id")
        .values("pk")[:1]
    )
    records = record_columns("stay__") if owner == "stay" else {}
    records["berth_kind"] = F(f"{owner}__berth__kind")
    rows = TieUp.objects.filter(**{f"{owner}__in": ids}, pk=Subquery(newest))
    tie_ups = {row.pop(owner): row for row in rows.values(owner, *COLUMNS, **records, answered=answered())}
    _say_why(tie_ups.values())
    recorded = {}
    if owner == "stay":
        recorded = {key: flags_of_records(row) for key, row in tie_ups.items()}
        recorded |= flags_of_stays([key for key in ids if key not in tie_ups])
    reader = reader_of(user) if user is not None else None
    lines = uses_of(owner, ids)
    found = {
        key: _standing(
            tie_ups.get(key), _once([*flags_of_lines(lines.get(key, [])), *recorded.get(key, [])]), reader
        )
        for key in ids
    }
    if user is not None and user.is_holder:
        for standing in found.values():
            standing.marks = [without_neighbours(mark) for mark in standing.marks]
    return found


def _once(flags):
    """One cause, one flag: of the same line the first word of it, which tells most."""
    told = {}
    for n, flag in enumerate(flags):
        told.setdefault((flag["code"], place_of(flag) or n), flag)
    return list(told.values())


def _say_why(tie_ups):
    """The reason, from the stored result, for those few that do not hold although no flag says so."""
    silent = [row for row in tie_ups if row["answer"] == "does_not_hold" and not _told(row["flags"])]
    if silent:
        rows = TieUp.objects.filter(pk__in=[row["id"] for row in silent])
        reasons = dict(rows.values_list("pk", "verdict__summary__why"))
        for row in silent:
            row["why"] = reasons[row["id"]] or "she is not held in the stated cases"


def _told(flags):
    return any(f["severity"] in ("stop", "fix") and f.get("state") != "not_known" for f in flags)


def _standing(tie_up, recorded, reader):
    accepted = by_place(tie_up["answered"]) if tie_up else {}
    said = partial(say, reader=reader, kind=tie_up and tie_up["berth_kind"]) if reader else named
    marks = [mark_of(flag, accepted.get((flag["code"], place_of(flag))), said) for flag in recorded]
    if tie_up is None:
        marks.append(_no_tie_up("No tie-up has been worked out for her."))
        return Standing(sorted(marks, key=order_of))
    for flag in tie_up["flags"]:
        marks.append(mark_of(flag, accepted.get((flag["code"], place_of(flag))), said))
    if "why" in tie_up:
        marks.append(Mark("does_not_hold", "stop", said(tie_up["why"]), DOES_NOT_HOLD))
    if tie_up["trouble"]:
        marks.append(_no_tie_up(tie_up["trouble"]))
    if tie_up["stale"]:
        marks.append(
            Mark(
                "stale",
                "not_known",
                said(f"Out of date: {changed(tie_up['stale_why'])}"),
                "Work her tie-up out again.",
            )
        )
    return Standing(sorted(marks, key=order_of), tie_up)


# Flags whose words tell of other boats. A holder is told that there is something, not what.
ANOTHER = re.compile(r"the boat at [\w-]+(?: \(boat \d+\))?")
OF_OTHERS = {"neighbour", "crowded_fitting", "raft_load", "stale", "two_places"}


def without_neighbours(mark):
    """The flag as a holder may read it: as heavy as it is, and silent about anybody else's boat."""
    under = [without_neighbours(inner) for inner in mark.under if inner.code not in OF_OTHERS]
    if mark.code not in OF_OTHERS:
        return replace(mark, under=under, message=ANOTHER.sub("a boat beside her", mark.message))
    if mark.code == "stale":
        words, do = "Out of date: something it rests on has changed.", mark.do
    else:
        words, do = "The harbour office has something to settle at this berth.", "Ask the harbour office."
    return replace(mark, message=words, do=do, place="", rests_on="", under=under, accepted=None)


def _no_tie_up(why):
    return Mark("no_tie_up", "not_known", why, "Until then she lies by the judgement of those who tied her.")
