"""Ladders of a berth as one line of text: '7.60 to 8.20; 12.00 to 12.60', along the dock from its corner."""

import re

from marina.base.units import parse_length, write_length

LADDER_BACK = -0.3  # m, how far a ladder reaches back from the edge it stands at
LADDER = re.compile(r"\s*([-\d.,' \"a-z]+?)\s*(?:\bto\b|–|—)\s*([-\d.,' \"a-z]+?)\s*")


def write_ladders(berth, corner, units):
    spans = []
    for ladder in berth.ladders:
        ends = [corner.from_frame(ladder["x1"], ladder["y1"]), corner.from_frame(ladder["x2"], ladder["y2"])]
        low, high = sorted(along for along, _ in ends)
        spans.append(f"{write_length(low, units)} to {write_length(high, units)}")
    return "; ".join(spans)


def read_ladders(text, corner, units):
    found = []
    for number, part in enumerate(filter(str.strip, text.split(";")), start=1):
        span = LADDER.fullmatch(part.lower())
        if not span:
            raise ValueError(f"“{part.strip()}”: write from and to, such as 7.60 to 8.20.")
        low, high = sorted(parse_length(end, units) for end in span.groups())
        if low == high:
            raise ValueError(f"“{part.strip()}”: both ends are at the same place.")
        a, b = corner.in_frame(low, LADDER_BACK), corner.in_frame(high, 0)
        (x1, x2), (y1, y2) = sorted((a[0], b[0])), sorted((a[1], b[1]))
        rounded = [round(v, 4) for v in (x1, x2, y1, y2)]
        found.append({"id": f"ladder {number}"} | dict(zip(("x1", "x2", "y1", "y2"), rounded, strict=True)))
    return found
