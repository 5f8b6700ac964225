"""Mistakes put right: an entry beside the wrong one, which stays where it is and counts no more."""

from django.core.exceptions import ValidationError

from marina.base import clock
from marina.base.writing import in_one_go
from vessels.models import LineEvent
from vessels.models.line import LineEventKind
from vessels.services.lines import OWN_MISTAKE, _write, locked, newest

BY_INSPECTION = (LineEventKind.FAILED, LineEventKind.CLEARED)
IN_THE_LOAN_BOOK = (LineEventKind.ISSUED, LineEventKind.ASSIGNED, LineEventKind.RETURNED, LineEventKind.SOLD)


def may_correct(event, user):
    """Whether this person may put this entry right: a hand the own ones of the last day, the harbourmaster all."""
    if user.is_harbourmaster:
        return True
    return user.is_hand and event.by_id == user.pk and clock.now() - event.at <= OWN_MISTAKE


def correctable(line, user):
    """The entries of this line that can be put right now: the one its state follows from, and bare notes."""
    last = newest(line)
    rows = line.events.filter(corrected_by=None).exclude(kind=LineEventKind.CORRECTED)
    return {
        event.pk
        for event in rows
        if may_correct(event, user) and event.kind not in BY_INSPECTION and (event == last or not event.state)
    }


def correct(*, event, by, reason):
    """That entry was a mistake: the line is again what it was before.

    Raises
    ------
    ValidationError
        If somebody put it right already, later entries rest on it, or it is not this person's to put right.
    """
    return in_one_go(lambda: undo(event, by=by, reason=reason), by=by)


def undo(event, *, by, reason):
    """As `correct`, inside the caller's transaction."""
    row = locked(event.line)
    _refuse(event, by, reason)
    last = newest(row)
    if event.state and event != last:
        raise ValidationError(f"Later entries rest on this one. Put '{last.get_kind_display()}' right first.")
    if event.state and not event.before:
        raise ValidationError("With this entry the line came into the register. Retire the line instead.")
    entry = LineEvent(
        line=row,
        kind=LineEventKind.CORRECTED,
        at=clock.now(),
        by=by,
        note=reason,
        corrects=event,
        before=row.state if event.state else "",
        state=event.before if event.state else "",
    )
    return _write(entry, _back(row, event), event.line)


def withdraw(*, inspection, by, reason):
    """That inspection was a mistake, of another line perhaps: it stays, and counts no more."""

    def write():
        row = locked(inspection.line)
        if LineEvent.objects.filter(withdraws=inspection).exists():
            raise ValidationError("This inspection was taken back already.")
        _refuse_stranger(inspection, by, reason)
        entry = LineEvent(
            line=row, kind=LineEventKind.CORRECTED, at=clock.now(), by=by, note=reason, withdraws=inspection
        )
        caused = newest(row)
        if caused and caused.kind in BY_INSPECTION and caused.at == inspection.at:
            entry.corrects, entry.before, entry.state = caused, row.state, caused.before
        return _write(entry, _as_before(row, inspection), inspection.line)

    return in_one_go(write, by=by)


def _as_before(row, inspection):
    """What the record says without that look: as the last one that counts has it."""
    looks = row.inspections.filter(withdrawn_by=None).exclude(pk=inspection.pk)
    last = looks.order_by("-at", "-id").first()
    return {
        "next_inspection": last and last.next_due,
        "diameter_found_mm": last and last.diameter_found_mm,
        "light_use": bool(last and last.advice == "light_use"),
    }


def _back(row, event):
    """Old values of what the entry changed, where nobody has changed them since."""
    old = {}
    for name, (before, after) in event.changes.items():
        field = row._meta.get_field(name)
        if getattr(row, field.attname) == field.to_python(after):
            old[name] = field.to_python(before)
    return old


def _refuse(event, by, reason):
    if LineEvent.objects.filter(corrects=event).exists():
        raise ValidationError("This entry was put right already.")
    if event.kind == LineEventKind.CORRECTED:
        raise ValidationError("A correction is not taken back; enter what is so now.")
    if event.kind in BY_INSPECTION:
        raise ValidationError("This follows from an inspection: take the inspection back.")
    _refuse_stranger(event, by, reason)


def _refuse_stranger(deed, by, reason):
    if not reason.strip():
        raise ValidationError({"reason": "Say what was wrong."})
    if by is not None and not may_correct(deed, by):
        raise ValidationError("A hand puts right an own entry of the last 24 hours. Ask the harbourmaster.")
