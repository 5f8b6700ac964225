"""A harbour's own table of the water, from the CSV in which it comes: `time,height`, a row for each.

Every row that cannot be taken is named with its number and what is wrong with it; nothing is mended, and
nothing is taken unless all of it can be. Pure: no database, no clock.
"""

import csv
import re
from datetime import UTC, datetime
from io import StringIO

import numpy as np

from berths.curve import row_faults
from berths.localtime import read_time

MOST_ROWS = 20_000  # highs and lows of fourteen years
MOST_FAULTS = 20  # told; the rest is counted
HIGHEST = 100  # m: what a column of levels takes
FOOT = 0.3048  # m
WANTED = "time,height"


def read_table(text, *, highs_and_lows, zone=None, unit="m"):
    """Read a table.

    Parameters
    ----------
    text : str
        Rows `time,height`, with or without that heading; `;` or tabs part them as well.
    highs_and_lows : bool
        A table of highs and lows, else of levels.
    zone : tzinfo, optional
        Of times that bring no offset of their own. Without it those are refused.
    unit : {"m", "ft"}
        Of the heights; feet as decimals.

    Returns
    -------
    list of [str, float]
        UTC time and level [m], in order.

    Raises
    ------
    ValueError
        A line for each fault, with the number of the row as a spreadsheet counts.

    Examples
    --------
    >>> read_table("time,height\\n2027-10-14T16:33Z,0.56\\n2027-10-14T22:19Z,2.28", highs_and_lows=True)
    [['2027-10-14T16:33:00Z', 0.56], ['2027-10-14T22:19:00Z', 2.28]]
    """
    rows, faults = _rows(text), {}
    taken = []
    for number, cells in rows:
        try:
            taken.append((number, *_row(cells, zone, FOOT if unit == "ft" else 1.0)))
        except ValueError as error:
            faults[number] = str(error)
    if not faults and len(taken) < 2:
        raise ValueError(f"the table needs at least two rows: {WANTED}, such as 2027-10-15T04:40Z,0.41")
    if not faults:
        times = np.array([np.datetime64(t.replace(tzinfo=None), "s") for _, t, _ in taken])
        heights = np.array([z for *_, z in taken])
        faults = {taken[i][0]: words for i, words in row_faults(times, heights, highs_and_lows)}
    if faults:
        raise ValueError(_told(faults))
    return [[f"{t:%Y-%m-%dT%H:%M:%S}Z", z] for _, t, z in taken]


def _rows(text):
    """(number, cells) of each row that has something in it, the heading left out."""
    head = next((line for line in text.splitlines() if line.strip()), "")
    part = next((mark for mark in ";\t" if mark in head), ",")
    try:
        found = list(enumerate(csv.reader(StringIO(text), delimiter=part, strict=True), start=1))
    except csv.Error as error:
        raise ValueError(f"this cannot be read as a table: {error}") from None
    found = [
        (n, [cell.strip() for cell in cells]) for n, cells in found if any(cell.strip() for cell in cells)
    ]
    if len(found) > MOST_ROWS:
        raise ValueError(f"{len(found):,} rows; at most {MOST_ROWS:,} are taken at once")
    return found[1:] if found and found[0][1][0].casefold() == "time" else found


def _row(cells, zone, metres):
    """One row: (UTC time, level [m])."""
    if len(cells) != 2:
        raise ValueError(f"{len(cells)} cells; each row must be {WANTED}")
    return _time(cells[0], zone), _height(cells[1], metres)


def _time(text, zone):
    if zone is not None:
        return read_time(text, zone)
    time = read_time(text, UTC)
    if datetime.fromisoformat(text).tzinfo is None:
        raise ValueError(f"{text} has no zone; add Z or an offset, or give the zone of the whole table")
    return time


def _height(text, metres):
    if not re.fullmatch(r"[-+−]?\d+([.,]\d+)?", text):
        raise ValueError(f"{text[:20]!r} is no height; write a number such as 0.41")
    height = float(text.replace("−", "-").replace(",", ".")) * metres
    if abs(height) > HIGHEST:
        raise ValueError(
            f"{text} is no height of water in a harbour; look at the decimal point and the unit, or count from a "
            "nearer zero, such as that of the gauge"
        )
    return round(height, 4)


def _told(faults):
    told = [f"row {number}: {words}" for number, words in sorted(faults.items())]
    more = len(told) - MOST_FAULTS
    return "\n".join([*told[:MOST_FAULTS], *([f"and {more} more rows"] if more > 0 else [])])
