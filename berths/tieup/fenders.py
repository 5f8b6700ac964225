"""Fenders: what she is to hang where nobody recorded hers, and whether what hangs there keeps her off the dock."""

import math

from berths.tieup import outcome as outcomes
from berths.tieup.verdict import Assumed, Fenders
from berths.tieup.work import not_known, raised

OF_A_SIZE = 0.01  # m; sizes are told to this
A_LITTLE = 1e-9


def alongside(work):
    """The faces she lies along and comes against, as (filled face, as it was asked)."""
    asked = {f.id: f for f in work.asked.berth.faces or []}
    ends = outcomes.end_faces(work.scenario)
    faces = enumerate(zip(work.scenario.berth.faces, ends, strict=True))
    return [(f, asked[f.id]) for i, (f, end) in faces if not end and work.comes_near(i)]


# -- what she is to hang --


def least_diameter(boat, figures):
    """By her length, R-FEND-1; told to the centimetre, upwards. [m]"""
    return math.ceil(round(boat.hull_length / figures.fender_length_share / OF_A_SIZE, 6)) * OF_A_SIZE


def least_number(boat, figures):
    """On the side that comes to the dock, R-FEND-4."""
    by_length = math.ceil(boat.hull_length / figures.fender_every - A_LITTLE)
    return max(int(figures.fenders_side_to), by_length)


def prescribe(work):
    """The fenders that go with a recommended tie-up where hers are not recorded; None where they are.

    What is recorded of hers is kept. `low` and `high` are the lowest and highest point that is to be covered, above
    the water as she floats: the part of her side that can touch (R-FEND-6), and no less of it than `rub_overlap`
    above and below the dock's edge. `dock_low` and `dock_high` are where these come on a dock that stands fast,
    above datum.
    """
    boat, f = work.scenario.boat, work.figures
    hers = boat.fenders
    if not (work.planned and work.solved) or (hers is not None and not missing(hers)):
        return None
    faces = alongside(work)
    low, high = _band(work, faces)
    dock_low, dock_high = _on_the_dock(work, faces, low, high)
    number = hers.number if hers and hers.number is not None else least_number(boat, f)
    diameter = hers.diameter if hers and hers.diameter else least_diameter(boat, f)
    return Fenders(
        number=number, diameter=round(diameter, 2), low=round(low, 2), high=round(high, 2),
        below_rail=round(max(boat.rub_high - high, 0.0), 2),
        dock_low=dock_low, dock_high=dock_high, board=_board(faces), side=boat.side_to or "either",
        faces=[face.id for face, _ in faces], why=_why(work, faces, number, diameter),
    )  # fmt: skip


def _band(work, faces):
    """Lowest and highest point of her side that is to be covered, above the water. [m]"""
    boat, f = work.scenario.boat, work.figures
    edges = [
        face.top_z - water
        for face, _ in faces
        if face.top_z is not None
        for water in ((0.0,) if face.floats else (work.low, work.high))
        if water is not None
    ]
    low, high = boat.rub_low, boat.rub_high
    if edges:
        low = min(low, min(edges) - f.rub_overlap)
        high = min(high, max(edges) + f.rub_overlap)
    low = max(low, min(f.fender_dry, boat.rub_high - f.rub_overlap))
    return low, max(high, low + f.rub_overlap)


def _on_the_dock(work, faces, low, high):
    """Where they travel on a dock that stands fast while she rises and falls, above datum. [m]"""
    if not faces or any(face.floats for face, _ in faces) or None in (work.low, work.high):
        return None, None
    tops = [face.top_z for face, _ in faces if face.top_z is not None]
    return round(work.low + low, 2), round(min([work.high + high, *tops]), 2)


def _board(faces):
    """Whether a board belongs across piles: None where nobody knows if the face has gaps."""
    gaps = [asked.continuous is False or (None if asked.continuous is None else False) for _, asked in faces]
    return True if True in gaps else None if None in gaps else False


def _why(work, faces, number, diameter):
    told = f"{number} of {diameter:.2f} m for {work.scenario.boat.hull_length:.2f} m of boat"
    if not faces:
        return f"{told}; she lies clear of everything on her lines: they are for coming in and going out"
    where = "one at her widest, one forward, one near her stern, the rest between"
    ends = {bool(face.floats) for face, _ in faces}
    moves = "the dock rises with her" if ends == {True} else "over all the water of her stay"
    names = " and ".join(face.id for face, _ in faces)
    return f"{told}; {where}; they cover what of her side comes on {names}, {moves}"


