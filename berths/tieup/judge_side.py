"""What she lies against, and which way she is pushed: winds and streams nobody gave a direction for."""

from berths.tieup.work import not_known


def judge(work):
    """Flags of what she rests on and of the directions she is pushed from."""
    return [*directions(work)]


def directions(work):
    """Winds and streams with a speed and no direction: tried from one side only, or not at all."""
    flags = []
    for case in work.asked.cases or []:
        for name, speed, way in (
            ("wind", case.wind_speed, case.wind_from_deg),
            ("stream", case.current_speed, case.current_toward_deg),
        ):
            if speed and way is None:
                flags.append(_no_direction(name, f"in case {case.id}", case.id))
    for stream in (work.asked.weather and work.asked.weather.currents) or []:
        if stream.speed and stream.toward_deg is None:
            flags.append(_no_direction("stream", f"of {stream.speed:g} m/s", None))
    return flags


def _no_direction(name, where, case):
    text = f"direction of the {name} {where} not known: cannot say what she is pushed against"
    return not_known("only_contact", "fix", text, "set it", case=case, rests_on="wind and stream")
