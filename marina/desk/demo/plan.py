"""Places of the survey: from metres along an edge to metres east and north, and into a berth's frame."""

import math

from marina.desk.demo.rows import metres

END_ON = ("slip", "box", "stern_to")


class Edge:
    """A straight line on the plan: s runs along its bearing, t to the left of it, over the water. [m, degrees]"""

    def __init__(self, origin, bearing):
        self.east, self.north = origin
        self.bearing = bearing
        angle = math.radians(bearing)
        self.along, self.left = (math.sin(angle), math.cos(angle)), (-math.cos(angle), math.sin(angle))

    def plan(self, s, t):
        """East and north of a place along the edge, to 0.1 mm."""
        east = self.east + s * self.along[0] + t * self.left[0]
        north = self.north + s * self.along[1] + t * self.left[1]
        return metres(round(east, 4)), metres(round(north, 4))


class Spot:
    """A berth on its edge: which place of the edge is x = y = 0, and which way +x runs.

    >>> slip = Spot(Edge((0, 0), 90), 10.0, "slip")
    >>> slip.bearing, slip.of_edge(8.3, 5.5), slip.to_edge(5.5, 1.7)
    (0, (5.5, 1.7), (8.3, 5.5))
    """

    def __init__(self, edge, at, kind):
        self.edge, self.at, self.end_on = edge, at, kind in END_ON
        self.bearing = (edge.bearing - 90 * self.end_on) % 360

    def of_edge(self, s, t):
        """(s, t) of the edge in the berth's frame."""
        x, y = (t, self.at - s) if self.end_on else (s - self.at, t)
        return round(x, 4), round(y, 4)

    def to_edge(self, x, y):
        """(x, y) of the berth's frame along the edge."""
        s, t = (self.at - y, x) if self.end_on else (x + self.at, y)
        return round(s, 4), round(t, 4)

    def plan(self, x, y):
        """East and north of (x, y) of the berth's frame."""
        return self.edge.plan(*self.to_edge(x, y))
