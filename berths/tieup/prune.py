"""Why a line cannot be put on: each candidate that falls away leaves its reason for the page."""

import numpy as np

from berths.tieup import geometry, leads
from berths.tieup.roles import role_words

FARTHEST = 4  # times her length: no line of hers is led to a fitting beyond


class Pruning:
    """Drops candidates with a reason that is kept for the page, each reason once."""

    def __init__(self, scenario, figures, levels):
        self.scenario, self.figures, self.levels = scenario, figures, np.asarray(levels, float)
        self.hull = np.array(scenario.boat.outline)
        self.reasons = []

    def drop(self, candidate, reason):
        text = f"{role_words(candidate.role)}, {candidate.key}: {reason}"
        if text not in self.reasons:
            self.reasons.append(text)

    def keeps(self, candidate):
        reason = self.reason_against(candidate)
        if reason:
            self.drop(candidate, reason)
        return not reason

    def reason_against(self, c):
        """Why this line cannot be put on, or None."""
        if not c.shore.in_use:
            return f"{c.shore.id} is out of use"
        if not c.boat.in_use:
            return f"her fitting {c.boat.id} is out of use"
        if c.run.lead > FARTHEST * self.scenario.boat.loa:
            return f"{c.run.lead:.0f} m away"
        distance = c.run.distance(self.levels)
        if distance.min() < self.figures.least_line_length:
            return f"only {distance.min():.2f} m long at some level"
        longest = self.scenario.rope.longest
        if longest and distance.max() > longest:
            return f"{distance.max():.1f} m is longer than the longest rope"
        return self._across_her(c) or self._over_gear(c) or self._over_neighbour(c)

    def _ends(self, c):
        shore = geometry.to_boat(self.scenario.boat, [[c.shore.x, c.shore.y]])[0]
        return np.array([c.boat.x, c.boat.y]), shore

    def _across_her(self, c):
        """Over her own deck is only allowed along the side she starts from."""
        a, b = self._ends(c)
        span = geometry.inside_span(self.hull, a, b)
        if span is None or a[1] == 0:
            return None
        crossing = -np.sign(a[1]) * (a[1] + (b[1] - a[1]) * span[1])
        return "runs across her own deck" if crossing > self.figures.centreline_crossing else None

    def _over_gear(self, c):
        (piece,) = leads.pieces(self.scenario, c.boat, c.shore)
        gear = leads.over_gear(self.scenario, self.figures, self.levels, piece)
        return f"passes over {gear}" if gear else None

    def _over_neighbour(self, c):
        start = geometry.to_berth(self.scenario.boat, [[c.boat.x, c.boat.y]])[0]
        for neighbour in self.scenario.berth.neighbours:
            if not neighbour.outline or len(neighbour.outline) < 3:
                continue
            if geometry.inside_span(geometry.convex_hull(neighbour.outline), start, (c.shore.x, c.shore.y)):
                return f"runs over the boat at {neighbour.id}"
        return None
