"""What the drawings show, in sentences: for `<desc>`, and for the table below each picture."""

from berths.cards.words import bow_words, dock_word, say_lines
from berths.drawing.elevation import steepness
from berths.drawing.levels import levels_of
from berths.drawing.plan import kind_of_line
from berths.drawing.scene import scene_of

STROKES = {"bow": "plain", "stern": "dashed", "spring": "dash and dot", "breast": "dotted"}


def describe_plan(scenario, verdict, reader, *, neighbours=True, **words):
    """The plan in sentences, one thing each; further `words` go to `say_lines`.

    Returns
    -------
    list of str
    """
    scene, dock = scene_of(scenario, verdict), dock_word(scenario, reader, words.get("kind"))
    bow, _ = bow_words(scenario)
    out = [f"The {dock} is at the bottom. {bow.replace('BOW', 'Her bow points', 1)}."]
    worst = verdict.summary.peak_line if verdict else None
    roles = {line.id: line.role for line in verdict.lines} if verdict else {}
    for line in say_lines(scenario, verdict, reader, **words) if verdict else []:
        stroke = STROKES[kind_of_line(roles[line.id])]
        heavy = ", drawn heavier: it works hardest" if line.id == worst else ""
        out.append(f"Line {line.order} ({stroke} stroke{heavy}). {line.long_sentence}")
    out += [f"Line {order} is not drawn: {why}." for order, why in scene.undrawn]
    if scene.reach:
        out.append(_reach(scene.reach, scene.hull, dock, reader))
    if neighbours:
        out += [f"The boat at {name} lies beside her." for name, _ in scene.neighbours]
    return out


def _reach(reach, hull, dock, reader):
    """How far the pale band goes beyond her outline, side by side."""
    us, vs = [p[0] for p in hull], [p[1] for p in hull]
    ways = (
        ("away from the dock", reach[3] - max(vs)),
        ("toward it", min(vs) - reach[1]),
        ("to the left", min(us) - reach[0]),
        ("to the right", reach[2] - max(us)),
    )
    # A distance she can move is shown larger rather than smaller.
    told = [
        f"{reader.length(max(far, 0.0), 'size')} {way.replace('the dock', f'the {dock}')}"
        for way, far in ways
    ]
    return f"Pale band: how far she can move over all cases, {', '.join(told)}."


def describe_elevation(scenario, reader, verdict=None, *, now=None):
    """The view from the side in sentences, with every height that is not known said so.

    With a Verdict also how steep each line leads; `now` is the level of the water now. [m]
    """
    at = levels_of(scenario)
    out = [_water(at, reader), _bed(at, reader), *_dock(at, reader)]
    if now is not None:
        out.append(f"The water now, wavy: {reader.length(now, 'level')}; she is dotted at it.")
    out += _steep(scenario, verdict, at, now) if verdict else []
    if not at.rail_known:
        out.append("Height of her rail estimated: check by eye.")
    for f in scenario.berth.fittings or []:
        if f.z is None:
            out.append(f"Height of {f.id} not known: lines to it are not drawn here.")
        if f.kind == "pile" and f.top_z is None:
            out.append(f"Top of pile {f.id} not known: it is not drawn here.")
    return out


def _steep(scenario, verdict, at, now):
    """'Line 2 leads 35° up from her at the lowest water, 12° down at the highest.'"""
    levels = (("at the lowest water", at.lowest), ("now", now), ("at the highest", at.highest))
    told = {words: steepness(scenario, verdict, z) for words, z in levels if z is not None}
    for line in sorted(verdict.lines, key=lambda line: line.order):
        ways = [f"{_degrees(a[line.id])} {words}" for words, a in told.items() if line.id in a]
        if ways:
            yield f"Line {line.order} leads from her {', '.join(ways)}."


def _degrees(angle):
    whole = round(abs(angle))
    return "level" if whole == 0 else f"{whole}° {'up' if angle > 0 else 'down'}"


def _water(at, reader):
    if at.lowest is None or at.highest is None:
        return "The water at this berth is not known, so she is not drawn at its lowest and highest."
    surge = "with the surge allowances" if at.surge_known else "without surge, which is not known"
    low, high = (reader.length(z, "level") for z in (at.lowest, at.highest))
    shown = "she is drawn plain at the lowest, dashed at the highest"
    return f"Water from {low} to {high} above {at.datum}, {surge}; {shown}."


def _bed(at, reader):
    if at.bed is None:
        return "The bed at this berth is not known."
    if at.lowest is None:
        return f"Bed at {reader.length(at.bed, 'level')}."
    if at.draft is None:
        return f"Bed at {reader.length(at.bed, 'level')}; her {reader.word('draft')} is not known."
    under = at.lowest - at.draft - at.bed
    bed = f"Bed at {reader.length(at.bed, 'level')}: at the lowest water"
    if under < 0:
        return f"{bed} she wants {reader.length(-under, 'size')} more water than there is."
    return f"{bed} {reader.length(under, 'margin')} under her keel."


def _dock(at, reader):
    if at.dock_top is None:
        return ["The height of the dock is not known."]
    if at.floats:
        return [
            f"Dock and boat move together; its edge is {reader.length(at.dock_top, 'level')} above the water."
        ]
    out = [f"Dock edge at {reader.length(at.dock_top, 'level')}."]
    for level, name in ((at.lowest, "lowest"), (at.highest, "highest")):
        if level is None:
            continue
        above = level + at.rail - at.dock_top
        side = "above" if above > 0 else "below"
        out.append(f"At the {name} water her rail is {reader.length(abs(above), 'level')} {side} it.")
    if at.underside is None:
        out.append("The underside of the dock is not known.")
    return out
