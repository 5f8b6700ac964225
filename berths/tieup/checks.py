"""Published figures and closed forms, worked out again with the engine's own functions.

Each row of `data/checks.yaml` says what is checked, where the figure was published, what it is given and what must
come out; `how` names a function of `reckoned`. The tests run over the same rows as the page does.
"""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import yaml

from berths.tieup.reckoned import HOW

_DATA = Path(__file__).parent / "data"


@dataclass(frozen=True)
class Check:
    """One check and what came of it.

    `expected` and `got` are numbers or words; `within` tells in words how far apart they may be.
    """

    id: str
    what: str
    source: str
    kind: str
    expected: object
    got: object
    unit: str
    within: str
    passed: bool


@cache
def rows():
    """Every row of the data, with its group's name, source and kind filled in. List of dict."""
    groups = yaml.safe_load((_DATA / "checks.yaml").read_text())
    out = []
    for group in groups:
        for row in group["checks"]:
            common = group.get("common", {})
            if {"absolute", "relative"} & set(row):  # its own nearness, not that of the group
                common = {k: v for k, v in common.items() if k not in ("absolute", "relative")}
            out.append({"group": group["name"]} | common | row)
    return out


def work_out(row):
    """The `Check` of one row: its function is called with what it is given.

    Raises
    ------
    KeyError
        If `how` names no function of `reckoned`.
    """
    got = HOW[row["how"]](**row.get("given", {}))
    passed, within = compare(row, got)
    return Check(
        row["id"],
        row["what"],
        row["source"],
        row["kind"],
        row["expected"],
        got,
        row.get("unit", ""),
        within,
        passed,
    )


def compare(row, got):
    """Whether what came out is what was expected, and in words how near it has to be.

    >>> compare({"expected": 100.0, "relative": 0.01}, 100.9)
    (True, 'within 1 %')
    >>> compare({"expected": [8, 16]}, 17.0)
    (False, 'between the two')
    >>> compare({"expected": "told"}, "silent")
    (False, 'the same')
    """
    expected = row["expected"]
    if isinstance(expected, str):
        return got == expected, "the same"
    if isinstance(expected, list):
        least, most = expected
        return bool(least - 1e-9 <= got <= most + 1e-9), "between the two"
    if "relative" in row:
        return bool(
            abs(got - expected) <= row["relative"] * abs(expected)
        ), f"within {100 * row['relative']:g} %"
    near = row["absolute"]
    return bool(abs(got - expected) <= near + 1e-12), f"within {near:g}" if near else "the same"


@cache
def worked_out():
    """All checks in order, grouped: {group: [Check]}. The figures never change while the program runs."""
    groups = {}
    for row in rows():
        groups.setdefault(row["group"], []).append(work_out(row))
    return groups
