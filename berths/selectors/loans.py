"""The loan book: what is out, to whom and since when, what is overdue, and what tonight's boats lack."""

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta

from django.db.models import Q

from berths.models import LineUse
from berths.selectors import hooks, visible
from berths.selectors.stay import read
from marina.base import clock, house
from vessels import fetch
from vessels.selectors.lines import can_be_used, with_last_look


@dataclass
class Loan:
    """One boat with what is out to her."""

    stay: object
    uses: list
    overdue: bool
    leaves_today: bool


def book(user):
    """Open loans by boat: overdue first, then who leaves first. Two queries."""
    uses = list(
        LineUse.objects.filter(back=None, stay__in=visible.stays(user))
        .select_related("line", "by", "stay__vessel", "stay__berth")
        .order_by("line__tag")
    )
    looked = {
        line.pk: line
        for line in with_last_look(visible.lines(user)).filter(pk__in=[use.line_id for use in uses])
    }
    now, today, by_stay = clock.now(), clock.today(), defaultdict(list)
    for use in uses:
        line = looked[use.line_id]
        use.judged = can_be_used(line, line.inspected, line.advice, today)
        use.overdue = use.due is not None and use.due < now
        by_stay[use.stay_id].append(use)
    loans = [_loan(rows, today) for rows in by_stay.values()]
    return sorted(
        loans, key=lambda loan: (not loan.overdue, loan.stay.depart is None, loan.stay.depart or now)
    )


def _loan(uses, today):
    stay = uses[0].stay
    leaves = stay.depart is not None and clock.local(stay.depart).date() <= today
    uses.sort(key=lambda use: use.judged.kind != "stop")
    return Loan(stay, uses, any(use.overdue for use in uses), leaves)


def closed(user, most=30):
    """What came back last, or did not."""
    return list(
        LineUse.objects.filter(stay__in=visible.stays(user), back__isnull=False)
        .exclude(closed_as="moved")
        .select_related("line", "back_by", "stay__vessel", "stay__berth")
        .order_by("-back", "-id")[:most]
    )


# --- what tonight's boats lack ---


@dataclass
class Shortage:
    """Lines of one size that more boats ask for than the store holds. Metres are up to the half, diameter in mm."""

    metres: float
    diameter: float
    material: str
    boats: int
    wanted: int
    held: int
    nearest: object = None
    lacking: str = ""
    barred: tuple = ()

    def words(self, say):
        """'Today 3 boats need 4 x 12 m of 14 mm; the store holds 1 of them.' `say` puts metres as they are read."""
        boats = "1 boat needs" if self.boats == 1 else f"{self.boats} boats need"
        held = "none" if not self.held else str(self.held)
        return (
            f"Today {boats} {self.wanted} x {say(self.metres)} of {self.diameter:g} mm {self.material}; "
            f"the store holds {held} of them."
        )


def tonight(user):
    """What the boats due by midnight lack when the store serves all of them at once.

    Returns
    -------
    (number of boats looked at, list of Shortage, list of Stay whose lines are not known)
    """
    stays, unknown, needs = _coming(user), [], []
    kept = hooks.planned(stays)
    for stay in stays:
        scenario, verdict, _ = read(kept.get(stay.pk))
        if verdict is None:
            unknown.append(stay)
        else:
            needs += [need for need in hooks.needs_of(stay, scenario, verdict) if not need.optional]
    if not needs:
        return len(stays), [], unknown
    rows = hooks.match(needs, _without_storm_gear(hooks.ropes_for(user, stays)), short=True)
    return len(stays), _shortages(rows), unknown


def _without_storm_gear(ropes):
    """Storm gear is no stock for visitors: it is named as what may be fetched, behind the rest."""
    gear = [rope for rope in ropes.there if rope.storm and rope.lent]
    told = [replace(rope, place=f"{rope.place}, storm gear") for rope in gear]
    there = [rope for rope in ropes.there if rope not in gear]
    return replace(ropes, there=there, elsewhere=[*ropes.elsewhere, *told])


def _coming(user):
    """Booked stays that come by the end of this day, and to which the house lends."""
    rows = (
        visible.stays(user)
        .filter(state="booked", arrive__lt=_midnight(clock.today()))
        .filter(Q(depart=None) | Q(depart__gt=clock.now()))
        .select_related("vessel", "berth")
        .order_by("berth__walking_order", "arrive")
    )
    return [stay for stay in rows if not hooks.may_lend(stay)]


def _midnight(today):
    return datetime.combine(today + timedelta(days=1), time(), house.zone())


def _shortages(rows):
    """By diameter and length, those of which one is missing; a line of hers is not the store's business."""
    groups = defaultdict(list)
    for row in rows:
        if row.offer.rope is None or row.offer.rope.lent:
            groups[row.need.diameter, fetch.half_up(row.need.cut), row.need.material].append(row)
    found = []
    for (diameter, metres, material), same in sorted(groups.items()):
        missing = [row for row in same if row.offer.rope is None]
        if not missing:
            continue
        first = missing[0].offer
        found.append(
            Shortage(
                metres=metres,
                diameter=diameter,
                material=fetch.plain(material),
                boats=len({row.need.whom for row in same}),
                wanted=len(same),
                held=len(same) - len(missing),
                nearest=first.nearest,
                lacking=first.lacking,
                barred=tuple(dict.fromkeys(pair for row in missing for pair in row.offer.barred)),
            )
        )
    return found