def assumed(fenders):
    """What was recommended, once more among what nobody gave."""
    if fenders is None:
        return []
    why = "fenders not recorded: recommended with the lines"
    rows = (
        ("number", float(fenders.number), "1", f"{why} (R-FEND-4)"),
        ("diameter", fenders.diameter, "m", f"{why} (R-FEND-1)"),
        ("low", fenders.low, "m", f"{why}, above the water (R-FEND-6)"),
        ("high", fenders.high, "m", f"{why}, above the water (R-FEND-6)"),
        ("board", fenders.board, "", f"{why}, by the gaps of the dock"),
    )
    return [Assumed(field=f"boat.fenders.{name}", value=v, unit=u, why=text) for name, v, u, text in rows]


# -- whether they keep her off --


def missing(hers):
    """What of her fenders is not recorded, in words; '' where all is."""
    if hers is None:
        return "fenders"
    if hers.low is None or hers.high is None:
        return "fender heights"
    return "number of fenders" if hers.number is None else ""


def judge(work):
    """Whether her fenders stay between her and the face over the whole window of the water."""
    faces = alongside(work)
    if not faces:
        return []
    hers, f = work.scenario.boat.fenders, work.figures
    flags = []
    if hers is not None and hers.number is not None and hers.number < f.fenders_side_to:
        lacking = f.fenders_side_to - hers.number
        text = f"{hers.number} fenders of the {f.fenders_side_to:.0f} a boat wants along a dock"
        flags.append(_misses(text, f"add {lacking:.0f}", lacking, "fenders"))
    if unknown := missing(hers):
        return [*flags, _not_recorded(work, unknown), *_heights(work, faces)]
    return [
        *flags,
        *(flag for face, asked in faces for flag in _gaps(face, asked, hers)),
        *_heights(work, faces),
    ]


def _not_recorded(work, unknown):
    """With lines that are recommended the fenders are, too: she is told what to hang. Else nobody knows."""
    wanted = work.fenders
    if wanted is None:
        text = f"{unknown} not recorded: cannot say whether bare hull comes on the dock"
        return not_known("fender_misses", "fix", text, "look at how they hang", rests_on="fenders")
    text, do = f"{unknown} not recorded: hang what the card asks for", _in_words(wanted)
    if wanted.board:
        text += f"; {' and '.join(wanted.faces)} is piles with gaps: a board across two fenders is wanted, and nothing says one is there"
    elif wanted.board is None:
        text += f"; not known whether {' and '.join(wanted.faces)} has gaps between its piles: then a board is wanted"
    return not_known("fender_misses", "note", text, do, rests_on="fenders, face, water")


def _in_words(wanted):
    board = ", with a board outside them" if wanted.board else ""
    return f"{wanted.number} fenders, from {wanted.low:.2f} to {wanted.high:.2f} m above the water{board}"


def _gaps(face, asked, hers):
    if asked.continuous is not False or hers.board:
        return []
    text = f"{face.id} is piles with gaps: fenders hang between them and bare hull comes on a pile"
    do = "a board across two piles, outside the fenders"
    if hers.board is None:
        text = f"{text}; not known whether a fender board is rigged"
        return [not_known("fender_misses", "fix", text, do, rests_on="fenders, face")]
    return [_misses(text, do)]


def _heights(work, faces):
    """Fenders hang on the boat: at high water they come over a fixed face, at low water under it."""
    hung = work.fenders or work.scenario.boat.fenders
    if hung is None or None in (hung.low, hung.high) or None in (work.low, work.high):
        return []  # said as not recorded; and by the water
    needed, out = min(work.figures.rub_overlap, hung.high - hung.low), []
    whose = "even fenders" if work.fenders else "her fenders,"
    for face, _ in faces:
        if None in (face.top_z, face.underside_z):
            continue  # said by the heights of the dock
        for level, at in ((work.low, "low"), (work.high, "high"))[: 1 if face.floats else 2]:
            water = 0.0 if face.floats else level
            left = min(face.top_z, water + hung.high) - max(face.underside_z, water + hung.low)
            if left >= needed - A_LITTLE:
                continue
            where = "below" if water + hung.high < face.top_z else "over"
            text = (
                f"at {at} water ({level:.2f} m above datum) {whose} {hung.low:.2f} to {hung.high:.2f} m above the water"
                f"{'' if work.fenders else ','} come {where} {face.id}: bare hull on it"
            )
            do = "fenders or a board on the dock itself" if work.fenders else (
                "hang them at another height, longer ones, or a board"
            )  # fmt: skip
            out.append(_misses(text, do, needed - max(left, 0.0), "m", level))
    return out


def _misses(text, do, amount=None, unit=None, level=None):
    more = {"amount": amount, "unit": unit, "level": level, "rests_on": "fenders, face, water"}
    return raised("fender_misses", "fix", text, do, **more)
