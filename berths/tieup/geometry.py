"""Plane geometry of a boat in her berth: frames, hull polygons, what a line passes over."""

import numpy as np


def to_berth(boat, points, pose=None):
    """Boat-frame points in the berth frame.

    Parameters
    ----------
    boat : scenario.Boat
    points : array_like, (n, 2). [m]
    pose : (x, y, heading in radians), optional. The berthed pose when left out.

    Returns
    -------
    ndarray, (n, 2). [m]

    Examples
    --------
    >>> from berths.tieup.scenario import Boat
    >>> stern_in = Boat(loa=10, beam=3, x=6, y=0, heading_deg=0)
    >>> to_berth(stern_in, [[0, 1], [10, 0]])
    array([[ 1.,  1.],
           [11.,  0.]])
    """
    x, y, heading = (boat.x, boat.y, np.radians(boat.heading_deg)) if pose is None else pose
    c, s = np.cos(heading), np.sin(heading)
    p = np.asarray(points, float).reshape(-1, 2) - [boat.loa / 2, 0.0]
    return np.column_stack([x + c * p[:, 0] - s * p[:, 1], y + s * p[:, 0] + c * p[:, 1]])


def to_boat(boat, points):
    """Berth-frame points in the boat frame, at the berthed pose; the inverse of `to_berth`. [m]"""
    heading = np.radians(boat.heading_deg)
    c, s = np.cos(heading), np.sin(heading)
    p = np.asarray(points, float).reshape(-1, 2) - [boat.x, boat.y]
    return np.column_stack([c * p[:, 0] + s * p[:, 1] + boat.loa / 2, -s * p[:, 0] + c * p[:, 1]])


def convex_hull(points):
    """Corners of the smallest convex polygon round the points, counter-clockwise. (n, 2)

    Examples
    --------
    >>> convex_hull([[0, 0], [2, 0], [1, 0.5], [2, 2], [0, 2]])
    array([[0., 0.],
           [2., 0.],
           [2., 2.],
           [0., 2.]])
    """
    rows = sorted({(float(x), float(y)) for x, y in points})

    def half(rows):
        chain = []
        for p in rows:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], p) <= 0:
                chain.pop()
            chain.append(p)
        return chain[:-1]

    return np.array(half(rows) + half(rows[::-1]))


def _turn(a, b, c):
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def inside_span(polygon, a, b):
    """The part of segment a-b inside a convex polygon, as two parameters in [0, 1], or None.

    polygon : ndarray, (n, 2), counter-clockwise. a, b : points of the same frame.
    """
    a, d = np.asarray(a, float), np.asarray(b, float) - np.asarray(a, float)
    first, last = 0.0, 1.0
    for p, q in zip(polygon, np.roll(polygon, -1, axis=0), strict=True):
        normal = np.array([-(q - p)[1], (q - p)[0]])  # inward
        side, rate = normal @ (a - p), normal @ d
        if abs(rate) < 1e-12:
            if side < -1e-9:
                return None
        elif rate > 0:
            first = max(first, -side / rate)
        else:
            last = min(last, -side / rate)
    return (first, last) if last - first > 1e-9 else None


def distance_to_segments(points, a, b):
    """Least distance of points to segments. (n, 2), (m, 2), (m, 2) -> (n, m) [m]"""
    points, a, b = np.asarray(points, float)[:, None], np.asarray(a, float)[None], np.asarray(b, float)[None]
    d = b - a
    t = np.clip(((points - a) * d).sum(-1) / np.maximum((d * d).sum(-1), 1e-12), 0, 1)
    return np.linalg.norm(points - a - t[..., None] * d, axis=-1)


def signed_distance(points, polygon):
    """Distance of points to a convex counter-clockwise polygon, negative inside. (n,) [m]"""
    points, polygon = np.asarray(points, float).reshape(-1, 2), np.asarray(polygon, float)
    nxt = np.roll(polygon, -1, axis=0)
    edge = nxt - polygon
    across = edge[None, :, 0] * (points[:, None, 1] - polygon[None, :, 1]) - edge[None, :, 1] * (
        points[:, None, 0] - polygon[None, :, 0]
    )
    outside = (across < 0).any(axis=1)
    return np.where(outside, 1, -1) * distance_to_segments(points, polygon, nxt).min(axis=1)


def gap_between(hulls, polygon):
    """Least distance between moving convex hulls and a fixed convex polygon, negative where they overlap.

    hulls : ndarray, (n, v, 2). polygon : (p, 2). Returns (n,) [m]. The depth of an overlap is that of the
    deepest corner, enough to say 'by how much' for boats that touch.
    """
    n, v, _ = hulls.shape
    corners_in = signed_distance(hulls.reshape(-1, 2), polygon).reshape(n, v).min(axis=1)
    polygon_in = np.array([signed_distance(polygon, hull).min() for hull in hulls])
    return np.minimum(corners_in, polygon_in)


def cross(a, b, c, d):
    """Where segments a-b and c-d cross, as a point, or None."""
    a, b, c, d = (np.asarray(p, float) for p in (a, b, c, d))
    r, s = b - a, d - c
    det = r[0] * s[1] - r[1] * s[0]
    if abs(det) < 1e-12:
        return None
    t = ((c - a)[0] * s[1] - (c - a)[1] * s[0]) / det
    u = ((c - a)[0] * r[1] - (c - a)[1] * r[0]) / det
    return a + t * r if 0 <= t <= 1 and 0 <= u <= 1 else None
