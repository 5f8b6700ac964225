"""Coming in over a sill or through a gate: which level she needs beyond it, and when the water stands that high."""

from dataclasses import dataclass

from berths.curve import instant, moment, to_minute


def needs(water, draft=None, keep=0.0):
    """The level beyond the gate from which a boat comes through; None: not recorded. [m above the outer datum]

    Parameters
    ----------
    water : Water
        With a gate: `passes_above`, and `sill_z` where it is known.
    draft : float, optional
        Of the boat [m]; None: as for any boat, by the harbour's own figure alone.
    keep : float
        What the house keeps free under a keel [m].
    """
    if water.passes_above is None:
        return None
    level = float(water.passes_above)
    if draft is None or water.sill_z is None:
        return level
    return max(level, float(water.sill_z) + draft + keep)  # a deep boat waits for more water over the sill


def times_above(span, level, start, end):
    """When the water beyond the gate stands above a level: [(from, until)]; None: not known.

    Its ends count where the time's do.
    """
    if level is None or span.outer is None or span.outer.curve is None:
        return None
    first = max(instant(start), span.outer.curve.times[0])
    last = min(instant(end), span.outer.curve.times[-1])
    if first >= last:
        return None
    found = span.outer.curve.cut(first, last).above(level)
    return [(to_minute(moment(a)), to_minute(moment(b))) for a, b in found]


@dataclass(frozen=True)
class WayIn:
    """How one boat passes the gate.

    needs : level beyond it from which she passes [m above the outer datum]; None: not known.
    keep : what the house keeps under her keel over the sill [m].
    deep : her draught asks for more than the harbour's figure for any boat.
    why_not : what is missing where `needs` is not known: 'passes', 'sill' or 'draft'.
    times : when she passes as predicted; sure : when she also does with weather taking water away. None: not known.
    """

    needs: float | None
    keep: float
    deep: bool
    why_not: str
    times: list | None
    sure: list | None


def way_in(span, start, end, *, draft, keep):
    """The `WayIn` of a boat of this draught [m, None: not known] between two times; None where there is no gate."""
    water = span.water
    if span.outer is None:
        return None
    asked = {"passes": water.passes_above, "sill": water.sill_z, "draft": draft}
    why_not = next((name for name, figure in asked.items() if figure is None), "")
    level = None if why_not else needs(water, draft, keep)
    down = span.outer.surge(start, end).down
    return WayIn(
        needs=level,
        keep=keep,
        deep=level is not None and level > float(water.passes_above),
        why_not=why_not,
        times=times_above(span, level, start, end),
        sure=None if None in (level, down) else times_above(span, level + down, start, end),
    )
