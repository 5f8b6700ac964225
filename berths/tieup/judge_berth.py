"""Does this boat fit this berth: length, width, heights, pile tops, neighbours, surge."""

import numpy as np

from berths.tieup import fenders, geometry
from berths.tieup import outcome as outcomes
from berths.tieup.work import not_known, raised


def judge(work):
    """Flags of the berth, the water and the boat in it, whatever lines she has."""
    flags = []
    for check in (in_her_berth, surge, length, width, pile_top, dock_heights, neighbours):
        flags += check(work)
    return flags


def in_her_berth(work):
    """Whether she was put anywhere near what there is of this berth."""
    boat, berth = work.scenario.boat, work.scenario.berth
    hull = geometry.to_berth(boat, boat.outline)
    places = [(f.x, f.y) for f in berth.fittings]
    ends = np.array([[(f.x1, f.y1), (f.x2, f.y2)] for f in berth.faces]).reshape(-1, 2, 2)
    off = [geometry.signed_distance(places, hull)] if places else []
    off += [geometry.distance_to_segments(hull, ends[:, 0], ends[:, 1]).ravel()] if len(ends) else []
    if not off or (away := float(np.concatenate(off).min())) <= boat.loa:
        return []
    text = f"where she was put is {away:.0f} m from everything there is at this berth"
    return [
        raised(
            "not_held",
            "stop",
            text,
            "correct where she lies, or the survey",
            amount=away,
            unit="m",
            rests_on="survey, where she lies",
        )
    ]


def surge(work):
    water = work.asked.water
    if water is not None and water.surge_down is not None and water.surge_up is not None:
        return []
    missing = [
        way
        for way, v in (("down", water and water.surge_down), ("up", water and water.surge_up))
        if v is None
    ]
    return [
        not_known(
            "surge_unknown",
            "fix",
            f"surge {' and '.join(missing)} not known: the water may go farther than what is worked out here, "
            "by an unknown amount",
            "set the surge allowance of this water, with a reason",
            rests_on="surge allowances",
        )
    ]


def length(work):
    berth, boat = work.scenario.berth, work.scenario.boat
    if berth.length is None:
        text = "length of this berth not surveyed: cannot say whether she sticks out"
        return [not_known("too_long", "stop", text, "measure the berth", rests_on="berth length")]
    over = boat.loa - berth.length - berth.overhang
    if over <= 1e-9:
        return []
    text = (
        f"{boat.loa:.2f} m over everything in a berth of {berth.length:.2f} m with {berth.overhang:.2f} m allowed "
        f"past its end: sticks {over:.2f} m too far out and will be hit"
    )
    return [
        raised(
            "too_long",
            "stop",
            text,
            "a longer berth",
            amount=over,
            unit="m",
            rests_on="length over everything, berth length",
        )
    ]


def width(work):
    berth, boat = work.scenario.berth, work.scenario.boat
    if berth.kind != "slip":
        return []
    if berth.clear_width is None:
        text = "width between piles not surveyed: cannot say whether she fits with her fenders"
        return [not_known("too_wide", "stop", text, "measure the clear width", rests_on="clear width")]
    fender = boat.fenders.diameter if boat.fenders and boat.fenders.diameter else 0.0
    over = boat.beam + 2 * fender - berth.clear_width
    if over <= 1e-9:
        return [] if fender else _with_least_fenders(work)
    with_fenders = f" and {fender:.2f} m of fender each side" if fender else ""
    text = f"{boat.beam:.2f} m of beam{with_fenders} between piles {berth.clear_width:.2f} m apart: {over:.2f} m too wide"
    return [
        raised(
            "too_wide",
            "stop",
            f"{text}; she jams or lies there without fenders",
            "a wider slip",
            amount=over,
            unit="m",
            rests_on="beam, fenders, clear width",
        )
    ]


def _with_least_fenders(work):
    """Nobody recorded her fenders: a slip with no room for those of her length is not known to fit."""
    least = fenders.least_diameter(work.scenario.boat, work.figures)
    over = work.scenario.boat.beam + 2 * least - work.scenario.berth.clear_width
    if over <= 1e-9:
        return []
    text = f"size of her fenders not recorded: with {least:.2f} m of fender each side she is {over:.2f} m too wide"
    return [not_known("too_wide", "stop", text, "measure her fenders", rests_on="beam, fenders, clear width")]


def pile_top(work):
    """Floating dock: what is left of the guide piles at the highest water."""
    berth, f = work.scenario.berth, work.figures
    if berth.kind != "floating":
        return []
    if None in (berth.guide_pile_top_z, berth.hoop_height, work.high):
        text = "pile-top height not known: do not count on this dock in a surge"
        if berth.guide_pile_top_z is not None:
            text = "height of the hoops, or highest water, not known: do not count on this dock in a surge"
        return [
            not_known(
                "pile_top_low", "stop", text, "survey the guide piles", rests_on="pile top, hoop, surge"
            )
        ]
    left = berth.guide_pile_top_z - (work.high + berth.hoop_height)
    if left >= f.pile_top_margin - 1e-9:
        return []
    severity = "note" if left > 0 else "stop"
    text = (
        f"guide piles end {left:.2f} m above the hoops at {work.high:.2f} m of water"
        if left > 0
        else f"at {work.high:.2f} m of water the hoops stand {-left:.2f} m over the pile tops: the dock leaves "
        "its piles with all boats on it"
    )
    up = work.high - work.scenario.water.high  # the curve is predicted: with surge it gets there sooner
    start, until = work.above(berth.guide_pile_top_z - berth.hoop_height - up) if left <= 0 else (None, None)
    return [
        raised(
            "pile_top_low",
            severity,
            f"{text} ({f.pile_top_margin:.2f} m asked for)",
            "tell the engineer" if left > 0 else "move the boats off this dock; tell the engineer",
            level=work.high,
            amount=left,
            unit="m",
            rests_on="pile top, hoop, highest water with surge",
            **{"from": start, "until": until},
        )
    ]


