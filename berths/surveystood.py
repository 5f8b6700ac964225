"""How a berth's survey stood in the record when a page of it was made: two people may survey one berth at once."""

import json
from hashlib import sha256


def as_it_stands(berth, *links):
    """The same text when, and only when, the berth and all that it names are recorded as they were.

    Parameters
    ----------
    berth : Berth
    links : iterable of BerthFastening or BerthFace
        With their fastening or face fetched.
    """
    rows = [_row(berth), *(part for link in links for part in (_row(link), _row(_thing(link))))]
    return sha256(json.dumps(rows, default=str).encode()).hexdigest()[:32]


def _thing(link):
    return getattr(link, "fastening", None) or link.face


def _row(row):
    """Values of a row as the database has them; its place in the walk concerns no survey."""
    names = (f.attname for f in row._meta.concrete_fields if f.name != "walking_order")
    return [[name, getattr(row, name)] for name in names]
