"""The pictures of a working, each with the same in sentences and in a table. Pure."""

from dataclasses import dataclass

import numpy as np

from berths.cards.words import deck_words, fastening_words
from berths.drawing import working as drawn
from berths.drawing.svg import to_svg
from berths.telling import gives
from berths.workings import compass
from marina.base.units import knots, show_force, show_weight

ROWS = 7  # heights in a table: what is drawn is finer
EVERY = 3  # of the directions drawn stand in a table


@dataclass(frozen=True)
class Picture:
    """A heading, the drawing (None: `told` says why there is none), its sentences, and the table below it."""

    heading: str
    drawing: object
    told: tuple
    head: tuple = ()
    rows: tuple = ()
    note: str = ""


def pictures(curves, scenario, verdict, reader):
    """All pictures of a working, in the order in which they are read.

    Parameters
    ----------
    curves : berths.tieup.curves.Curves
    scenario, verdict : as they were kept
    reader : Reader
    """
    lines = [
        (row, f"{deck_words(scenario.boat, row.boat_fitting)} to {fastening_words(scenario, row.shore_fitting, reader)}")
        for row in sorted(verdict.lines, key=lambda row: row.order)
        if not row.optional
    ]  # fmt: skip
    return [
        _pull(curves, lines, reader, windy=True),
        _pull(curves, lines, reader, windy=False),
        _movement(curves, scenario, reader),
        _water(verdict, reader),
        _wind(curves, scenario, verdict, reader),
    ]


def _picture(heading, drawing, otherwise, head=(), rows=(), note=""):
    if drawing is None:
        return Picture(heading, None, (otherwise,))
    return Picture(heading, to_svg(drawing), drawing.sentences, tuple(head), tuple(rows), note)


def _pull(curves, lines, reader, *, windy):
    gust = f"{knots(curves.gust):.0f} kn"
    heading = f"Pull over the height of the water, in gusts of {gust}" if windy else "Pull without wind"
    picture = drawn.pull_over_water(curves, lines, reader, windy=windy)
    still = "The water stands still here, or is not known: the pulls are those told with each line."
    slack = "No line pulls at any height of the water."
    pulls = curves.windy if windy else curves.calm
    some = np.unique(np.linspace(0, len(curves.levels) - 1, ROWS).round().astype(int))
    here = [(row, curves.lines.index(row.id)) for row, _ in lines if row.id in curves.lines]
    return _picture(
        heading,
        picture,
        still if len(curves.levels) < 2 else slack,
        ("Water", *(f"Line {row.order}" for row, _ in here)),
        [(reader.length(float(curves.levels[k]), "level"), *(_force(pulls[k, i], reader) for _, i in here)) for k in some],
        "The greatest pull of winds from all round, with rope of middling stretch." if windy else "",
    )  # fmt: skip


def _force(newtons, reader):
    if np.isnan(newtons):
        return "not known"
    return show_force(newtons) if reader.units == "m" else show_weight(newtons, "ft")


def _movement(curves, scenario, reader):
    speeds = range(len(curves.speeds))
    return _picture(
        "How far she can move",
        drawn.movement_round(curves, scenario, reader),
        "No wind is stated.",
        ("Wind from", *(f"{knots(curves.speeds[k]):.0f} kn" for k in speeds)),
        [
            (compass(d), *(_far(curves.moved[k, n], reader) for k in speeds))
            for n, d in enumerate(curves.directions)
            if n % EVERY == 0
        ],
        "Her middle, from where she was put, at the worst of the lowest, middle and highest water.",
    )


def _far(metres, reader):
    return "not known" if np.isnan(metres) else reader.length(float(metres), "size")


def _water(verdict, reader):
    stands = verdict.stands
    otherwise = "Not known: the range of the water, or what her lines stand, was not worked out."
    if stands is not None and stands.water is None:
        otherwise = "Her lines do not stand the strongest stated wind even with the water as it was then."
    return _picture("The water her lines stand", drawn.water_stood(verdict, reader), otherwise)


def _wind(curves, scenario, verdict, reader):
    orders = {line.id: f"line {line.order}" for line in verdict.lines}
    picture = drawn.wind_stood(verdict, scenario, curves.gust)
    otherwise = f"No gust up to {knots(drawn.MOST):.0f} kn breaks a limit, wherever it is from."
    if verdict.stands is None:
        otherwise = "Not known: it was not worked out."
    return _picture(
        "The wind her lines stand",
        picture,
        otherwise,
        ("Wind from", "Every limit kept up to", "What gives first above it"),
        [
            (compass(w.from_deg), f"{int(knots(w.speed))} kn", gives(w, orders))
            for w in (verdict.stands.wind if verdict.stands else ())
            if round(w.from_deg) % 30 == 0
        ],
    )
