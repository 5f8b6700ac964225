"""A permanent set: how it stands, its lines place by place, what could fill an empty place, what was in it before."""

from dataclasses import dataclass

from berths.cards.facts import marks_of
from berths.models import BerthFastening, LineSet, LineUse, MadeFastLine, TieUp
from berths.saying import say
from berths.selectors import visible
from berths.selectors.mine import own_lines, with_lines
from berths.selectors.standing import Standing, standings_of_sets
from berths.selectors.stay import answer_of, lines_of, number_lines, read
from marina.base import clock
from vessels.models import Line
from vessels.models.line import LineState
from vessels.selectors.lines import can_be_used, with_last_look

FREE = (LineState.STORE, LineState.RECEIVED, LineState.DRYING)
SHORTER = 0.05  # m: what a length may be short of what is asked for, as it is told to 5 cm
MOST_OFFERS = 6


@dataclass(frozen=True)
class Offer:
    """A line that could fill a place: how much longer it is than asked for [m]; None: not known."""

    line: Line
    longer: float | None
    why: str


def set_page(user, line_set, reader):
    """Everything the page and the sheet of a set show to this person; `line_set` came through `with_lines`."""
    standing = standings_of_sets([line_set], user)[line_set.pk]
    tie_up = TieUp.objects.select_related("by").get(pk=standing.tie_up["id"]) if standing.tie_up else None
    scenario, verdict, trouble = read(tie_up)
    number_lines(standing, verdict)
    words = {
        "said": said_at(line_set.berth_id),
        "kind": line_set.berth.kind,
        "marks": marks_of(verdict),
    }
    told = lines_of(scenario, verdict, reader, words) if verdict else []
    rows = own_lines(line_set)
    by_tag = {line.row.tag: line for line in told}
    for own in rows:
        own.told = own.line and by_tag.get(own.line.tag)
    return {
        "standing": standing,
        "rest": Standing([m for m in standing.marks if m is not standing.worst], standing.tie_up),
        "tie_up": tie_up,
        "scenario": scenario,
        "verdict": verdict,
        "trouble": trouble,
        "words": words,
        "rows": rows,
        "empty": [own for own in rows if own.line is None],
        "answer": answer_of(tie_up, standing, verdict, lambda text: say(text, reader, kind=words["kind"])),
        "levels": levels_of(verdict),
        "before": earlier(line_set) if not user.is_holder else [],
    }


def sets(user):
    """Sets this person may see, with what their pages show."""
    rows = visible.line_sets(user).select_related(
        "berth__pier", "berth__water__outer", "vessel__owner", "owner"
    )
    return with_lines(rows)


def set_of(stay):
    """The open set of this boat at this berth, or None."""
    return LineSet.objects.filter(berth=stay.berth_id, vessel=stay.vessel_id, ends=None).first()


def said_at(berth):
    """Fastenings of a berth in the harbour's own words: {code: words}."""
    return dict(BerthFastening.objects.filter(berth=berth).exclude(words="").values_list("code", "words"))


def levels_of(verdict):
    """(lowest, highest) level the set was worked out for, weather included [m], or None."""
    if verdict is None or verdict.summary.low is None or verdict.summary.high is None:
        return None
    s = verdict.summary
    return s.low - (s.surge_down or 0.0), s.high + (s.surge_up or 0.0)


def earlier(line_set):
    """Uses of the set's places that are over, the newest first."""
    uses = LineUse.objects.filter(position__line_set=line_set, back__isnull=False)
    return list(uses.select_related("line", "position", "back_by").order_by("-back", "-id")[:40])


def offers(user, line_set, rows):
    """Lines for the empty places: {position id: [Offer]}, the nearest length first; the owner's before the harbour's.

    A first offer is made for one place only. Lines that may hold nothing are left out; what the register doubts
    stands beside the offer.
    """
    empty = [own.position for own in rows if own.line is None]
    if not empty:
        return {}
    free = with_last_look(visible.lines(user).filter(state__in=FREE)).exclude(
        uses__back=None, uses__isnull=False
    )
    lent = with_last_look(visible.lines(user).filter(uses__back=None, uses__stay__vessel=line_set.vessel_id))
    owned = free.filter(owner=line_set.owner_id) if line_set.owner_id else free.none()
    lines = {
        line.pk: line
        for rows in (lent, owned, free.filter(owner=None, owner_kind="harbour"))
        for line in rows
    }
    there = _last_there(line_set)
    today, known = clock.today(), []
    for line in lines.values():
        use = can_be_used(line, line.inspected, line.advice, today)
        if use.kind != "stop" and not line.light_use:
            known.append((line, "" if use.kind == "note" else use.why))
    found, taken = {}, set()
    for place in sorted(empty, key=lambda p: -(p.length or 0)):
        fits = [_offer(place, line, why) for line, why in known if _reaches(place, line)]
        was = there.get((place.boat_end_id, place.shore_end_id))
        fits.sort(key=lambda offer: _order(offer, was, taken))
        found[place.pk] = fits[:MOST_OFFERS]
        taken.update(offer.line.pk for offer in fits[:1])
    return found


def _reaches(place, line):
    return place.length is None or (
        line.working_length is not None and float(line.working_length) >= float(place.length) - SHORTER
    )


def _offer(place, line, why):
    longer = (
        None if None in (place.length, line.working_length) else float(line.working_length - place.length)
    )
    return Offer(line, longer, why)


def _last_there(line_set):
    """Between which ends each line lay when she was last made fast there: {(boat end, shore end): line}."""
    rows = MadeFastLine.objects.filter(
        made_fast__stay__vessel=line_set.vessel_id,
        made_fast__stay__berth=line_set.berth_id,
        line__isnull=False,
    )
    newest = rows.order_by("-made_fast__at", "-made_fast").values("made_fast")[:1]
    return {
        (row.boat_end_id, row.shore_end_id): row.line_id
        for row in MadeFastLine.objects.filter(made_fast__in=newest, line__isnull=False)
    }


def _order(offer, was, taken):
    owned = offer.line.owner_id is not None
    return (
        offer.line.pk in taken,
        offer.line.pk != was,
        not owned,
        bool(offer.why),
        offer.longer or 0.0,
        offer.line.tag,
    )
