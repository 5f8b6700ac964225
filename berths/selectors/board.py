"""The day: what needs somebody next, the water, who comes and who goes, and the weak spots of the docks.

A fixed number of queries, whatever the size of the harbour; a tie-up's result is never opened.
"""

from dataclasses import dataclass
from datetime import datetime, time, timedelta

from django.db.models import Count, OuterRef, Q, Subquery
from django.db.models.functions import JSONObject

from berths.models import Stay
from berths.reader import reader_of
from berths.selectors import visible
from berths.selectors.cards import old_cards
from berths.selectors.nextjob import jobs, looked_at_lately
from berths.selectors.standing import Standing, standings
from berths.selectors.water import harbour_waters
from berths.selectors.weak import weak_spots
from berths.selectors.words import looks_and_words
from berths.worse import in_sentences
from marina.base import clock, house

COMING = timedelta(days=7)  # stays that arrive later than this are not yet the day's business
A_DAY = timedelta(days=1)
CARDS_BACK = timedelta(days=14)  # older ones stand on the page of cards: common practice, no source
LOOK_AHEAD = timedelta(hours=12)
WATER_AHEAD = timedelta(hours=30)  # two turns of any tide


@dataclass
class Need:
    """A stay that somebody must do something about."""

    stay: Stay
    standing: Standing

    @property
    def mark(self):
        return self.standing.worst


def day(user):
    """Everything the page of the day shows.

    Returns
    -------
    dict
        `jobs` of a hand in the order of doing; `needs` worst first; `looks` due or missed; `words` of owners that
        nobody has answered; `old_cards`, stays whose card is still to be destroyed (`old_card`); `waters` with
        level, next turns and notices; `arrivals` and
        `departures` in walking order; `weak` spots of the docks; `lying`, the number of boats in the harbour.
    """
    now = clock.now()
    midnight, tomorrow = _today()
    rows = list(_stays(user, now, midnight))
    stays = [stay for stay in rows if _is_here(stay, now, midnight)]
    known = standings(stays, user)
    for stay in stays:
        stay.standing = known[stay.pk]
    reader = reader_of(user)
    needs = [Need(stay, stay.standing) for stay in stays if stay.standing.worst]
    spans = harbour_waters(now, now + WATER_AHEAD)
    looks, words = looks_and_words(user, now + LOOK_AHEAD)
    coming = [s for s in stays if s.state == "fast" or s.arrive < tomorrow]
    return {
        "jobs": [] if user.is_harbourmaster else jobs(coming, looks, now),
        "needs": sorted(needs, key=lambda need: need.standing.order),
        "worse": _worse(stays, now, reader),
        "looks": looks,
        "words": words,
        "old_cards": [stay for stay in rows if stay.old_card],
        "waters": [_water(span, now) for span in spans.values()],
        "arrivals": [s for s in stays if s.state == "booked" and s.arrive < tomorrow],
        "departures": [s for s in stays if s.state == "fast" and s.depart and s.depart < tomorrow],
        "weak": weak_spots(spans, reader_of(user)),
        "lying": sum(stay.state == "fast" for stay in stays),
    }


def _worse(stays, now, reader):
    """Boats whose tie-up was worked out again within a day and has a line that got worse: (stay, sentences)."""
    found = []
    for stay in stays:
        kept = stay.standing.tie_up
        if kept and kept["compared"] and kept["made_at"] > now - A_DAY and not kept["stale"]:
            found.append((stay, in_sentences(kept["compared"], reader)))
    return [(stay, sentences) for stay, sentences in found if sentences]


def _water(span, now):
    """Level now, the next two turns, and what was announced for the coming hours."""
    notices = [notice for notice in span.notices if notice.starts < now + WATER_AHEAD]
    return {"water": span.water, "level": span.level(now), "turns": span.turns()[:2], "notices": notices}


def _today():
    """This day's two midnights in the harbour's zone."""
    zone, date = house.rules().zone, clock.today()
    return (
        datetime.combine(date, time(), zone),
        datetime.combine(date + timedelta(days=1), time(), zone),
    )


def _is_here(stay, now, midnight):
    coming = stay.state == "booked" and stay.arrive < now + COMING
    return stay.state == "fast" or (coming and (stay.depart is None or stay.depart > midnight))


def _stays(user, now, midnight):
    """Stays under way or coming, and those with an old card lately put out of use, in walking order; `lent` counts the harbour's lines that are out to each, `seen`
    is whether somebody looked at its berth lately."""
    here = Q(state="fast") | Q(state="booked", arrive__lt=now + COMING) & (
        Q(depart=None) | Q(depart__gt=midnight)
    )
    old = old_cards().filter(superseded__gt=now - CARDS_BACK)
    newest = old.filter(stay=OuterRef("pk")).order_by("-number")
    told = newest.annotate(told=JSONObject(code="berth_code", number="number", why="superseded_why"))
    return (
        visible.stays(user)
        .filter(here | Q(pk__in=old.values("stay")))
        .select_related("vessel", "berth")
        .only(
            "arrive",
            "depart",
            "state",
            "side_to",
            "raft_place",
            "vessel__name",
            "vessel__mark",
            "berth__code",
            "berth__walking_order",
        )
        .annotate(lent=Count("lines", filter=Q(lines__back=None)), seen=looked_at_lately(now))
        .annotate(old_card=Subquery(told.values("told")[:1]))
        .order_by("berth__walking_order", "raft_place", "arrive")
    )
