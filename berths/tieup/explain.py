"""The working of one line's greatest pull, rebuilt from its case alone, so that anybody can do the sums again."""

import numpy as np
from pydantic import BaseModel

from berths.tieup import geometry, loads, steps
from berths.tieup import outcome as outcomes
from berths.tieup.energy import RESTORING
from berths.tieup.scenario import Case
from berths.tieup.steps import Step
from berths.tieup.work import Work


class Pull(BaseModel):
    """What one line, contact or load does to her: force in the berth frame and moment about half her length."""

    by: str
    fx: float
    fy: float
    moment: float


class Working(BaseModel):
    """All steps to one line's greatest tension, and the forces of that case, which must close to `residual`.

    `worst` is that case with its water, wind and stream; `lengths` are the steps to the line's lengths.
    """

    line: str
    case: str
    level: float
    worst: Case | None = None
    steps: list[Step]
    lengths: list[Step] = []
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
    row = int(work.middle.tension[0, :, i].argmax())
    case, lies = work.middle.cases[row], work.middle.pose[:, row]  # of two places, the one with this pull
    alone = outcomes.run(work.scenario, [work.lines], [case], second="none", start=lies)
    taken = [*steps.of_loads(work, case), *steps.of_pull(work, alone, i, case), *steps.of_limit(work, i)]
    pulls = _pulls(work, alone, case)
    sums = np.abs([sum(p.fx for p in pulls), sum(p.fy for p in pulls)])
    turn = abs(sum(p.moment for p in pulls)) / (work.scenario.boat.loa / 2)
    return Working(
        line=line_id,
        case=case.id,
        level=case.level,
        worst=case,
        steps=taken,
        lengths=steps.of_lengths(work, i),
        pulls=pulls,
        residual=float(max(*sums, turn)),
    )


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
