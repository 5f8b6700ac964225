"""Which line from which hook: the lines a stay asks for, the ropes that are there, and who gets which."""

from dataclasses import dataclass, field
from math import hypot

from django.db.models import Exists, OuterRef, Prefetch, Q

from berths.models import Berth, LineUse, Stay, TieUp
from berths.models.stay import Purpose, StayState
from berths.models.tieup import Sort
from berths.selectors import visible
from berths.selectors.places import berth_of, two_places
from berths.tieup import rules as figures_of
from marina.base import clock, house
from vessels import fetch, rope
from vessels.models import Line
from vessels.models.line import LineOwner, LineState
from vessels.selectors.lines import can_be_used, with_last_look

GONE = (LineState.DESTROYED, LineState.SOLD, LineState.MISSING, LineState.ORDERED)
NEVER_INSPECTED = "never inspected: look at it from end to end first"
NOT_LOOKED_AT = "hers: nobody here has looked at it"

NOBODY = "This harbour lends no rope (house rule on lending). She uses her own lines."
VISITORS_ONLY = (
    "This harbour lends rope to visitors only (house rule on lending); she is a berth holder's boat."
)


@dataclass
class Row:
    """One line that is asked for, and what is offered for it. `words` of it are set by the page."""

    need: fetch.Need
    offer: fetch.Offer
    line: Line | None = None  # the register's, where the rope has a tag
    use: LineUse | None = None  # it is out to her already
    words: object = None

    @property
    def may_go(self):
        """Whether it can be handed over now: the harbour's, and not out."""
        return self.line is not None and self.use is None and self.offer.rope.lent


@dataclass
class Ropes:
    """What is there, by tag, for `fetch.assign`; and what would have to be fetched from a berth."""

    there: list = field(default_factory=list)
    elsewhere: list = field(default_factory=list)
    lines: dict = field(default_factory=dict)  # tag -> Line
    uses: dict = field(default_factory=dict)  # tag -> LineUse, open


def planned(stays):
    """{stay id: newest planned tie-up that has a result}; one query."""
    rows = TieUp.objects.filter(stay__in=stays, sort=Sort.PLANNED, verdict__isnull=False)
    found = {}
    for row in rows.order_by("stay", "-made_at", "-id"):
        found.setdefault(row.stay_id, row)
    return found


def needs_of(stay, scenario, verdict):
    """The lines of a result as `fetch.Need`s, in the order they go on."""
    figures = figures_of.of(scenario)
    aboard = {f.id: f for f in scenario.boat.fittings or []}
    ashore = {f.id: f for f in scenario.berth.fittings or []}
    weak = {flag.line for flag in _all(verdict.flags) if flag.code == "line_weak"}
    return [
        fetch.Need(
            id=line.id,
            working=line.working_length,
            cut=line.cut_length,
            diameter=line.diameter_mm,
            material=line.material,
            bears=_bears(line, figures, line.id in weak),
            thickest=_thickest(aboard.get(line.boat_fitting), ashore.get(line.shore_fitting)),
            role=line.role,
            optional=line.optional,
            whom=str(stay.pk),
        )
        for line in sorted(verdict.lines, key=lambda line: (line.order, line.id))
        if None not in (line.working_length, line.cut_length, line.diameter_mm, line.material)
    ]


def _bears(line, figures, weak):
    """Strength that wet rope must have left: the greatest pull, by the stiffest rope, with the usual allowances. [N]

    The rope that was worked out bears what is asked, unless the result says otherwise.
    """
    enough = None if line.mbs is None else line.mbs * rope.wet_factor(line.material)
    if line.peak_tension is None:
        return enough or 0.0
    asked = line.peak_tension * figures.stretch_stiff * figures.dynamic * figures.strength_factor
    return asked if weak or enough is None else min(asked, enough)


def _thickest(*fittings):
    """What the cleats at its ends take; a pile or ring takes any. [mm]"""
    cleats = [f.cleat_length for f in fittings if f is not None and getattr(f, "kind", "cleat") == "cleat"]
    return fetch.thickest_for(*cleats) if cleats else None


