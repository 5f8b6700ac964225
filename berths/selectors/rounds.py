"""Rounds: where one goes next, what to look at there, and what nobody has looked at."""

from dataclasses import dataclass, field

from django.db.models import Prefetch

from berths.models import Berth, Look, Recheck, Round
from berths.selectors import visible
from berths.selectors.standing import standings
from marina.base import clock

MOST_TOLD = 4  # things to look at that a hand keeps in mind between two berths


@dataclass
class Stop:
    """One berth of a walk."""

    berth: Berth
    stays: list
    look: Look | None = None
    things: list = field(default_factory=list)
    due: list = field(default_factory=list)


@dataclass
class Walk:
    """A round: its stops in walking order, and what is left of them."""

    round: Round
    stops: list

    @property
    def left(self):
        return [stop for stop in self.stops if stop.look is None]

    @property
    def next(self):
        return next(iter(self.left), None)

    @property
    def words(self):
        """'31 of 40 looked at, 9 not: A3, A4 ...'; what could not be looked at was not looked at."""
        missed = [stop for stop in self.stops if stop.look is None or stop.look.mark == "could_not_look"]
        done = f"{len(self.stops) - len(missed)} of {len(self.stops)} looked at"
        return f"{done}, {len(missed)} not: {', '.join(s.berth.code for s in missed)}" if missed else done


def rounds(user, most=10):
    """Open rounds first, then the last ones that were closed."""
    rows = Round.objects.select_related("by").prefetch_related(
        "berths", Prefetch("looks", Look.objects.only("round", "berth", "mark"))
    )
    return [Walk(row, _stops(row)) for row in sorted(rows[:most], key=lambda r: r.closed is not None)]


def _stops(row):
    newest = {}
    for look in sorted(row.looks.all(), key=lambda look: (look.at, look.pk)):
        newest[look.berth_id] = look
    berths = sorted(row.berths.all(), key=lambda berth: berth.walking_order)
    return [Stop(berth, [], newest.get(berth.pk)) for berth in berths]


def walk(user, round_):
    """One round with who lies where and what to look at; a fixed number of queries."""
    berths = list(round_.berths.order_by("walking_order"))
    newest = {}
    for look in round_.looks.select_related("by").order_by("at", "id"):
        newest[look.berth_id] = look
    there = _there(user, berths)
    return Walk(round_, [_stop(berth, there.get(berth.pk, []), newest.get(berth.pk)) for berth in berths])


def stop(user, berth, round_):
    """One berth of a round."""
    look = round_.looks.filter(berth=berth).select_related("by").order_by("at", "id").last()
    return _stop(berth, _there(user, [berth]).get(berth.pk, []), look)


def not_looked_at(round_):
    """Berths that the last closed round missed, for the next one to begin with."""
    if round_ is None:
        return []
    seen = round_.looks.exclude(mark="could_not_look").values("berth")
    return list(round_.berths.exclude(pk__in=seen).order_by("walking_order"))


def last_closed():
    return Round.objects.filter(closed__isnull=False).order_by("-closed").first()


def _there(user, berths):
    """{berth: stays made fast there, each with its standing and the looks that are due}."""
    stays = list(
        visible.stays(user)
        .filter(berth__in=berths, state="fast")
        .select_related("vessel", "berth")
        .order_by("raft_place", "arrive")
    )
    known = standings(stays, user)
    due = Recheck.objects.filter(stay__in=stays, done_at=None, due__lte=clock.now()).order_by("due")
    by_stay, by_berth = {}, {}
    for look in due:
        by_stay.setdefault(look.stay_id, []).append(look)
    for stay in stays:
        stay.standing, stay.due = known[stay.pk], by_stay.get(stay.pk, [])
        by_berth.setdefault(stay.berth_id, []).append(stay)
    return by_berth


def _stop(berth, stays, look):
    marks = [mark for stay in stays for mark in stay.standing.marks if mark.urgent]
    return Stop(berth, stays, look, marks[:MOST_TOLD], [due for stay in stays for due in stay.due])
