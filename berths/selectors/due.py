"""Lines that somebody has to look at: by age, by use, and by when they were looked at last."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Prefetch

from berths.models import LineUse
from berths.selectors import visible
from berths.selectors.places import berth_of
from marina.base import clock, house
from vessels import wear
from vessels.models import Line
from vessels.models.line import LineState
from vessels.selectors.lines import with_last_look
from vessels.services.inspections import found_of, months_on

SOON = timedelta(days=30)  # common practice, no source
GONE = (LineState.RETIRED, LineState.DESTROYED, LineState.SOLD, LineState.ORDERED, LineState.MISSING)


@dataclass(frozen=True)
class Due:
    """One line to look at; `by` None: at once, for nobody has ever looked."""

    line: Line
    berth: object
    kind: str  # fix, not_known or note, as flags have it
    word: str
    why: str
    by: date | None


def due(user):
    """Lines to look at, never looked at first, then the longest overdue. Two queries.

    A line is due by the date its record has, or sooner where the house rule counts from its last look: the rule
    may have been changed since. Old rope is due twice as often.
    """
    out = LineUse.objects.filter(back=None).select_related("stay__berth", "position__line_set__berth")
    lines = with_last_look(visible.lines(user)).exclude(state__in=GONE)
    lines = lines.prefetch_related(Prefetch("uses", queryset=out, to_attr="out"))
    today, months = clock.today(), house.value("H14")
    rows = [row for line in lines if (row := _due(line, today, months))]
    return sorted(rows, key=lambda row: (row.by or date.min, row.line.tag))


def _due(line, today, months):
    berth = berth_of(line.out[0]) if line.out else None
    if line.inspected is None:
        return Due(line, berth, "not_known", "NEVER LOOKED AT", "Nobody has ever looked at it.", None)
    last = clock.local(line.inspected).date()
    old = wear.looks_again_sooner(found_of(line, on=today))
    by_rule = months_on(last, max(1, months[line.kept_for] // 2) if old else months[line.kept_for])
    by = min(filter(None, [line.next_inspection, by_rule]))
    if by - today > SOON:
        return None
    said = [f"Looked at last {last:%-d %B %Y}.", "It is old: twice as often." if old else ""]
    late = (today - by).days
    word = "OVERDUE" if late > 0 else "SOON"
    if late > 0:
        said.insert(0, f"Overdue by {late} day{'' if late == 1 else 's'}.")
    return Due(line, berth, "fix" if late > 0 else "note", word, " ".join(filter(None, said)), by)
