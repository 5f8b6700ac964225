"""The drawings of every boat of the invented harbour: nothing over anything, nothing outside, every line told."""

import pytest

from berths import survey
from berths.cards.words import Reader
from berths.drawing.describe import describe_elevation, describe_plan
from berths.drawing.details import DETAILS, detail, details_for
from berths.drawing.elevation import elevation, steepness
from berths.drawing.levels import levels_of
from berths.drawing.plan import CARD, PAGE, plan
from berths.drawing.shapes import Text
from berths.drawing.svg import to_svg
from berths.tieup import tie_up
from tests.berths import tieups
from tests.berths.test_drawing import (
    assert_labels_apart,
    assert_line_ends_free,
    assert_nothing_outside,
    inside,
    overlap,
)
from tests.demo_harbour import wendlow  # noqa: F401 (a fixture)

pytestmark = pytest.mark.django_db
ARROWS = (("wind now", 60.0), ("stream", 200.0))


@pytest.fixture(scope="module")
def tied(wendlow, django_db_blocker):  # noqa: F811
    """(place, Scenario, Verdict) of every stay that has one."""
    with django_db_blocker.unblock():
        asked = {place: survey.scenario_of(stay) for place, stay in wendlow.stays.items()}
    return [(place, scenario, tie_up(scenario)) for place, scenario in asked.items() if scenario]


def assert_numbers_apart(drawing):
    """Neither words nor the discs and plates they stand on cover each other."""
    plates = [s for s in drawing.shapes if s.pen == "disc"]
    for i, one in enumerate(plates):
        for other in plates[i + 1 :]:
            assert not overlap(one.bounds(), other.bounds(), room=1e-6), (one.of, other.of)


def test_no_label_covers_another_or_the_end_of_a_line_at_any_berth(tied):
    assert len(tied) > 20
    for place, scenario, verdict in tied:
        now = levels_of(scenario).lowest
        now = None if now is None else now + 0.7
        for drawing in (
            plan(scenario, verdict, CARD, arrows=ARROWS),
            plan(scenario, verdict, PAGE, arrows=ARROWS),
            elevation(scenario, verdict, now=now),
        ):
            try:
                assert_nothing_outside(drawing)
                assert_labels_apart(drawing)
                assert_numbers_apart(drawing)
                assert_line_ends_free(drawing)
            except AssertionError as error:
                raise AssertionError(f"{place}, {drawing.title}: {error}") from error


def test_every_line_has_its_number_in_the_plan_at_any_berth(tied):
    for place, scenario, verdict in tied:
        for paper in (CARD, PAGE):
            drawing = plan(scenario, verdict, paper)
            numbers = sorted(int(s.words) for s in drawing.of("number ") if isinstance(s, Text))
            assert numbers == sorted(line.order for line in verdict.lines), place


def test_what_is_drawn_is_told_at_any_berth(tied):
    for place, scenario, verdict in tied:
        told = " ".join(describe_plan(scenario, verdict, Reader()))
        side = " ".join(describe_elevation(scenario, Reader(), verdict))
        for line in verdict.lines:
            assert f"Line {line.order} (" in told, place
            if line.id in steepness(scenario, verdict, levels_of(scenario).lowest):
                assert f"Line {line.order} leads from her" in side, place


# --- the water now, and how steep lines lead ---


def test_the_side_view_shows_her_at_the_water_of_now_where_that_is_known():
    scenario, answer = tieups.slip(), tieups.slip_answer()
    drawing = elevation(scenario, answer, now=0.9)
    (hull,) = drawing.of("hull now")
    assert hull.bounds()[1] == pytest.approx(0.9 - 1.8)
    assert "now 0.90 m" in [s.words for s in drawing.of("height ") if isinstance(s, Text)]
    assert not elevation(scenario, answer).of("hull now")
    told = describe_elevation(scenario, Reader(), answer, now=0.9)
    assert "The water now, wavy: 0.90 m; she is dotted at it." in told


def test_how_steep_a_line_leads_is_worked_out_from_both_ends():
    """By hand: line 2 from her port stern cleat to D2 at (0, -1.7, 3.7); lowest water 0.11 m."""
    scenario, answer = tieups.slip(), tieups.slip_answer()
    low = steepness(scenario, answer, 0.11)["L2"]
    high = steepness(scenario, answer, 3.0)["L2"]
    assert low > 20 and low > high
    told = " ".join(describe_elevation(scenario, Reader(), answer))
    assert f"Line 2 leads from her {round(low)}° up at the lowest water" in told


def test_at_a_floating_dock_a_line_leads_as_steep_at_any_water():
    scenario, answer = tieups.alongside("floating"), tieups.alongside_answer()
    assert steepness(scenario, answer, 0.0) == pytest.approx(steepness(scenario, answer, 2.0))


# --- small pictures ---


@pytest.mark.parametrize("name", DETAILS)
@pytest.mark.parametrize("height", [13.0, 22.0])
def test_a_small_picture_stays_in_its_frame_and_says_what_it_shows(name, height):
    drawing = detail(name, height)
    for shape in drawing.shapes:
        assert inside(shape.bounds(), drawing.box), shape
    svg = to_svg(drawing)
    assert f"<title>{drawing.title}</title>" in svg and drawing.sentences[0] in svg
    sizes = {round(s.size * drawing.per_metre, 3) for s in drawing.shapes if isinstance(s, Text)}
    assert sizes <= {3.0}  # whatever the size of the picture
    page = detail(name, 150, 14)
    assert page.height == pytest.approx(150)
    for shape in page.shapes:
        assert inside(shape.bounds(), page.box), shape


def test_small_pictures_are_those_that_apply():
    assert details_for(tieups.slip(), tieups.slip_answer()) == ("eye", "turn", "hitch", "low")
    assert details_for(tieups.alongside("floating"), tieups.alongside_answer()) == ("eye", "turn")
    assert details_for(None, None) == ()


def test_small_pictures_follow_the_houses_rule_for_the_eye_what_is_done_ashore_first():
    ashore = details_for(tieups.alongside("floating"), tieups.alongside_answer(), "ashore")
    aboard = details_for(tieups.alongside("floating"), tieups.alongside_answer(), "aboard")
    assert ashore == ("eye ashore", "tail aboard")
    assert aboard == ("tail ashore", "eye aboard")
    assert detail("tail ashore").sentences[0].startswith("Tail ashore: far horn (1)")
