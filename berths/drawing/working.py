"""What a set of lines does, drawn: pull over the water, movement round the compass, the water and wind it stands."""

import numpy as np

from berths.drawing.chart import Axis, Curve, chart, even_axis, spans
from marina.base.units import FOOT, KNOT, POUND, knots

COMPASS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW", "N")
PENS = {"bow": "line-bow", "stern": "line-stern", "spring": "line-spring", "breast": "line-breast"}
GUSTS = ("line-bow+", "line-stern", "line-spring", "line-breast")
FAINT = 5.0  # N: a pull that nobody would feel
MOST = 40.0  # m/s: so far was looked for a wind that breaks a limit


def pull_over_water(curves, lines, reader, *, windy):
    """Pull of each line over the height of the water, without wind or in the strongest stated gust.

    Parameters
    ----------
    curves : berths.tieup.curves.Curves
    lines : list of (LineResult, str)
        In the order they go on, with their words ('port stern cleat to cleat D1').
    reader : Reader
    windy : bool

    Returns
    -------
    Drawing or None
        None where no line pulls, or the water stands still.
    """
    pulls = curves.windy if windy else curves.calm
    if len(curves.levels) < 2 or not (pulls > FAINT).any():
        return None
    high = np.nanmax(pulls) / (1 if reader.units == "m" else POUND)
    thousand = reader.units == "m"
    up = even_axis("pull, kN" if thousand else "pull, lb", 0.0, high / 1000 if thousand else high)
    drawn = []
    for row, words in lines:
        if row.id in curves.lines:
            force = pulls[:, curves.lines.index(row.id)] / (1000 if thousand else POUND)
            points = tuple(zip(_metres(curves.levels, reader), force, strict=True))
            drawn.append(Curve(str(row.order), words, points, _pen(row.role)))
    wind = f"in gusts of {knots(curves.gust):.0f} kn" if windy else "without wind"
    sentences = [_most(curves, row, words, pulls, reader) for row, words in lines if row.id in curves.lines]
    title = f"Pull on each line over the height of the water, {wind}"
    return chart(title, level_axis(curves.levels, reader), up, drawn, sentences=sentences)


def _most(curves, row, words, pulls, reader):
    mine = pulls[:, curves.lines.index(row.id)]
    if not (mine > FAINT).any():
        return f"Line {row.order}, {words}: slack at every height."
    at = int(np.nanargmax(mine))
    force = f"{mine[at] / 1000:.1f} kN" if reader.units == "m" else f"{mine[at] / POUND:,.0f} lb"
    return f"Line {row.order}, {words}: at most {force}, with the water at {reader.length(float(curves.levels[at]), 'level')}."


def _pen(role):
    return next((pen for name, pen in PENS.items() if name in role), "line-bow")


def _metres(levels, reader):
    return [float(z) / (1 if reader.units == "m" else float(FOOT)) for z in levels]


def level_axis(levels, reader):
    """An axis of heights of the water in the reader's units."""
    unit = "m" if reader.units == "m" else "ft"
    shown = _metres(levels, reader)
    return even_axis(f"water above datum, {unit}", min(shown), max(shown), most=7, from_zero=False)


def movement_round(curves, scenario, reader):
    """How far she can move over the direction the wind is from, one curve for each stated gust.

    Returns
    -------
    Drawing or None
        None where no gust is stated.
    """
    if not len(curves.speeds):
        return None
    scale = 1 if reader.units == "m" else float(FOOT)
    up = even_axis(f"moves, {'m' if scale == 1 else 'ft'}", 0.0, float(np.nanmax(curves.moved)) / scale)
    drawn, sentences = [], []
    for n, k in enumerate(reversed(range(len(curves.speeds)))):
        moved = curves.moved[k]
        round_ = [*zip(curves.directions, moved / scale, strict=True), (360.0, float(moved[0]) / scale)]
        name = f"gusts of {knots(curves.speeds[k]):.0f} kn"
        mark = f"{knots(curves.speeds[k]):.0f}"
        drawn.append(Curve(mark if len(mark) < 3 else "ABC"[n % 3], name, tuple(round_), GUSTS[min(n, 3)]))
        at = int(np.nanargmax(moved))
        far = reader.length(float(moved[at]), "size")
        sentences.append(f"In {name} at most {far}, with the wind from {curves.directions[at]:03.0f}.")
    return chart("How far she can move, over where the wind is from", compass_axis(), up, drawn, stands=her_bow(scenario), sentences=sentences)  # fmt: skip


def compass_axis():
    return Axis("wind from", 0.0, 360.0, tuple((45.0 * n, word) for n, word in enumerate(COMPASS)))


def her_bow(scenario):
    """Where her bow and stern point to, as uprights on the compass."""
    bow = ((scenario.berth.bearing_deg or 0.0) - (scenario.boat.heading_deg or 0.0)) % 360
    return [(bow, "bow"), ((bow + 180) % 360, "stern")] if scenario.berth.bearing_deg is not None else []


def wind_stood(verdict, scenario, gust):
    """The gust from each direction up to which every limit is kept; None where none fails. gust : strongest stated.

    Directions that did not fail as far as was looked are left open.
    """
    stands = verdict.stands
    if stands is None or not stands.wind:
        return None
    speeds = {round(w.from_deg) % 360: w.speed for w in stands.wind}
    every = [(float(d), speeds.get(d % 360, float("nan"))) for d in range(0, 370, 10)]
    points = tuple((d, v / float(KNOT)) for d, v in every)
    up = even_axis("gust, kn", 0.0, max(knots(max(speeds.values())), knots(gust)))
    curve = Curve("1", "keeps every limit up to here", points, "line-bow+")
    across = [(knots(gust), f"strongest gust stated, {knots(gust):.0f} kn")] if gust else []
    weakest = stands.weakest
    told = [f"Weakest to a wind from {weakest.from_deg:03.0f}: {int(knots(weakest.speed))} kn."]
    if len(speeds) < 36:
        told.append(
            f"From {36 - len(speeds)} of 36 directions no gust up to {knots(MOST):.0f} kn breaks a limit."
        )
    return chart("The wind her lines stand, over where it is from", compass_axis(), up, [curve], across=across, stands=her_bow(scenario), sentences=told)  # fmt: skip


def water_stood(verdict, reader):
    """The heights she meets and those her lines stand in the strongest stated gust, as two bars; None if not known."""
    stands, s = verdict.stands, verdict.summary
    if stands is None or None in (s.low, s.high):
        return None
    low, high = s.low - (s.surge_down or 0.0), s.high + (s.surge_up or 0.0)
    met = f"She meets {_span(low, high, reader)}" + (
        "" if None not in (s.surge_down, s.surge_up) else ", surge not known"
    )
    if stands.water is None:
        return None
    a, b = stands.water
    stood = f"Her lines stand {_span(a.level, b.level, reader)}"
    beyond = [word for end, word in ((a, "below"), (b, "above")) if end.beyond]
    if beyond:
        stood += f", or {' and '.join(beyond)}"
    shown = [low, high, a.level, b.level]
    axis = level_axis(shown, reader)
    scale = 1 if reader.units == "m" else float(FOOT)
    rows = [(met, low / scale, high / scale, "bar"), (stood, a.level / scale, b.level / scale, "bar")]
    return spans("The water she meets, and the water her lines stand", axis, rows, (f"{met}.", f"{stood}."))


def _span(low, high, reader):
    return f"{reader.length(low, 'level')} to {reader.length(high, 'level')}"
