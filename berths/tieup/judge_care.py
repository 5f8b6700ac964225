"""Who looks after her and what else she hangs on: somebody to tend her, shore power, the line that must not fail."""

import numpy as np

from berths.tieup.work import not_known, raised


def judge(work):
    """Flags of care: tending, power, and what one lost line means."""
    return [*tending(work), *power(work), *one_lost(work)]


def tending(work):
    """A range that wants somebody by the lines, and nobody named."""
    stay, span, most = work.scenario.stay, work.scenario.water.range, work.figures.untended_range
    fixed = work.scenario.berth.kind != "floating" or any(not p.run.floats for p in work.picks)
    if not fixed or (stay and stay.attended):
        return []
    if span is None:
        text = "range of the water not known: cannot say whether somebody has to look after her lines"
        return [not_known("tend_her", "fix", text, "find out how far the water moves", rests_on="range")]
    if span <= most + 1e-9:
        return []
    text = f"the water moves {span:.2f} m at a time, more than the {most:.1f} m a boat is left alone for, and nobody is named"
    more = {"amount": span - most, "unit": "m", "rests_on": "range, house rule (R-GEO-21), who attends"}
    return [raised("tend_her", "fix", text, "name a person and times, or a floating berth", **more)]


def power(work):
    """Whether her lead reaches from the post to her inlet wherever she may lie over the range of water."""
    post, inlet = work.scenario.berth.power, work.scenario.boat.inlet
    if post is None or work.short_stop:
        return []
    gaps = [name for name, part, fields in (
        ("where the power post stands", post, ("x", "y", "z")), ("length of the lead", post, ("lead",)),
        ("where her inlet is", inlet, ("x", "y", "z")),
    ) if part is None or None in [getattr(part, field) for field in fields]]  # fmt: skip
    if gaps or not work.solved or None in (work.low, work.high):
        text = f"{' and '.join(gaps) or 'where she lies, or the water,'} not known: cannot say whether the lead reaches"
        return [
            not_known("power_reach", "fix", text, "look, and record it", rests_on="power post, inlet, water")
        ]
    level, needed = _farthest(work, post, inlet)
    if needed <= post.lead:
        return []
    text = (
        f"the lead of {post.lead:.1f} m does not reach at {level:.2f} m above datum: {needed:.1f} m from the post to her "
        "inlet, so the cable comes taut or hangs in the water"
    )
    more = {"level": level, "amount": needed - post.lead, "unit": "m", "rests_on": "power post, inlet, water"}
    return [
        raised("power_reach", "fix", text, "the other side to, or a longer lead laid over the dock", **more)
    ]


def _farthest(work, post, inlet):
    """The level at which her inlet is farthest from the post, in the worst case of any weather, and that way. [m]"""
    outcome, boat = work.soft, work.scenario.boat
    x, y, heading = outcome.pose[0].T
    arm = np.array([inlet.x - boat.loa / 2, inlet.y])
    at = np.stack([
        x + np.cos(heading) * arm[0] - np.sin(heading) * arm[1], y + np.sin(heading) * arm[0] + np.cos(heading) * arm[1],
    ])  # fmt: skip
    across = np.hypot(at[0] - post.x, at[1] - post.y).max()
    levels = np.array([work.low, work.high])
    rise = post.z - inlet.z - (0.0 if work.scenario.berth.kind == "floating" else levels)
    way = np.hypot(across, np.broadcast_to(rise, levels.shape))
    return float(levels[int(way.argmax())]), float(way.max())


def one_lost(work):
    """What a single failure would mean, where it would mean that she is not held."""
    if work.short_stop:
        return []
    more = {"rests_on": "each line gone in turn, strongest stated wind"}
    if not work.solved:
        known = bool(work.asked.lines) and not work.planned
        text = "not worked out what one lost line would mean"
        return [not_known("one_line_lost", "note", text, "record the lines", **more)] if known else []
    lost = [row for row in work.lost if not row.holds]
    if not lost or work.broken:  # a set that does not hold with all its lines has nothing left to lose
        return []
    names = [line.id for line in work.lines]
    told = [work.name(names.index(row.line)) for row in lost]
    text = (
        f"all hangs on {', '.join(told)}: without {told[0] if len(told) == 1 else 'the first'} {lost[0].then}"
    )
    return [raised("one_line_lost", "note", text, "double it to another fitting", line=lost[0].line, **more)]
