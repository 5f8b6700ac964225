"""The steps to one line's figures, each with what is put in, its formula in words and symbols, and its source.

The pull is worked out from one case alone; the lengths from the geometry where she was put.
"""

from itertools import pairwise

import numpy as np
from pydantic import BaseModel

from berths.tieup import geometry, lengths, limits, loads
from vessels import rope


class Given(BaseModel):
    """One figure that is put in: its symbol, what it is, value and unit ('1': a bare number)."""

    symbol: str
    what: str
    value: float
    unit: str


class Step(BaseModel):
    """One step: what it gives, the formula in words and in symbols, the figures put in, and where it is from.

    `figures` has the figures in the formula's own order, `given` the same with names and units.
    """

    what: str
    words: str
    symbols: str
    figures: str
    value: float
    unit: str
    source: str
    given: list[Given] = []


def _given(*rows):
    return [Given(symbol=s, what=what, value=float(v), unit=unit) for s, what, v, unit in rows]


def of_loads(work, case):
    """Wind and stream on her, ahead and across. List of Step."""
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
                    given=_given(
                        ("rho", "density of the air" if name == "wind" else "density of the water", density.value, "kg/m3"),
                        ("Cd", "drag coefficient", cd, "1"),
                        ("A", f"area the {name} meets", area, "m2"),
                        ("v", f"part of the {name} that runs {way}", v, "m/s"),
                    ),
                )
            )  # fmt: skip
    return out


def of_pull(work, alone, i, case):
    """From where she comes to lie to the pull of line `i`. List of Step."""
    line, pick = work.lines[i], work.picks[i]
    x, y, heading = alone.pose[0, 0]
    at = geometry.to_berth(work.scenario.boat, [[pick.boat.x, pick.boat.y]], (x, y, heading))[0]
    bears = line.via.fitting if line.via else line.shore_fitting
    end = next(s for s in work.scenario.berth.fittings if s.id == bears)
    across = float(np.hypot(end.x - at[0], end.y - at[1]))
    rise = float(end.z - pick.boat.z - (0 if end.floats else case.level))
    d, strain = float(alone.distance[0, 0, i]), float(alone.distance[0, 0, i]) / line.length - 1
    share, between = _segment(line, strain)
    beyond = [("b", "part of the line beyond the pile", pick.run.extra, "m")] if line.via else []
    return [
        Step(
            what="distance from her fitting to the shore fitting, where she lies in this case",
            words="root of the sum of lead squared and height squared"
            + (", with the part beyond the pile" if line.via else ""),
            symbols="d = sqrt(a^2 + h^2)" + (" + b" if line.via else ""),
            figures=f"sqrt({across:.3f}^2 + {rise:.3f}^2)" + (f" + {pick.run.extra:.3f}" if line.via else ""),
            value=d,
            unit="m",
            source="geometry",
            given=_given(
                ("a", "lead, along the water", across, "m"),
                ("h", "height of the shore end over hers", rise, "m"),
                *beyond,
            ),
        ),
        Step(
            what="stretch",
            words="distance over working length, less one",
            symbols="e = d / L - 1",
            figures=f"{d:.4f} / {line.length:.4f} - 1",
            value=strain,
            unit="1",
            source="definition",
            given=_given(("d", "distance", d, "m"), ("L", "working length", line.length, "m")),
        ),
        Step(
            what="pull",
            words="read off the stretch curve, straight between its rows, times strength",
            symbols="T = f(e) MBS",
            figures=f"{share:.4f} ({between}) x {line.mbs:.0f}",
            value=float(alone.tension[0, 0, i]),
            unit="N",
            source=rope.strength(line.material, line.diameter_mm).rests_on if line.diameter_mm else "given",
            given=_given(
                ("f(e)", f"share of strength at this stretch, {between}", share, "1"),
                ("MBS", "strength at which it breaks, new and dry", line.mbs, "N"),
            ),
        ),
    ]


def _segment(line, strain):
    """Share of strength at this strain, and the rows of the curve that it lies between in words."""
    rows = [(0.0, 0.0), *[tuple(r) for r in lengths.curve_of(line) if r[0] > 0]]
    (e1, t1), (e2, t2) = next((pair for pair in pairwise(rows) if strain <= pair[1][0]), (rows[-2], rows[-1]))
    share = 0.0 if strain <= 0 else t1 + (t2 - t1) * (strain - e1) / (e2 - e1)
    return share, f"between {e1:g}: {t1:g} and {e2:g}: {t2:g}"


def of_limit(work, i):
    """What is compared with what is allowed. The pull of stiff rope is: rope of one name spreads by a third."""
    line, f = work.lines[i], work.figures
    wet, stiff = limits.wet_share(line, f), work.stiff.tension[0, :, i]
    worn = f.worn_share if line.worn else 1.0
    worst, tension = work.stiff.cases[int(stiff.argmax())], float(stiff.max())
    return [
        Step(
            what="pull that is compared with the limit",
            words=f"greatest pull if the rope is stiff of its kind ({worst.id}), times the allowance for what moves her",
            symbols="Ts x dynamic",
            figures=f"{tension:.0f} x {f.dynamic:g}",
            value=tension * f.dynamic,
            unit="N",
            source=f"house figure by exposure of the berth ({work.scenario.berth.exposure})",
            given=_given(
                ("Ts", f"greatest pull with rope {f.stretch_stiff:g} times as stiff as the middle of its kind", tension, "N"),
                ("dynamic", "allowance for wash and snatching", f.dynamic, "1"),
            ),
        ),
        Step(
            what="pull that is allowed",
            words="strength, less what wet and worn rope loses, over the factor of safety",
            symbols="MBS x wet x worn / factor",
            figures=f"{line.mbs:.0f} x {wet:g} x {worn:g} / {f.strength_factor:g}",
            value=limits.usable(line, f) / f.strength_factor,
            unit="N",
            source="UFC 4-159-03 (2005) Table 3-7 (R-FS-1, R-ROPE-14, R-RET-1)",
            given=_given(
                ("MBS", "strength at which it breaks, new and dry", line.mbs, "N"),
                ("wet", "what wet rope keeps; all of a strength that was stated wet", wet, "1"),
                ("worn", "what worn rope keeps; all where none was found worn", worn, "1"),
                ("factor", "strength over pull that is asked for", f.strength_factor, "1"),
            ),
        ),
    ]  # fmt: skip


