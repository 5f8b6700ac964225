"""The solver: derivatives, kinds of answer, guards, and what its answers mean."""

import numpy as np
import pytest

from berths.tieup import cases, equilibrium
from berths.tieup.descent import matrix
from berths.tieup.equilibrium import Problem, _Energy
from tests.engine import scenes
from tests.engine.scenes import aboard, ashore, face, line, pile, pressed, scene, still

MIDDLE = aboard("b", 5.0, 0.0)


def with_rope(scenario, material):
    lines = [one.model_copy(update={"material": material}) for one in scenario.lines]
    return scenario.model_copy(update={"lines": lines})


# -- derivatives --


@pytest.mark.parametrize("name", ["slip", "alongside"])
def test_gradient_and_hessian_by_differences(name):
    """1,000 random poses, half of them in contact: slopes of E, and of its gradient, by central differences.

    At a corner of the stretch curve or where contact begins the stiffness jumps: the few poses within the step
    of one are why the worst is not asserted.
    """
    rng = np.random.default_rng(7)
    scenario = getattr(scenes, name)()
    every = [case for case in cases.build(scenario) if case.wind_speed][:500]
    problem = Problem(scenario, [scenario.lines, with_rope(scenario, "hmpe").lines], every)
    energy = _Energy(problem, np.arange(problem.size))
    q = problem._scaled(problem.berthed[None]) + rng.normal(0, 0.8, (3, problem.size))
    terms, h = energy.evaluate(q), 1e-5
    gradient, hessian = np.empty((3, problem.size)), np.empty((problem.size, 3, 3))
    for i in range(3):
        step = np.zeros((3, 1))
        step[i] = h
        ahead, back = energy.evaluate(q + step), energy.evaluate(q - step)
        gradient[i] = (ahead[0] - back[0]) / (2 * h)
        hessian[:, i] = (ahead[1:4] - back[1:4]).T / (2 * h)
    off1 = np.abs(gradient - terms[1:4]).max(axis=0) / (1 + np.abs(terms[1:4]).max(axis=0))
    exact = matrix(terms[4:])
    off2 = np.abs(hessian - exact).max(axis=(1, 2)) / (1 + np.abs(exact).max(axis=(1, 2)))
    touching = {int(row) for touch in problem.around.touches(*problem._trig(q)) for row in touch.row}
    assert 0.2 < len(touching) / problem.size < 0.8
    assert np.median(off1) < 1e-9
    assert np.percentile(off1, 99) < 1e-7
    assert np.median(off2) < 1e-9
    assert np.percentile(off2, 97) < 1e-7


@pytest.mark.parametrize(
    "place", [(5.0, 0.2), (4.0, 1.8), (-5.1, -1.62), (3.0, 1.5), (5.0, 1.5), (0.0, 1.65)]
)
def test_pile_derivatives_at_edge_corner_and_inside(place):
    """Pile centres inside the hull, on its outline, past a corner: the same check, point by point."""
    problem = Problem(scene(ashore=[pile("p", *place, diameter=0.6)]), [[]], [still()])
    energy = _Energy(problem, np.array([0]))
    q, h = np.array([[0.003], [-0.004], [0.01]]), 1e-6
    terms = energy.evaluate(q)
    for i in range(3):
        step = np.zeros((3, 1))
        step[i] = h
        ahead, back = energy.evaluate(q + step), energy.evaluate(q - step)
        assert (ahead[0] - back[0]) / (2 * h) == pytest.approx(terms[1 + i], rel=1e-6, abs=1e-3)
        assert (ahead[1:4] - back[1:4])[:, 0] / (2 * h) == pytest.approx(
            matrix(terms[4:])[0, i], rel=1e-4, abs=1
        )
    assert terms[0] > 0


@pytest.mark.parametrize("x", [-0.05, 0.05, 0.12, 0.25, 0.31])
def test_derivatives_while_a_corner_passes_the_end_of_a_face(x):
    problem = Problem(
        scene(faces=[face("q", -10, -1.5, 5, -1.5), face("r", -5, -3, -5, -1.45)]), [[]], [still()]
    )
    energy = _Energy(problem, np.array([0]))
    q, h = np.array([[x], [-0.3], [0.2]]), 1e-5
    terms = energy.evaluate(q)
    for i in range(3):
        step = np.zeros((3, 1))
        step[i] = h
        ahead, back = energy.evaluate(q + step), energy.evaluate(q - step)
        assert (ahead[0] - back[0]) / (2 * h) == pytest.approx(terms[1 + i], rel=1e-6, abs=1e-3)
        assert (ahead[1:4] - back[1:4])[:, 0] / (2 * h) == pytest.approx(
            matrix(terms[4:])[0, i], rel=1e-6, abs=0.1
        )


