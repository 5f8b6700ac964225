"""A look at a line: what was found is kept as found, and the published rules say what is to be done."""

from uuid import uuid4

from django.core.exceptions import ValidationError

from marina.base import clock, house
from marina.base.writing import in_one_go
from vessels import wear
from vessels.models import Inspection
from vessels.models.line import Advice, LineState
from vessels.services.lines import enter, locked

HELD_BACK = (LineState.FAILED, LineState.QUARANTINE)


def found_of(line, *, on, **seen):
    """What the rules look at, from the line's record and what was seen; `on` is the date of the look."""
    since = line.in_service_on or line.made_on
    return wear.Found(
        zones=seen.get("zones") or {},
        diameter_new=line.diameter_mm,
        diameter_found=seen.get("diameter_found_mm"),
        length_new=line.working_length,
        length_found=seen.get("working_length_found"),
        strength_new=line.strength,
        strength_found=seen.get("strength_found"),
        shock=seen.get("shock"),
        tag_readable=seen.get("tag_readable"),
        material=line.material,
        years=(on - since).days / 365.25 if since else None,
        kept_for=line.kept_for,
    )


def inspect(*, line, by, at=None, advice="", note="", client_id=None, **seen):
    """Keep a look at a line and do what follows from it.

    Parameters
    ----------
    line : Line
    by : User
    at : aware datetime, optional
        When it was looked at, if not now.
    advice : str, optional
        Stricter than the rules, if the person who looks says so; milder is refused.
    seen
        zones, diameter_found_mm, working_length_found, strength_found, shock, tag_readable.

    Returns
    -------
    Inspection
        A line that is to be retired is 'failed' from then on and can't go out.
    """
    if known := client_id and Inspection.objects.filter(client_id=client_id).first():
        return known
    at = at or clock.now()
    look = Inspection(line=line, at=at, by=by, note=note, client_id=client_id or uuid4(), **seen)
    if not look.zones:
        raise ValidationError({"zones": "Nothing was looked at. Mark at least one part of the line."})
    if at > clock.now():
        raise ValidationError({"at": "That moment is still to come."})

    def write():
        row = locked(line)
        if row.state in (LineState.RETIRED, LineState.DESTROYED, LineState.SOLD):
            raise ValidationError(f"{row} is {row.get_state_display()}: it is not inspected any more.")
        found = found_of(row, on=clock.local(at).date(), **seen)
        judged = wear.judge(found, least_left=house.value("H13")["retire_under"])
        look.advice = _strictest(judged.advice, advice)
        look.reasons = [list(finding) for finding in judged.findings]
        if look.advice != judged.advice:
            look.reasons.insert(0, [look.advice, "Whoever looked at it says so.", "what was seen"])
        look.next_due = _next(row, found, look.advice, clock.local(at).date())
        look.full_clean()
        look.save(force_insert=True)
        if _is_newest(look):
            _follow(row, look)
        line.refresh_from_db()
        return look

    return in_one_go(write, by=by)


def _strictest(judged, said):
    if not said:
        return judged
    if wear.ORDER.index(said) < wear.ORDER.index(judged):
        label = Advice(judged).label
        raise ValidationError(
            {"advice": f"What was found asks for more: {label}. A person may be stricter, not milder."}
        )
    return said


def _next(line, found, advice, day):
    """The day of the next look by the house rule; half of that for old rope, none for rope that is done."""
    if advice == Advice.RETIRE:
        return None
    months = house.value("H14")[line.kept_for]
    if wear.looks_again_sooner(found):
        months = max(1, months // 2)
    return months_on(day, months)


def months_on(day, months):
    """The same day so many months later, the last of a shorter month.

    >>> from datetime import date
    >>> months_on(date(2027, 8, 31), 6)
    datetime.date(2028, 2, 29)
    """
    years, month = divmod(day.month - 1 + months, 12)
    for back in range(4):
        try:
            return day.replace(year=day.year + years, month=month + 1, day=day.day - back)
        except ValueError:
            continue
    raise ValueError(day)


def _is_newest(look):
    return not look.line.inspections.filter(at__gt=look.at, withdrawn_by=None).exists()


def _follow(row, look):
    """What the look changes of the line's record and state."""
    row.next_inspection = look.next_due
    if look.diameter_found_mm is not None:
        row.diameter_found_mm = look.diameter_found_mm
    if look.advice == Advice.LIGHT_USE:
        row.light_use = True
    row.save()
    words = "; ".join(f"{reason} ({source})" for _, reason, source in look.reasons)[:300]
    if look.advice == Advice.RETIRE and row.state != LineState.FAILED:
        enter(row, "failed", by=look.by, at=look.at, note=words)
    elif look.advice != Advice.RETIRE and row.state in HELD_BACK:
        enter(row, "cleared", by=look.by, at=look.at, state=_was(row))


def _was(row):
    """In use, if it was so before it was held back and has not come back since; else in store."""
    for event in row.events.exclude(state="").order_by("-at", "-id"):
        if event.state not in HELD_BACK:
            return "out" if event.state == LineState.OUT else "store"
        if event.kind in ("returned", "stored"):
            return "store"
        if event.kind in ("failed", "quarantine") and event.before not in HELD_BACK:
            return "out" if event.before == LineState.OUT else "store"
    return "store"
