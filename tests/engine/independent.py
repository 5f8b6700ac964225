"""The same balance worked out by other means: a mooring library, and plain statics with a root finder.

Nothing here shares code with the engine.
"""

import contextlib
import io
from math import cos, sin

import numpy as np
from scipy.optimize import root

DEEP = 100.0  # m; everything is shifted this far under water, so that no line has a wet and a dry part


def by_moorpy(scenario, lines, force, level):
    """Pose (x, y, heading) and tensions from MoorPy 1.3, for linear rope and without contact.

    It reads a line's weight from `m` and `d_vol` and ignores `w`; these values make it 1e-5 N/m.
    """
    import moorpy  # noqa: PLC0415 it stops in a debugger on odd input: for tests only, never on import of this file

    boat = scenario.boat
    aboard = {f.id: f for f in boat.fittings}
    ashore = {f.id: f for f in scenario.berth.fittings}
    with contextlib.redirect_stdout(io.StringIO()):
        system = moorpy.System(depth=1000.0)
        body = system.addBody(
            0, [boat.x, boat.y, -DEEP, 0, 0, np.radians(boat.heading_deg)],
            f6Ext=[*force[:2], 0, 0, 0, force[2]], DOFs=[0, 1, 5],
        )  # fmt: skip
        for i, line in enumerate(lines):
            b, s = aboard[line.boat_fitting], ashore[line.shore_fitting]
            height = s.z if not s.floats else s.z + level
            system.addPoint(1, [s.x, s.y, height - level - DEEP])
            system.addPoint(1, [0, 0, 0])
            body.attachPoint(2 * i + 2, [b.x - boat.loa / 2, b.y, b.z])
            kind = {"name": line.id, "EA": line.stiffness.ea, "m": 1e-5, "d_vol": 1e-6, "w": 0.0, "cost": 0.0}
            system.addLine(line.length, kind, pointA=2 * i + 1, pointB=2 * i + 2)
        system.initialize()
        if not system.solveEquilibrium(tol=1e-6, maxIter=2000, no_fail=True):
            raise RuntimeError("MoorPy did not converge")
    return body.r6[[0, 1, 5]], np.array([line.TB for line in system.lineList])


def by_statics(scenario, lines, force, level, near):
    """Pose and tensions from the plain balance of forces and moment, contact-free, linear rope.

    A slack start has no slope to follow, so the search begins `near` a pose.
    """
    boat = scenario.boat
    aboard = {f.id: f for f in boat.fittings}
    ashore = {f.id: f for f in scenario.berth.fittings}

    def pulls(pose):
        x, y, heading = pose
        for line in lines:
            b, s = aboard[line.boat_fitting], ashore[line.shore_fitting]
            ax = cos(heading) * (b.x - boat.loa / 2) - sin(heading) * b.y
            ay = sin(heading) * (b.x - boat.loa / 2) + cos(heading) * b.y
            dx, dy = s.x - x - ax, s.y - y - ay
            dz = s.z - b.z - (0.0 if s.floats else level)
            d = (dx * dx + dy * dy + dz * dz) ** 0.5
            tension = max(0.0, line.stiffness.ea * (d - line.length) / line.length)
            yield ax, ay, tension * dx / d, tension * dy / d, tension

    def left_over(pose):
        rows = list(pulls(pose))
        return [
            force[0] + sum(fx for _, _, fx, _, _ in rows),
            force[1] + sum(fy for _, _, _, fy, _ in rows),
            force[2] + sum(ax * fy - ay * fx for ax, ay, fx, fy, _ in rows),
        ]

    for method in ("hybr", "lm"):
        found = root(left_over, near, method=method, tol=1e-13)
        if max(map(abs, found.fun)) < 1e-4:
            return found.x, np.array([row[4] for row in pulls(found.x)])
    raise RuntimeError(f"no balance found near {near}: {found.fun} left over")
