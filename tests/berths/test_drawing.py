"""The drawings, tested on their shapes: what is where, to scale, and nothing on top of anything."""

import itertools
import math
from pathlib import Path
from xml.etree import ElementTree

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given, settings
from hypothesis import strategies as st

from berths.cards.words import Reader
from berths.drawing import geometry as g
from berths.drawing.describe import describe_elevation, describe_plan
from berths.drawing.elevation import elevation
from berths.drawing.labels import spread
from berths.drawing.measure import text_width, wrap
from berths.drawing.plan import CARD, PAGE, plan
from berths.drawing.ruler import Mark, ruler
from berths.drawing.shapes import Circle, Polygon, Polyline, Text
from berths.drawing.svg import PENS, to_svg
from berths.tieup import scenario as wanted
from tests.berths import tieups

FONTS = Path(__file__).parents[2] / "berths" / "cards" / "fonts"
MARKS = (
    Mark(0.9, ("now", "17:55"), now=True),
    Mark(2.3, ("high", "23:20", "2.3 m")),
    Mark(0.41, ("low Fri", "05:40", "0.4 m")),
)
CASES = {
    "slip": (tieups.slip, tieups.slip_answer),
    "fixed": (tieups.alongside, tieups.alongside_answer),
    "floating": (lambda: tieups.alongside("floating"), tieups.alongside_answer),
}
ARROWS = (("wind now", 60.0), ("stream", 200.0))


@pytest.fixture(params=CASES)
def tied(request):
    scenario, answer = CASES[request.param]
    return scenario(), answer()


def drawings(scenario, answer):
    yield plan(scenario, answer, CARD, arrows=ARROWS)
    yield plan(scenario, answer, PAGE, arrows=ARROWS)
    yield elevation(scenario, answer)
    yield ruler(scenario, MARKS)


def inside(inner, outer, room=1e-6):
    return all(inner[i] >= outer[i] - room and inner[i + 2] <= outer[i + 2] + room for i in (0, 1))


def assert_nothing_outside(drawing):
    for shape in drawing.shapes:
        assert inside(shape.bounds(), drawing.box), shape


def overlap(a, b, room=1e-9):
    return a[0] < b[2] - room and b[0] < a[2] - room and a[1] < b[3] - room and b[1] < a[3] - room


def assert_labels_apart(drawing):
    labels = [s for s in drawing.shapes if isinstance(s, Text)]
    for i, one in enumerate(labels):
        for other in labels[i + 1 :]:
            assert not overlap(one.bounds(), other.bounds()), (one.words, other.words)


def assert_line_ends_free(drawing):
    """No number and no name covers the place where a line ends."""
    ends = [p for s in drawing.of("line ") if isinstance(s, Polyline) for p in (s.points[0], s.points[-1])]
    for label in [s for s in drawing.shapes if isinstance(s, Text) or s.pen == "disc"]:
        for u, v in ends:
            assert not overlap(label.bounds(), (u, v, u, v), room=-1e-9), (label, u, v)


def test_nothing_lies_outside_the_frame(tied):
    for drawing in drawings(*tied):
        assert_nothing_outside(drawing)


def test_no_label_covers_another_or_the_end_of_a_line(tied):
    for drawing in drawings(*tied):
        assert_labels_apart(drawing)
        assert_line_ends_free(drawing)


def test_every_line_ends_on_its_fittings(tied):
    """At a cleat on it, at a pile on its face; aboard exactly at the fitting."""
    scenario, answer = tied
    drawing = plan(scenario, answer, PAGE)
    for line in answer.lines:
        (path,) = [s for s in drawing.of(f"line {line.id}") if isinstance(s, Polyline)]
        found = next(f for f in scenario.berth.fittings if f.id == line.shore_fitting)
        at = (-found.y, found.x) if scenario.berth.kind == "slip" else (found.x, found.y)
        away = g.length(g.sub(path.points[-1], at))
        assert away == pytest.approx(found.diameter / 2 if found.kind == "pile" else 0.0, abs=1e-9)
        (aboard,) = drawing.of(f"aboard {line.boat_fitting}")
        assert path.points[0] == (aboard.u, aboard.v)


