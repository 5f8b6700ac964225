"""The pictures of water and harbour: nothing outside the frame, no label on another, times by the harbour's clock."""

import math
import re
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import combinations
from types import SimpleNamespace
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from berths.drawing.harbour import harbour_plan
from berths.drawing.shapes import Polyline, Text
from berths.drawing.svg import to_svg
from berths.drawing.tide import water_curve
from berths.selectors.plan import harbour_on
from tests.cast import NOON, days, fix_clock, make_berth, make_stay, make_vessel

LONDON = ZoneInfo("Europe/London")
START = datetime(2027, 10, 14, 13, 45, tzinfo=UTC)
NOW = START + timedelta(hours=3)


def tide(half_range, *, period=12.42, mean=1.5, phase=0.0, start=START, length=39):
    """Points and turns of a cosine, so that each turn's time is known: phase + n half periods from the start."""
    hours = [n / 10 for n in range(length * 10 + 1)]
    wave = [(h, mean + half_range * math.cos(2 * math.pi * (h - phase) / period)) for h in hours]
    points = [(start + timedelta(hours=h), z) for h, z in wave]
    turns = []
    for n in range(-8, 9):
        h = phase + n * period / 2
        if 0 <= h <= length and half_range:
            level = mean + (half_range if n % 2 == 0 else -half_range)
            turns.append(SimpleNamespace(time=start + timedelta(hours=h), level=level, high=n % 2 == 0))
    return points, turns


def overlap(a, b):
    (a1, b1, a2, b2), (c1, d1, c2, d2) = a.bounds(), b.bounds()
    return min(a2, c2) - max(a1, c1) > 0.01 and min(b2, d2) - max(b1, d1) > 0.01


CASES = {
    "springs": tide(1.1),
    "big": tide(6.3, mean=6.5),
    "below datum": tide(0.4, mean=-0.3),
    "hardly moves": tide(0.02),
    "stands": tide(0.0),
    "diurnal": tide(0.5, period=24.84),
    **{f"turn at {h} h": tide(1.0, phase=h) for h in (0.0, 3.05, 5.9, 11.9)},
}


@pytest.mark.parametrize("units", ["m", "ft"])
@pytest.mark.parametrize("case", CASES)
class TestWaterCurve:
    def test_inside_the_frame_and_no_label_on_another(self, case, units):
        drawing = water_curve(*CASES[case], NOW, LONDON, units=units)
        left, low, right, high = drawing.box
        texts = [s for s in drawing.shapes if isinstance(s, Text)]
        for shape in drawing.shapes:
            u1, v1, u2, v2 = shape.bounds()
            assert left <= u1 + 0.01, shape
            assert u2 <= right + 0.01, shape
            assert low <= v1 + 0.01, shape
            assert v2 <= high + 0.01, shape
        assert [pair for pair in combinations(texts, 2) if overlap(*pair)] == []

    def test_every_coming_turn_is_told_with_time_and_level(self, case, units):
        points, turns = CASES[case]
        drawing = water_curve(points, turns, NOW, LONDON, units=units)
        coming = [t for t in turns if t.time >= NOW]
        said = [f"{t.time.astimezone(LONDON):%H:%M}" for t in coming]
        assert [s.words for s in drawing.of("turn time")] == said
        assert len(drawing.sentences) == len(coming)


@pytest.mark.parametrize("length", [39, 48, 71])
@pytest.mark.parametrize("phase", [0.0, 0.3, 0.6, 1.0, 2.0, 5.9, 6.2, 6.8, 11.5])
def test_a_turn_at_the_edge_of_the_frame_runs_into_no_other(phase, length):
    points, turns = tide(1.1, length=length, phase=phase)
    drawing = water_curve(points, turns, points[0][0], LONDON)
    texts = [s for s in drawing.shapes if isinstance(s, Text)]
    assert [pair for pair in combinations(texts, 2) if overlap(*pair)] == []
    assert len(drawing.of("turn")) == len(drawing.sentences), "each turn stands there and is told in words"


def test_a_turn_stands_where_its_time_and_level_are():
    points, turns = tide(1.0, mean=2.0, phase=6.0)
    drawing = water_curve(points, turns, NOW, LONDON)
    (curve,) = drawing.of("water")
    top = max(curve.points, key=lambda p: p[1])
    first = drawing.of("turn")[0]
    assert (first.u, first.v) == pytest.approx(top, abs=0.5)
    assert drawing.of("turn figure")[0].words == "3.00 m"


def test_when_the_clocks_change_the_ticks_stay_on_the_clock():
    """On 31 October 2027 at 01:00 UTC London goes back an hour: 06:00 there is 06:00 UTC, the day before 05:00."""
    start = datetime(2027, 10, 30, 12, tzinfo=UTC)
    drawing = water_curve(*tide(1.0, start=start), start, LONDON)
    ticks = [s for s in drawing.of("hour") if isinstance(s, Polyline)]
    hours = [(s.points[0][0] - 46) / 324 * 39 for s in ticks]
    assert hours == pytest.approx([5, 11, 18, 24, 30, 36])  # 18:00, 00:00 BST; 06:00, 12:00, 18:00, 00:00 GMT


