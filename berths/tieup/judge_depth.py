"""Is there water enough for her, and if there is not: may she take the ground?"""

from berths.tieup.work import not_known, raised


def judge(work):
    """Flags of the depth at the lowest water of her stay."""
    return [*depth(work), *ground(work)]


def ground(work):
    """A berth that dries, and a boat of which it is known that she may not, or not known that she may."""
    boat, berth = work.scenario.boat, work.scenario.berth
    if boat.takes_ground or None in (berth.bed_z, work.low) or berth.bed_z <= work.low:
        return []  # that depth is not known, or too small, is said by `depth`
    start, until = work.below(berth.bed_z + (boat.draft or 0.0))
    more = {"rests_on": "whether she takes the ground, bed, water", "from": start, "until": until}
    do = "another berth; legs, or a wall with a line from her mast and somebody with her"
    if boat.takes_ground is None:
        text = (
            f"this berth dries at {berth.bed_z:.2f} m above datum: not known whether she may take the ground"
        )
        return [not_known("cannot_take_ground", "stop", text, "ask her skipper", **more)]
    text = f"this berth dries at {berth.bed_z:.2f} m above datum, and she cannot take the ground: she falls over, or breaks a rudder"
    return [raised("cannot_take_ground", "stop", text, do, level=berth.bed_z, **more)]


def depth(work):
    """Water under her keel at the lowest level of the window."""
    boat, berth, f = work.scenario.boat, work.scenario.berth, work.figures
    if boat.takes_ground:
        return []  # then it is a state, not a fault
    missing = [
        word
        for word, value in (
            ("depth at this berth", berth.bed_z),
            ("her draft", boat.draft),
            ("lowest water", work.low),
        )
        if value is None
    ]
    if missing:
        text = f"{' and '.join(missing)} not known: cannot say whether she touches"
        return [
            not_known(
                "grounds_at_low",
                "stop",
                text,
                "sound or measure before she is left",
                rests_on="depth, draft, water",
            )
        ]
    clearance = f.under_keel_soft if berth.bed_kind == "soft" else f.under_keel_hard
    spare = work.low - boat.draft - berth.bed_z
    if spare >= clearance - 1e-9:
        return []
    touch, down = berth.bed_z + boat.draft, work.scenario.water.low - work.low
    if work.scenario.water.low < touch:
        threshold = touch
    elif work.low < touch:
        threshold = touch + down
    else:
        threshold = touch + clearance + down
    start, until = work.below(threshold)
    level, at = work.first_low(threshold)
    return [
        raised(
            "grounds_at_low",
            "stop",
            _touching(work, touch, clearance, level, at),
            "another berth, or leave before the water is that low",
            level=level,
            amount=max(0.0, clearance - spare),
            unit="m",
            rests_on="bed, draft and water of the stay",
            **{"from": start, "until": until},
        )
    ]


def _touching(work, touch, clearance, level, at):
    """What happens, at the first low that is too low, in one sentence."""
    berth, boat, down = work.scenario.berth, work.scenario.boat, work.scenario.water.low - work.low
    when = f"at {work.clock(at)}" if at else f"at {level:.2f} m above datum"
    there = f"{when} the depth is {level - berth.bed_z:.2f} m"
    there += f", could be {level - down - berth.bed_z:.2f} m," if down > 0 else ""
    there += f" for a draft of {boat.draft:.2f} m"
    start, until = work.below(touch)
    if work.scenario.water.low < touch:
        span = f" at {work.clock(start)}" if start else ""
        span += f", aground till {work.clock(until)}" if until else ""
        return f"touches{span}: {there}"
    if work.low < touch:
        return f"may touch if the water is as low as the surge allowance says: {there}"
    return f"only {work.low - touch:.2f} m left under her keel of {clearance:.2f} m asked for: {there}"
