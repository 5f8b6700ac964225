"""From rows to one Scenario: the only bridge between what is stored and what the engine is asked.

Decimals become floats here, and faces, fastenings, neighbours and the power post are turned from the harbour
plan into the berth's frame. What is not recorded stays out of the Scenario: the engine says what it assumed
and what is not known. `read` also tells why there is no Scenario; it takes a fixed number of queries.
"""

from dataclasses import dataclass

import numpy as np
from django.db.models import OuterRef, Prefetch, Q, Subquery

from berths.lying import (
    END_ON,
    Frame,
    fender_of,
    half_outline,
    length_of,
    lying,
    outline_on_plan,
    piles_of,
)
from berths.models import Berth, BerthFace, BerthFastening, LineUse, MadeFast, MadeFastLine, Stay
from berths.selectors import water as waters
from berths.tieup import scenario as wanted
from marina.base import clock, house
from marina.base.units import metres_per_second
from vessels import hull, rope
from vessels.models import Inspection
from vessels.models.line import WORN

ENGINE_KIND = {  # stored kinds that the engine works out, and as what
    "floating": "floating",
    "slip": "slip",
    "box": "slip",
    "fixed": "fixed",
    "quay": "fixed",
    "drying": "fixed",
}
HOW_SHE_LIES = ("side_to", "end_in", "heading_deg", "lies_x", "lies_y")  # of a stay: a set takes them over
NEXT_TO_HER = 8.0  # m from the berth: what lies farther off is no neighbour of hers
SURVEYED = (
    Prefetch(
        "fastenings",
        BerthFastening.objects.select_related("fastening")
        .exclude(fastening__kind="laid_line")
        .order_by("code"),
    ),
    Prefetch("faces", BerthFace.objects.select_related("face").filter(face__in_use=True).order_by("code")),
)


@dataclass(frozen=True)
class Survey:
    """A Scenario, or the reason why there is none.

    length_rests_on : 'measured', 'declared + 5 %'.
    water_not_known : sentences about the water's window that the Scenario cannot carry.
    """

    scenario: wanted.Scenario | None
    reason: str = ""
    length_rests_on: str = ""
    water_not_known: tuple = ()


def scenario_of(stay, *, found=True):
    """The Scenario of a stay, or None; `read` tells why.

    Parameters
    ----------
    stay : Stay
        It may be an unsaved copy: what would be if she lay otherwise.
    found : bool
        With the lines she was last made fast with, where there are any; False asks for a recommendation.
    """
    return read(stay, found=found).scenario


def read(stay, *, found=True):
    """The Scenario of a stay with its reasons, as a `Survey`."""
    return _read(stay, (lambda: _lines(stay)) if found else list)


def read_set(line_set):
    """The Scenario of a permanent set with its reasons: the lines that fill it, from LAT to HAT.

    She lies as in her newest stay there. Boats beside her are left out: they come and go while the set remains,
    and the tie-up of her stay looks at them.
    """
    lines = lines_of_set(line_set)
    if not lines:
        return Survey(None, "no line with both its ends known fills a place of this set")
    return _read(lying_with(line_set), lambda: lines, alone=True)


def lying_with(line_set):
    """The stay for which a set is judged, unsaved: her newest one there as to how she lies, open and permanent."""
    newest = (
        Stay.objects.filter(vessel=line_set.vessel_id, berth=line_set.berth_id)
        .exclude(state="cancelled")
        .order_by("-arrive", "-id")
        .first()
    )
    stay = newest or Stay()
    return Stay(
        pk=stay.pk,
        vessel=line_set.vessel,
        berth=line_set.berth,
        arrive=clock.now(),
        purpose="permanent",
        **{name: getattr(stay, name) for name in HOW_SHE_LIES},
    )


def _read(stay, lines, *, alone=False):
    reason = why_none(stay)
    if reason:
        return Survey(None, reason)
    rules = house.rules()
    berth = Berth.objects.select_related("water__outer").prefetch_related(*SURVEYED).get(pk=stay.berth_id)
    loa, rests_on = length_of(stay.vessel, rules)
    frame = Frame(berth)
    always = stay.purpose == "permanent"
    window = waters.window_of_stay(stay, berth.water)
    beside = [] if alone else _neighbours(stay, frame, rules)
    scenario = wanted.Scenario(
        version=1,
        berth=_berth(berth, frame, overhang_of(berth, loa, rules), beside),
        boat=_boat(stay, loa, lying(stay, loa, piles_of(berth), rules=rules)),
        rope=wanted.Rope(stock_mm=rules["stock_diameters"], longest=rules["longest_rope"]),
        lines=lines() or None,
        water=wanted.Water(**window.for_scenario()),
        weather=wanted.Weather(wind_speeds=[metres_per_second(kn) for kn in rules["H21"]]),
        stay=_times(stay, always),
        house=_house(berth.kind, rules),
    )
    # A surge that nobody set the engine names itself; a level not read today leaves the limits as they are.
    gaps = tuple(words for code, words in window.not_known.items() if code not in ("surge", "level"))
    return Survey(scenario, length_rests_on=rests_on, water_not_known=gaps)


