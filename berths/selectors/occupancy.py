"""Who lies in the berths, or will, while another boat asks for them: two queries for the whole harbour."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import Min, Q

from berths.models import Stay
from berths.models.stay import COUNTS


def lying_there(arrive, depart, now, without):
    """Stays that stand in her way, {berth: [Lying, ...]}, and when the next one comes after her, {berth: time}."""
    stays = Stay.objects.filter(COUNTS)
    if without is not None:
        stays = stays.exclude(pk=without.pk)
    later = Q(arrive__gte=depart) if depart else Q(pk__in=[])
    there = Q(depart=None) | Q(depart__gt=arrive)
    if arrive <= now:  # one who should have left is in the way until somebody says that she has
        there |= Q(state="fast")
    if depart:
        there &= Q(arrive__lt=depart)
    fields = ("berth", "raft_place", "vessel__name", "arrive", "depart", "state")
    beams = ("vessel__beam_measured", "vessel__beam_declared", "vessel__displacement")
    lying = {}
    for row in stays.filter(there).order_by("raft_place", "arrive").values_list(*fields, *beams):
        lying.setdefault(row[0], []).append(Lying(*row[1:6], row[6] or row[7], row[8]))
    next_in = dict(stays.filter(later).values_list("berth").annotate(Min("arrive")).order_by())
    return lying, next_in


@dataclass(frozen=True)
class Lying:
    """A boat that lies in a berth, or will, in the time asked for."""

    raft_place: int
    name: str
    arrive: datetime
    depart: datetime | None
    state: str
    beam: Decimal | None
    displacement: Decimal | None


def occupy(option, boat, lying, depart, rules, teller, now):
    """Whether the berth is free for her, at the dock or outside of those who lie there."""
    berth = option.berth
    if not berth.in_use:
        option.taken = "out of use"
        return
    if not lying:
        return
    deep = min(berth.raft_depth, rules["H11"]["deep"])
    places = {boat.raft_place for boat in lying}
    place = next((n for n in range(deep) if n not in places), None)
    if place is None:
        option.taken = _taken(lying, teller, now)
        return
    option.raft_place, option.names = place, [other.name for other in lying]
    _raft(option, boat, lying, depart, rules, teller)


def _taken(lying, teller, now):
    """'Marmalade Lantern until Sat 12:00': who is in the way, and until when."""
    words = []
    for other in lying[:2]:
        if other.depart is not None and other.depart <= now and other.state == "fast":
            words.append(f"{other.name} was to leave {teller.time(other.depart)} and is not recorded as gone")
        elif other.arrive > now:
            until = f" to {teller.time(other.depart)}" if other.depart else ""
            words.append(f"booked for {other.name} from {teller.time(other.arrive)}{until}")
        else:
            until = f" until {teller.time(other.depart)}" if other.depart else ", no end set"
            words.append(f"{other.name} lies there{until}")
    more = f", and {len(lying) - 2} more" if len(lying) > 2 else ""
    return "; ".join(words) + more


def _raft(option, boat, lying, depart, rules, teller):
    """What the house asks of a boat that lies outside of others."""
    fit = option.fit
    names = " and ".join(dict.fromkeys(option.names))
    if option.raft_place:
        fit.say("fix", "raft_load", f"outside {names} in the raft: own bow and stern lines ashore as well")
    fit.say("not_known", "no_tie_up", f"no tie-up is worked out for boats in a raft ({names})")
    fit.easy("alongside another boat", hard=1)
    beams = [other.beam for other in lying]
    broad = rules["H11"]["beam"]
    if None in beams:
        fit.say("not_known", "raft_load", "beam of a boat in the raft not known")
    elif float(sum(beams)) + boat.beam > broad:
        fit.say("stop", "raft_load", f"the raft would be broader than {teller.length(broad, 'size')}")
    inside = [other.displacement for other in lying if other.raft_place < option.raft_place]
    if boat.displacement and any(d is not None and float(d) < boat.displacement for d in inside):
        fit.say("fix", "raft_load", "heavier than a boat inside of her")
    leaving = [o for o in lying if o.depart and (depart is None or o.depart < depart)]
    if option.raft_place and leaving:
        first = min(leaving, key=lambda o: o.depart)
        fit.say("note", "raft_load", f"{first.name} inside leaves before her, {teller.time(first.depart)}")
