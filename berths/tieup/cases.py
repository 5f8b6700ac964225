"""The water levels and the weather a tie-up is worked out for.

Line length over level is smooth: tension from the tide peaks at the ends of the range, slack and movement in
between. So levels run over the whole range, and include those at which something changes.
"""

from collections import Counter

import numpy as np

from berths.tieup import rules
from berths.tieup.loads import KNOT, coefficient
from berths.tieup.scenario import Case

_APART = 0.01  # m; two levels nearer than this are one


def levels(scenario):
    """Water levels to work out, lowest first, surge included. [m above datum]

    Even steps over the range, those at which a line's two ends are level, and those at which the side that
    can touch passes a fixed face's top or underside. With `scenario.cases` the levels of these.

    Raises
    ------
    ValueError
        Where the water's low or high is missing.
    """
    if scenario.cases is not None:
        return sorted({_level(case) for case in scenario.cases})
    water = scenario.water
    if water is None or water.low is None or water.high is None:
        raise ValueError("water.low, water.high: missing, and needed to build the cases")
    low, high = water.low - (water.surge_down or 0.0), water.high + (water.surge_up or 0.0)
    even = np.linspace(low, high, coefficient("level_steps").value)
    chosen = [low, high] if high - low > _APART else [low]
    for level in [*even, *sorted(_turning_levels(scenario))]:
        if low < level < high and min(abs(level - other) for other in chosen) > _APART:
            chosen.append(float(level))
    return sorted(chosen)


def _turning_levels(scenario):
    """Levels at which a fixed line lies flat, or the side that can touch passes an edge of a fixed face."""
    ashore = {f.id: f for f in scenario.berth.fittings or [] if not f.floats and f.z is not None}
    aboard = {f.id: f for f in scenario.boat.fittings or [] if f.z is not None}
    if scenario.lines is None:
        pairs = [(s, b) for s in ashore for b in aboard]
    else:
        pairs = [
            (line.via.fitting if line.via else line.shore_fitting, line.boat_fitting)
            for line in scenario.lines
        ]
    flat = {round(ashore[s].z - aboard[b].z, 2) for s, b in pairs if s in ashore and b in aboard}
    rub = [z for z in (scenario.boat.rub_low, scenario.boat.rub_high) if z is not None]
    edges = [
        z
        for f in scenario.berth.faces or []
        if not f.floats
        for z in (f.top_z, f.underside_z)
        if z is not None
    ]
    return flat | {round(edge - z, 2) for edge in edges for z in rub}


def build(scenario):
    """Every case of a tie-up: the Scenario's own, or all levels x (calm and the house's weather).

    Returns
    -------
    list of Case
        With readable ids, no two alike.
    """
    if scenario.cases is not None:
        return list(scenario.cases)
    number = coefficient("wind_directions").value
    directions = [i * 360 / number for i in range(number)]
    speeds = rules.gusts(rules.of(scenario))
    if weather := scenario.weather:
        directions = directions if weather.wind_from_deg is None else weather.wind_from_deg
        speeds = speeds if weather.wind_speeds is None else weather.wind_speeds
    return grid(scenario, levels(scenario), directions, speeds)


def grid(scenario, levels, directions_deg, speeds):
    """Cases for these levels: calm, each wind from each direction, and both again in each stated stream.

    Parameters
    ----------
    levels, directions_deg, speeds : sequence of float
        [m above datum], [true degrees, wind from], [m/s]. A speed of 0 adds nothing to the calm.

    Returns
    -------
    list of Case
        Level by level; the first of a level is calm without stream.
    """
    streams = [s for s in (scenario.weather and scenario.weather.currents) or [] if s.speed]
    winds = [(v, d) for v in speeds if v > 0 for d in directions_deg]
    weathers = [(None, None)] + [(None, s) for s in streams]
    weathers += [(wind, stream) for wind in winds for stream in streams or [None]]
    tails = _unlike([_weather_words(wind, stream) for wind, stream in weathers])
    cases = []
    for level, head in zip(levels, _level_words(levels), strict=True):
        for (wind, stream), tail in zip(weathers, tails, strict=True):
            cases.append(
                Case.model_construct(  # made here of checked figures: a surge may take a level past its bound
                    id=f"{head}, {tail}",
                    level=level,
                    wind_speed=wind[0] if wind else 0.0,
                    wind_from_deg=wind[1] if wind else None,
                    current_speed=stream.speed if stream else 0.0,
                    current_toward_deg=stream.toward_deg if stream else None,
                )
            )
    return cases


def _level(case):
    if case.level is None:
        raise ValueError(f"case {case.id!r}: level is missing, and needed")
    return case.level


def _level_words(levels):
    """'low 0.41 m', '1.30 m', 'high 2.20 m', with as many digits as keep them apart."""
    digits = next((n for n in (2, 3, 4) if len({f"{z:.{n}f}" for z in levels}) == len(levels)), 6)
    words = [f"{z:.{digits}f} m" for z in levels]
    if len(levels) > 1:
        low, high = int(np.argmin(levels)), int(np.argmax(levels))
        words[low], words[high] = f"low {words[low]}", f"high {words[high]}"
    return _unlike(words)


def _weather_words(wind, stream):
    words = f"{round(wind[0] / KNOT, 1):g} kn from {wind[1] % 360:03.0f}" if wind else "calm"
    if stream:
        words += f", stream {round(stream.speed / KNOT, 1):g} kn toward {stream.toward_deg % 360:03.0f}"
    return words


def _unlike(words):
    """The same words, counted where they would repeat."""
    seen, out = Counter(), []
    for word in words:
        seen[word] += 1
        out.append(word if seen[word] == 1 else f"{word} ({seen[word]})")
    return out