@pytest.mark.django_db
class TestHarbourPlan:
    def plan(self, cast):
        fix_clock(NOON)
        slip = make_berth(kind="slip", code="B3", bearing_deg=Decimal(230), north=Decimal(30))
        side = make_berth(kind="fixed", code="C4", bearing_deg=Decimal(75), raft_depth=2)
        make_berth(kind="floating", code="A1")
        for berth, place, name in ((slip, 0, "Slow Biscuit"), (side, 0, "Inside"), (side, 1, "Outside")):
            make_stay(
                vessel=make_vessel(name=name),
                berth=berth,
                raft_place=place,
                state="fast",
                arrive=NOON - days(1),
            )
        return harbour_plan(*harbour_on(cast.hand, NOON))

    @pytest.mark.parametrize("far", [0, 7600])
    def test_inside_the_frame(self, cast, far):
        """Near by, and where a berth far off makes the codes large in metres."""
        if far:
            make_berth(kind="fixed", code="Z9", east=Decimal(far))
        drawing = self.plan(cast)
        left, low, right, high = drawing.box
        for shape in drawing.shapes:
            u1, v1, u2, v2 = shape.bounds()
            assert (left <= u1, low <= v1, u2 <= right, v2 <= high) == (True, True, True, True), shape

    def test_boats_lie_in_their_berths_and_beside_each_other(self, cast):
        drawing = self.plan(cast)
        (slip,) = drawing.of("boat Slow Biscuit")
        us, vs = zip(*slip.points, strict=True)
        # 10.4 m long, 0.6 m off the dock, along 230 degrees: her middle is 5.8 m from the berth's origin.
        (code,) = drawing.of("berth B3")
        middle = ((max(us) + min(us)) / 2, (max(vs) + min(vs)) / 2)
        assert math.dist(middle, (code.u, code.v)) < 0.8  # the code stands at half the berth's 12 m
        (inner,), (outer,) = drawing.of("boat Inside"), drawing.of("boat Outside")

        def centre(hull):
            return [sum(axis) / len(hull.points) for axis in zip(*hull.points, strict=True)]

        assert math.dist(centre(inner), centre(outer)) == pytest.approx(3.5, abs=0.3)  # one beam apart

    def test_says_who_lies_where_and_what_is_free(self, cast):
        told = self.plan(cast).sentences
        assert "B3: Slow Biscuit." in told
        assert "C4: Inside, Outside." in told
        assert told[-1] == "Free: A1."

    def test_each_berth_of_the_drawing_leads_to_its_page(self, cast, client):
        self.plan(cast)
        client.force_login(cast.hand)
        page = client.get("/plan/").content.decode()
        drawing = ElementTree.fromstring(page[page.index("<svg") : page.index("</svg>") + 6])
        links = drawing.findall(f".//{SVG}a")
        assert {link.get("href") for link in links} == {"/berths/A1/", "/berths/B3/", "/berths/C4/"}
        assert all(link.find(f"{SVG}path") is not None and link.find(f"{SVG}text").text for link in links)
        # Keys and screen readers have the list, which leads to the same pages; the drawing has a name and words.
        assert {link.get("tabindex") for link in links} == {"-1"}
        assert [g.get("aria-hidden") for g in drawing.iter(f"{SVG}g") if g.find(f"{SVG}a") is not None] == [
            "true"
        ]
        listed = page[page.index("The same as a list") :]
        assert all(f'href="{link.get("href")}"' in listed for link in links)
        assert "C4: Inside, Outside." in drawing.find(f"{SVG}desc").text
        assert drawing.find(f"{SVG}title").text

    def test_told_shortly_the_shapes_are_the_same(self, cast):
        drawing = self.plan(cast)
        for _ in range(3):
            make_berth(kind="slip")
        drawing = harbour_plan(*harbour_on(cast.hand, NOON))
        tree = ElementTree.fromstring(to_svg(drawing, large=True))
        hulls = next(p for p in tree.iter(f"{SVG}path") if p.get("class") == "sheet")
        told = [points_of(part) for part in hulls.get("d").split("z") if part]
        meant = [
            [
                ((u - drawing.box[0]) * drawing.per_metre, (drawing.box[3] - v) * drawing.per_metre)
                for u, v in s.points
            ]
            for s in drawing.of("boat ")
        ]
        assert [len(points) for points in told] == [len(points) for points in meant]
        for ours, theirs in zip(told, meant, strict=True):
            assert np.abs(np.array(ours) - theirs).max() < 0.051  # rounded once, however long the outline
        dots = [p for p in tree.iter(f"{SVG}path") if p.get("stroke-linecap") == "round"]
        piles = drawing.of("pile ")
        assert len(piles) == 16 and sum(p.get("d").count("h0") for p in dots) == 16

    def test_the_days_beside_it_are_one_press_away(self, cast, client):
        self.plan(cast)
        client.force_login(cast.hand)
        page = client.get("/plan/").content.decode()
        assert "?day=2027-10-13" in page and "?day=2027-10-15" in page


SVG = "{http://www.w3.org/2000/svg}"


def points_of(path):
    """Places of a path told by steps: M x y l dx dy dx dy ..."""
    start, steps = path.removeprefix("M").split("l")
    place = np.array([float(n) for n in start.split()])
    numbers = [float(n) for n in re.findall(r"-?(?:\d+\.?\d*|\.\d+)", steps)]
    out = [place]
    for step in zip(numbers[::2], numbers[1::2], strict=True):
        place = place + step
        out.append(place)
    return out
