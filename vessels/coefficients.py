"""Reads coefficient files. Every row must say its unit and where its figure comes from, or it is refused."""

from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import yaml


class Coefficient(NamedTuple):
    """One row of a coefficient file; `value` is a number, a mapping or a list of rows, in `unit`."""

    value: Any
    unit: str
    source: str


@cache
def read_coefficients(path):
    """Read a YAML file of coefficients.

    Parameters
    ----------
    path : pathlib.Path
        A file of named rows, each a mapping with `value`, `unit` and `source`.

    Returns
    -------
    dict of str to Coefficient

    Raises
    ------
    ValueError
        Naming the file and the row that lacks a value, a unit or a source.
    """
    path = Path(path)
    rows = yaml.safe_load(path.read_text(encoding="utf-8"))
    if not isinstance(rows, dict):
        raise ValueError(f"{path.name}: must be named rows of value, unit and source")
    return {name: _coefficient(f"{path.name}: {name}", row) for name, row in rows.items()}


def _coefficient(where, row):
    if not isinstance(row, dict):
        raise ValueError(f"{where}: must be a row with value, unit and source")
    for field in ("value", "unit", "source"):
        if row.get(field) in (None, "", [], {}):
            raise ValueError(f"{where}: has no {field}; add it, or take the row out")
    if extra := set(row) - {"value", "unit", "source"}:
        raise ValueError(f"{where}: does not know {', '.join(sorted(extra))}")
    return Coefficient(row["value"], row["unit"], row["source"])