def _all(flags):
    return [inner for flag in flags for inner in (flag, *_all(flag.under))]


# --- the ropes ---


def ropes_for(user, stays):
    """The store's ropes and those of these boats. A fixed number of queries.

    Never a line of somebody else's set; what must not be used is there too, barred, so that it can be said.
    """
    found, doubts = Ropes(), {two.line.pk: two for two in two_places(user)}
    near = stays[0].berth if stays else None
    empty = {berth.pk for berth in _empty_berths()}
    for line in _lines(user, stays):
        use = next(iter(line.out), None)
        whom = _whom(line, use, stays)
        if whom is None:
            if use is not None and _left_behind(line, use, empty):
                found.elsewhere.append(
                    (_from(near, berth_of(use)), _rope(line, f"empty berth {berth_of(use)}"))
                )
                found.lines[line.tag] = line
            continue
        found.lines[line.tag] = line
        if use is not None:
            found.uses[line.tag] = use
        found.there.append(_rope(line, _place(line, use), whom, use, doubts.get(line.pk)))
    found.elsewhere = [one for _, one in sorted(found.elsewhere, key=lambda pair: (pair[0], pair[1].tag))]
    found.there += [own for stay in stays for own in _untagged(stay)]
    return found


def _lines(user, stays):
    owners = [stay.vessel.owner_id for stay in stays if stay.vessel.owner_id]
    uses = LineUse.objects.filter(back=None).select_related("stay__berth", "position__line_set__berth")
    return (
        with_last_look(visible.lines(user))
        .filter(Q(owner_kind=LineOwner.HARBOUR) | Q(owner__in=owners))
        .exclude(state__in=GONE)
        .prefetch_related(Prefetch("uses", queryset=uses, to_attr="out"))
        .order_by("tag")
    )


def _whom(line, use, stays):
    """Whose it is: a stay's id, '' where it may go to anybody, None where it may go to nobody here."""
    for stay in stays:
        if use is not None and use.stay_id == stay.pk:
            return str(stay.pk)
        if use is not None and use.position_id:
            line_set = use.position.line_set
            if (line_set.vessel_id, line_set.berth_id) == (stay.vessel_id, stay.berth_id):
                return str(stay.pk)
        if use is None and line.owner_id and line.owner_id == stay.vessel.owner_id:
            return str(stay.pk)
    return "" if use is None and line.owner_kind == LineOwner.HARBOUR and not line.owner_id else None


def _left_behind(line, use, empty):
    """Whether it lies at a berth where nobody needs it: of the harbour's own set or one that is closed."""
    if line.owner_kind != LineOwner.HARBOUR or not use.position_id:
        return False
    line_set = use.position.line_set
    closed = line_set.ends is not None and line_set.ends <= clock.today()
    return line_set.berth_id in empty and (closed or line_set.owner_id is None)


def _empty_berths():
    here = Stay.objects.filter(
        Q(state=StayState.FAST) | Q(state=StayState.BOOKED, arrive__lte=clock.now()), berth=OuterRef("pk")
    )
    return Berth.objects.filter(~Exists(here)).only("pk")


def _from(one, other):
    """How far two berths lie apart on the plan. [m]"""
    return hypot(float(one.east - other.east), float(one.north - other.north)) if one else 0.0


def _rope(line, place, whom="", use=None, twice=None):
    judged = can_be_used(line, line.inspected, line.advice, clock.today())
    barred = {"stop": judged.word, "fix": judged.why.rstrip(".")}.get(judged.kind, "")
    doubts = [] if line.inspected or use else [NEVER_INSPECTED]
    if twice is not None:
        doubts.append(f"seen last at {twice.seen.berth or twice.seen.place}: it may not hang there")
    return fetch.Rope(
        tag=line.tag,
        total=_number(line.total_length),
        working=_number(line.working_length),
        diameter=_number(line.diameter_mm or line.diameter_found_mm),
        material=line.material,
        strength=_number(line.strength),
        eyes=line.eyes or "",
        since=line.in_service_on or line.made_on,
        place=place,
        hers=whom or None,
        lent=not whom,
        storm=line.kept_for == "storm",
        out=use is not None,
        drying=line.state == LineState.DRYING,
        barred=barred,
        doubts=tuple(doubts),
    )