def why_none(stay):
    """Why no tie-up can be worked out for this stay; empty when one can."""
    if stay.berth.kind not in ENGINE_KIND:
        return "no tie-up worked out for this kind of berth"
    if stay.raft_place or _rafted(stay):
        return "no tie-up worked out for boats in a raft"
    measures = (("length", stay.vessel.loa), ("beam", stay.vessel.beam))
    missing = [word for word, value in measures if value is None]
    return f"her {' and '.join(missing)} must be known before a tie-up can be worked out" if missing else ""


def _rafted(stay):
    """Whether another boat lies in the same berth's raft while she is there."""
    if stay.berth.raft_depth < 2:
        return False
    others = _there_with(stay).filter(berth=stay.berth_id)
    return others.exists()


def _there_with(stay):
    """Other stays, booked or made fast, that share some time from now on with this one."""
    since = max(clock.now(), stay.arrive)
    others = Stay.objects.filter(state__in=("booked", "fast")).exclude(pk=stay.pk)
    if stay.depart is not None:
        others = others.filter(arrive__lt=stay.depart)
    return others.filter(Q(depart__isnull=True) | Q(depart__gt=since))


def _number(value):
    return None if value is None else float(value)


# --- the berth ---


def _berth(berth, frame, overhang, neighbours):
    gangway = wanted.Gangway(length=_number(berth.gangway_length), hinge_z=_number(berth.gangway_hinge_z))
    return wanted.Berth(
        kind=ENGINE_KIND[berth.kind],
        bearing_deg=float(berth.bearing_deg),
        length=float(berth.length),
        overhang=overhang,
        clear_width=_number(berth.clear_width),
        bed_z=_number(berth.bed_z),
        bed_kind=berth.bed_kind or None,
        exposure=berth.exposure or None,
        guide_pile_top_z=_number(berth.guide_pile_top_z),
        edge_z=_number(berth.edge_z),
        hoop_height=_number(berth.hoop_height),
        gangway=gangway if berth.gangway_length is not None else None,
        power=_power_post(berth, frame),
        fittings=[_shore_fitting(row, frame) for row in berth.fastenings.all()],
        faces=[_face(row, frame) for row in berth.faces.all()],
        zones=[wanted.Zone(kind="ladder", **ladder) for ladder in berth.ladders],
        neighbours=neighbours,
    )


def overhang_of(berth, loa, rules):
    """What a boat may reach past the end: the berth's own figure, else house rule H9. [m]"""
    if berth.overhang is not None:
        return float(berth.overhang)
    rule = rules["H9"]
    base = {"metres": 1.0, "percent_of_berth": float(berth.length) / 100, "percent_of_boat": loa / 100}
    return rule["value"] * base[rule["basis"]]


def _power_post(berth, frame):
    if berth.power_east is None or berth.power_north is None:
        return None
    x, y = frame.of_plan(berth.power_east, berth.power_north)
    return wanted.Power(x=x, y=y, z=_number(berth.power_z), lead=_number(berth.power_lead))


def _shore_fitting(row, frame):
    it = row.fastening
    x, y = frame.of_plan(it.east, it.north)
    return wanted.ShoreFitting(
        id=row.code,
        kind=it.kind,
        x=x,
        y=y,
        z=_number(it.z),
        floats=it.floats,
        strength=_number(it.strength),
        diameter=_number(it.diameter),
        top_z=_number(it.top_z),
        stop=it.stop != "none" if it.stop else None,
        cleat_length=_number(it.cleat_length),
        in_use=it.in_use and it.condition not in ("loose", "rotten"),
        takes=it.takes,
    )


