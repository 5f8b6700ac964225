"""Limits and house figures of the engine: data with unit and source, and what a Scenario's house changes.

A Scenario's `house` names rows of `data/limits.yaml`, or house rules of the harbour by number (H5, H7, H8, H9,
H13, H16, H21), which stand for one or more rows.
"""

import math
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import yaml

from vessels import rope

WORDS = {"far_side_stern": ("recommend", "allow", "forbid")}  # rows whose value is a word
KN = 0.514444  # m/s


@cache
def table():
    """All rows: name -> {value, unit, source}. Raises ValueError for a row that lacks one of them."""
    rows = yaml.safe_load((Path(__file__).parent / "data" / "limits.yaml").read_text())
    wet = rope.wet("nylon")._asdict()  # stands with the ropes; a house may change it
    rows["wet_nylon"] = {**wet, "least": 0.1, "most": 1}
    for name, row in rows.items():
        missing = {"value", "unit", "source"} - set(row)
        if missing:
            raise ValueError(f"limits.yaml: {name}: {', '.join(sorted(missing))} missing")
    return rows


def of(scenario):
    """The figures that count for this Scenario, as attributes; see `limits.yaml` for units.

    `least_lines` and `dynamic` are already those of the berth's kind and exposure.
    """
    values = {name: row["value"] for name, row in table().items()} | spelled_out(scenario.house or {})
    kind, exposure = scenario.berth.kind, scenario.berth.exposure or "normal"
    return SimpleNamespace(
        **values, least_lines=values[f"least_lines_{kind}"], dynamic=values[f"dynamic_{exposure}"]
    )


def gusts(figures):
    """The gusts that are tried where nobody states any, rising. [m/s]"""
    return [figures.wind_slight, figures.wind_middle, figures.wind_strong]


def spelled_out(house):
    """House rules by number turned into the rows they stand for; other names stay."""
    rows = {}
    for name, value in house.items():
        if value is None:
            continue
        rows |= NUMBERED[name](value) if name in NUMBERED else {name: value}
    return rows


def _least_lines(value):
    per_kind = value if isinstance(value, dict) else dict.fromkeys(("floating", "slip", "fixed"), value)
    return {f"least_lines_{kind}": n for kind, n in per_kind.items() if kind in ("floating", "slip", "fixed")}


def _keel(value):
    per_bed = value if isinstance(value, dict) else {"soft": value, "hard": value}
    return {f"under_keel_{bed}": v for bed, v in per_bed.items()}


def _left_of_rope(value):
    return {{"wet_nylon": "wet_nylon", "retire_under": "worn_share"}.get(n, n): v for n, v in value.items()}


def _winds(value):
    return {f"wind_{name}": v * KN for name, v in zip(("slight", "middle", "strong"), value, strict=False)}


NUMBERED = {
    "H5": _least_lines,
    "H7": lambda value: {"untended_range": value},
    "H8": _keel,
    "H9": lambda value: {"overhang": value},
    "H13": _left_of_rope,
    "H16": lambda value: {"far_side_stern": value},
    "H21": _winds,
}


def faults(house):
    """What is wrong with a Scenario's `house`, one line each."""
    if house is None:
        return []
    if not isinstance(house, dict):
        return ["house: must be an object of rule: value"]
    out = []
    for name, value in house.items():
        if name not in NUMBERED and name not in table():
            out.append(
                f"house.{name}: no such rule here; known are H5, H7, H8, H9, H13, H16, H21 and {', '.join(table())}"
            )
            continue
        try:
            rows = spelled_out({name: value})
        except (TypeError, AttributeError, ValueError):
            out.append(f"house.{name}: this value has not the form of the rule")
            continue
        out += [f"house.{name}: {fault}" for row, v in rows.items() if (fault := _fault(row, v))]
    return out


def _fault(row, value):
    if row == "zone":
        try:
            ZoneInfo(value)
        except (ZoneInfoNotFoundError, TypeError, ValueError, OSError):
            return "must be the name of a time zone, e.g. Europe/London"
        return None
    if row in WORDS:
        return None if value in WORDS[row] else f"must be one of {', '.join(WORDS[row])}"
    if row not in table():
        return "has a part that is not known"
    least, most = (table()[row].get(key, usual) for key, usual in (("least", 0), ("most", 1000)))
    number = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
    return None if number and least <= value <= most else f"must be a number from {least:g} to {most:g}"