def test_every_line_is_numbered_in_the_order_it_goes_on(tied):
    scenario, answer = tied
    numbers = [s.words for s in plan(scenario, answer, CARD).of("number ") if isinstance(s, Text)]
    assert sorted(numbers) == sorted(str(line.order) for line in answer.lines)


def test_a_number_sits_by_the_shore_end_of_its_line():
    drawing = plan(tieups.slip(), tieups.slip_answer(), CARD)
    for line in tieups.slip_lines():
        (path,) = [s for s in drawing.of(f"line {line.id}") if isinstance(s, Polyline)]
        disc = next(s for s in drawing.of(f"number {line.id}") if isinstance(s, Circle))
        start, end = path.points[0], path.points[-1]
        to_start, to_end = (g.length(g.sub((disc.u, disc.v), p)) for p in (start, end))
        assert to_end <= to_start, line.id


def test_the_hull_is_to_scale_and_her_bow_is_where_she_points(tied):
    """Her length in the picture is her length; berth frame to picture by hand: a slip's +x is up."""
    scenario, answer = tied
    (hull,) = plan(scenario, answer).of("hull")
    u0, v0, u1, v1 = hull.bounds()
    along = (v1 - v0) if scenario.berth.kind == "slip" else (u1 - u0)
    assert along == pytest.approx(11.0)
    assert (u1 - u0 if scenario.berth.kind == "slip" else v1 - v0) == pytest.approx(3.5)
    tip = max(hull.points, key=lambda p: p[1] if scenario.berth.kind == "slip" else p[0])
    assert tip == pytest.approx((0.0, 11.6) if scenario.berth.kind == "slip" else (12.3, 1.95))


def test_the_hull_lies_inside_the_berth(tied):
    scenario, answer = tied
    (hull,) = plan(scenario, answer).of("hull")
    u0, v0, u1, _ = hull.bounds()
    if scenario.berth.kind == "slip":
        half = scenario.berth.clear_width / 2
        assert v0 >= 0 and -half <= u0 and u1 <= half
    else:
        assert v0 >= 0 and u0 >= 0 and u1 <= scenario.berth.length


def test_piles_are_drawn_at_their_true_diameter():
    drawing = plan(tieups.slip(), tieups.slip_answer(), CARD)
    (pile,) = drawing.of("pile P3")
    assert isinstance(pile, Circle) and pile.radius == 0.15 and (pile.u, pile.v) == (-2.4, 12.6)


def test_a_mirrored_berth_gives_a_mirrored_picture():
    data = tieups.slip().model_dump(mode="json")
    for f in data["berth"]["fittings"]:
        f["y"] = -f["y"]
    data["boat"]["outline"] = None
    answer = tieups.slip_answer()
    straight = wanted.from_data(tieups.slip().model_dump(mode="json") | {"boat": data["boat"]})
    swap = {"port": "starboard", "starboard": "port"}
    turned = [
        line.model_copy(
            update={"boat_fitting": "_".join(swap.get(w, w) for w in line.boat_fitting.split("_"))}
        )
        for line in answer.lines
    ]
    one = plan(straight, answer, PAGE)
    other = plan(wanted.from_data(data), answer.model_copy(update={"lines": turned}), PAGE)
    for line in answer.lines:
        (a,), (b,) = (
            [s.points for s in d.of(f"line {line.id}") if isinstance(s, Polyline)] for d in (one, other)
        )
        assert [(-u, v) for u, v in a] == [pytest.approx(p) for p in b]


def test_a_line_led_round_a_pile_is_drawn_round_it():
    """It keeps clear of the pile's inside by exactly the radius, and turns there."""
    lines = [
        {
            "id": "L1",
            "boat_fitting": "mid_starboard",
            "shore_fitting": "D2",
            "length": 9.0,
            "via": {"fitting": "P2", "turn": "slides"},
        }
    ]
    answer = tieups.answer([tieups.line(1, "spring", "mid_starboard", "D2", "aft", "going ahead")])
    drawing = plan(tieups.slip(lines=lines), answer, PAGE)
    (path,) = [s.points for s in drawing.of("line L1") if isinstance(s, Polyline)]
    pile = (2.4, 5.5)
    assert min(g.to_segment(pile, p, q) for p, q in itertools.pairwise(path)) == pytest.approx(
        0.15, abs=0.005
    )
    assert len(path) > 3


