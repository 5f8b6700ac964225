"""Steady wind and stream on the boat at her berthed heading, and the coefficients they rest on.

Frames and signs: see the docstring of `berths.tieup`.
"""

from pathlib import Path

import numpy as np

from vessels.coefficients import read_coefficients

KNOT = 0.514444  # m/s
_DATA = Path(__file__).parent / "data" / "loads.yaml"


def coefficient(name):
    """A figure of `data/loads.yaml` with its unit and source.

    >>> coefficient("air_density")
    Coefficient(value=1.221, unit='kg/m3', source='UFC 4-159-03 ... 20 C')
    """
    return read_coefficients(_DATA)[name]


def drag(density, cd, area, speed):
    """Steady drag with the sign of the speed: 1/2 rho Cd A v|v|. [N]

    Parameters
    ----------
    density, cd, area : float or array_like
        [kg/m3], [-], [m2].
    speed : float or array_like
        Component of the flow square to the area. [m/s]

    Examples
    --------
    >>> float(drag(1.221, 1.1, 20.0, 15.0).round(1))
    3022.0
    """
    speed = np.asarray(speed, float)
    return 0.5 * density * cd * area * speed * np.abs(speed)


def force(scenario, cases):
    """Load of each case on the boat, in the berth frame.

    Ahead and across are taken each by its own component (v|v|), at the heading she is berthed at: the load
    stands still while she moves, so that the balance has an energy.

    Parameters
    ----------
    scenario : Scenario
        With `boat.windage` and `boat.underwater` given in full where a case has wind or current.
    cases : list of Case
        Absent wind, current or moment counts as none.

    Returns
    -------
    ndarray, (cases, 3)
        Fx, Fy [N] and the moment counter-clockwise [N m] about half her length.

    Raises
    ------
    ValueError
        Naming the case whose wind or current has no direction, or the area that is missing.
    """
    heading = np.radians(scenario.boat.heading_deg)
    wind = -_flow(cases, "wind_speed", "wind_from_deg", scenario.bearing_deg, heading)
    stream = _flow(cases, "current_speed", "current_toward_deg", scenario.bearing_deg, heading)
    ahead, port = _both_ways("windage", scenario.boat.windage, "air_density", wind) + _both_ways(
        "underwater", scenario.boat.underwater, "water_density", stream
    )
    c, s = np.cos(heading), np.sin(heading)
    moment = np.array([case.yaw_moment or 0.0 for case in cases], float)
    return np.column_stack([c * ahead - s * port, s * ahead + c * port, moment])


def _flow(cases, speed_field, direction_field, bearing, heading):
    """Speed along the stated direction, split ahead and to port of the boat, (2, cases). [m/s]"""
    speeds, angles = np.zeros(len(cases)), np.zeros(len(cases))
    for i, case in enumerate(cases):
        speeds[i] = getattr(case, speed_field) or 0.0
        direction = getattr(case, direction_field)
        if direction is not None:
            angles[i] = bearing - direction
        elif speeds[i]:
            raise ValueError(f"case {case.id!r}: {speed_field} without {direction_field}; give the direction")
    relative = np.radians(angles) - heading
    return speeds * np.array([np.cos(relative), np.sin(relative)])


def _both_ways(name, areas, density, flow):
    """Drag ahead and to port, (2, cases). [N]"""
    if not flow.any():
        return np.zeros_like(flow)
    given = {
        field: getattr(areas, field, None) for field in ("frontal_area", "side_area", "cd_front", "cd_side")
    }
    for field, value in given.items():
        if value is None:
            raise ValueError(f"boat.{name}.{field}: missing, and needed for the load")
    rho = coefficient(density).value
    return np.array(
        [
            drag(rho, given["cd_front"], given["frontal_area"], flow[0]),
            drag(rho, given["cd_side"], given["side_area"], flow[1]),
        ]
    )
