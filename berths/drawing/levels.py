"""The heights that side views are drawn to, from a Scenario as entered: what is not known stays None."""

from dataclasses import dataclass

from vessels import hull as hulls


@dataclass(frozen=True)
class Levels:
    """Heights above datum, m. `lowest` and `highest` include the surge allowances where those are set."""

    lowest: float | None
    highest: float | None
    surge_known: bool
    bed: float | None
    dock_top: float | None  # above the water where the dock floats
    underside: float | None
    floats: bool
    rail: float  # above the water
    rail_known: bool
    draft: float | None
    datum: str


def levels_of(scenario):
    """Collect the heights of a Scenario. The dock's top is the edge one steps from, else that of its face.

    Piles with gaps may stand higher than the dock behind them, so their tops tell nothing of it.
    """
    water, berth, boat = scenario.water, scenario.berth, scenario.boat
    low, high = (water.low, water.high) if water else (None, None)
    if water and water.curve:
        heights = [z for _, z in water.curve]
        low, high = (min(heights) if low is None else low), (max(heights) if high is None else high)
    down, up = (water.surge_down, water.surge_up) if water else (None, None)
    faces = berth.faces or []
    closed = [f for f in faces if f.top_z is not None and f.continuous is not False]
    face = next(iter([*closed, *faces]), None)
    floats = bool(face.floats) if face and face.floats is not None else berth.kind == "floating"
    top = closed[0].top_z if closed else None
    rails = [boat.rub_high, *(f.z for f in boat.fittings or [])]
    known = max((z for z in rails if z is not None), default=None)
    usual = max(f["z"] for f in hulls.fittings(boat.loa, boat.beam))
    return Levels(
        lowest=None if low is None else low - (down or 0.0),
        highest=None if high is None else high + (up or 0.0),
        surge_known=down is not None and up is not None,
        bed=berth.bed_z,
        dock_top=top if floats or berth.edge_z is None else berth.edge_z,
        underside=closed[0].underside_z if closed else None,
        floats=floats,
        rail=usual if known is None else known,
        rail_known=known is not None,
        draft=boat.draft,
        datum=(water and water.datum) or "chart datum",
    )


def profile(loa, rail, draft):
    """Her outline from the side, stern first, x forward and z up from the waterline; plain, to scale in
    height.

    Without a draft only what is above the water is drawn.
    """
    above = [(0.97 * loa, 0.0), (loa, 1.1 * rail), (0.0, 0.92 * rail), (0.02 * loa, 0.0)]
    if draft is None:
        return above
    body = min(0.55 * draft, 0.05 * loa)
    keel = [(0.15, body), (0.36, body), (0.40, draft), (0.58, draft), (0.66, body), (0.86, 0.7 * body)]
    return [*above, *((x * loa, -z) for x, z in keel)]
