"""The steps of a line's life, as `data/life.yaml` has them: which deed leads from which state to which."""

from functools import cache
from pathlib import Path
from typing import NamedTuple

import yaml

_DATA = Path(__file__).parent / "data" / "life.yaml"


class Step(NamedTuple):
    """One deed: who may do it ('staff' or 'office'), and {state before: states it may lead to}."""

    who: str
    leads: dict


@cache
def steps():
    """All deeds by name.

    >>> steps()["destroyed"].leads
    {'retired': ('destroyed',)}
    """
    rows = yaml.safe_load(_DATA.read_text(encoding="utf-8"))
    return {
        kind: Step(row["who"], {before: tuple(after) for before, after in row["steps"].items()})
        for kind, row in rows.items()
    }


def leads_to(kind, before):
    """States that a deed may lead to from `before`; empty where it is not a step from there.

    >>> leads_to("returned", "out"), leads_to("issued", "retired")
    (('store', 'drying'), ())
    """
    return steps()[kind].leads.get(before, ())


def possible(before):
    """Deeds that are a step from this state, in the order of the table.

    >>> possible("retired")
    ('stored', 'returned', 'missing', 'destroyed')
    """
    return tuple(kind for kind, step in steps().items() if before in step.leads)
