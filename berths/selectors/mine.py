"""My boat: what a berth holder needs of the own boats, and nothing of anybody else."""

from dataclasses import dataclass, field

from django.db.models import OuterRef, Prefetch, Q, Subquery

from berths.models import LineSet, LineUse, SetPosition, Stay, TieUp
from berths.selectors import visible
from berths.selectors.standing import Standing, standings, standings_of_sets
from berths.selectors.words import words_of
from marina.base import clock
from vessels.models import Inspection, Line, Vessel
from vessels.selectors.lines import Use, can_be_used

ENDS = {"stern": "stern", "mid": "midships", "bow": "bow"}


@dataclass
class OwnLine:
    """One place of her set and the line that fills it; `line` None: nobody recorded which."""

    position: SetPosition | None
    line: Line | None
    use: Use | None

    @property
    def boat_end(self):
        """'starboard stern cleat' of a fitting called stern_starboard; its own name where it has one."""
        fitting = self.position.boat_end
        if fitting is None:
            return "boat"
        end, _, side = fitting.code.partition("_")
        if end in ENDS and side in ("port", "starboard"):
            return f"{side} {ENDS[end]} {fitting.get_kind_display()}"
        return str(fitting)

    @property
    def shore_end(self):
        """As hands say it, else 'pile P1'."""
        link = self.position.shore_end
        if link is None:
            return "shore"
        return link.words or f"{link.fastening.get_kind_display()} {link.code}"


@dataclass
class OwnBoat:
    vessel: Vessel
    stay: Stay | None = None
    line_set: LineSet | None = None
    standing: Standing | None = None
    lines: list[OwnLine] = field(default_factory=list)
    words: list = field(default_factory=list)
    tie_up: TieUp | None = None

    @property
    def doubtful(self):
        """Lines that ask for something, the worst first."""
        bad = [own for own in self.lines if own.use is None or own.use.kind != "note"]
        order = {"stop": 0, "fix": 1, "not_known": 2}
        return sorted(bad, key=lambda own: order[own.use.kind if own.use else "not_known"])

    @property
    def next_inspection(self):
        dates = [own.line.next_inspection for own in self.lines if own.line and own.line.next_inspection]
        return min(dates, default=None)


def boats_of(user):
    """The boats of this holder with stay, line set, flags and lines, the worst first. A fixed number of queries."""
    boats = {v.pk: OwnBoat(v) for v in visible.vessels(user).order_by("name")}
    for stay in _stays(user):
        if boats[stay.vessel_id].stay is None:
            boats[stay.vessel_id].stay = stay
    for line_set in _sets(user):
        boat = boats.get(line_set.vessel_id)
        if boat and boat.line_set is None:
            boat.line_set = line_set
            boat.lines = own_lines(line_set)
    by_stay = standings([b.stay for b in boats.values() if b.stay], user)
    by_set = standings_of_sets([b.line_set for b in boats.values() if b.line_set and not b.stay], user)
    for boat in boats.values():
        if boat.stay:
            boat.standing = by_stay[boat.stay.pk]
        elif boat.line_set:
            boat.standing = by_set[boat.line_set.pk]
    told = words_of(list(boats))
    kept = TieUp.objects.in_bulk(
        [b.standing.tie_up["id"] for b in boats.values() if b.standing and b.standing.tie_up]
    )
    for boat in boats.values():
        boat.words = told.get(boat.vessel.pk, [])
        boat.tie_up = kept.get(boat.standing.tie_up["id"]) if boat.standing and boat.standing.tie_up else None
    return sorted(boats.values(), key=lambda boat: boat.standing.order if boat.standing else (9, ""))


def _stays(user):
    """Present and coming stays, the present one first."""
    coming = Q(state="booked") & (Q(depart=None) | Q(depart__gt=clock.now()))
    return (
        visible.stays(user)
        .filter(Q(state="fast") | coming)
        .select_related("berth__pier")
        .order_by("arrive", "id")
    )


def _sets(user):
    today = clock.today()
    return with_lines(
        visible.line_sets(user).filter(Q(ends=None) | Q(ends__gt=today), starts__lte=today)
    ).select_related("berth__pier", "owner")


def with_lines(line_sets):
    """Line sets with their positions, the lines that fill them now, and each line's last inspection."""
    last = Inspection.objects.filter(line=OuterRef("line"), withdrawn_by=None).order_by("-at", "-id")
    open_uses = (
        LineUse.objects.filter(back=None)
        .select_related("line__owner")
        .annotate(inspected=Subquery(last.values("at")[:1]), advice=Subquery(last.values("advice")[:1]))
    )
    positions = SetPosition.objects.select_related("boat_end", "shore_end__fastening").prefetch_related(
        Prefetch("uses", queryset=open_uses, to_attr="open_uses")
    )
    return line_sets.prefetch_related(Prefetch("positions", queryset=positions))


def own_lines(line_set):
    """The positions of a set that came through `with_lines`, each with its line and whether it can be used."""
    today, rows = clock.today(), []
    for position in line_set.positions.all():
        for out in position.open_uses or [None]:
            line = out and out.line
            use = out and can_be_used(line, out.inspected, out.advice, today)
            rows.append(OwnLine(position, line, use))
    return rows
