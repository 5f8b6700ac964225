"""What has been done with a stay: from the trail, the tie-ups, the cards and the hands that made her fast."""

from dataclasses import dataclass
from datetime import datetime

from berths.models import Berth, MadeFast
from berths.models.stay import EndIn, Purpose, SideTo, StayState
from marina.base import clock
from marina.base.models import Trail, User


@dataclass(frozen=True)
class Event:
    at: datetime
    who: str
    words: str


def history(stay):
    """Who did what with this stay, newest first: from the trail, the tie-ups, the cards and the hands."""
    events = [*_changes(stay), *_tie_ups(stay), *_cards(stay), *_made_fast(stay)]
    # Turned round as a whole, so that of what was done in one minute the last stands first too.
    return sorted(events, key=lambda event: event.at)[::-1]


STATES, SIDES, ENDS, PURPOSES = (dict(c.choices) for c in (StayState, SideTo, EndIn, Purpose))
TOLD = {  # columns of a stay that a reader wants to hear of, and how a value is said
    "state": lambda v: STATES.get(v, v),
    "side_to": lambda v: SIDES.get(v, "side to not known"),
    "end_in": lambda v: ENDS.get(v, ""),
    "purpose": lambda v: PURPOSES.get(v, v),
    "note": lambda v: f"note: {v}" if v else "",
    "tended_by": lambda v: f"tended by {v}" if v else "",
}


def _changes(stay):
    rows = list(Trail.objects.filter(table="stay", row=str(stay.pk)).order_by("id"))
    people = User.objects.in_bulk({row.who for row in rows if row.who})
    berths = dict(Berth.objects.values_list("pk", "code"))
    for row in rows:
        words = _change(row.old, row.new or {}, berths)
        if words:
            yield Event(clock.told(row.when), str(people.get(row.who, "")), words)


def _change(old, new, berths):
    if old is None:
        return f"booked at {berths.get(new.get('berth_id'), '?')}"
    parts = []
    if old.get("berth_id") != new.get("berth_id"):
        parts.append(f"moved from {berths.get(old['berth_id'], '?')} to {berths.get(new['berth_id'], '?')}")
    for column, say in TOLD.items():
        if old.get(column) != new.get(column) and (words := say(new.get(column))):
            parts.append(words)
    if any(old.get(c) != new.get(c) for c in ("surge_down", "surge_up", "surge_reason")):
        parts.append(_allowance(new))
    if any(str(old.get(c)) != str(new.get(c)) for c in ("arrive", "depart")):
        parts.append("times changed")
    why = new.get("state_why")
    said = not why or why == old.get("state_why") or any(part.startswith(why) for part in parts)
    return "; ".join(parts) + ("" if said or not parts else f" ({why})")


def _allowance(new):
    if new.get("surge_down") is None:
        return "the water's own allowance for weather again"
    down, up = float(new["surge_down"]), float(new["surge_up"])
    return f"allowance for this stay alone: down {down:.2f} m, up {up:.2f} m ({new['surge_reason']})"


def _tie_ups(stay):
    rows = stay.tie_ups.select_related("by").defer("scenario", "verdict")
    for tie_up in rows.order_by("made_at", "id"):
        which = "lines as found" if tie_up.sort == "found" else "tie-up"
        yield Event(
            tie_up.made_at, str(tie_up.by or ""), f"{which} worked out: {tie_up.get_answer_display()}"
        )
        for flag in tie_up.accepted.select_related("by"):
            about = flag.code.replace("_", " ")
            yield Event(flag.at, str(flag.by), f"answers for '{about}': {flag.reason}")


def _cards(stay):
    for card in stay.cards.select_related("by").defer("pdf"):
        yield Event(card.printed, str(card.by or ""), f"card {card.number} printed")
        if card.superseded:
            yield Event(
                card.superseded, "", f"card {card.number} out of use: {card.superseded_why}; destroy it"
            )


def _made_fast(stay):
    for deed in MadeFast.objects.filter(stay=stay).select_related("by"):
        how = "as planned" if deed.as_planned else deed.differed or "not as planned, or nobody said"
        yield Event(deed.at, str(deed.by or ""), f"made fast, {how}")