def test_a_corner_that_slides_past_the_end_loses_its_contact_smoothly():
    """Without the fade the energy would drop by 1/2 k depth^2 at the end of the face."""
    here = scene(faces=[face("q", -10, -1.5, 5, -1.5)])
    problem = Problem(here, [[]], [still()])
    energy = _Energy(problem, np.array([0]))
    x = np.linspace(-0.1, 0.5, 601)
    e = np.array([energy.evaluate(np.array([[v], [-0.1], [0.0]]))[0, 0] for v in x])
    restoring = 0.5 * 0.1 * (x**2 + 0.1**2)
    assert e[0] - restoring[0] == pytest.approx(2 * 0.5 * 50e3 * 0.1**2)  # two corners, 0.1 m deep
    assert e[-1] == pytest.approx(e[0], rel=1e-3)  # a corner and the end of the face
    assert np.abs(np.diff(e)).max() < 0.02 * e[0]


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


# -- rope --


def test_the_curve_of_a_table():
    """Rows (strain, T / MBS) with straight pieces between and the last slope beyond."""
    table = {"table": [[0.0, 0.0], [0.1, 0.1], [0.2, 0.4]]}
    here = scene([line("b", "s", 10.0, mbs=10_000.0, stiffness=table)], [MIDDLE], [ashore("s", 10, 0)])
    problem = Problem(here, [here.lines], [still()])
    for strain, share in [
        (-0.1, 0),
        (0.0, 0),
        (0.05, 0.05),
        (0.1, 0.1),
        (0.15, 0.25),
        (0.2, 0.4),
        (0.3, 0.7),
    ]:
        got = problem.lines(np.array([[-10 * strain, 0, 0]]))[0][0, 0]
        assert got == pytest.approx(10_000 * share, abs=1e-6)


def test_a_table_that_starts_later_begins_at_nothing():
    table = {"table": [[0.1, 0.2], [0.2, 0.5]]}
    here = scene([line("b", "s", 10.0, mbs=10_000.0, stiffness=table)], [MIDDLE], [ashore("s", 10, 0)])
    problem = Problem(here, [here.lines], [still()])
    assert problem.lines(np.array([[-0.5, 0, 0]]))[0] == pytest.approx(1000.0)


def test_stored_energy_is_the_area_under_the_curve():
    scenario = scene(
        [line("b", "s", 10.0, ea=None, material="nylon_3strand")], [MIDDLE], [ashore("s", 10, 0)]
    )
    problem = Problem(scenario, [scenario.lines], [still()])
    energy = _Energy(problem, np.array([0]))
    x = np.linspace(0, -3.0, 3001)
    pull = np.array([problem.lines(np.array([[v, 0, 0]]))[0][0, 0] for v in x])
    area = np.sum((pull[1:] + pull[:-1]) / 2 * 1e-3)
    stored = energy.evaluate(np.array([[-3.0], [0], [0]]))[0, 0] - 0.5 * 0.1 * 9
    assert stored == pytest.approx(area, rel=1e-6)


@pytest.mark.parametrize("slope", [0.7, 1.0, 1.3])
def test_soft_and_stiff(slope):
    here = scene([line("b", "s", 6.0)], [MIDDLE], [ashore("s", -6, 0)])
    problem = Problem(here, [here.lines], [pressed(3000.0)], slope=slope)
    assert problem.solve().pose[0, 0] == pytest.approx(6 * 3000 / (100e3 * slope), abs=1e-5)


def test_different_ropes_in_one_batch():
    here = scene(
        [line("b", "s", 6.0), line("b", "t", 6.0, ea=None, material="hmpe"),
         line("b", "u", 6.0, ea=None, material="nylon_3strand")],
        [MIDDLE], [ashore("s", -6, 0), ashore("t", -6, 0), ashore("u", -6, 0)],
    )  # fmt: skip
    problem = Problem(here, [here.lines], [still()])
    tension = problem.lines(np.array([[0.06, 0, 0]]))[0][0]  # 1 % of strain
    assert tension == pytest.approx([1000.0, 0.01 * 56 * 50_000, 0.004 * 50_000], rel=1e-4)


# -- lines led round a pile --

