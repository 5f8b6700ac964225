"""What must hold whatever the numbers are: mirrors, turns, order, splitting, and harbours no one would moor in."""

import numpy as np
import pytest

from berths.tieup import cases
from berths.tieup.equilibrium import TOLERANCE, Problem
from berths.tieup.scenario import from_data
from tests.engine import scenes, wild
from tests.engine.independent import by_minimisation
from tests.engine.scenes import aboard, ashore, line, pressed, scene

CLOSE = 2e-5  # m and rad; what a residual of 1e-3 N leaves open in the softest of these scenes is less
SCENES = ("slip", "alongside")


def weather(scenario):
    water = scenario.water
    return cases.grid(
        scenario, list(np.linspace(water.low, water.high, 4)), [17.0, 130.0, 260.0], [8.0, 15.0]
    )[:]


def loaded(scenario):
    return [case for case in weather(scenario) if case.wind_speed]


def answer(scenario, every, sets=None):
    problem = Problem(scenario, sets or [scenario.lines], every)
    solution = problem.solve(second_start="none")
    assert (solution.residual <= TOLERANCE).all()
    return problem, solution


def changed(scenario, change):
    """The Scenario again after `change` on its plain data."""
    data = scenario.model_dump(exclude_none=True)
    change(data)
    return from_data(data)


def turned(data, by):
    """The same harbour with another bearing: every true direction turns along."""
    data["berth"]["bearing_deg"] = (data["berth"]["bearing_deg"] + by) % 360


@pytest.mark.parametrize("name", SCENES)
def test_mirrored_berth_gives_mirrored_answers(name):
    """R-CF-21: y and heading change sign, tensions stay with their lines."""
    scenario = getattr(scenes, name)()
    every = loaded(scenario)

    def mirror(data):
        for row in [*data["berth"]["fittings"], *data["boat"]["fittings"]]:
            row["y"] = -row["y"]
        for row in data["berth"]["faces"]:
            row["y1"], row["y2"] = -row["y1"], -row["y2"]
        data["boat"]["y"], data["boat"]["heading_deg"] = -data["boat"]["y"], -data["boat"]["heading_deg"]

    bearing = scenario.bearing_deg
    across = [c.model_copy(update={"wind_from_deg": (2 * bearing - c.wind_from_deg) % 360}) for c in every]
    problem, solution = answer(scenario, every)
    mirrored, other = answer(changed(scenario, mirror), across)
    assert other.pose == pytest.approx(solution.pose * [1, -1, -1], abs=CLOSE)
    assert mirrored.lines(other.pose)[0] == pytest.approx(problem.lines(solution.pose)[0], abs=0.2)


@pytest.mark.parametrize("name", SCENES)
@pytest.mark.parametrize("by", [90.0, 213.7])
def test_berth_and_wind_turned_together_change_nothing(name, by):
    """R-CF-24."""
    scenario = getattr(scenes, name)()
    every = loaded(scenario)
    wind = [c.model_copy(update={"wind_from_deg": (c.wind_from_deg + by) % 360}) for c in every]
    problem, solution = answer(scenario, every)
    turned_problem, other = answer(changed(scenario, lambda data: turned(data, by)), wind)
    assert other.pose == pytest.approx(solution.pose, abs=1e-9)
    assert turned_problem.lines(other.pose)[0] == pytest.approx(problem.lines(solution.pose)[0], abs=1e-4)


@pytest.mark.parametrize("name", SCENES)
def test_the_whole_harbour_turned_in_its_frame(name):
    """Places turned by 33 degrees about the origin, bearing by as much the other way: the pose turns along."""
    scenario = getattr(scenes, name)()
    every = loaded(scenario)
    angle = np.radians(33.0)
    c, s = np.cos(angle), np.sin(angle)

    def turn(data):
        def about(row, x="x", y="y"):
            row[x], row[y] = float(c * row[x] - s * row[y]), float(s * row[x] + c * row[y])

        for row in data["berth"]["fittings"]:
            about(row)
        for row in data["berth"]["faces"]:
            about(row, "x1", "y1")
            about(row, "x2", "y2")
        about(data["boat"])
        data["boat"]["heading_deg"] += 33.0
        data["berth"]["bearing_deg"] += 33.0

    problem, solution = answer(scenario, every)
    other_problem, other = answer(changed(scenario, turn), every)
    x, y, heading = solution.pose.T
    assert other.pose == pytest.approx(
        np.column_stack([c * x - s * y, s * x + c * y, heading + angle]), abs=CLOSE
    )
    assert other_problem.lines(other.pose)[0] == pytest.approx(problem.lines(solution.pose)[0], abs=0.2)


@pytest.mark.parametrize("name", SCENES)
def test_the_whole_harbour_shifted(name):
    scenario = getattr(scenes, name)()
    every = loaded(scenario)

    def shift(data):
        for row in [*data["berth"]["fittings"], data["boat"]]:
            row["x"], row["y"] = row["x"] + 400.0, row["y"] - 70.0
        for row in data["berth"]["faces"]:
            row.update(x1=row["x1"] + 400, x2=row["x2"] + 400, y1=row["y1"] - 70, y2=row["y2"] - 70)

    _, solution = answer(scenario, every)
    _, other = answer(changed(scenario, shift), every)
    assert other.pose - [400, -70, 0] == pytest.approx(solution.pose, abs=CLOSE)


