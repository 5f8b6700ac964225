"""The hull against faces, face ends and piles: elastic, without friction, energy 1/2 k depth^2.

As in `lines`, the case is the last axis inside this file. Hull points are in the boat frame, measured from
half her length.
"""

from typing import NamedTuple

import numpy as np

from berths.tieup.loads import coefficient
from vessels.hull import closed_outline, outline

FADE = 0.3  # m; a corner that slides past the end of a face loses its contact over this way, not at once
_ON_EDGE = 1e-9  # m; nearer to the outline than this the edge gives the direction


class Touch(NamedTuple):
    """Contact points, each array (points,): which problem and body, how deep, where, and its share of E."""

    row: np.ndarray
    body: np.ndarray
    depth: np.ndarray
    force: np.ndarray
    x: np.ndarray
    y: np.ndarray
    terms: np.ndarray  # (10, points): E, gx, gy, gt, hxx, hxy, hyy, hxt, hyt, htt


class Surroundings:
    """Everything the hull can press on, and the hull's outline.

    Parameters
    ----------
    scenario : Scenario
        Filled: faces with their ends, piles with place and diameter.

    Raises
    ------
    ValueError
        Naming the face or pile and what it lacks.
    """

    def __init__(self, scenario):
        boat = scenario.boat
        corners = closed_outline(boat.outline or outline(boat.loa, boat.beam)) - [boat.loa / 2, 0]
        self.corners = corners
        self.edges = np.roll(corners, -1, axis=0) - corners
        self.edge_lengths = np.hypot(*self.edges.T)
        self.along = self.edges / self.edge_lengths[:, None]
        self.outward = np.column_stack([self.along[:, 1], -self.along[:, 0]])
        self.offset = np.einsum("vi,vi->v", self.outward, corners)
        self.low, self.high = corners.min(axis=0), corners.max(axis=0)

        faces = scenario.berth.faces or []
        piles = [f for f in scenario.berth.fittings or [] if f.kind == "pile"]
        for part, fields in [(f, ("x1", "y1", "x2", "y2")) for f in faces] + [
            (p, ("x", "y", "diameter")) for p in piles
        ]:
            for field in fields:
                if getattr(part, field) is None:
                    raise ValueError(
                        f"{type(part).__name__} {part.id!r}: {field} is missing, and needed for contact"
                    )
        self.face_ids = [f.id for f in faces]
        stiffness = coefficient("fender_stiffness").value
        self.face_k = np.array([f.fender_stiffness or stiffness for f in faces], float)
        ends = np.array([[(f.x1, f.y1), (f.x2, f.y2)] for f in faces], float).reshape(-1, 2, 2)
        self.face_start = ends[:, 0]
        ways = ends[:, 1] - ends[:, 0]
        self.face_length = np.hypot(*ways.T)
        self.tangent = ways / self.face_length[:, None]
        normal = np.column_stack([-self.tangent[:, 1], self.tangent[:, 0]])
        side = np.einsum("fi,fi->f", normal, [boat.x, boat.y] - self.face_start)
        self.normal = np.where(side[:, None] < 0, -normal, normal)

        self.centres = np.concatenate(
            [ends.reshape(-1, 2), np.array([(p.x, p.y) for p in piles], float).reshape(-1, 2)]
        )
        self.radii = np.array([0.0] * (2 * len(faces)) + [p.diameter / 2 for p in piles])
        pile_k = coefficient("pile_stiffness").value
        self.point_k = np.concatenate([np.repeat(self.face_k, 2), np.full(len(piles), float(pile_k))])
        self.bodies = [("face", f.id) for f in faces]
        self.bodies += [("face_end", f.id) for f in faces for _ in (1, 2)] + [("pile", p.id) for p in piles]

    def evaluate(self, x, y, c, s):
        """Energy, gradient and Hessian of all contact, (10, M), ordered as by the lines; None without any."""
        touches = self.touches(x, y, c, s)
        if not touches:
            return None
        row = np.concatenate([t.row for t in touches])
        terms = np.concatenate([t.terms for t in touches], axis=1)
        return np.array([np.bincount(row, term, len(x)) for term in terms])

    def touches(self, x, y, c, s):
        """Contact points of these poses, as up to two `Touch`: hull corners on faces, points in the hull."""
        found = [self._corners_on_faces(x, y, c, s), self._points_in_hull(x, y, c, s)]
        return [t for t in found if t is not None]

    def _corners_on_faces(self, x, y, c, s):
        if not len(self.face_k):
            return None
        nx, ny = self.normal.T[:, :, None]
        px, py = self.face_start.T[:, :, None]
        height = nx * (x - px) + ny * (y - py)
        ahead, port = nx * c + ny * s, ny * c - nx * s  # the face's normal in the boat frame
        lowest = np.minimum(ahead * self.low[0], ahead * self.high[0]) + np.minimum(
            port * self.low[1], port * self.high[1]
        )
        face, row = np.nonzero(height + lowest < 0)
        if not len(row):
            return None
        vx, vy = self.corners.T
        over = height[face, row, None] + ahead[face, row, None] * vx + port[face, row, None] * vy
        pair, corner = np.nonzero(over < 0)
        if not len(pair):
            return None
        depth, face, row, vx, vy = -over[pair, corner], face[pair], row[pair], vx[corner], vy[corner]
        rx, ry = c[row] * vx - s[row] * vy, s[row] * vx + c[row] * vy
        wx, wy = x[row] + rx, y[row] + ry
        tx, ty = self.tangent[face].T
        place = tx * (wx - self.face_start[face, 0]) + ty * (wy - self.face_start[face, 1])
        beside = (place > -FADE) & (place < self.face_length[face] + FADE)
        if not beside.any():
            return None
        depth, face, row, rx, ry, wx, wy, tx, ty, place = (
            a[beside] for a in (depth, face, row, rx, ry, wx, wy, tx, ty, place)
        )
        nx, ny = self.normal[face].T
        weight, weight1, weight2 = _fade(place, self.face_length[face])
        k = self.face_k[face]
        # depth has the gradient (-nx, -ny, dt), place along the face has (tx, ty, pt)
        dt, pt = nx * ry - ny * rx, ty * rx - tx * ry
        kd = k * depth
        e, p1, p2, q = 0.5 * kd * depth, k * weight, 0.5 * kd * depth * weight2, kd * weight1
        gd, gp = kd * weight, e * weight1
        terms = np.array([
            e * weight,
            gp * tx - gd * nx, gp * ty - gd * ny, gd * dt + gp * pt,
            p1 * nx * nx + p2 * tx * tx - 2 * q * nx * tx,
            p1 * nx * ny + p2 * tx * ty - q * (nx * ty + ny * tx),
            p1 * ny * ny + p2 * ty * ty - 2 * q * ny * ty,
            -p1 * nx * dt + p2 * tx * pt + q * (tx * dt - nx * pt),
            -p1 * ny * dt + p2 * ty * pt + q * (ty * dt - ny * pt),
            p1 * dt * dt + p2 * pt * pt + 2 * q * dt * pt
            + gd * (nx * rx + ny * ry) - gp * (tx * rx + ty * ry),
        ])  # fmt: skip
        return Touch(row, face, depth, gd, wx, wy, terms)

    def _points_in_hull(self, x, y, c, s):
        if not len(self.radii):
            return None
        cx, cy = self.centres.T[:, :, None]
        dx, dy, r = cx - x, cy - y, self.radii[:, None]
        ahead, port = c * dx + s * dy, c * dy - s * dx
        (x0, y0), (x1, y1) = self.low, self.high
        point, row = np.nonzero((ahead > x0 - r) & (ahead < x1 + r) & (port > y0 - r) & (port < y1 + r))
        if not len(row):
            return None
        px, py = ahead[point, row], port[point, row]
        distance, nx, ny, bend = self._signed_distance(px, py)
        depth = self.radii[point] - distance
        hit = depth > 0
        if not hit.any():
            return None
        point, row, px, py, depth, nx, ny, bend, distance = (
            a[hit] for a in (point, row, px, py, depth, nx, ny, bend, distance)
        )
        c, s, k = c[row], s[row], self.point_k[point]
        ox, oy = c * nx - s * ny, s * nx + c * ny  # outward normal in the berth frame
        turn = nx * py - ny * px
        f, kb = k * depth, k * depth * bend
        slide = -ny * py - nx * px  # the same for the tangent (-ny, nx)
        terms = np.array([
            0.5 * f * depth,
            f * ox, f * oy, -f * turn,
            k * ox * ox - kb * oy * oy, k * ox * oy + kb * ox * oy, k * oy * oy - kb * ox * ox,
            -k * ox * turn - f * oy - kb * oy * slide,
            -k * oy * turn + f * ox + kb * ox * slide,
            k * turn * turn - kb * slide * slide + f * (nx * px + ny * py),
        ])  # fmt: skip
        wx, wy = self.centres[point].T
        outside = np.maximum(distance, 0.0)
        return Touch(row, point + len(self.face_ids), depth, f, wx - ox * outside, wy - oy * outside, terms)

    def _signed_distance(self, px, py):
        """Distance from the outline (negative inside), its direction, its bend (1 / distance at a corner)."""
        above = np.outer(px, self.outward[:, 0]) + np.outer(py, self.outward[:, 1]) - self.offset
        edge = above.argmax(axis=1)
        distance = above[np.arange(len(px)), edge]
        nx, ny = self.outward[edge].T.copy()
        bend = np.zeros_like(distance)
        out = np.flatnonzero(distance > 0)
        if len(out):
            dx, dy = px[out, None] - self.corners[:, 0], py[out, None] - self.corners[:, 1]
            along = dx * self.along[:, 0] + dy * self.along[:, 1]
            clipped = np.clip(along, 0, self.edge_lengths)
            gx, gy = dx - clipped * self.along[:, 0], dy - clipped * self.along[:, 1]
            gap = np.hypot(gx, gy)
            near = gap.argmin(axis=1)
            i = np.arange(len(out))
            far = gap[i, near]
            cornered = (clipped[i, near] != along[i, near]) & (far > _ON_EDGE)
            distance[out] = far
            safe = np.where(cornered, far, 1.0)
            nx[out] = np.where(cornered, gx[i, near] / safe, self.outward[near, 0])
            ny[out] = np.where(cornered, gy[i, near] / safe, self.outward[near, 1])
            bend[out] = np.where(cornered, 1 / safe, 0.0)
        return distance, nx, ny, bend

    def sweep(self, x, y, c, s):
        """Hull corners in the berth frame, (M, corners, 2). [m]"""
        vx, vy = self.corners.T
        c, s = c[:, None], s[:, None]
        return np.stack([x[:, None] + c * vx - s * vy, y[:, None] + s * vx + c * vy], axis=-1)

    def clearance(self, corners):
        """Least height of the hull over each face, (M, faces); +inf where she is not beside it. [m]"""
        out = np.full((len(corners), len(self.face_ids)), np.inf)
        for f, length in enumerate(self.face_length):
            from_start = corners - self.face_start[f]
            place, height = from_start @ self.tangent[f], from_start @ self.normal[f]
            beside = np.where((place >= 0) & (place <= length), height, np.inf)
            next_place, next_height = np.roll(place, -1, axis=1), np.roll(height, -1, axis=1)
            run = next_place - place
            for end in (0.0, length):  # where an edge of the hull passes over the end of the face
                crosses = (place - end) * (next_place - end) < 0
                share = (end - place) / np.where(crosses, run, 1.0)
                beside = np.minimum(
                    beside, np.where(crosses, height + share * (next_height - height), np.inf)
                )
            out[:, f] = beside.min(axis=1)
        return out


def _fade(place, length):
    """1 beside the face, falling smoothly to 0 over `FADE` past its ends; with two derivatives."""
    past = np.maximum(-place, place - length)
    sense = np.where(place < length / 2, -1.0, 1.0)
    t = 1 - np.clip(past / FADE, 0.0, 1.0)
    return (
        t * t * (3 - 2 * t),
        -sense * 6 * t * (1 - t) / FADE,
        np.where((t > 0) & (t < 1), 6 - 12 * t, 0.0) / FADE**2,
    )