ROUND = [ashore("s", -6, 3), pile("v", -6, 0, 1.0)]


@pytest.mark.parametrize(("turn", "stretched"), [("slides", 9.0), ("fixed", 6.0), (None, 6.0)])
def test_round_a_pile(turn, stretched):
    """Made fast by its turn only the part to the pile stretches; free to slide, all 9 m do."""
    here = scene([line("b", "s", 9.0, via={"fitting": "v", "turn": turn})], [MIDDLE], ROUND)
    problem = Problem(here, [here.lines], [pressed(3000.0)])
    solution = problem.solve()
    tension, distance, slack, _ = problem.lines(solution.pose)
    assert tension[0, 0] == pytest.approx(3000.0, abs=0.05)
    assert solution.pose[0, 0] == pytest.approx(stretched * 3000 / 100e3, abs=1e-4)
    assert distance[0, 0] == pytest.approx(9 + solution.pose[0, 0])
    assert slack[0, 0] == 0
    assert problem.lines(np.array([[-0.5, 0, 0]]))[2][0, 0] == pytest.approx(0.5)


def test_the_part_behind_a_pile_can_change_with_the_level():
    """The pile is fixed, the cleat behind it floats: at 4 m of level that part is 5 m instead of 3."""
    shore = [ashore("s", -6, 3, 1.0, floats=True), pile("v", -6, 0, 1.0)]
    here = scene([line("b", "s", 12.0, via={"fitting": "v", "turn": "slides"})], [MIDDLE], shore)
    problem = Problem(here, [here.lines], [still(0.0, "low"), still(4.0, "high")])
    distance = problem.lines(np.zeros((2, 3)))[1][:, 0]
    assert distance == pytest.approx([6 + 3, np.hypot(6, 4) + 5])


def test_a_line_that_does_not_reach_past_its_pile_is_named():
    here = scene([line("b", "s", 2.5, via={"fitting": "v", "turn": "fixed"})], [MIDDLE], ROUND)
    with pytest.raises(
        ValueError, match=r"line 'b-s': 2.5 m does not reach past 'v', which is 3.00 m from 's'"
    ):
        Problem(here, [here.lines], [still()])


# -- guards --


def test_a_line_of_no_length_at_all_has_no_direction():
    here = scene([line("b", "s", 1.0), line("b", "t", 5.0)], [MIDDLE], [ashore("s", 0, 0), ashore("t", 5, 0)])
    problem = Problem(here, [here.lines], [still(), pressed(500.0)])
    solution = problem.solve()
    assert np.isfinite(solution.pose).all()
    assert np.isfinite(problem.pulls(solution.pose)).all()
    assert solution.residual.max() <= 1e-3


def test_pile_centre_and_face_end_exactly_on_the_outline():
    for shore, faces in [
        ([pile("p", 5, 0)], []),
        ([pile("p", 5, 1.5)], []),
        ([], [face("f", 2, -1.5, 3, -1.5)]),
    ]:
        problem = Problem(scene(ashore=shore, faces=faces), [[]], [still(), pressed(10.0, 10.0)])
        solution = problem.solve()
        assert np.isfinite(solution.pose).all()
        assert (solution.residual <= equilibrium.UNSOLVED).all()


@pytest.mark.parametrize(("change", "words"), [
    (lambda r: r["lines"][0].pop("length"), "line 'b-s': length is missing"),
    (lambda r: r["lines"][0].update(stiffness=None, mbs=None, material="hmpe"), "line 'b-s': mbs is missing"),
    (lambda r: r["lines"][0].update(stiffness=None), "line 'b-s': neither stiffness nor material"),
    (lambda r: r["ashore"][0].update(z=None), "fitting 's': z is missing, and needed for line 'b-s'"),
    (lambda r: r["ashore"].append(ashore("p", 9, 9, kind="pile")), "ShoreFitting 'p': diameter is missing"),
    (lambda r: r["faces"].append({"id": "f", "x1": 0.0, "y1": -9.0, "x2": 1.0}), "Face 'f': y2 is missing"),
])  # fmt: skip
def test_what_is_missing_is_named(change, words):
    parts = {"lines": [line("b", "s", 5.0)], "aboard": [MIDDLE], "ashore": [ashore("s", -5, 0)], "faces": []}
    change(parts)
    here = scene(**parts)
    with pytest.raises(ValueError, match=words):
        Problem(here, [here.lines], [still()])


def test_a_case_without_level_is_named():
    with pytest.raises(ValueError, match="case 'x': level is missing"):
        Problem(scene(), [[]], [scenes.Case(id="x")])