def _face(row, frame):
    it = row.face
    (x1, y1), (x2, y2) = frame.of_plan(it.east1, it.north1), frame.of_plan(it.east2, it.north2)
    return wanted.Face(
        id=row.code,
        x1=x1,
        y1=y1,
        x2=x2,
        y2=y2,
        top_z=_number(it.top_z),
        underside_z=_number(it.underside_z),
        floats=it.floats,
        fender_stiffness=_number(it.fender_stiffness),
        fender_give=_number(it.fender_give),
        continuous=it.continuous,
        sharp=it.sharp,
    )


# --- the boat ---


def _boat(stay, loa, pose):
    it, (x, y, heading) = stay.vessel, pose
    return wanted.Boat(
        loa=loa,
        beam=float(it.beam),
        x=x,
        y=y,
        heading_deg=heading,
        draft=_number(it.draft),
        displacement=_number(it.displacement),
        hull_length=_number(it.hull_length),
        air_draft=_number(it.air_draft),
        mast_x=_number(it.mast_x),
        rub_low=_number(it.rub_low),
        rub_high=_number(it.rub_high),
        gm=_number(it.gm),
        side_to=stay.side_to or None,
        takes_ground=it.takes_ground,
        outline=half_outline(it, loa),
        fittings=[_deck_fitting(row) for row in it.fittings.all()] or None,
        windage=_windage(it, loa),
        underwater=wanted.Drag(**it.underwater) if it.underwater else None,
        fenders=_fenders(it),
        inlet=_inlet(it, stay.side_to),
        zones=[_zone(row) for row in it.zones.all()] or None,  # no boat has none: nobody recorded it
    )


def _windage(vessel, loa):
    """Areas as recorded, the rest by her class; nothing where neither is known."""
    kind, given = hull.CLASS_OF.get(vessel.hull_class), vessel.windage or {}
    if kind is None:
        return wanted.Drag(**given) if given else None
    return wanted.Drag(**hull.windage(_number(vessel.hull_length) or loa, float(vessel.beam), kind) | given)


def _deck_fitting(row):
    return wanted.BoatFitting(
        id=row.code,
        x=float(row.x),
        y=float(row.y),
        z=_number(row.z),
        strength=_number(row.strength),
        cleat_length=_number(row.cleat_length),
        in_use=row.in_use,
        takes=row.takes,
    )


def _zone(row):
    x1, x2, y1, y2 = map(float, (row.x1, row.x2, row.y1, row.y2))
    return wanted.Zone(id=row.code, kind=row.kind, x1=x1, x2=x2, y1=y1, y2=y2)


def _fenders(vessel):
    if vessel.fender_diameter is None and vessel.fender_number is None:
        return None
    return wanted.Fenders(
        diameter=_number(vessel.fender_diameter),
        number=vessel.fender_number,
        low=_number(vessel.fender_low),
        high=_number(vessel.fender_high),
        board=vessel.fender_board,
    )


def _inlet(vessel, side_to):
    """Her power inlet; with one at each side, that of the side she lies on."""
    if not vessel.inlet_side or vessel.inlet_x is None:
        return None
    side = side_to if vessel.inlet_side == "both" else vessel.inlet_side
    y = {"port": 1, "starboard": -1}.get(side, 0) * float(vessel.beam) / 2
    return wanted.Power(x=float(vessel.inlet_x), y=y, z=_number(vessel.inlet_z))


# --- who lies beside her ---


def _neighbours(stay, frame, rules):
    """Boats that are or will be beside her while she is there, as outlines in her berth's frame."""
    others = (
        _there_with(stay)
        .filter(berth__pier=stay.berth.pier_id)
        .exclude(berth=stay.berth_id)
        .select_related("vessel")
        .prefetch_related(Prefetch("berth", Berth.objects.prefetch_related(*SURVEYED)))
        .order_by("berth__walking_order", "raft_place", "arrive")
    )
    inside, found = {}, []
    for other in others:
        vessel, width = other.vessel, inside.get(other.berth_id, 0.0)
        if vessel.loa is None or vessel.beam is None:
            found.append(wanted.Neighbour(id=_named(other.berth, found)))  # there: how large is not known
            continue
        inside[other.berth_id] = width + float(vessel.beam) + fender_of(vessel, rules)
        plan = outline_on_plan(other, length_of(vessel, rules)[0], width, rules)
        outline = [frame.of_plan(*point) for point in plan]
        if _beside(outline, stay.berth):
            spreaders = _number(vessel.spreader_height)
            name = _named(other.berth, found)
            found.append(wanted.Neighbour(id=name, outline=outline, spreader_height=spreaders))
    return found


