"""Lines as arrays: tension, energy, gradient and stiffness of every line in every case at once.

A line is straight, weightless and pulls only: T = f(strain), strain = distance / unstretched length - 1.

Inside this file and `contact` the case is the *last* axis: a sum over a handful of lines is quick only when
the many cases lie next to each other in memory.
"""

import copy

import numpy as np

from vessels.rope import stretch

NEAREST = 1e-9  # m; nearer than this a line has no direction
_DUMMY_LENGTH = 1e6  # m; fills up shorter sets, never taut
_STRAIGHT = ((0.0, 0.0), (1.0, 1.0))


class Curves:
    """Stretch curves as segments with start, tension, slope and running area; segment 0 is the slack line."""

    def __init__(self, curves):
        curves = [c if c[0][0] == 0 else ((0.0, 0.0), *c) for c in curves]
        width = max(len(c) for c in curves)
        self.edges = np.full((width - 1, len(curves)), np.inf)
        self.start, self.tension, self.slope, self.area = np.zeros((4, len(curves), width))
        for i, rows in enumerate(curves):
            strain, tension = np.array(rows, float).T
            n = len(rows) - 1
            self.edges[:n, i] = strain[:-1]
            self.start[i, 1 : n + 1], self.tension[i, 1 : n + 1] = strain[:-1], tension[:-1]
            self.slope[i, 1 : n + 1] = np.diff(tension) / np.diff(strain)
            steps = (tension[1:] + tension[:-1]) / 2 * np.diff(strain)
            self.area[i, 2 : n + 1] = np.cumsum(steps)[:-1]

    def look_up(self, strain, curve):
        """Tension, slope and area under the curve at these strains; `curve` is an index array, None for 0."""
        segment = np.zeros(strain.shape, np.intp)
        for edges in self.edges:
            beyond = strain > (edges[0] if curve is None else edges[curve])
            if not beyond.any():
                break
            segment += beyond
        if curve is not None:
            segment += curve * self.slope.shape[1]
        past = strain - self.start.take(segment)
        tension, slope = self.tension.take(segment), self.slope.take(segment)
        rise = slope * past
        return tension + rise, slope, self.area.take(segment) + past * (tension + 0.5 * rise)


class Lines:
    """All lines of K sets, N cases each, packed as (lines, K); shorter sets are filled up with dummies.

    Parameters
    ----------
    scenario : Scenario
        Filled: every fitting that a line names has its place.
    sets : list of list of Line
        With `length`, and `mbs` or a stiffness `ea`.
    levels : ndarray, (N,)
        [m above datum]
    slope : float
        Times the stiffness of every line.

    Raises
    ------
    ValueError
        Naming the line or fitting and what it lacks.
    """

    def __init__(self, scenario, sets, levels, slope=1.0):
        self.levels = levels
        self.ids = [[line.id for line in lines] for lines in sets]
        shape = (max((len(lines) for lines in sets), default=0), len(sets))
        self.boat, self.shore = np.zeros((2, *shape)), np.zeros((2, *shape))
        self.lift, self.rises = np.zeros(shape), np.zeros(shape)
        self.extra_across, self.extra_lift, self.extra_rises = np.zeros((3, *shape))
        self.length, self.slides = np.full(shape, _DUMMY_LENGTH), np.ones(shape, bool)
        self.scale, self.mbs = np.zeros(shape), np.full(shape, np.inf)
        self.real = np.zeros(shape, bool)
        index, kinds = np.zeros(shape, np.intp), {}
        middle = scenario.boat.loa / 2
        aboard = {f.id: f for f in scenario.boat.fittings or []}
        ashore = {f.id: f for f in scenario.berth.fittings or []}
        for k, lines in enumerate(sets):
            for i, line in enumerate(lines):
                self._place((i, k), line, aboard, ashore)
                self.boat[0, i, k] -= middle
                rows, scale = _curve(line)
                index[i, k] = kinds.setdefault(rows, len(kinds))
                self.scale[i, k] = scale * slope
        self.curves = Curves(list(kinds) or [_STRAIGHT])
        self.curve = index if len(kinds) > 1 else None
        self.via = bool(self.extra_across.any() or self.extra_lift.any() or self.extra_rises.any())
        self._check_fixed_parts(sets)

    def _place(self, at, line, aboard, ashore):
        b, s = _find(line, "boat_fitting", aboard), _find(line, "shore_fitting", ashore)
        bears = _find(line.via, "fitting", ashore, line) if line.via else s
        if line.length is None:
            raise ValueError(f"line {line.id!r}: length is missing, and needed")
        self.real[at], self.length[at] = True, line.length
        self.boat[:, *at] = b.x, b.y
        self.shore[:, *at] = bears.x, bears.y
        self.lift[at], self.rises[at] = bears.z - b.z, 0.0 if bears.floats else 1.0
        self.slides[at] = line.via is not None and line.via.turn == "slides"
        self.extra_across[at] = np.hypot(s.x - bears.x, s.y - bears.y)
        self.extra_lift[at], self.extra_rises[at] = s.z - bears.z, bool(s.floats) - bool(bears.floats)
        self.mbs[at] = np.inf if line.mbs is None else line.mbs

    def _check_fixed_parts(self, sets):
        """A line made fast to a pile on its way must be longer than the part behind that pile."""
        if not self.via:
            return
        behind = np.max([self._extra(slice(None), np.float64(z)) for z in self.levels], axis=0)
        for i, k in np.argwhere(self.real & ~self.slides & (behind > 0) & (self.length - behind < 0.01)):
            line = sets[k][i]
            raise ValueError(
                f"line {line.id!r}: {line.length:g} m does not reach past {line.via.fitting!r}, "
                f"which is {behind[i, k]:.2f} m from {line.shore_fitting!r}; give a longer line"
            )

    def _extra(self, sets, levels):
        """Length of line between the pile it is led round and its shore fitting. [m]"""
        return np.hypot(
            self.extra_across[:, sets], self.extra_lift[:, sets] + self.extra_rises[:, sets] * levels
        )

    def rows(self, rows):
        """The lines of these problems (set-major numbers), as `LineRows`."""
        sets, cases = np.divmod(rows, len(self.levels))
        levels = self.levels[cases]
        out = LineRows()
        out.curves = self.curves
        out.curve = None if self.curve is None else self.curve[:, sets]
        out.lift = self.lift[:, sets] - self.rises[:, sets] * levels
        length = self.length[:, sets]
        out.extra = self._extra(sets, levels) if self.via else np.zeros((1, 1))
        taut = length - out.extra
        elastic = np.where(self.slides[:, sets], length, taut)
        (out.bx, out.by), (out.sx, out.sy) = self.boat[:, :, sets], self.shore[:, :, sets]
        out.lift2, out.taut, out.per_m = out.lift**2, taut, 1 / elastic
        out.scale, out.mbs = self.scale[:, sets], self.mbs[:, sets]
        return out

    def stiffest(self):
        """Largest slope of any line, 0 without lines. [N/m]"""
        steepest = self.curves.slope.max(axis=1)
        return float(
            np.max(self.scale * steepest[0 if self.curve is None else self.curve] / self.length, initial=0)
        )


