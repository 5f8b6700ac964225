"""What a pose means: rope, lines led round a pile, contact, clearance; and what is refused."""

import numpy as np
import pytest

from berths.tieup import equilibrium
from berths.tieup.energy import Energy
from berths.tieup.equilibrium import Problem
from tests.engine import scenes
from tests.engine.scenes import aboard, ashore, face, line, pile, pressed, scene, still

MIDDLE = aboard("b", 5.0, 0.0)


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
    energy = Energy(problem, np.array([0]))
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
