"""Gradient and Hessian of the energy by differences: the solver goes where these point."""

import numpy as np
import pytest

from berths.tieup import cases
from berths.tieup.descent import matrix
from berths.tieup.energy import Energy
from berths.tieup.equilibrium import Problem
from tests.engine import scenes
from tests.engine.scenes import face, pile, scene, still


def with_rope(scenario, material):
    lines = [one.model_copy(update={"material": material}) for one in scenario.lines]
    return scenario.model_copy(update={"lines": lines})


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
    energy = Energy(problem, np.arange(problem.size))
    q = problem.scaled(problem.berthed[None]) + rng.normal(0, 0.8, (3, problem.size))
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
    energy = Energy(problem, np.array([0]))
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
    energy = Energy(problem, np.array([0]))
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
    energy = Energy(problem, np.array([0]))
    x = np.linspace(-0.1, 0.5, 601)
    e = np.array([energy.evaluate(np.array([[v], [-0.1], [0.0]]))[0, 0] for v in x])
    restoring = 0.5 * 0.1 * (x**2 + 0.1**2)
    assert e[0] - restoring[0] == pytest.approx(2 * 0.5 * 50e3 * 0.1**2)  # two corners, 0.1 m deep
    assert e[-1] == pytest.approx(e[0], rel=1e-3)  # a corner and the end of the face
    assert np.abs(np.diff(e)).max() < 0.02 * e[0]
