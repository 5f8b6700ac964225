"""Can a line be used? From its row and its last inspection, in one word and one sentence; never 'safe'."""

from dataclasses import dataclass
from decimal import Decimal

from django.db.models import OuterRef, Subquery

from vessels.models import Inspection
from vessels.models.line import Advice, LineState

# A line found thinner than this share of its nominal diameter is done: published retirement advice, R-RET-2.
LEAST_DIAMETER = Decimal("0.90")


@dataclass(frozen=True)
class Use:
    """`kind` as flags have it (stop, fix, not_known, note); `word` is the answer, `why` the sentence."""

    kind: str
    word: str
    why: str


def can_be_used(line, inspected, advice, today):
    """May this line hold a boat, as far as the register knows?

    Parameters
    ----------
    line : Line
    inspected : datetime or None
        Last inspection; None: never.
    advice : str or None
        What it advised, a value of `Advice`.
    today : date

    Returns
    -------
    Use
    """
    return _condemned(line, advice) or _doubtful(line, inspected, advice, today)


def _condemned(line, advice):
    """Why it must hold nothing, or None."""
    if line.state in (LineState.RETIRED, LineState.DESTROYED):
        word = line.get_state_display().upper()
        return Use("stop", word, "It holds nothing any more. Cut the eye, take it out of use.")
    if line.state == LineState.QUARANTINE:
        return Use("stop", "QUARANTINE", "Do not use it before it has been inspected.")
    if advice == Advice.RETIRE:
        return Use("stop", "RETIRE IT", "Its last inspection says so, and nobody has retired it yet.")
    if _thin(line):
        found, new = line.diameter_found_mm, line.diameter_mm
        return Use(
            "stop", "TOO THIN", f"Found at {found:g} mm of {new:g} mm, more than a tenth down: retire it."
        )
    return None


def _doubtful(line, inspected, advice, today):
    """What is to be done or found out before it is used; else that nothing was found."""
    if line.state == LineState.MISSING:
        return Use("not_known", "MISSING", "Nobody knows where it is.")
    if inspected is None:
        return Use("not_known", "NOT KNOWN", "Never inspected.")
    if line.next_inspection and line.next_inspection < today:
        days = (today - line.next_inspection).days
        return Use("fix", "LOOK FIRST", f"Inspection overdue by {days} day{'' if days == 1 else 's'}.")
    if advice != Advice.KEEP:
        return _advised(Advice(advice))
    if line.strength is None:
        return Use(
            "not_known", "STRENGTH NOT KNOWN", "Nothing found against it, but nobody knows what it bears."
        )
    return Use("note", "NOTHING FOUND", "Nothing found against the rope itself.")


def _advised(advice):
    if advice == Advice.LIGHT_USE:
        return Use(
            "fix", "LIGHT USE ONLY", "For the store and light use, not to hold a boat that is left alone."
        )
    return Use("fix", "MEND FIRST", f"Its last inspection says: {advice.label}.")


def _thin(line):
    found, new = line.diameter_found_mm, line.diameter_mm
    return found is not None and new is not None and found < LEAST_DIAMETER * new


def with_last_look(lines):
    """Lines with `inspected` and `advice` of their last inspection."""
    last = Inspection.objects.filter(line=OuterRef("pk")).order_by("-at", "-id")
    return lines.annotate(
        inspected=Subquery(last.values("at")[:1]), advice=Subquery(last.values("advice")[:1])
    )
