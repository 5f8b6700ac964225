"""Tags that a hand read off a boat's lines: the loan book follows, or what was seen stands beside it.

What was read is never refused and never lost: she lies by that line, whatever the records say.
"""

from django.core.exceptions import ValidationError
from django.db.models import Q

from berths.models import LineUse, Sighting
from berths.services.lending import due_back, issue
from marina.base import clock
from vessels.models.line import LineOwner


def book_tags(deed, rows):
    """Inside the transaction that keeps `deed`: each tagged line is out to her from now on, or was seen on her.

    A line of the harbour's stock that is at home goes out to her. One that is out elsewhere, belongs to somebody
    else or must not be used is kept as seen: then two places are found, and the register says what it is. One that
    the book has here, while a round saw otherwise, is kept as seen here too: the later word counts.

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
        if not told or (use is not None and _doubted(use, deed)):
            _seen(line, deed, use.position if told and use else None)


def _hers(use, stay):
    """Whether the loan book has it on this boat at this berth."""
    if use.stay_id:
        return use.stay_id == stay.pk
    line_set = use.position.line_set
    return (line_set.vessel_id, line_set.berth_id) == (stay.vessel_id, stay.berth_id)


def _doubted(use, deed):
    """Whether somebody saw the line elsewhere since it went out, or another one in its place: this word is newer."""
    since = Sighting.objects.filter(at__gte=use.at, at__lte=deed.at)
    of_place = Q(position=use.position_id) if use.position_id else Q(pk__in=[])
    return (
        since.filter(Q(line=use.line_id) | of_place)
        .exclude(line=use.line_id, berth=deed.stay.berth_id)
        .exists()
    )


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


def _seen(line, deed, position=None):
    where = {"berth": deed.stay.berth, "stay": deed.stay, "position": position}
    Sighting.objects.create(line=line, tag=line.tag, at=deed.at, by=deed.by, **where)