def _place(line, use):
    if use is None:
        return line.home or "its hook is not known"
    return "out to her" if use.stay_id else f"in her set, position {use.position.number}"


def _untagged(stay):
    """Her own lines as they were told, one by one; of a rope nobody named the weakest sort counts."""
    for row in stay.vessel.own_lines or []:
        length, diameter, material = row.get("length"), row.get("diameter_mm"), row.get("material") or ""
        for _ in range(int(row.get("number") or 1)):
            yield fetch.Rope(
                tag="her own",
                total=_number(length),
                diameter=_number(diameter),
                material=material,
                strength=_told_strength(material, diameter),
                eyes="",
                place="on board",
                hers=str(stay.pk),
                lent=False,
                notes=(NOT_LOOKED_AT,),
            )


def _told_strength(material, diameter):
    if not diameter:
        return None
    sorts = [material] if material in rope.MATERIALS else [m for m in rope.MATERIALS if m not in fetch.NEVER]
    return min(rope.strength(name, float(diameter)).mbs for name in sorts)


def _number(value):
    return None if value is None else float(value)


# --- who gets which ---


def match(needs, ropes, *, short):
    """Rows for needs of one or several boats."""
    offers = fetch.assign(needs, ropes.there, ropes.elsewhere, short=short)
    return [
        Row(
            need,
            offer,
            line=offer.rope and ropes.lines.get(offer.rope.tag),
            use=offer.rope and ropes.uses.get(offer.rope.tag),
        )
        for need, offer in zip(needs, offers, strict=True)
    ]


def tagged(stay, scenario, verdict):
    """A planned result with the tags of the store's lines that are out to her, each at the line it serves.

    One query where nothing is out to her, two where something is.
    """
    uses = {} if verdict is None or verdict.sort != "planned" else _open_uses(stay)
    if not uses:
        return verdict
    ropes = [
        _rope(line, "out to her", str(stay.pk), uses[line.pk])
        for line in with_last_look(Line.objects.filter(pk__in=uses)).order_by("tag")
    ]
    offers = fetch.assign(needs_of(stay, scenario, verdict), ropes, short=is_short(stay))
    tags = {offer.need.id: offer.rope.tag for offer in offers if offer.rope}
    lines = [line.model_copy(update={"tag": tags.get(line.id, line.tag)}) for line in verdict.lines]
    return verdict.model_copy(update={"lines": lines})


def _open_uses(stay):
    return {use.line_id: use for use in LineUse.objects.filter(stay=stay, back=None)}


def is_short(stay):
    """Whether the oldest good line may go out: she does not stay for good."""
    return stay.purpose != Purpose.PERMANENT


def out_to(stay):
    """Lines on loan to a stay, those that must not be used first; with `use_word` where they must not."""
    uses = list(
        LineUse.objects.filter(stay=stay, back=None).select_related("line", "by").order_by("line__tag")
    )
    looked = {line.pk: line for line in with_last_look(Line.objects.filter(pk__in=[u.line_id for u in uses]))}
    for use in uses:
        line = looked[use.line_id]
        use.judged = can_be_used(line, line.inspected, line.advice, clock.today())
    return sorted(uses, key=lambda use: use.judged.kind != "stop")


def may_lend(stay):
    """Why the house does not lend to this stay, or ''."""
    whom = house.value("H20")["whom"]
    if whom == "nobody":
        return NOBODY
    return VISITORS_ONLY if whom == "visitors" and stay.purpose == Purpose.PERMANENT else ""
