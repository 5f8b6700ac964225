"""The solver: the kinds of answer it gives, and that batches change nothing."""

import numpy as np
import pytest

from berths.tieup import cases, defaults, equilibrium, rules
from berths.tieup import outcome as outcomes
from berths.tieup.equilibrium import Problem
from tests.engine import scenes
from tests.engine.scenes import aboard, ashore, face, line, pile, pressed, scene, still

MIDDLE = aboard("b", 5.0, 0.0)


# -- kinds of answer --


def test_calm_and_long_lines_is_all_slack():
    here = scene([line("b", "s", 9.0)], [MIDDLE], [ashore("s", -6, 2)])
    problem = Problem(here, [here.lines], [still()])
    solution = problem.solve()
    assert solution.status.tolist() == ["all_slack"]
    assert solution.pose[0] == pytest.approx(problem.berthed, abs=1e-9)
    assert (problem.lines(solution.pose)[0] == 0).all()


@pytest.mark.parametrize(("mbs", "status"), [(3001.0, "ok"), (2999.0, "parted")])
def test_strength_just_over_and_just_under(mbs, status):
    here = scene([line("b", "s", 6.0, mbs=mbs)], [MIDDLE], [ashore("s", -6, 0)])
    problem = Problem(here, [here.lines], [pressed(3000.0)])
    assert problem.solve().status.tolist() == [status]


def bow_on_a_pile(x, lines=None):
    """Pushed square on to a pile dead ahead of her pointed bow, on slack stern lines; x is where she lies."""
    deck = [aboard("p", 0.5, 1.2), aboard("s", 0.5, -1.2)]
    shore = [ashore("P", -7, 2.5), ashore("S", -7, -2.5), pile("ahead", 6.0, 0.0)]
    bow = {"outline": [[0, 1.5], [6, 1.5], [10, 0]], "x": x}
    here = scene(lines or [line("p", "P", 5.0), line("s", "S", 5.0)], deck, shore, boat_more=bow)
    return Problem(here, [here.lines], [pressed(2000.0)])


def test_bow_on_a_pile_can_go_either_way():
    """With the bow at the pile the symmetric balance is a saddle; off it, both sides have the mirrored answer."""
    problem = bow_on_a_pile(0.8)
    solution = problem.solve(second_start="none")
    assert solution.status.tolist() == ["bistable"]
    one, other = solution.pose[0], solution.others[0]
    assert other == pytest.approx(one * [1, -1, -1], abs=1e-4)
    assert abs(one[1]) > 0.1
    assert solution.smallest_eigenvalue[0] > 0


def test_both_places_stand_in_the_outcome_and_are_followed_with_soft_and_stiff_rope():
    """The bow on the pile: the second row is the mirror image of the first, on each stretch curve."""
    problem = bow_on_a_pile(0.8)
    here, lines = problem.scenario, problem.sets[0]
    filled, _ = defaults.fill(here, rules.of(here))
    for outcome in outcomes.in_all_curves(filled, lines, problem.cases, rules.of(here)):
        assert outcome.stated == 1 and outcome.second == (0,) and len(outcome.cases) == 2
        one, other = outcome.pose[0]
        assert other == pytest.approx(one * [1, -1, -1], abs=1e-4) and abs(one[1]) > 0.1
        assert outcome.tension[0, 0] == pytest.approx(outcome.tension[0, 1, ::-1], rel=1e-4)
        assert outcome.solution.residual.max() < 0.1
        doubled = np.array([[1.0, 7.0]])
        assert outcome.folded(doubled).tolist() == [[7.0]] and outcome.rows_of(0) == [0, 1]


@pytest.mark.parametrize("x", [0.0, 0.5])
def test_a_bow_that_reaches_the_pile_later_can_go_either_way_too(x):
    """From farther off she falls to one side on her way: starts from both sides of the berth find the other."""
    problem = bow_on_a_pile(x)
    assert problem.solve(second_start="none").status.tolist() == ["ok"]
    solution = problem.solve()
    assert solution.status.tolist() == ["bistable"]
    assert solution.others[0] == pytest.approx(solution.pose[0] * [1, -1, -1], abs=1e-4)


def test_the_worse_of_two_answers_is_reported():
    """One line is weaker: the pose in which it is worse loaded is the one to show."""
    for weak in ("p", "s"):
        lines = [line("p", "P", 5.0), line("s", "S", 5.0)]
        lines["ps".index(weak)]["mbs"] = 20_000.0
        problem = bow_on_a_pile(0.8, lines)
        solution = problem.solve()
        shown = (problem.lines(solution.pose)[0] / problem.packed.mbs.T).max()
        hidden = (problem.lines(solution.others[0][None])[0] / problem.packed.mbs.T).max()
        assert shown > hidden


def test_a_second_answer_is_found_from_beside(monkeypatch):
    """She lies on one side of a pile's corner and could lie on the other: only the second start tells."""
    scenario = scenes.slip()
    every = cases.grid(scenario, cases.levels(scenario), [30.0 * i for i in range(12)], [15.0])
    problem = Problem(scenario, [scenario.lines], every)
    none, doubtful, full = (problem.solve(second_start=w) for w in ("none", "doubtful", "all"))
    assert not none.others
    assert set(doubtful.others) == set(full.others)
    assert (full.status == "bistable").sum() == len(full.others) > 0
    for m, other in full.others.items():
        away = full.pose[m] - other
        assert max(np.hypot(*away[:2]), abs(away[2]) * problem.half) > equilibrium.ANOTHER_PLACE
    monkeypatch.setattr(
        equilibrium, "_STEP_OFF", np.zeros(3)
    )  # beside the berth is the berth: no help from there
    assert problem.solve(second_start="all").others
    only = np.zeros(problem.size, bool)
    only[min(full.others)] = True
    assert set(problem.solve(second_start=only).others) == {min(full.others)}


