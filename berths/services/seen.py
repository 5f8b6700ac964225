"""Tags that a hand read off a boat's lines: the loan book follows, or what was seen stands beside it.

What was read is never refused and never lost: she lies by that line, whatever the records say.
"""

from django.core.exceptions import ValidationError

from berths.models import LineUse, Sighting
from berths.services.lending import due_back, issue
from marina.base import clock
from vessels.models.line import LineOwner


def book_tags(deed, rows):
    """Inside the transaction that keeps `deed`: each tagged line is out to her from now on, or was seen on her.

    A line of the harbour's stock that is at home goes out to her. One that is out elsewhere, belongs to somebody
    else or must not be used is kept as seen: then two places are found, and the register says what it is.

    Parameters
    ----------
    deed : MadeFast
    rows : list of MadeFastLine
    """
    for line in {row.line_id: row.line for row in rows if row.line_id}.values():
        use = (
            LineUse.objects.filter(line=line, back=None).select_related("stay", "position__line_set").first()
        )
        if use is not None:
            told = _hers(use, deed.stay) and not line.condemned
        elif line.owner_id is not None and line.owner_id == deed.stay.vessel.owner_id:
            told = line.may_go_out
        else:
            told = line.owner_kind == LineOwner.HARBOUR and _went_out(line, deed)
        if not told:
            _seen(line, deed)


def _hers(use, stay):
    """Whether the loan book has it on this boat at this berth."""
    if use.stay_id:
        return use.stay_id == stay.pk
    line_set = use.position.line_set
    return (line_set.vessel_id, line_set.berth_id) == (stay.vessel_id, stay.berth_id)


def _went_out(line, deed):
    """Whether it went out to her; not where it must not be used, or its history is later than this word."""
    at = min(deed.at, clock.now())
    try:
        issue(line=line, stay=deed.stay, by=deed.by, at=at, due=due_back(deed.stay, at))
    except ValidationError as refusal:
        if getattr(refusal, "code", "") == "busy":
            raise
        return False
    return True


def _seen(line, deed):
    Sighting.objects.create(
        line=line, tag=line.tag, berth=deed.stay.berth, stay=deed.stay, at=deed.at, by=deed.by
    )
