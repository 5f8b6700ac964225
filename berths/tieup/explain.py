"""The working of one line's greatest pull, rebuilt from its case alone, so that anybody can do the sums again."""

from itertools import pairwise

import numpy as np
from pydantic import BaseModel

from berths.tieup import geometry, lengths, loads
from berths.tieup import outcome as outcomes
from berths.tieup.energy import RESTORING
from berths.tieup.work import Work
from vessels import rope


class Step(BaseModel):
    """One step: what it gives, the formula in words and in symbols, the figures put in, and where it is from."""

    what: str
    words: str
    symbols: str
    figures: str
    value: float
    unit: str
    source: str


class Pull(BaseModel):
    """What one line, contact or load does to her: force in the berth frame and moment about half her length."""

    by: str
    fx: float
    fy: float
    moment: float


class Working(BaseModel):
    """All steps to one line's greatest tension, and the forces of that case, which must close to `residual`."""

    line: str
    case: str
    level: float
    steps: list[Step]
    pulls: list[Pull]
    residual: float


def working(work: Work, line_id):
    """The `Working` of a line of a solved `Work`.

    Raises
    ------
    ValueError
        If there is no such line, or nothing was solved.
    """
    names = [line.id for line in work.lines]
    if not work.solved or line_id not in names:
        raise ValueError(f"no line {line_id!r} in this tie-up (there are: {', '.join(names) or 'none'})")
    i = names.index(line_id)
    case = work.middle.cases[int(work.middle.tension[0, :, i].argmax())]
    alone = outcomes.run(work.scenario, [work.lines], [case], second="none")
    steps = [*_load_steps(work, case), *_length_steps(work, alone, i, case), *_limit_steps(work, alone, i)]
    pulls = _pulls(work, alone, case)
    sums = np.abs([sum(p.fx for p in pulls), sum(p.fy for p in pulls)])
    turn = abs(sum(p.moment for p in pulls)) / (work.scenario.boat.loa / 2)
    return Working(
        line=line_id,
        case=case.id,
        level=case.level,
        steps=steps,
        pulls=pulls,
        residual=float(max(*sums, turn)),
    )


def _load_steps(work, case):
    boat, out = work.scenario.boat, []
    heading = boat.heading_deg
    for name, speed, direction, areas, rho, turned in (
        ("wind", case.wind_speed, case.wind_from_deg, boat.windage, "air_density", 180.0),
        ("stream", case.current_speed, case.current_toward_deg, boat.underwater, "water_density", 0.0),
    ):
        if not speed:
            continue
        angle = np.radians(work.scenario.bearing_deg - direction + turned - heading)
        density = loads.coefficient(rho)
        for way, cd, area, part in (
            ("ahead", areas.cd_front, areas.frontal_area, np.cos(angle)),
            ("to port", areas.cd_side, areas.side_area, np.sin(angle)),
        ):
            v = speed * float(part)
            out.append(
                Step(
                    what=f"{name} on her, {way}",
                    words="half the density times drag coefficient times area times speed squared, with its sign",
                    symbols="F = 1/2 rho Cd A v|v|",
                    figures=f"1/2 x {density.value:g} x {cd:g} x {area:.2f} x {v:.2f}|{v:.2f}|",
                    value=float(loads.drag(density.value, cd, area, v)),
                    unit="N",
                    source=density.source,
                )
            )
    return out


