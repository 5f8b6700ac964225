"""Puts labels where they cover nothing: no other label, no end of a line, nothing outside the frame.

Each label brings the places it would like, best first; the search takes, label after label, the free place
that costs least. Where all of a label's places are taken it goes further out, in rings, and a thin stroke
leads back.
"""

import itertools
import math
from dataclasses import dataclass

from berths.drawing import geometry as g


@dataclass(frozen=True)
class Label:
    """What wants a place: half its width and height, and the (u, v, cost) it would like, cheapest first."""

    id: str
    half: tuple
    wishes: tuple
    home: tuple  # what it names; a label that ends up far from it gets a leader
    own: tuple = ()  # strokes it may lie on, as segments


@dataclass(frozen=True)
class Placed:
    id: str
    u: float
    v: float
    half: tuple
    far: bool

    @property
    def box(self):
        return (self.u - self.half[0], self.v - self.half[1], self.u + self.half[0], self.v + self.half[1])


def place(labels, *, frame, solids, strokes, gap):
    """Find a place for every label.

    Parameters
    ----------
    labels : list of Label, the most important first
    frame : (u0, v0, u1, v1). No label leaves it. [m]
    solids : list of (u, v, radius). No label covers one: fittings and ends of lines. [m]
    strokes : list of ((u, v), (u, v)). A label may lie on one if need be; that costs. [m]
    gap : float. Room kept between a label and what it must not cover. [m]

    Returns
    -------
    dict
        Label id -> Placed. A label that finds no place at all is left out, and the caller says so.
    """
    done = {}
    for label in labels:
        others = [p.box for p in done.values()]
        best = None
        for u, v, cost in label.wishes:
            if best is not None and cost >= best[0]:
                break
            if _free(u, v, label.half, frame=frame, solids=solids, others=others, gap=gap):
                total = cost + _crossings(u, v, label, strokes)
                if best is None or total < best[0]:
                    best = (total, u, v, False)
        for u, v in [] if best else _rings(label, frame):
            if _free(u, v, label.half, frame=frame, solids=solids, others=others, gap=gap):
                total = _crossings(u, v, label, strokes)
                if best is None or total < best[0]:
                    best = (total, u, v, True)
                if total == 0:
                    break
        if best is not None:
            done[label.id] = Placed(label.id, best[1], best[2], label.half, best[3])
    return done


def _free(u, v, half, *, frame, solids, others, gap):
    w, h = half
    if u - w < frame[0] or v - h < frame[1] or u + w > frame[2] or v + h > frame[3]:
        return False
    for a0, b0, a1, b1 in others:
        if u - w - gap < a1 and u + w + gap > a0 and v - h - gap < b1 and v + h + gap > b0:
            return False
    for a, b, r in solids:
        du, dv = max(abs(a - u) - w, 0.0), max(abs(b - v) - h, 0.0)
        if du * du + dv * dv < (r + gap) ** 2:
            return False
    return True


def _crossings(u, v, label, strokes):
    """2 for every foreign stroke that runs under the label."""
    w, h = label.half
    box = (u - w, v - h, u + w, v + h)
    return 2.0 * sum(1 for p, q in strokes if (p, q) not in label.own and _meets(p, q, box))


def _meets(p, q, box):
    if (
        max(p[0], q[0]) < box[0]
        or min(p[0], q[0]) > box[2]
        or max(p[1], q[1]) < box[1]
        or min(p[1], q[1]) > box[3]
    ):
        return False
    return g.clip_segment(p, q, box) is not None


def _rings(label, frame):
    u, v = label.home
    step = max(label.half) * 0.8
    for ring in range(1, math.ceil(max(frame[2] - frame[0], frame[3] - frame[1]) / step)):
        for n in range(24):
            angle = math.tau * n / 24
            yield u + ring * step * math.cos(angle), v + ring * step * math.sin(angle)


def spread(wishes, heights, low, high):
    """Places along one line for labels that must not overlap, each as near to its wish as may be.

    Parameters
    ----------
    wishes : list of float
        Where the middles would like to be, the highest first.
    heights : list of float
        How much room each takes.
    low, high : float
        The limits; where there is not room for all, the last ones run out below.

    Examples
    --------
    >>> spread([2.0, 1.9, 0.0], [0.5, 0.5, 0.5], -1.0, 3.0)
    [2.2, 1.7, 0.0]
    """
    # With the room taken so far added to each wish, 'not overlapping' becomes 'not rising': the least squares
    # answer to that is pooling of neighbours that are out of order.
    taken = [0.0]
    for a, b in itertools.pairwise(heights):
        taken.append(taken[-1] + (a + b) / 2)
    pools = []
    for wish, room in zip(wishes, taken, strict=False):
        pools.append((wish + room, 1))
        while len(pools) > 1 and pools[-2][0] / pools[-2][1] < pools[-1][0] / pools[-1][1]:
            (a, n), (b, m) = pools[-2:]
            pools[-2:] = [(a + b, n + m)]
    flat = [total / count for total, count in pools for _ in range(count)]
    spots = [y - room for y, room in zip(flat, taken, strict=False)]
    for i, height in reversed(list(enumerate(heights))):  # up from the lower limit, then down from the upper
        floor = low + height / 2 if i == len(heights) - 1 else spots[i + 1] + (height + heights[i + 1]) / 2
        spots[i] = max(spots[i], floor)
    for i, height in enumerate(heights):
        ceiling = high - height / 2 if i == 0 else spots[i - 1] - (height + heights[i - 1]) / 2
        spots[i] = min(spots[i], ceiling)
    return [round(v, 6) for v in spots]