def of_lengths(work, i):
    """Working length, length on the card, length to cut and what to leave now. List of Step."""
    line, pick, f = work.lines[i], work.picks[i], work.figures
    run = pick.run
    return [
        _working_length(work, line, run),
        *_card_length(line, pick),
        *_cut_length(line, pick, f),
        *_snug(work, line, run),
    ]


def _working_length(work, line, run):
    far = float(run.distance(work.levels).max())
    if not work.planned:
        return Step(
            what="working length",
            words="as it was found, between the two fittings, without stretch",
            symbols="L",
            figures=f"{line.length:.4f}",
            value=line.length,
            unit="m",
            source="what was measured or recorded",
            given=_given(("d most", "greatest distance over the heights of the water", far, "m")),
        )
    calm = lengths.strain_at(
        [tuple(row) for row in lengths.curve_of(line)], work.figures.calm_share, work.figures.stretch_stiff
    )
    slack = line.length / lengths.working_length(run, work.levels, calm)
    return Step(
        what="working length",
        words="greatest distance over the heights of the water, less a part of the stretch it may have in calm, "
        "times the slack that did best when the whole set was tried with more and less",
        symbols="L = d most / (1 + 0.6 e calm) x slack",
        figures=f"{far:.3f} / (1 + 0.6 x {calm:.4f}) x {slack:.3f}",
        value=line.length,
        unit="m",
        source="own choice: the shortest length that never pulls hard in calm, then tried",
        given=_given(
            ("d most", "greatest distance over the heights of the water", far, "m"),
            ("e calm", f"stretch at {100 * work.figures.calm_share:.0f} % of its strength, stiff rope", calm, "1"),
            ("slack", "what did best with the whole set", slack, "1"),
        ),
    )  # fmt: skip


def _card_length(line, pick):
    shore = pick.shore
    if shore.kind != "pile" or not shore.diameter:
        return
    slope = pick.run.lead / max(float(np.hypot(pick.run.lead, pick.run.rise)), 1e-9)
    yield Step(
        what="length on the card",
        words="working length less half the pile, for a hand measures to its near face",
        symbols="L - D / 2 x slope",
        figures=f"{line.length:.3f} - {shore.diameter:.2f} / 2 x {slope:.3f}",
        value=lengths.card_length(line.length, pick.run, shore),
        unit="m",
        source="geometry",
        given=_given(
            ("L", "working length", line.length, "m"),
            ("D", "diameter of the pile", shore.diameter, "m"),
            ("slope", "how flat it runs", slope, "1"),
        ),
    )


def _cut_length(line, pick, f):
    if line.diameter_mm is None:
        return
    shore, cleat = pick.shore, pick.boat.cleat_length or 16 * line.diameter_mm / 1000
    eye = lengths.cut_length(0.0, shore, pick.boat, line.diameter_mm, f) - f.cleat_turns * cleat - f.tail
    yield Step(
        what="length to cut",
        words="working length, and rope for the eye ashore, the turns on her cleat and a tail",
        symbols="L + eye + turns x cleat + tail",
        figures=f"{line.length:.3f} + {eye:.2f} + {f.cleat_turns:g} x {cleat:.3f} + {f.tail:g}",
        value=lengths.cut_length(line.length, shore, pick.boat, line.diameter_mm, f),
        unit="m",
        source="common practice, no source; a cleat of unknown size counts as 16 rope diameters (R-CLEAT-1)",
        given=_given(
            ("L", "working length", line.length, "m"),
            ("eye", "rope in the eye ashore", eye, "m"),
            ("turns", "turns on the cleat, in cleat lengths", f.cleat_turns, "1"),
            ("cleat", "length of her cleat", cleat, "m"),
            ("tail", "tail", f.tail, "m"),
        ),
    )


def _snug(work, line, run):
    now = work.scenario.water.now
    if run.floats:
        return
    yield Step(
        what="snug when the water is at",
        words="the height at which the distance is the working length, at the end of the range where it works harder",
        symbols="d(z) = L",
        figures=f"sqrt({run.lead:.3f}^2 + ({run.rise:.3f} - z)^2) + {run.extra:.3f} = {line.length:.3f}",
        value=lengths.set_level(run, work.levels, line.length),
        unit="m",
        source="geometry",
        given=_given(
            ("a", "lead where she was put", run.lead, "m"),
            ("h", "height of the shore end over hers with the water at datum", run.rise, "m"),
            ("L", "working length", line.length, "m"),
        ),
    )
    if now is not None:
        d = float(run.distance([now])[0])
        yield Step(
            what="slack with the water as it was then",
            words="working length less distance at that height; below zero is to be hauled in",
            symbols="L - d(z)",
            figures=f"{line.length:.3f} - {d:.3f}",
            value=line.length - d,
            unit="m",
            source="geometry",
            given=_given(
                ("L", "working length", line.length, "m"),
                ("z", "water above datum", now, "m"),
                ("d(z)", "distance at that height", d, "m"),
            ),
        )