def _length_steps(work, alone, i, case):
    line, pick = work.lines[i], work.picks[i]
    x, y, heading = alone.pose[0, 0]
    at = geometry.to_berth(work.scenario.boat, [[pick.boat.x, pick.boat.y]], (x, y, heading))[0]
    bears = line.via.fitting if line.via else line.shore_fitting
    end = next(s for s in work.scenario.berth.fittings if s.id == bears)
    across = float(np.hypot(end.x - at[0], end.y - at[1]))
    rise = float(end.z - pick.boat.z - (0 if end.floats else case.level))
    d, strain = float(alone.distance[0, 0, i]), float(alone.distance[0, 0, i]) / line.length - 1
    tension = float(alone.tension[0, 0, i])
    return [
        Step(
            what="distance from her fitting to the shore fitting, where she lies in this case",
            words="root of the sum of lead squared and height squared"
            + (", with the part beyond the pile" if line.via else ""),
            symbols="d = sqrt(a^2 + h^2)",
            figures=f"sqrt({across:.3f}^2 + {rise:.3f}^2)" + (f" + {pick.run.extra:.3f}" if line.via else ""),
            value=d,
            unit="m",
            source="geometry",
        ),
        Step(
            what="stretch",
            words="distance over working length, less one",
            symbols="e = d / L - 1",
            figures=f"{d:.4f} / {line.length:.4f} - 1",
            value=strain,
            unit="1",
            source="definition",
        ),
        Step(
            what="pull",
            words="read off the stretch curve, straight between its rows, times strength",
            symbols="T = f(e) MBS",
            figures=f"{_segment(line, strain)} x {line.mbs:.0f}",
            value=tension,
            unit="N",
            source=rope.strength(line.material, line.diameter_mm).rests_on if line.diameter_mm else "given",
        ),
    ]


def _segment(line, strain):
    """The rows of the curve that the strain lies between, in words."""
    rows = [(0.0, 0.0), *[tuple(r) for r in lengths.curve_of(line) if r[0] > 0]]
    (e1, t1), (e2, t2) = next((pair for pair in pairwise(rows) if strain <= pair[1][0]), (rows[-2], rows[-1]))
    share = 0.0 if strain <= 0 else t1 + (t2 - t1) * (strain - e1) / (e2 - e1)
    return f"{share:.4f} (between {e1:g}: {t1:g} and {e2:g}: {t2:g})"


def _limit_steps(work, alone, i):
    line, f = work.lines[i], work.figures
    wet, tension = rope.wet_factor(line.material), float(alone.tension[0, 0, i])
    return [
        Step(
            what="pull that is compared with the limit",
            words="pull times the allowance for what moves her",
            symbols="T x dynamic",
            figures=f"{tension:.0f} x {f.dynamic:g}",
            value=tension * f.dynamic,
            unit="N",
            source=f"house figure by exposure of the berth ({work.scenario.berth.exposure})",
        ),
        Step(
            what="pull that is allowed",
            words="strength, less what wet rope loses, over the factor of safety",
            symbols="MBS x wet / factor",
            figures=f"{line.mbs:.0f} x {wet:g} / {f.strength_factor:g}",
            value=line.mbs * wet / f.strength_factor,
            unit="N",
            source="UFC 4-159-03 (2005) Table 3-7 (R-FS-1, R-ROPE-14)",
        ),
    ]


def _pulls(work, alone, case):
    """Every force on her in this case: lines, contacts and loads."""
    x, y, heading = alone.pose[0, 0]
    boat, out = work.scenario.boat, []
    fx, fy, moment = loads.force(work.scenario, [case])[0]
    out.append(Pull(by="wind, stream and moment", fx=float(fx), fy=float(fy), moment=float(moment)))
    for line, pick, pull in zip(
        work.lines, work.picks, alone.problem.pulls(alone.solution.pose)[0], strict=True
    ):
        arm = geometry.to_berth(boat, [[pick.boat.x, pick.boat.y]], (x, y, heading))[0] - [x, y]
        turn = arm[0] * pull[1] - arm[1] * pull[0]
        out.append(Pull(by=f"line {line.id}", fx=float(pull[0]), fy=float(pull[1]), moment=float(turn)))
    away = RESTORING * np.array([boat.x - x, boat.y - y, np.radians(boat.heading_deg) - heading])
    turn = away[2] * boat.loa**2 / 12
    out.append(Pull(by="centring spring, 0.1 N/m", fx=float(away[0]), fy=float(away[1]), moment=float(turn)))
    at = (np.array([v]) for v in (x, y, np.cos(heading), np.sin(heading)))
    for touch in alone.problem.around.touches(*at):
        for body, (gx, gy, gt) in zip(touch.body, touch.terms[1:4].T, strict=True):
            kind, name = alone.problem.around.bodies[body]
            out.append(
                Pull(by=f"{kind.replace('_', ' ')} {name}", fx=-float(gx), fy=-float(gy), moment=-float(gt))
            )
    return out
