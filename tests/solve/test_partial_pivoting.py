"""States that active sets do not settle: by parts, and on springs."""

import numpy as np
import pytest

from squeeze.mold import mold_of
from squeeze.solve import Block, Outcome
from squeeze.solve.contact.active_set import solve_active_set
from squeeze.solve.contact.coulomb import FORWARD, OPEN, STICK
from squeeze.solve.contact.partial_pivoting import pivot_restless_places
from squeeze.solve.contact.problem import ContactProblem
from squeeze.solve.contact.springs import solve_on_springs

NO_PIECE = {"R": np.zeros((24, 0)), "b": np.zeros(0)}


def follows_coulomb(problem: ContactProblem, found) -> bool:
    c = len(problem.mu)
    w, v = np.split(problem.C @ np.concatenate([found.p, found.t]) + problem.q, [c])
    return (
        min(found.p.min(), w.min(), (problem.mu * found.p - np.abs(found.t)).min()) > -1e-8
        and np.abs(found.p * w).max() < 1e-8
        and np.abs(found.t * v + problem.mu * found.p * np.abs(v)).max() < 1e-7
    )


@pytest.mark.parametrize("seed", range(20))
def test_from_any_state_and_any_first_part(seed):
    """The part that is pivoted first need not hold the places that have to change."""
    rng = np.random.default_rng(seed)
    A = rng.normal(size=(24, 24))
    problem = ContactProblem(
        C=A @ A.T + 0.5 * np.eye(24),
        q=5 * rng.normal(size=24) - np.repeat([4.0, 0.0], 12),
        mu=rng.choice([0.1, 0.3, 0.6], 12),
        load=1.0,
        **NO_PIECE,
    )
    state = rng.integers(0, 4, 12).astype(np.int8)
    begun, _ = solve_active_set(problem, state, 1)
    assert begun.outcome is Outcome.STEP_LIMIT
    found = pivot_restless_places(problem, begun, np.arange(12) == rng.integers(12))
    assert found.outcome.has_answer
    assert follows_coulomb(problem, found)


def pressed(across: float, along: float) -> ContactProblem:
    """Return a piece pressed with a force across a cut of two places, and pulled along it."""
    R = np.array([[1.0, 0], [1, 0], [0, 1], [0, 1]])
    C = np.diag([1.0, 2, 1, 1])
    return ContactProblem(
        C, np.zeros(4), R, np.array([across, along]), np.array([0.4, 0.4]), across
    )


@pytest.mark.parametrize("along", [-3.9, -1.0, 0.0, 2.0, 3.9])
def test_a_piece_that_friction_holds_leaves_nothing_to_the_springs(along):
    """The places share the pressure as 2 to 1, for the piece moves as one; both slopes by hand."""
    problem = pressed(10.0, along)
    begun, _ = solve_active_set(problem, np.array([OPEN, FORWARD], np.int8), 1)
    found = solve_on_springs(problem, begun)
    assert found.outcome.has_answer
    assert found.p == pytest.approx([20 / 3, 10 / 3])
    assert found.t.sum() == pytest.approx(along)
    assert (np.abs(found.t) <= 0.4 * found.p + 1e-9).all()
    assert found.balance < 1e-12


@pytest.mark.parametrize("along", [-4.1, 4.1])
def test_a_piece_that_friction_does_not_hold_goes_the_way_it_is_pulled(along):
    problem = pressed(10.0, along)
    begun, _ = solve_active_set(problem, np.array([STICK, STICK], np.int8), 1)
    found = solve_on_springs(problem, begun)
    assert found.outcome is Outcome.PIECE_NOT_HELD
    assert np.sign(found.motion[1]) == -np.sign(along)  # e is what contact should put up


@pytest.mark.parametrize("friction", [0.25, 0.3, 0.4])
def test_six_cuts_near_the_friction_that_just_holds_are_in_balance(friction):
    paths = [[[-60, 40], [60, 40]], [[0, 0], [0, 60]], [[0, 0], [-60, -20]],
             [[0, 0], [60, -20]], [[-60, -40], [60, -40]], [[0, 0], [0, -60]]]  # fmt: skip
    mold = mold_of({
        "length_mm": 140,
        "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
        "block": {"shape": "square", "width_mm": 120, "bevel_mm": 15},
        "cavity": [{"shape": "round", "diameter_mm": 40}],
        "cut": [{"path_mm": path, "friction": friction} for path in paths],
        "band": [{"tension_n_per_mm": 0.6}],
    })  # fmt: skip
    trust = Block(mold).close().trust
    assert trust.outcome.has_answer
    assert trust.force_balance < 2e-6
    assert trust.complementarity < 1e-4