class LineRows:
    """The lines of M problems, each array (lines, M). Units m, N, N/m."""

    def keep(self, which):
        """The same for some of the problems."""
        out = copy.copy(self)
        for name in ("bx", "by", "sx", "sy", "lift2", "taut", "per_m", "scale"):
            setattr(out, name, getattr(self, name)[:, which])
        out.curve = None if self.curve is None else self.curve[:, which]
        return out

    def spans(self, x, y, c, s):
        """Arm on the boat, horizontal vector to the shore end and distance, each (lines, M)."""
        rx, ry = c * self.bx - s * self.by, s * self.bx + c * self.by
        hx, hy = self.sx - x - rx, self.sy - y - ry
        return rx, ry, hx, hy, np.maximum(np.sqrt(hx * hx + hy * hy + self.lift2), NEAREST)

    def evaluate(self, x, y, c, s):
        """Energy, its gradient and Hessian in (x, y, heading), summed over lines: (10, M).

        Rows: E, gx, gy, gt, hxx, hxy, hyy, hxt, hyt, htt.
        """
        rx, ry, hx, hy, d = self.spans(x, y, c, s)
        share, slope, area = self.curves.look_up((d - self.taut) * self.per_m, self.curve)
        a = self.scale * share / d  # tension over distance
        b = (self.scale * slope * self.per_m - a) / (d * d)
        w = hy * rx - hx * ry  # arm of the pull about half length, times distance
        bx, by = b * hx, b * hy
        terms = np.array([
            self.scale * area / self.per_m,
            -a * hx, -a * hy, -a * w,
            a + bx * hx, bx * hy, a + by * hy,
            bx * w - a * ry, by * w + a * rx,
            b * w * w + a * (rx * rx + ry * ry + hx * rx + hy * ry),
        ])  # fmt: skip
        return terms.sum(axis=1)

    def tensions(self, x, y, c, s):
        """Tension, distance (by way of the pile it is led round), slack and pull on the boat (3, ...)."""
        _, _, hx, hy, d = self.spans(x, y, c, s)
        tension = self.scale * self.curves.look_up((d - self.taut) * self.per_m, self.curve)[0]
        pull = tension / d * np.stack([hx, hy, self.lift])
        return tension, d + self.extra, np.maximum(self.taut - d, 0.0), pull


def _find(part, field, known, line=None):
    name = getattr(part, field)
    if name not in known:
        raise ValueError(
            f"line {(line or part).id!r}: no fitting {name!r} (there are: {', '.join(known) or 'none'})"
        )
    fitting = known[name]
    for axis in ("x", "y", "z"):
        if getattr(fitting, axis) is None:
            raise ValueError(
                f"fitting {name!r}: {axis} is missing, and needed for line {(line or part).id!r}"
            )
    return fitting


def _curve(line):
    """Rows of the curve, and what their tensions are to be multiplied with. [N]"""
    if line.stiffness is not None and line.stiffness.ea is not None:
        return _STRAIGHT, line.stiffness.ea
    if line.mbs is None:
        raise ValueError(f"line {line.id!r}: mbs is missing, and needed for its stretch curve")
    if line.stiffness is not None and line.stiffness.table is not None:
        return tuple(tuple(row) for row in line.stiffness.table), line.mbs
    if line.material is None:
        raise ValueError(f"line {line.id!r}: neither stiffness nor material is known; give one")
    return stretch(line.material), line.mbs