# -- what a pose means --


def test_contacts_name_what_she_lies_on():
    piles = [pile("p", 3, 1.64), pile("ahead", 5.09, 0)]
    here = scene(ashore=piles, faces=[face("q", -5.02, -1.0, -5.02, 1.0)])
    problem = Problem(here, [[]], [still()])
    rows = problem.contacts(np.array([[-0.05, 0.0, 0.0]]))
    assert sorted(zip(rows["kind"].tolist(), rows["id"].tolist(), strict=True)) == [
        ("face_end", "q"), ("face_end", "q"), ("pile", "ahead"), ("pile", "p")]  # fmt: skip
    ahead = rows[rows["id"] == "ahead"][0]
    assert (ahead["x"], ahead["y"], ahead["depth"]) == pytest.approx((4.95, 0.0, 0.01))
    on_pile = rows[rows["id"] == "p"][0]
    assert on_pile["depth"] == pytest.approx(0.01)
    assert on_pile["force"] == pytest.approx(500.0)
    assert (on_pile["x"], on_pile["y"]) == pytest.approx((3.0, 1.5))
    assert (rows["row"] == 0).all()


def test_clearance_of_the_hull_from_each_face():
    faces = [
        face("side", -20, -2.0, 20, -2.0),
        face("stern", -6, -1.0, -6, 1.0),
        face("far", 30, -2.0, 40, -2.0),
    ]
    problem = Problem(scene(faces=faces), [[]], [still(), still(name="b")])
    clearance = problem.clearance(np.array([[0, 0, 0], [-0.5, 0.3, 0.1]]))
    assert clearance[0] == pytest.approx([0.5, 1.0, np.inf])
    corners = problem.sweep(np.array([[-0.5, 0.3, 0.1]] * 2))[1]
    assert clearance[1, 0] == pytest.approx(corners[:, 1].min() + 2.0)
    assert clearance[1, 2] == np.inf


def test_clearance_where_only_a_side_passes_the_face():
    """No corner is beside a short face amidships: the side itself is, also when she lies askew."""
    problem = Problem(scene(faces=[face("f", -1, -2.0, 1, -2.0)]), [[]], [still()])
    assert problem.clearance(np.zeros((1, 3))) == pytest.approx(0.5)
    askew = problem.clearance(np.array([[0, 0, 0.1]]))[0, 0]
    assert askew == pytest.approx(2.0 - 1.5 / np.cos(0.1) - np.tan(0.1), abs=1e-9)


def test_clearance_against_sampled_sides():
    """Random poses of a pointed hull against the lowest of 2,000 points along each of her sides."""
    rng = np.random.default_rng(5)
    problem = Problem(scenes.alongside(), [[]], [still(name=str(i)) for i in range(40)])
    pose = problem.berthed + rng.normal(0, [4.0, 0.6, 0.3], (40, 3))
    corners = problem.sweep(pose)[:, :, None]
    share = np.linspace(0, 1, 2000)[:, None]
    sides = corners + share * (np.roll(corners, -1, axis=1) - corners)
    beside = (sides[..., 0] >= 0) & (sides[..., 0] <= 20)
    lowest = np.where(beside, sides[..., 1], np.inf).min(axis=(1, 2))
    assert problem.clearance(pose)[:, 0] == pytest.approx(lowest, abs=5e-3)


def test_piles_in_the_hull_are_told_before_solving():
    here = scene(ashore=[pile("in", 2, 1.4), pile("out", 2, -1.7)], faces=[face("over", -8, -1.4, 8, -1.4)])
    found = Problem(here, [[]], [still()]).starts_in_contact()
    assert sorted(set(found["id"].tolist())) == ["in", "over"]
    pile_row = found[found["id"] == "in"][0]
    assert pile_row["depth"] == pytest.approx(0.25)
    assert (pile_row["x"], pile_row["y"]) == (2.0, 1.4)
    assert len(Problem(scene(ashore=[pile("out", 2, -1.7)]), [[]], [still()]).starts_in_contact()) == 0


def test_a_fender_s_softness_is_the_face_s():
    for k in (10e3, 200e3):
        here = scene(faces=[face("q", -10, -1.5, 10, -1.5, fender_stiffness=k)])
        assert Problem(here, [[]], [pressed(0, -1000.0)]).solve().pose[0, 1] == pytest.approx(
            -1000 / (2 * k), abs=1e-5
        )