def _named(berth, found):
    """A boat beside her by her berth, and of several in one berth (a raft, or one after the other) each apart."""
    before = sum(known.id.split(" (")[0] == berth.code for known in found)
    return f"{berth.code} (boat {before + 1})" if before else berth.code


def _beside(outline, berth):
    """Whether an outline comes near the berth, on its water side."""
    x, y = np.array(outline).T
    if berth.kind in END_ON:
        return bool(y.min() < NEXT_TO_HER and y.max() > -NEXT_TO_HER and x.max() > 0)
    return bool(x.max() > -NEXT_TO_HER and x.min() < float(berth.length) + NEXT_TO_HER and y.max() > 0)


# --- lines, times, house ---


def _lines(stay):
    """The lines she was last made fast with."""
    newest = MadeFast.objects.filter(stay=stay.pk).order_by("-at", "-id").values("pk")[:1]
    rows = MadeFastLine.objects.filter(made_fast__in=newest).order_by("number")
    looked = Inspection.objects.filter(line=OuterRef("line")).order_by("-at", "-id").values("advice")[:1]
    rows = rows.select_related("line", "boat_end", "shore_end", "via").annotate(advice=Subquery(looked))
    return [_line(row, stay.purpose != "permanent") for row in rows if row.boat_end_id and row.shore_end_id]


def lines_of_set(line_set):
    """The lines that fill a set now, each made fast at the length of its place; a shorter one only at its own."""
    looked = Inspection.objects.filter(line=OuterRef("line"), withdrawn_by=None).order_by("-at", "-id")
    uses = (
        LineUse.objects.filter(position__line_set=line_set, back=None)
        .select_related("line", "position__boat_end", "position__shore_end", "position__via")
        .annotate(advice=Subquery(looked.values("advice")[:1]))
        .order_by("position__number", "at")
    )
    return [_line(_in_place(use)) for use in uses if use.position.boat_end_id and use.position.shore_end_id]


def _in_place(use):
    """The place of a set and the line in it, as one line that lies there."""
    place, own = use.position, use.line.working_length
    place.line, place.advice, place.material, place.diameter_mm = use.line, use.advice, "", None
    place.length = min((x for x in (place.length, own) if x is not None), default=None)
    return place


def _line(row, visits=False):
    """One line as it lies there: found diameters before nominal ones; an unknown strength stays unknown.

    A visitor's own rope is what her skipper says it is, at the lowest strength that a table prints for it. A rope
    of a permanent berth that should carry a tag and carries none is another matter: nobody knows.
    """
    tagged, diameter, length, material = row.line, row.diameter_mm, row.length, row.material
    if tagged:
        diameter = diameter or tagged.diameter_found_mm or tagged.diameter_mm
        length, material = length or tagged.working_length, material or tagged.material
    return wanted.Line(
        id=tagged.tag if tagged else f"{row.number}",
        boat_fitting=row.boat_end.code,
        shore_fitting=row.shore_end.code,
        length=_number(length),
        material=material or None,
        diameter_mm=_number(diameter),
        mbs=_number(tagged.strength) if tagged else _as_told(material, diameter) if visits else None,
        worn=row.advice in WORN if row.advice else None,
        via=wanted.Via(fitting=row.via.code, turn=row.via_turn or None) if row.via else None,
        turn_z=_number(row.turn_z),
        chafe_gear=row.chafe_gear,
        tag=tagged.tag if tagged else None,
    )


def _as_told(material, diameter):
    return rope.strength(material, float(diameter)).mbs if material and diameter else None


def _times(stay, always):
    """Her times. A short stop whose allowance is used up is none any more: now her short lines count."""
    over = stay.short_until is not None and stay.short_until < clock.now()
    return wanted.StayTimes(
        arrive=stay.arrive,
        depart=stay.depart,
        permanent=always,
        short_until=None if over else stay.short_until,
        attended=stay.attended,
    )


def _house(kind, rules):
    """House rules under the names the engine knows; winds, rope and overhang have places of their own."""
    cut = rules["cut_length"]
    return {
        "H5": {ENGINE_KIND[kind]: rules["H5"][kind]},
        "H7": rules["H7"],
        "H8": rules["H8"],
        "H13": rules["H13"],
        "H16": rules["H16"],
        "pile_top_margin": rules["pile_top_spare"],
        "lift_off_margin": rules["pile_top_spare"],
        "eye_cleat": cut["eye_cleat"],
        "cleat_turns": cut["cleat_turns_per_cleat_length"],
        "tail": cut["tail"],
        "zone": rules["zone"],
    }
