"""Plane geometry for drawings: placing a hull, cutting to the frame, hatching, a rope round a pile."""

import itertools
import math


def add(p, q):
    return (p[0] + q[0], p[1] + q[1])


def sub(p, q):
    return (p[0] - q[0], p[1] - q[1])


def scaled(p, k):
    return (p[0] * k, p[1] * k)


def cross(p, q):
    return p[0] * q[1] - p[1] * q[0]


def dot(p, q):
    return p[0] * q[0] + p[1] * q[1]


def length(p):
    return math.hypot(*p)


def unit(p):
    """The direction of p; (1, 0) where p has none."""
    size = length(p)
    return (p[0] / size, p[1] / size) if size > 1e-9 else (1.0, 0.0)


def along(path, distance):
    """The point `distance` from the start of a path, and the path's direction there."""
    for p, q in itertools.pairwise(path):
        step = length(sub(q, p))
        if distance <= step and step > 0:
            return add(p, scaled(sub(q, p), distance / step)), unit(sub(q, p))
        distance -= step
    return path[-1], unit(sub(path[-1], path[-2]))


def path_length(path):
    return sum(length(sub(q, p)) for p, q in itertools.pairwise(path))


def clip_polygon(points, box):
    """The part of a polygon inside a box (Sutherland and Hodgman's way, one side after another)."""
    u0, v0, u1, v1 = box
    for axis, limit, sign in ((0, u0, 1), (0, u1, -1), (1, v0, 1), (1, v1, -1)):
        kept = []
        for p, q in zip(points, points[1:] + points[:1], strict=True):
            p_in, q_in = sign * (p[axis] - limit) >= 0, sign * (q[axis] - limit) >= 0
            if p_in:
                kept.append(p)
            if p_in != q_in:
                t = (limit - p[axis]) / (q[axis] - p[axis])
                kept.append(add(p, scaled(sub(q, p), t)))
        points = kept
        if not points:
            return []
    return points


def clip_segment(p, q, box):
    """The part of a segment inside a box, or None (Liang and Barsky's way)."""
    low, high = 0.0, 1.0
    d = sub(q, p)
    for axis in (0, 1):
        for step, room in ((-d[axis], p[axis] - box[axis]), (d[axis], box[axis + 2] - p[axis])):
            if step == 0:
                if room < 0:
                    return None
            elif step < 0:
                low = max(low, room / step)
            else:
                high = min(high, room / step)
    if low >= high:
        return None
    return add(p, scaled(d, low)), add(p, scaled(d, high))


def hatch(points, spacing):
    """Strokes at 45 degrees that fill a convex polygon, `spacing` apart."""
    sums = [p[0] - p[1] for p in points]
    step = spacing * math.sqrt(2)
    first = math.ceil(min(sums) / step)
    strokes = []
    for n in range(first, math.floor(max(sums) / step) + 1):
        c, cuts = n * step, []
        for p, q in zip(points, points[1:] + points[:1], strict=True):
            a, b = p[0] - p[1] - c, q[0] - q[1] - c
            if (a < 0) != (b < 0):
                cuts.append(add(p, scaled(sub(q, p), a / (a - b))))
        if len(cuts) == 2 and length(sub(*cuts)) > 1e-6:
            strokes.append(tuple(cuts))
    return strokes


def round_pile(start, centre, radius, end):
    """The path of a taut rope from `start` to `end` that bears on the outside of a pile.

    The pile lies inside the bend, so the rope leaves it on one hand all the way: two tangents and the arc
    between.
    """
    turn = 1.0 if cross(sub(centre, start), sub(end, centre)) >= 0 else -1.0
    touch, leave = (_tangent(p, centre, radius, s) for p, s in ((start, turn), (end, -turn)))
    if touch is None or leave is None:
        return [start, centre, end]
    a, b = (math.atan2(*reversed(sub(p, centre))) for p in (touch, leave))
    sweep = ((b - a) * turn) % (2 * math.pi)
    steps = max(1, math.ceil(sweep / 0.35))
    arc = [a + turn * sweep * n / steps for n in range(steps + 1)]
    return [start, *(add(centre, (radius * math.cos(t), radius * math.sin(t))) for t in arc), end]


def _tangent(point, centre, radius, side):
    """Where the tangent from a point touches a circle that lies on the rope's left (side 1) or right."""
    away = sub(centre, point)
    distance = length(away)
    if distance <= radius:
        return None
    angle = math.atan2(away[1], away[0]) - side * math.asin(radius / distance)
    reach = math.sqrt(distance**2 - radius**2)
    return add(point, (reach * math.cos(angle), reach * math.sin(angle)))


def inside(point, polygon):
    """Whether a point lies in a polygon (counting crossings of a ray to the right)."""
    hit = False
    for p, q in zip(polygon, polygon[1:] + polygon[:1], strict=True):
        if (p[1] > point[1]) != (q[1] > point[1]):
            hit ^= point[0] < p[0] + (point[1] - p[1]) / (q[1] - p[1]) * (q[0] - p[0])
    return hit


def to_segment(point, p, q):
    """Distance of a point from a segment."""
    d = sub(q, p)
    size = dot(d, d)
    t = 0.0 if size == 0 else min(1.0, max(0.0, dot(sub(point, p), d) / size))
    return length(sub(point, add(p, scaled(d, t))))