def dock_heights(work):
    """Whether a corner can get under a fixed dock at low water, or over it at high water."""
    boat, flags = work.scenario.boat, []
    asked, faces = work.asked.boat, work.asked.berth.faces or []
    missing = [f.id for f in faces if None in (f.x1, f.y1, f.x2, f.y2)]
    if work.scenario.berth.kind != "floating" and (missing or not faces):
        which = f"where {' and '.join(missing)} runs" if missing else "edge of the dock"
        text = f"{which} not surveyed: cannot say whether a corner gets under or over it"
        flags.append(not_known("over_dock", "stop", text, "survey the dock's edge", rests_on="faces"))
    for i, face in enumerate(work.scenario.berth.faces):
        if face.floats or not work.comes_near(i):
            continue
        if work.low is None or work.high is None:
            text = f"water at this berth not known: cannot say whether she gets under or over {face.id}"
            flags.append(
                not_known("under_dock", "stop", text, "set the water of this berth", rests_on="water")
            )
            continue
        for code, edge, name in (
            ("over_dock", face.top_z, "top"),
            ("under_dock", face.underside_z, "underside"),
        ):
            if edge is None:
                text = (
                    f"{name} of {face.id} not known: cannot say whether a corner gets {code.split('_')[0]} it"
                )
                flags.append(not_known(code, "stop", text, "measure it", rests_on=f"{name} of the dock"))
            else:
                flags += _passes(work, code, face, edge)
        if (asked.rub_low is None or asked.rub_high is None) and not flags:
            text = (
                "freeboard estimated: check by eye at high water and at low water that her side "
                f"({boat.rub_low:.2f} to {boat.rub_high:.2f} m above the water) stays against {face.id}"
            )
            flags.append(
                not_known("over_dock", "stop", text, "measure the height of her rail", rests_on="freeboard")
            )
    return flags


def _passes(work, code, face, edge):
    boat, f = work.scenario.boat, work.figures
    # what is left between the edge and the end of her side that slides past it
    if code == "over_dock":
        left, level, limit = edge - (work.high + boat.rub_low), work.high, edge - boat.rub_low
        start, until = work.above(limit - f.rub_overlap)
        at, result = "high", "she lands on the dock as the water falls, and her fenders are useless"
    else:
        left, level, limit = work.low + boat.rub_high - edge, work.low, edge - boat.rub_high
        start, until = work.below(limit + f.rub_overlap)
        at, result = "low", "she is trapped there and pressed under when the water returns"
    if left >= f.rub_overlap - 1e-9:
        return []
    text = f"at {at} water ({level:.2f} m above datum) only {max(0.0, left):.2f} m of her side is against {face.id}: {result}"
    return [
        raised(
            code,
            "stop",
            text,
            "a spring that keeps her 0.6 m off, the other end in, or another berth",
            level=level,
            amount=f.rub_overlap - left,
            unit="m",
            rests_on=f"{'top' if code == 'over_dock' else 'underside'} of {face.id}, rub band, water",
            **{"from": start, "until": until},
        )
    ]


def neighbours(work):
    """Her box with its movement, and her lines, against what lies beside her."""
    flags = []
    for neighbour in work.scenario.berth.neighbours:
        if not neighbour.outline or len(neighbour.outline) < 3:
            text = f"neighbour at {neighbour.id} not measured: cannot say whether she or her lines reach him"
            flags.append(
                not_known(
                    "neighbour",
                    "fix",
                    text,
                    f"measure the boat at {neighbour.id}",
                    fitting=None,
                    rests_on="neighbour's outline",
                )
            )
            continue
        flags += _lines_over(work, neighbour)
    if work.solved:
        for name, (gap, case) in outcomes.neighbour_gaps(work.soft).items():
            if gap < 0:
                text = f"she swings {-gap:.2f} m into the boat at {name}"
                flags.append(
                    raised(
                        "neighbour",
                        "fix",
                        text,
                        "shift her, or tighter springs",
                        case=work.soft.cases[case].id,
                        amount=-gap,
                        unit="m",
                        rests_on="movement, neighbour's outline",
                    )
                )
    return flags


def _lines_over(work, neighbour):
    polygon, out = geometry.convex_hull(neighbour.outline), []
    for i, pick in enumerate(work.picks):
        start = geometry.to_berth(work.scenario.boat, [[pick.boat.x, pick.boat.y]])[0]
        if geometry.inside_span(polygon, start, np.array([pick.shore.x, pick.shore.y])):
            text = f"{work.name(i)} runs over the boat at {neighbour.id}"
            out.append(
                raised(
                    "neighbour",
                    "fix",
                    text,
                    "lead it the other way",
                    line=work.lines[i].id,
                    rests_on="line's lead, neighbour's outline",
                )
            )
    return out
