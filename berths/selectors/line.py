"""One line: can it be used, where is it, what it holds, and all that was done with it."""

from dataclasses import dataclass
from datetime import datetime

from berths.models import LineUse, Sighting
from berths.selectors import visible
from berths.selectors.places import at_two_places, berth_of, holds
from marina.base import clock
from marina.base.models import Trail, User
from vessels import life
from vessels.models import Line
from vessels.models.line import LineEventKind
from vessels.services.lines import newest
from vessels.services.mistakes import correctable, may_correct
from vessels.wear import WEAR, ZONES

# What the register stores in its own terms, and how it is said on a page.
PLAIN = {"derated": "light use only from then on", "assigned": "given to a set"}
WENT_OUT, CAME_BACK = ("issued", "assigned"), ("returned", "sold", "missing")
NOT_OFFERED = ("issued", "assigned", "failed", "cleared")  # the loan book's and the inspection's own


@dataclass(frozen=True)
class Told:
    """One line of the history."""

    at: datetime
    who: str
    words: str
    undo: str = ""  # 'event', 'inspection', 'out' or 'back', where this reader may put it right
    pk: int = 0
    void: bool = False


def line_page(user, line):
    """What the page shows; a holder learns nothing of other boats that an own line was lent to."""
    uses = list(
        LineUse.objects.filter(line=line).select_related(
            "stay__berth", "stay__vessel", "position__line_set__berth", "position__line_set__vessel"
        )[:50]
    )
    out = next((use for use in uses if use.back is None), None)
    seen = Sighting.objects.filter(line=line).select_related("berth", "by", "stay__vessel").first()
    if user.is_holder:
        stays, sets = (
            set(rows.values_list("pk", flat=True)) for rows in (visible.stays(user), visible.line_sets(user))
        )
        uses = [u for u in uses if u.stay_id in stays or (u.position and u.position.line_set_id in sets)]
        out, seen = (out if out in uses else None), None
    two = at_two_places(line, out, seen)
    own = not user.is_holder or (line.owner and line.owner.user_id == user.pk)
    return {
        "out": out,
        "berth": berth_of(out) if out else None,
        "seen": seen,
        "two_places": two,
        "holds": holds(line, out, seen) if not user.is_holder else [],
        "inspections": inspections_of(line),
        "steps": _steps(line, out) if not user.is_holder else [],
        "history": _history(user, line, uses, own),
        "trail": list(_trail(line)) if not user.is_holder else [],
        "rope": line.material.replace("_", " ").replace("3strand", "three-strand") or line.construction,
    }


def _steps(line, out):
    """(deed, its words) that may come next; what the loan book does while the line is out is left to it."""
    left_out = {*NOT_OFFERED, *(("returned", "sold") if out else ())}
    labels = dict(LineEventKind.choices) | {"derated": "light use only", "retired": "retire it"}
    return [(kind, labels[kind]) for kind in life.possible(line.state) if kind not in left_out]


def inspections_of(line):
    """The last looks, each with `seen`: zone by zone in words, a zone nobody looked at named as such."""
    looks = list(line.inspections.select_related("by", "withdrawn_by")[:10])
    for look in looks:
        look.seen = [
            {"words": words, "found": ", ".join(WEAR[w] for w in look.zones[zone]) or "nothing found"}
            for zone, words in ZONES.items()
            if zone in look.zones
        ]
        look.not_seen = [words for zone, words in ZONES.items() if zone not in look.zones]
        look.why = [row for row in look.reasons if row[0] == look.advice]
    return looks


def _history(user, line, uses, own):
    """Entries, looks, uses and sightings in one row, the newest first."""
    rows = [*_uses(user, line, uses), *_looks(user, line)]
    if own:
        rows += _events(user, line)
    if not user.is_holder:
        rows += _sightings(line)
    return sorted(rows, key=lambda row: row.at)[::-1]


def _events(user, line):
    may = set() if user.is_holder else correctable(line, user)
    # What the loan book has done is put right there, with the use it belongs to.
    for event in line.events.select_related("by", "corrected_by", "corrects").order_by("at", "id")[:200]:
        book = event.kind in ("issued", "assigned", "returned", "sold")
        undo = "event" if event.pk in may and not book else ""
        yield Told(
            event.at, str(event.by or ""), _event_words(event), undo, event.pk, hasattr(event, "corrected_by")
        )


def _event_words(event):
    words = PLAIN.get(event.kind, event.get_kind_display())
    if event.corrects_id:
        words = f"'{event.corrects.get_kind_display()}' was a mistake, put right"
    elif event.withdraws_id:
        words = "an inspection was a mistake, taken back"
    changed = "; ".join(
        f"{Line._meta.get_field(name).verbose_name}: {_said(old)} -> {_said(new)}"
        for name, (old, new) in event.changes.items()
    )
    told = [words, event.place, event.witness and f"seen by {event.witness}", changed, event.note]
    return ". ".join(str(word).rstrip(".") for word in told if word)


def _said(value):
    return {None: "not known", "": "not known", True: "yes", False: "no"}.get(value, value)


def _looks(user, line):
    for look in line.inspections.select_related("by", "withdrawn_by")[:100]:
        void = hasattr(look, "withdrawn_by")
        may = not user.is_holder and not void and may_correct(look, user)
        words = f"inspected: {look.get_advice_display()}"
        yield Told(look.at, str(look.by or ""), words, "inspection" if may else "", look.pk, void)


def _uses(user, line, uses):
    """The loan book; the last thing in it can be put right, where the line's history has its entry."""
    last = None if user.is_holder else newest(line)
    undo = bool(last) and may_correct(last, user)
    for n, use in enumerate(uses):
        where = (
            f"{use.stay.berth.code}, lent to {use.stay.vessel.name}"
            if use.stay_id
            else f"{use.position.line_set.berth.code}, position {use.position.number}"
        )
        went = undo and n == 0 and use.back is None and last.kind in WENT_OUT and last.at == use.at
        yield Told(use.at, "", f"out to {where}", "out" if went else "", use.pk)
        if use.back:
            came = undo and n == 0 and last.kind in CAME_BACK and last.at == use.back
            words = f"{use.get_closed_as_display()} from {where}"
            words = ". ".join(filter(None, [words, use.condition_in, use.reason]))
            yield Told(use.back, "", words, "back" if came else "", use.pk)


def _sightings(line):
    for seen in line.sightings.select_related("berth", "by")[:100]:
        words = f"seen at {seen.berth.code if seen.berth_id else seen.place}"
        if seen.diameter_found_mm:
            words += f", {seen.diameter_found_mm:g} mm"
        yield Told(seen.at, str(seen.by or ""), ". ".join(filter(None, [words, seen.description])))


def _trail(line):
    """Each change of its row as the database took it down, by whatever way it was made."""
    rows = list(Trail.objects.filter(table="line", row=str(line.pk)).order_by("-id")[:100])
    people = User.objects.in_bulk({row.who for row in rows if row.who})
    names = {f.column: f.verbose_name for f in Line._meta.local_fields}
    for row in rows:
        old, new = row.old or {}, row.new or {}
        changed = [c for c in new if row.old is not None and old.get(c) != new.get(c)]
        words = "; ".join(f"{names.get(c, c)}: {_said(old.get(c))} -> {_said(new.get(c))}" for c in changed)
        yield Told(clock.told(row.when), str(people.get(row.who, "nobody signed in")), words or "entered")