@given(st.floats(0, math.tau), st.floats(0, math.tau), st.floats(0.5, 8), st.floats(0.5, 8))
@settings(max_examples=200, deadline=None)
def test_a_rope_round_a_pile_never_cuts_through_it(a, b, one, other):
    start, end = (one * math.cos(a), one * math.sin(a)), (other * math.cos(b), other * math.sin(b))
    path = g.round_pile(start, (0.0, 0.0), 0.15, end)
    for p, q in itertools.pairwise(path):
        assert g.to_segment((0.0, 0.0), p, q) >= 0.15 * math.cos(0.18) - 1e-6
    assert path[0] == start and path[-1] == end


def test_the_line_that_works_hardest_is_heavier_and_roles_differ_by_stroke():
    drawing = plan(tieups.slip(), tieups.slip_answer(), CARD)
    pens = {s.of: s.pen for s in drawing.of("line ") if isinstance(s, Polyline)}
    assert pens["line L2"] == "line-stern+" and pens["line L3"] == "line-stern"
    assert len({PENS[pens[f"line L{n}"]].get("dash") for n in (1, 3, 5)}) == 3


def test_her_reach_is_on_the_page_and_not_on_the_card():
    scenario, answer = tieups.slip(), tieups.slip_answer()
    (band,) = plan(scenario, answer, PAGE).of("reach")
    assert band.bounds() == pytest.approx((-2.1, 0.3, 2.1, 12.0))
    assert not plan(scenario, answer, CARD).of("reach")


def test_the_card_has_no_north_and_no_scale_and_the_page_has_both():
    scenario, answer = tieups.slip(), tieups.slip_answer()
    card, page = plan(scenario, answer, CARD), plan(scenario, answer, PAGE)
    assert not card.of("scale") and not card.of("arrow N")
    bar = next(s for s in page.of("scale") if isinstance(s, Polyline))
    words = next(s.words for s in page.of("scale") if isinstance(s, Text))
    u0, _, u1, _ = bar.bounds()
    assert words == f"{u1 - u0:.0f} m"


def test_north_is_where_the_bearing_says():
    """+x of this slip, up in the picture, bears 230, and angles to the left of it bear less."""
    drawing = plan(tieups.slip(), tieups.slip_answer(), PAGE)
    shaft = next(s.points for s in drawing.of("arrow N") if isinstance(s, Polyline))
    du, dv = g.sub(shaft[1], shaft[0])
    bearing = (230 - math.degrees(math.atan2(dv, du) - math.pi / 2)) % 360
    assert bearing == pytest.approx(0, abs=1e-6) or bearing == pytest.approx(360, abs=1e-6)


def test_neighbours_are_left_out_when_the_reader_may_not_know_them():
    scenario, answer = tieups.slip(), tieups.slip_answer()
    assert plan(scenario, answer).of("neighbour B2")
    assert not plan(scenario, answer, neighbours=False).of("neighbour ")
    assert "B2" not in " ".join(describe_plan(scenario, answer, Reader(), neighbours=False))


def test_what_has_no_place_is_said_and_not_drawn():
    data = tieups.slip().model_dump(mode="json")
    data["berth"]["fittings"][1]["x"] = None
    scenario = wanted.from_data(data)
    drawing = plan(scenario, tieups.slip_answer(), CARD)
    assert not drawing.of("line L2")
    said = " ".join(describe_plan(scenario, tieups.slip_answer(), Reader()))
    assert "Line 2 is not drawn: the place of D2 is not known." in said


def test_a_berth_of_which_next_to_nothing_is_known_is_still_drawn():
    bare = wanted.from_data(
        {
            "version": 1,
            "berth": {"kind": "fixed"},
            "boat": {"loa": 9, "beam": 3, "x": 5, "y": 1.7, "heading_deg": 0},
        }
    )
    for drawing in (plan(bare), plan(bare, paper=CARD), elevation(bare), ruler(bare, ())):
        assert_nothing_outside(drawing)
        assert to_svg(drawing, unit="mm").startswith("<svg")
    said = " ".join(describe_elevation(bare, Reader()))
    for words in ("water at this berth is not known", "bed at this berth is not known", "dock is not known"):
        assert words in said


