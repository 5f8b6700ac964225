"""Works out how one boat is to be tied up at one berth. Pure: numbers in, numbers out, no database, no clock.

`tie_up(scenario) -> Verdict` is the door that everybody uses.

Conventions, stated here once
-----------------------------
Units: m, N, kg, s, degrees at the edge and radians inside; `_mm` where a name says so.

Berth frame: x, y horizontal, z up from chart datum; `bearing_deg` is the true bearing of +x, and y lies to the
left of +x. In a slip the origin is the middle of the inner (dock) end and +x points out to the fairway. At a
berth to lie alongside, the face is y = 0 from x = 0 to `length` and the water is at y > 0. Where a fitting or
face floats, its z is above the water surface.

Boat frame: x forward from her aftmost point, y to port, z up from the waterline. `loa` is the length over
everything as she lies.

Pose: the berth-frame place (x, y) of her centreline point at half `loa`, and the heading, counter-clockwise
from +x to the bow. In a slip heading 0 is stern-in and 180 bow-in.

Wind comes *from* a true direction, current runs *toward* one. A true bearing b is the angle `bearing_deg - b`
counter-clockwise from +x.

Arrays: the first axis is always the case; then lines or contact points.
"""

from berths.tieup.tie import explain, tie_up

__all__ = ["explain", "tie_up"]