def test_a_start_deep_in_a_quay_is_not_tried(monkeypatch):
    """She lies on a face: of the two starts beside her one is 0.2 m inside it, where she can't get."""
    problem = Problem(scene(faces=[face("q", -10, -1.5, 10, -1.5)]), [[]], [pressed(0, -500.0)])
    tried, really = [], problem._descend

    def noted(rows, q, *more):
        tried.append(q[1, 0])
        return really(rows, q, *more)

    monkeypatch.setattr(problem, "_descend", noted)
    problem.solve(second_start="all")
    assert len(tried) == 2
    assert tried[1] == pytest.approx(0.195)  # from 5 mm deep in the fender, 0.2 m off it


def test_a_steady_answer_can_be_started_from():
    scenario = scenes.alongside()
    every = cases.build(scenario)[:200]
    problem = Problem(scenario, [scenario.lines], every)
    first = problem.solve(second_start="none")
    again = problem.solve(start=first.pose, second_start="none")
    assert again.rounds.max() == 0
    assert again.pose == pytest.approx(first.pose, abs=1e-9)


def test_a_long_way_takes_more_rounds():
    """Nothing but 0.1 N/m holds her against 15 N: 150 m in steps of half a metre."""
    solution = Problem(scene(), [[]], [pressed(15.0)]).solve(second_start="none")
    assert solution.rounds[0] > equilibrium.ROUNDS
    assert solution.pose[0] == pytest.approx([150.0, 0, 0], abs=0.02)


@pytest.mark.parametrize(("seed", "k", "n"), [(23, 3, 70), (31, 0, 3)])
def test_what_stays_unsolved_is_helped_by_raising_the_load_bit_by_bit(monkeypatch, seed, k, n):
    scenario, sets, every = scenes.random_harbour(np.random.default_rng(seed))
    problem = Problem(scenario, [sets[k]], [every[n]])
    assert problem.solve(second_start="none").residual[0] <= equilibrium.UNSOLVED
    monkeypatch.setattr(equilibrium, "_RESCUE_LOADS", (1.0,))
    assert problem.solve(second_start="none").status.tolist() == ["not_converged"]


def test_no_answer_is_said():
    """A constant moment that nothing holds spins her without end."""
    problem = Problem(scene(), [[]], [still(yaw_moment=5e4), still(name="calm")])
    solution = problem.solve()
    assert solution.status.tolist() == ["not_converged", "all_slack"]
    assert solution.residual[0] > equilibrium.UNSOLVED
    assert np.isfinite(solution.pose).all()


# -- batches --


def test_sets_and_cases_are_stacked_set_by_set():
    scenario = scenes.alongside()
    every = cases.grid(scenario, [0.5, 2.0], [50.0, 230.0], [12.0])
    sets = [scenario.lines, scenario.lines[:2], scenario.lines[2:], scenario.lines[::2]]
    together = Problem(scenario, sets, every)
    solution = together.solve()
    tension = together.lines(solution.pose)[0]
    assert tension.shape == (4 * len(every), 4)
    for k, lines in enumerate(sets):
        alone = Problem(scenario, [lines], every)
        single = alone.solve()
        rows = slice(k * len(every), (k + 1) * len(every))
        assert solution.pose[rows] == pytest.approx(single.pose, abs=1e-4)
        assert solution.status[rows].tolist() == single.status.tolist()
        assert tension[rows, : len(lines)] == pytest.approx(alone.lines(single.pose)[0], abs=0.05)
        assert (tension[rows, len(lines) :] == 0).all()


def test_chunks_change_nothing(monkeypatch):
    scenario = scenes.slip()
    every = cases.build(scenario)[:100]
    whole = Problem(scenario, [scenario.lines], every).solve()
    monkeypatch.setattr(equilibrium, "CHUNK", 7)
    assert Problem(scenario, [scenario.lines], every).solve().pose == pytest.approx(whole.pose, abs=1e-12)


def test_nothing_to_solve():
    problem = Problem(scene(), [], [still()])
    solution = problem.solve()
    assert solution.pose.shape == (0, 3)
    assert problem.lines(solution.pose)[0].shape == (0, 0)
    assert len(problem.contacts(solution.pose)) == 0
    assert Problem(scene(), [[]], []).solve().status.shape == (0,)


def test_no_lines_and_no_faces():
    """Nothing holds her: she is blown away as far as the restoring 0.1 N/m lets her."""
    problem = Problem(scene(), [[]], [pressed(5.0)])
    solution = problem.solve()
    assert solution.pose[0] == pytest.approx([50.0, 0, 0], abs=0.02)
    assert problem.lines(solution.pose)[0].shape == (1, 0)
    assert problem.clearance(solution.pose).shape == (1, 0)
    assert solution.status.tolist() == ["all_slack"]