def test_side_view_is_to_scale_and_shows_her_at_both_ends_of_the_water():
    """Lowest 0.41 - 0.30, highest 2.40 + 0.60; rail 1.10 above the water at its highest fitting, by hand."""
    drawing = elevation(tieups.slip(), tieups.slip_answer())
    (low,), (high,) = drawing.of("hull low"), drawing.of("hull high")
    assert low.bounds()[1] == pytest.approx(0.11 - 1.8)
    assert high.bounds()[1] == pytest.approx(3.0 - 1.8)
    assert low.bounds()[2] - low.bounds()[0] == pytest.approx(11.0)
    words = [s.words for s in drawing.of("height ") if isinstance(s, Text)]
    assert words == [
        "pile tops 4.60 m",
        "dock edge 3.70 m",
        "highest 3.00 m",
        "underside 1.20 m",
        "lowest 0.11 m",
        "bed -0.80 m",
    ]


def timber_pier(**berth):
    """Face piles with gaps that stand 1.7 m above the edge one steps from."""
    data = tieups.alongside().model_dump(mode="json", exclude_none=True)
    data["berth"]["faces"][0] |= {"top_z": 5.2, "continuous": False}
    data["berth"] |= berth
    return wanted.from_data(data)


def test_the_edge_one_steps_from_is_the_dock_and_not_the_tops_of_its_face_piles():
    told = " ".join(describe_elevation(timber_pier(edge_z=3.5), Reader()))
    assert "Dock edge at 3.50 m." in told and "5.20" not in told
    drawn = elevation(timber_pier(edge_z=3.5))
    assert {v for shape in drawn.of("dock edge") for _, v in shape.points} == {3.5}
    strip = ruler(timber_pier(edge_z=3.5), MARKS)
    assert {v for shape in strip.of("dock edge") for _, v in shape.points} == {3.5}


def test_without_that_edge_the_height_of_a_pier_of_piles_is_not_known():
    assert "The height of the dock is not known." in describe_elevation(timber_pier(), Reader())
    assert not elevation(timber_pier()).of("dock edge")
    assert "Dock edge at 3.50 m." in describe_elevation(
        tieups.alongside(), Reader()
    )  # a closed face tells it


def test_side_view_says_that_she_wants_more_water():
    said = " ".join(describe_elevation(tieups.slip(), Reader()))
    assert "at the lowest water she wants 0.90 m more water than there is" in said  # 0.11 - 1.80 + 0.80


def test_the_ruler_is_drawn_to_scale_with_the_berth():
    drawing = ruler(tieups.alongside(), MARKS, width=14, height=110)
    assert drawing.width == pytest.approx(14) and drawing.height == pytest.approx(110)
    assert drawing.of("dock edge")[0].points[0][1] == 3.5
    assert drawing.of("bed")[0].points[0][1] == -2.4
    assert drawing.of("section at low")[0].bounds()[1] == pytest.approx(0.11 - 1.8)
    assert drawing.of("water now")[0].bounds()[1] < 0.9 < drawing.of("water now")[0].bounds()[3]


def test_the_ruler_of_a_floating_berth_is_words():
    drawing = ruler(tieups.alongside("floating"), MARKS)
    said = " ".join(s.words for s in drawing.shapes if isinstance(s, Text))
    assert "dock and boat move together" in said and "05:40" in said


def test_the_ruler_says_when_the_water_is_not_known():
    drawing = ruler(tieups.slip(water=None), ())
    assert "not known" in " ".join(s.words for s in drawing.shapes if isinstance(s, Text))


@given(
    st.lists(st.floats(-5, 5), min_size=1, max_size=8),
    st.lists(st.floats(0.1, 0.6), min_size=8, max_size=8),
)
@settings(deadline=None)
def test_labels_spread_along_a_line_never_overlap(wishes, heights):
    wishes = sorted(wishes, reverse=True)
    heights = heights[: len(wishes)]
    spots = spread(wishes, heights, -6, 6)
    for (a, h), (b, k) in zip(
        zip(spots, heights, strict=True), list(zip(spots, heights, strict=True))[1:], strict=False
    ):
        assert a - b >= (h + k) / 2 - 1e-5
    assert spots[-1] - heights[-1] / 2 >= -6 - 1e-5 and spots[0] + heights[0] / 2 <= 6 + 1e-5


