"""The same balance worked out by other means: a mooring library, and plain statics with a root finder.

Nothing here shares code with the engine.
"""

import contextlib
import io
from math import cos, sin

import numpy as np
from scipy.optimize import minimize, root

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


def by_minimisation(scenario, force, near):
    """Least stored energy with strains and depths as unknowns: a rectangle against one long face y = y1 and piles.

    minimise sum 1/2 EA L e^2 + sum 1/2 k depth^2 - F.X, with e >= distance / L - 1, depth >= overlap, both >= 0.
    """
    boat, half = scenario.boat, scenario.boat.loa / 2
    aboard = {f.id: f for f in boat.fittings}
    ashore = {f.id: f for f in scenario.berth.fittings}
    piles = [f for f in scenario.berth.fittings if f.kind == "pile"]
    lines, wall = scenario.lines, scenario.berth.faces[0]
    n, k = len(lines), 50_000.0
    home = np.array([boat.x, boat.y, np.radians(boat.heading_deg)])
    corners = [(a * half, b * boat.beam / 2) for a in (-1, 1) for b in (-1, 1)]

    def strains(pose):
        x, y, t = pose
        for line in lines:
            b, s = aboard[line.boat_fitting], ashore[line.shore_fitting]
            dx = s.x - x - cos(t) * (b.x - half) + sin(t) * b.y
            dy = s.y - y - sin(t) * (b.x - half) - cos(t) * b.y
            yield (dx * dx + dy * dy + (s.z - b.z) ** 2) ** 0.5 / line.length - 1

    def overlaps(pose):
        x, y, t = pose
        for a, b in corners:
            yield wall.y1 - (y + sin(t) * a + cos(t) * b)
        for p in piles:
            dx, dy = p.x - x, p.y - y
            u, v = abs(cos(t) * dx + sin(t) * dy) - half, abs(cos(t) * dy - sin(t) * dx) - boat.beam / 2
            outside = (max(u, 0.0) ** 2 + max(v, 0.0) ** 2) ** 0.5 + min(max(u, v), 0.0)
            yield p.diameter / 2 - outside

    def energy(z):
        pose, e, depth = z[:3], z[3 : 3 + n], z[3 + n :]
        lines_energy = sum(
            0.5 * line.stiffness.ea * line.length * v * v for line, v in zip(lines, e, strict=True)
        )
        return (lines_energy + 0.5 * k * float(depth @ depth) - float(force @ (pose - home))) / 1000

    start_pose = near + np.array([0.01, 0.01, 0.002])
    start = np.array([*start_pose, *np.maximum([*strains(start_pose), *overlaps(start_pose)], 0.0)])
    needs = {"type": "ineq", "fun": lambda z: z[3:] - np.array([*strains(z[:3]), *overlaps(z[:3])])}
    found = minimize(
        energy, start, method="SLSQP", constraints=[needs], options={"maxiter": 2000, "ftol": 1e-15},
        bounds=[(None, None)] * 3 + [(0, None)] * (len(start) - 3),
    )  # fmt: skip
    pose = found.x[:3]
    tension = [line.stiffness.ea * max(0.0, v) for line, v in zip(lines, strains(pose), strict=True)]
    return pose, np.array(tension)
