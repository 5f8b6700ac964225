"""What is done with a line of the register: every deed is an entry beside the others, and none is edited away."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

from django.core.exceptions import ValidationError

from marina.base import clock
from marina.base.writing import in_one_go
from vessels import life
from vessels.models import Line, LineEvent
from vessels.models.line import LineEventKind, LineState

OWN_MISTAKE = timedelta(hours=24)  # a hand takes back an own entry this long; common practice, no source
BEGINNINGS = ("ordered", "received", "found", "left_behind")  # how a line comes into the register
CONFUSING = set("OI10")


def doubts_about_tag(tag):
    """Why a tag may be read wrongly, or ''. A warning, never a refusal.

    >>> doubts_about_tag("WH-7"), "read alike" in doubts_about_tag("WO-7")
    ('', True)
    """
    letters = sorted(set("OI") & set(tag.upper()))
    if not letters:
        return ""
    return (
        f"{tag}: the letter {' and '.join(letters)} and the figure {' and '.join('0' if x == 'O' else '1' for x in letters)} "
        "are read alike on a wet tag. Better a tag without them."
    )


def new_line(*, line, kind, by, at=None, note="", client_id=None):
    """A line comes into the register: ordered, received, found without tag, or left behind.

    Parameters
    ----------
    line : Line
        Not saved.
    kind : {"ordered", "received", "found", "left_behind"}

    Returns
    -------
    Line
    """
    if known := _known(client_id):
        return known.line
    if kind not in BEGINNINGS:
        raise ValidationError("A line comes in as ordered, received, found without tag, or left behind.")
    (line.state,) = life.leads_to(kind, "")
    event = LineEvent(
        kind=kind, state=line.state, at=at or clock.now(), by=by, note=note, client_id=client_id or uuid4()
    )

    def write():
        _may(kind, by)
        _refuse_to_come(event.at)
        if twin := Line.objects.filter(tag__iexact=line.tag).first():
            raise ValidationError({"tag": f"{twin} is in the register already. Give this line another tag."})
        line.full_clean()
        line.save()
        event.line = line
        event.full_clean()
        event.save(force_insert=True)
        return line

    return in_one_go(write, by=by)


def step(*, line, kind, by, state=None, at=None, changes=None, client_id=None, **told):
    """One deed with a line, in a transaction of its own.

    Parameters
    ----------
    line : Line
    kind : str
        A deed of `life.yaml`.
    by : User
    state : str, optional
        Where it leads, if it may lead to several states.
    at : aware datetime, optional
        When it was done, if not now.
    changes : dict, optional
        Field of the line's record -> its new value, for instance the new lengths after a repair.
    told
        Other fields of the entry: note, place, witness.

    Returns
    -------
    LineEvent
    """
    if known := _known(client_id):
        return known
    return in_one_go(
        lambda: enter(line, kind, by=by, state=state, at=at, changes=changes, client_id=client_id, **told),
        by=by,
    )


def enter(line, kind, *, by, state=None, at=None, changes=None, client_id=None, **told):
    """As `step`, inside the caller's transaction."""
    row = locked(line)
    _may(kind, by)
    at = at or clock.now()
    _refuse_early(row, at)
    leads = life.leads_to(kind, row.state)
    if not leads or (state and state not in leads):
        raise ValidationError(_no_step(row, kind))
    event = LineEvent(line=row, kind=kind, before=row.state, state=state or leads[0], at=at, by=by, **told)
    event.client_id = client_id or event.client_id
    if kind == LineEventKind.DESTROYED and not event.witness.strip():
        raise ValidationError({"witness": "Say who saw the eye cut."})
    if kind == LineEventKind.DERATED:
        changes = {"light_use": True} | (changes or {})
    return _write(event, changes or {}, line)


def change_line(*, line, changes, by, kind=LineEventKind.CORRECTED, note="", client_id=None):
    """Other figures in the line's record, with the old ones kept in its history.

    `kind` is corrected, measured or tagged. A tag that another line has is refused.
    """
    if known := _known(client_id):
        return known

    def write():
        row = locked(line)
        tag = changes.get("tag", row.tag)
        if Line.objects.filter(tag__iexact=tag).exclude(pk=row.pk).exists():
            raise ValidationError({"tag": f"{tag} is another line's tag."})
        event = LineEvent(line=row, kind=kind, at=clock.now(), by=by, note=note)
        event.client_id = client_id or event.client_id
        return _write(event, changes, line)

    return in_one_go(write, by=by)


def _write(event, changes, line):
    """The entry, then the line's row as it says; the caller's copy of the line follows."""
    row = event.line
    for name, new in changes.items():
        old = getattr(row, row._meta.get_field(name).attname)
        setattr(row, row._meta.get_field(name).attname, getattr(new, "pk", new))
        event.changes[name] = [_plain(old), _plain(getattr(new, "pk", new))]
    if event.state:
        row.state = event.state
    row.full_clean()
    event.full_clean(exclude=["line"])
    event.save(force_insert=True)
    row.save()
    line.refresh_from_db()
    return event


def entry_of(line, was, *, by, note):
    """The entry that tells of a row written otherwise than by a deed, as by a sheet; not saved. `was`: None if new."""
    event = LineEvent(line=line, kind=LineEventKind.CORRECTED, at=clock.now(), by=by, note=note[:300])
    if was is not None:
        for field in Line._meta.concrete_fields:
            old, new = getattr(was, field.attname), getattr(line, field.attname)
            if old != new:
                event.changes[field.name] = [_plain(old), _plain(new)]
    return event


def _plain(value):
    """As JSON keeps it, a decimal as its own digits."""
    if isinstance(value, Decimal):
        return str(value.normalize() if value else value)
    return value.isoformat() if hasattr(value, "isoformat") else value


def locked(line):
    """The line as it is now, held until the end of the transaction (SQLite holds all of it anyway)."""
    return Line.objects.select_for_update().get(pk=line.pk)


def newest(line):
    """The entry that the line's state follows from: the last that still counts, or None."""
    return (
        line.events.exclude(state="")
        .exclude(kind=LineEventKind.CORRECTED)
        .filter(corrected_by=None)
        .order_by("-at", "-id")
        .first()
    )


def _may(kind, by):
    if by is not None and by.is_holder:
        raise ValidationError("The harbour's staff enter what is done with a line.")
    if life.steps()[kind].who == "office" and by is not None and not by.is_harbourmaster:
        raise ValidationError("That is for the harbourmaster to enter.")


def _refuse_to_come(at):
    if at > clock.now():
        raise ValidationError({"at": "That moment is still to come."})


def _refuse_early(row, at):
    _refuse_to_come(at)
    last = row.events.exclude(state="").order_by("-at", "-id").first()
    if last and at < last.at:
        raise ValidationError(
            {
                "at": f"The register has a later entry: {last.get_kind_display()}, "
                f"{clock.local(last.at):%-d %B %Y %H:%M}. Enter a later time, or put that entry right first."
            }
        )


def _no_step(row, kind):
    words = LineEventKind(kind).label
    ways = [LineEventKind(k).label for k in life.possible(row.state) if k not in ("failed", "cleared")]
    return (
        f"{row} is {LineState(row.state).label.lower()}: '{words}' is no step from there. "
        f"{'From there it can be: ' + ', '.join(ways) + '.' if ways else 'Nothing follows on that.'}"
    )


def _known(client_id):
    """Twice is once: the entry this form has made already."""
    return client_id and LineEvent.objects.filter(client_id=client_id).first()