@pytest.mark.parametrize("name", SCENES)
def test_order_of_lines_and_cases_does_not_matter(name):
    scenario = getattr(scenes, name)()
    every = loaded(scenario)
    problem, solution = answer(scenario, every)
    back, other = answer(scenario, every[::-1], [scenario.lines[::-1]])
    assert other.pose[::-1] == pytest.approx(solution.pose, abs=CLOSE)
    assert back.lines(other.pose)[0][::-1, ::-1] == pytest.approx(problem.lines(solution.pose)[0], abs=0.2)


@pytest.mark.parametrize("name", SCENES)
def test_a_line_split_in_two_halves(name):
    """Two lines of half the strength side by side are the same line."""
    scenario = getattr(scenes, name)()
    every = loaded(scenario)
    first = scenario.lines[0]
    half = first.model_copy(update={"mbs": first.mbs / 2})
    halves = [half, half.model_copy(update={"id": "other half"}), *scenario.lines[1:]]
    problem, solution = answer(scenario, every)
    split, other = answer(scenario, every, [halves])
    assert other.pose == pytest.approx(solution.pose, abs=CLOSE)
    tension = split.lines(other.pose)[0]
    assert tension[:, 0] + tension[:, 1] == pytest.approx(problem.lines(solution.pose)[0][:, 0], abs=0.2)


def test_scaling():
    """R-CF-22: forces and EA doubled: same pose, tensions doubled. Lengths doubled: offsets doubled."""

    def held(ea=100e3, size=1.0):
        # no lever: the boat's own size must not matter
        deck, shore = (
            [aboard("b", 5, 0)],
            [ashore("p", -4 * size, 3 * size), ashore("q", -4 * size, -2 * size)],
        )
        return scene([line("b", "p", 5 * size, ea=ea), line("b", "q", 4.47 * size, ea=ea)], deck, shore)

    results = []
    for here, case in [
        (held(), pressed(2000.0, 300.0)), (held(ea=200e3), pressed(4000.0, 600.0)), (held(size=2.0), pressed(2000.0, 300.0)),
    ]:  # fmt: skip
        problem, solution = answer(here, [case])
        results.append((solution.pose[0, :2], problem.lines(solution.pose)[0][0]))
    (at, tension), (doubled_at, doubled), (large_at, large) = results
    assert doubled_at == pytest.approx(at, abs=1e-4)
    assert doubled == pytest.approx(2 * tension, rel=1e-3)
    assert large_at == pytest.approx(2 * at, abs=1e-4)
    assert large == pytest.approx(tension, rel=1e-3)


def test_more_stiffness_takes_more_and_more_wind_pulls_more():
    """R-CF-23: in a parallel pair, and in a symmetric breast pair."""
    deck, shore = [aboard("b", 5, 0)], [ashore("p", -8, 2), ashore("q", -8, -2)]
    shares = []
    for ea in (50e3, 100e3, 200e3, 400e3):
        here = scene([line("b", "p", 8.3, ea=ea), line("b", "q", 8.3)], deck, shore)
        problem, solution = answer(here, [pressed(3000.0)])
        shares.append(problem.lines(solution.pose)[0][0, 0])
    assert shares == sorted(shares)
    here = scene([line("b", "p", 8.3), line("b", "q", 8.3)], deck, shore)
    forces = [pressed(f, name=f"{f}") for f in (200.0, 800.0, 2000.0, 5000.0)]
    problem, solution = answer(here, forces)
    peaks = problem.lines(solution.pose)[0].max(axis=1)
    assert (np.diff(peaks) > 0).all()


def test_against_a_minimisation_in_another_form():
    """Boat against a long face and a pile, linear lines: strains and depths as unknowns of their own (SLSQP)."""
    worst_pose, worst_tension, touched = 0.0, 0.0, 0
    rng = np.random.default_rng(21)
    for _ in range(20):
        here, case = scenes.simple_harbour(rng)
        problem, solution = answer(here, [case])
        touched += len(problem.contacts(solution.pose)) > 0
        pose, tension = by_minimisation(here, problem.force[0], solution.pose[0])
        worst_pose = max(worst_pose, np.abs(pose - solution.pose[0]).max())
        worst_tension = max(worst_tension, np.abs(tension - problem.lines(solution.pose)[0][0]).max())
    assert touched >= 8
    assert worst_pose < 2e-4
    assert worst_tension < 0.5


def test_harbours_no_one_would_moor_in():
    """5,000 random problems: no NaN, and every status is one that its numbers explain (20,000: tests.bench.wild)."""
    counts = wild.wild(range(10))
    assert counts.total() == 5_000
    assert counts["not_converged"] < 25  # boats blown right round the end of a quay


@pytest.mark.parametrize("kind", wild.KINDS)
def test_berths_that_a_harbour_would_build(kind):
    """Seeded berths with boats they were built for: with the lines recommended every case is solved, and she is held.

    In a few she may lie on either side of a mid pile; held then says that both places keep every limit.
    """
    counts, answers = wild.sensible(kind, range(100, 104))
    assert set(counts) <= {"ok", "all_slack", "bistable"} and counts.total() > 1_500
    assert counts["bistable"] < 0.02 * counts.total()
    assert answers == {"holds": 4}


def test_the_same_question_gets_the_same_answer():
    scenario = scenes.slip()
    every = loaded(scenario)
    one, two = (Problem(scenario, [scenario.lines], every).solve() for _ in range(2))
    assert np.array_equal(one.pose, two.pose)
    assert one.status.tolist() == two.status.tolist()