@given(st.lists(st.sampled_from(["spring", "stern", "bow", "breast"]), min_size=6, max_size=12), st.data())
@settings(max_examples=60, deadline=None)
def test_labels_stay_apart_however_many_lines_there_are(roles, data):
    """Up to twelve lines between any fittings of the slip, several to one pile."""
    aboard = [f"{p}_{s}" for p in ("bow", "mid", "stern") for s in ("port", "starboard")]
    ashore = [f.id for f in tieups.slip().berth.fittings]
    lines = [
        tieups.line(
            n,
            role,
            data.draw(st.sampled_from(aboard)),
            data.draw(st.sampled_from(ashore)),
            "aft",
            "going ahead",
        )
        for n, role in enumerate(roles, start=1)
    ]
    drawing = plan(tieups.slip(), tieups.answer(lines), CARD, arrows=ARROWS)
    assert_nothing_outside(drawing)
    assert_labels_apart(drawing)
    assert_line_ends_free(drawing)
    assert len([s for s in drawing.of("number ") if isinstance(s, Text)]) == len(lines)


def test_svg_has_attributes_only_and_says_what_it_shows(tied):
    scenario, answer = tied
    sentences = describe_plan(scenario, answer, Reader())
    for unit in ("", "mm"):
        svg = to_svg(plan(scenario, answer, sentences=tuple(sentences)), unit=unit)
        root = ElementTree.fromstring(svg)
        tags = {element.tag.split("}")[1] for element in root.iter()}
        assert tags <= {"svg", "title", "desc", "path", "circle", "text"}
        assert not any("style" in element.attrib for element in root.iter())
        assert "Line 1" in root.find("{http://www.w3.org/2000/svg}desc").text
        assert len(list(root.iter())) < 110  # few elements print fast


def test_names_are_escaped_in_svg():
    data = tieups.slip().model_dump(mode="json")
    data["berth"]["fittings"][0]["id"] = "<D&1>"
    lines = [tieups.line(1, "stern", "stern_starboard", "<D&1>", "aft", "going ahead")]
    svg = to_svg(plan(wanted.from_data(data), tieups.answer(lines), CARD), unit="mm")
    assert "&lt;D&amp;1&gt;" in svg
    ElementTree.fromstring(svg)


def test_every_pen_is_black_on_white_on_a_card(tied):
    """One ink: no grey that a mono printer or wet paper would lose."""
    for drawing in (plan(*tied, CARD), ruler(tied[0], MARKS)):
        root = ElementTree.fromstring(to_svg(drawing, unit="mm"))
        colours = {
            e.attrib[k] for e in root.iter() for k in ("fill", "stroke") if e.attrib.get(k, "none") != "none"
        }
        assert colours <= {"#000", "#fff"}


def test_words_are_as_wide_as_the_printed_face_says():
    """Advance widths as they stand in the font files themselves, and every figure as wide as the next."""
    for bold, face in ((False, "Regular"), (True, "Bold")):
        font = TTFont(FONTS / f"RobotoCondensed-{face}-latin.ttf")
        names, em = font.getBestCmap(), font["head"].unitsPerEm
        for letter in "AWil. ż":
            advance = font["hmtx"][names[ord(letter)]][0] / em
            assert text_width(letter, bold=bold) == pytest.approx(advance, abs=1e-4)
        assert len({text_width(figure, bold=bold) for figure in "0123456789"}) == 1


@given(
    st.text(alphabet="abcdefgh WMil.,", max_size=80),
    st.floats(4, 60),
)
@settings(deadline=None)
def test_wrapping_loses_nothing_and_keeps_to_the_width(words, width):
    lines = wrap(words, width, 3.0)
    assert "".join(lines).replace(" ", "") == words.replace(" ", "")
    assert all(text_width(line) * 3.0 <= width or len(line) == 1 for line in lines)


def test_shapes_know_their_bounds():
    assert Polygon(((0, 0), (2, 1)), "hull").bounds() == (0, 0, 2, 1)
    assert Circle(1, 1, 0.5, "pile").bounds() == (0.5, 0.5, 1.5, 1.5)
