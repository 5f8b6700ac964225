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


HELD = {  # states that are the whole answer
    LineState.RETIRED: Use("stop", "RETIRED", "It holds nothing any more. Cut the eye, take it out of use."),
    LineState.DESTROYED: Use("stop", "DESTROYED", "Its eye is cut. It holds nothing any more."),
    LineState.FAILED: Use(
        "stop", "RETIRE IT", "It failed its inspection. Take it off, retire it, cut the eye."
    ),
    LineState.QUARANTINE: Use("stop", "QUARANTINE", "Do not use it before it has been inspected."),
    LineState.SOLD: Use("stop", "SOLD", "It is no longer the harbour's."),
}
NOT_HERE = {
    LineState.MISSING: Use("not_known", "MISSING", "Nobody knows where it is."),
    LineState.ORDERED: Use("not_known", "ORDERED", "It has not come yet."),
}


def _condemned(line, advice):
    """Why it must hold nothing, or None."""
    if line.state in HELD:
        return HELD[line.state]
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
    if line.state in NOT_HERE:
        return NOT_HERE[line.state]
    if inspected is None:
        return Use("not_known", "NOT KNOWN", "Never inspected.")
    if line.next_inspection and line.next_inspection < today:
        days = (today - line.next_inspection).days
        return Use("fix", "LOOK FIRST", f"Inspection overdue by {days} day{'' if days == 1 else 's'}.")
    if line.light_use or advice != Advice.KEEP:
        return _advised(Advice.LIGHT_USE if line.light_use else Advice(advice))
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
    last = Inspection.objects.filter(line=OuterRef("pk"), withdrawn_by=None).order_by("-at", "-id")
    return lines.annotate(
        inspected=Subquery(last.values("at")[:1]), advice=Subquery(last.values("advice")[:1])
    )
