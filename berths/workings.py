"""The working of a figure in the reader's words and units. Pure; the sums are the engine's own."""

import re
from dataclasses import dataclass

from berths.cards.words import fastening_words
from marina.base.units import show_exactly, show_force, show_weight, show_wind

POINTS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def compass(degrees):
    """Where a wind comes from, as it is said.

    >>> compass(240), compass(359.0)
    ('south-west (240)', 'north (359)')
    """
    return f"{POINTS[round(degrees / 45) % 8]} ({degrees % 360:03.0f})"


@dataclass(frozen=True)
class ShownStep:
    """One step as a page shows it: `given` are (symbol, what it is, figure); `sum` is in metres and newtons."""

    what: str
    words: str
    symbols: str
    given: list
    sum: str
    value: str
    source: str


def steps_in_words(steps, reader):
    """Steps of a working for a reader; what is a fitting or a case in them is said as on deck."""
    return [
        ShownStep(
            what=step.what,
            words=plain_case(step.words, reader),
            symbols=step.symbols,
            given=[(g.symbol, g.what, show_exactly(g.value, g.unit, reader.units)) for g in step.given],
            sum=step.figures,
            value=show_exactly(step.value, step.unit, reader.units),
            source=re.sub(r" \(R-[^)]*\)", "", step.source),
        )
        for step in steps
    ]


CASE = re.compile(
    r"(?P<which>low |high )?(?P<level>-?\d+\.\d+) m, (?:(?P<kn>[\d.]+) kn from (?P<deg>\d{3})|(?P<calm>calm))"
)


def plain_case(text, reader):
    """The name of a case inside a sentence, in the reader's units: '30 kn from 240' and its level."""
    return CASE.sub(lambda m: _plain_case(m, reader), text)


def _plain_case(found, reader):
    level = reader.length(float(found["level"]), "level")
    wind = "calm" if found["calm"] else f"{found['kn']} kn from {found['deg']}"
    return f"{found['which'] or ''}{level}, {wind}"


def worst_in_words(worst, reader, low=None, high=None):
    """The water and the weather of a case in one sentence, for somebody who reads no codes."""
    water = reader.length(worst.level, "level")
    end = ""
    if None not in (low, high) and high - low > 0.02:
        end = "lowest " if worst.level - low < 0.011 else "highest " if high - worst.level < 0.011 else ""
    said = (
        f"with the water at its {end.strip()}, {water} above datum"
        if end
        else f"with the water {water} above datum"
    )
    weather = (
        [f"in gusts of {show_wind(worst.wind_speed)} from the {compass(worst.wind_from_deg)}"]
        if worst.wind_speed
        else ["without wind"]
    )
    if worst.current_speed:
        toward = compass(worst.current_toward_deg)
        weather.append(f"with a stream of {worst.current_speed / 0.514444:.1f} kn toward the {toward}")
    return f"{said}, {', '.join(weather)}"  # fmt: skip


def axes_in_words(kind):
    """What the two ways of a berth are called for somebody who stands on the dock: (x, y)."""
    if kind in ("slip", "box"):
        return "out to the fairway", "to the left"
    return "along the dock, to the right", "off the dock"


@dataclass(frozen=True)
class ShownPull:
    by: str
    x: str
    y: str
    turn: str


def pulls_in_words(working, scenario, verdict, reader):
    """Everything that pulls or pushes her in the worst case, and what is left over when it is added up."""
    orders = {f"line {row.id}": f"line {row.order}" for row in verdict.lines}
    rows = [
        ShownPull(
            _pushed_by(p.by, orders, scenario, reader),
            *(_signed(v, u, reader) for v, u in ((p.fx, "N"), (p.fy, "N"), (p.moment, "N m"))),
        )
        for p in working.pulls
        if max(abs(p.fx), abs(p.fy), abs(p.moment)) >= 0.5
    ]
    sums = (
        sum(p.fx for p in working.pulls),
        sum(p.fy for p in working.pulls),
        sum(p.moment for p in working.pulls),
    )
    total = (_signed(v, u, reader) for v, u in zip(sums, ("N", "N", "N m"), strict=True))
    return rows, ShownPull("all together", *total)  # fmt: skip


def _signed(value, unit, reader):
    return show_exactly(value, unit, reader.units)


def _pushed_by(by, orders, scenario, reader):
    if by in orders:
        return orders[by]
    kind, _, name = by.partition(" ")
    if by.startswith("face end "):
        return f"corner of the dock ({by.removeprefix('face end ')})"
    if kind == "face":
        return f"fenders and dock ({name})"
    if kind == "pile":
        return fastening_words(scenario, name, reader)
    return "a faint pull to her place, so that a slack boat has one" if kind == "centring" else by


def force_in_words(newtons, reader):
    """'22 kN, about the weight of 2.2 t'."""
    return f"{show_force(newtons)}, about the weight of {show_weight(newtons, reader.units)}"


def left_over_in_words(newtons, reader):
    """What did not add up to nothing; below a hundredth of a newton it is the weight of a gram or less."""
    return "less than the weight of a gram" if newtons < 0.01 else _signed(newtons, "N", reader)
