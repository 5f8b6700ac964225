"""The pictures of a working: what they show is what was worked out, and nothing stands on top of anything."""

import itertools
from xml.etree import ElementTree

import numpy as np
import pytest

from berths.cards.words import Reader
from berths.charts import pictures
from berths.drawing import working as drawn
from berths.drawing.chart import WIDTH, Axis, Curve, chart, even_axis
from berths.drawing.measure import SYSTEM
from berths.drawing.shapes import Circle, Text
from berths.drawing.svg import to_svg
from berths.tieup import tie, tie_up
from berths.tieup.curves import over_water_and_wind
from tests.engine import berthings
from tests.engine.test_flags import short_stern_lines

METRES, FEET = Reader(), Reader(units="ft", words="us")
SCENES = {
    "slip": berthings.slip,
    "fixed": berthings.fixed,
    "floating": berthings.floating,
    "short": lambda: berthings.slip(lines=short_stern_lines(), water__now=1.4),
    "still": lambda: berthings.fixed(water__low=1.0, water__high=1.0, water__surge_up=0.0, water__surge_down=0.0),
}  # fmt: skip


@pytest.fixture(scope="module", params=SCENES)
def told(request):
    scenario = berthings.scenario(SCENES[request.param]())
    return scenario, tie_up(scenario), over_water_and_wind(tie.solve(scenario)[0])


# --- the engine's arrays ---


def test_the_greatest_pull_and_movement_are_those_of_the_whole_working(told):
    """The batch has fewer heights than the working, and its ends and gusts are the same."""
    _, verdict, curves = told
    for row in verdict.lines:
        if not row.optional and row.peak_tension > 50:
            most = np.nanmax(curves.windy[:, curves.lines.index(row.id)])
            assert most == pytest.approx(row.peak_tension, rel=0.15), row.id
    if verdict.summary.counts.keys() <= {"ok", "all_slack"}:
        assert np.nanmax(curves.moved) == pytest.approx(verdict.summary.excursion, rel=0.15)


def test_wind_adds_to_no_fewer_lines_than_calm_and_arrays_have_their_shapes(told):
    _, _, curves = told
    levels, lines = len(curves.levels), len(curves.lines)
    assert curves.calm.shape == curves.windy.shape == (levels, lines)
    assert curves.moved.shape == (len(curves.speeds), len(curves.directions))
    assert (np.nan_to_num(curves.windy, nan=np.inf) >= np.nan_to_num(curves.calm)).all()
    assert curves.cases == levels * 13 + len(curves.speeds) * 36 * min(levels, 3)


def test_without_lines_there_is_nothing_to_draw():
    work = tie.solve(berthings.scenario(berthings.slip(berth__fittings=[])))[0]
    assert over_water_and_wind(work) is None


# --- the drawings ---


def drawings(scenario, verdict, curves, reader):
    lines = [
        (row, f"{row.boat_fitting.replace('_', ' ')} cleat to piling {row.shore_fitting}")
        for row in verdict.lines
    ]
    yield drawn.pull_over_water(curves, lines, reader, windy=True)
    yield drawn.pull_over_water(curves, lines, reader, windy=False)
    yield drawn.movement_round(curves, scenario, reader)
    yield drawn.wind_stood(verdict, scenario, curves.gust)
    yield drawn.water_stood(verdict, reader)


def apart(one, other):
    (a0, b0, a1, b1), (c0, d0, c1, d1) = one, other
    return a1 <= c0 + 1e-6 or c1 <= a0 + 1e-6 or b1 <= d0 + 1e-6 or d1 <= b0 + 1e-6


def widened(text):
    """As wide as a system face makes it."""
    a, b, c, d = text.bounds()
    more = (SYSTEM - 1) * (c - a) * {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor]
    return a - more, b, a - more + SYSTEM * (c - a), d


@pytest.mark.parametrize("reader", [METRES, FEET], ids=["m", "ft"])
def test_nothing_is_outside_and_no_label_is_on_another(told, reader):
    for drawing in filter(None, drawings(*told, reader)):
        low_u, low_v, high_u, high_v = drawing.box
        for shape in drawing.shapes:
            a, b, c, d = shape.bounds()
            assert low_u <= a and c <= high_u and low_v <= b and d <= high_v, shape
        words = [widened(s) for s in drawing.shapes if isinstance(s, Text)]
        for one, other in itertools.combinations(words, 2):
            assert apart(one, other), (drawing.title, one, other)
        discs = [s for s in drawing.shapes if isinstance(s, Circle)]
        for one, other in itertools.combinations(discs, 2):
            assert np.hypot(one.u - other.u, one.v - other.v) >= one.radius + other.radius, drawing.title


@pytest.mark.parametrize("reader", [METRES, FEET], ids=["m", "ft"])
def test_every_drawing_says_what_it_shows(told, reader):
    for drawing in filter(None, drawings(*told, reader)):
        svg = ElementTree.fromstring(to_svg(drawing))
        space = "{http://www.w3.org/2000/svg}"
        assert svg.find(f"{space}title").text == drawing.title
        assert svg.find(f"{space}desc").text and drawing.sentences
        text = f"{drawing.title} {' '.join(drawing.sentences)} {' '.join(s.words for s in drawing.shapes if isinstance(s, Text))}"
        assert (" ft" in text or "lb" in text or "kn" in text) if reader is FEET else " ft" not in text


def test_lines_are_told_apart_by_dash_and_number_not_by_colour(told):
    _, verdict, curves = told
    lines = [(row, "x") for row in verdict.lines if not row.optional]
    drawing = drawn.pull_over_water(curves, lines, METRES, windy=True)
    if drawing is None:
        assert len(curves.levels) < 2
        return
    for row, _ in lines:
        assert drawing.of(f"number {row.order}") and drawing.of(f"key number {row.order}")
    pens = {row.role.split("_")[0]: drawing.of(f"curve {row.order}")[0].pen for row, _ in lines}
    assert len(set(pens.values())) == len(pens), "another dash for each role"


def test_a_curve_has_a_gap_where_nothing_is_known():
    points = ((0, 1.0), (1, 2.0), (2, float("nan")), (3, 2.0), (4, 1.0))
    axis = Axis("x", 0, 4, ((0, "0"), (4, "4")))
    drawing = chart("t", axis, even_axis("y", 0, 2), [Curve("1", "one", points, "line-bow")])
    runs = drawing.of("curve 1")
    assert [len(run.points) for run in runs] == [2, 2] and runs[0].points[-1][0] < runs[1].points[0][0]
    assert drawing.width == WIDTH


def test_the_water_a_set_stands_is_drawn_where_it_ends(told):
    _, verdict, _ = told
    drawing = drawn.water_stood(verdict, METRES)
    if verdict.stands is None or verdict.stands.water is None:
        assert drawing is None
        return
    met, stood = drawing.of("span 0")[0].points, drawing.of("span 1")[0].points
    low, high = verdict.stands.water
    assert (stood[0][0] <= met[0][0] + 0.5) == (low.level <= drawing_low(verdict) + 0.01)
    assert stood[1][0] > stood[0][0] or low.level == high.level


def drawing_low(verdict):
    return verdict.summary.low - (verdict.summary.surge_down or 0)


def test_each_picture_has_a_table_or_says_why_there_is_none(told):
    scenario, verdict, curves = told
    for reader in (METRES, FEET):
        for picture in pictures(curves, scenario, verdict, reader):
            assert picture.told and all(picture.told)
            for row in picture.rows:
                assert len(row) == len(picture.head)
            if reader is FEET:
                assert not any(" kN" in cell or cell.endswith(" m") for row in picture.rows for cell in row)
