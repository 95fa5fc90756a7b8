"""The contact solve against an independent convex solver, and its certificate."""

import clarabel
import numpy as np
import pytest
from scipy.sparse import csc_matrix

import squeeze
from squeeze.solve import Outcome
from squeeze.solve.contact.problem import ContactProblem
from squeeze.solve.contact.solution import solve_contact


def random_problem(seed, places=12, motions=0):
    rng = np.random.default_rng(seed)
    A = rng.normal(size=(2 * places, 2 * places))
    C = A @ A.T + 0.1 * np.eye(2 * places)
    R = np.zeros((2 * places, motions))
    R[:places] = rng.normal(size=(places, motions))
    p = np.maximum(rng.normal(size=places), 0)  # some pressure that balances the loads
    return ContactProblem(
        C=C,
        q=np.concatenate([rng.normal(size=places) * 3, np.zeros(places)]),
        R=R,
        b=R[:places].T @ p,
        mu=np.zeros(places),
        load=float(p.sum()),
    )


def by_quadratic_programme(problem):
    """Least of p'C p / 2 + q'p with p >= 0 and R'p = b, by an interior-point method."""
    c = len(problem.mu)
    k = len(problem.b)
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    settings.tol_gap_abs = settings.tol_gap_rel = settings.tol_feas = 1e-12
    solver = clarabel.DefaultSolver(
        csc_matrix(np.triu(problem.C[:c, :c])),
        problem.q[:c],
        csc_matrix(np.vstack([problem.R[:c].T, -np.eye(c)])),
        np.concatenate([problem.b, np.zeros(c)]),
        [clarabel.ZeroConeT(k), clarabel.NonnegativeConeT(c)],
        settings,
    )
    answer = solver.solve()
    assert str(answer.status) in ("Solved", "AlmostSolved")
    return np.array(answer.x)


@pytest.mark.parametrize("motions", [0, 1, 3])
@pytest.mark.parametrize("seed", range(8))
def test_random_problems(seed, motions):
    problem = random_problem(seed, motions=motions)
    found = solve_contact(problem)
    assert found.outcome is Outcome.CONVERGED
    expected = by_quadratic_programme(problem)
    assert found.p == pytest.approx(expected, abs=1e-6 * max(np.abs(expected).max(), 1))
    assert 0 < np.sum(found.p > 0) < len(found.p)


def resting(walls, offsets):
    """Return the problem of two pieces on a smooth level floor, with smooth walls beside them.

    Each moves up and along; its own weight, 1 N/mm, presses it down. A wall opens by `walls[i]` for
    each mm that either piece moves along, and is open by `offsets[i]` at rest.
    """
    places = 2 + len(walls)
    up, along = [0, 2], [1, 3]
    R = np.zeros((2 * places, 4))
    R[[0, 1], up] = 1.0
    R[2:places, along] = walls
    R[[places, places + 1], along] = 1.0
    return ContactProblem(
        C=0.1 * np.eye(2 * places),
        q=np.concatenate([[0.0, 0.0], offsets, np.zeros(places)]),
        R=R,
        b=np.array([1.0, 0.0, 1.0, 0.0]),
        mu=np.zeros(places),
        load=2.0,
    )


@pytest.mark.parametrize(
    ("walls", "offsets", "moved"),
    [
        ([[1, 0], [0, 1]], [-0.3, -0.2], (0.3, 0.2)),  # as far as the walls push, and no farther
        ([[1, 1], [0, 1]], [-1.0, 5.0], (0.5, 0.5)),  # square off the line of what is allowed
        ([[3, 4], [0, 1]], [-10.0, 5.0], (1.2, 1.6)),
        ([[3, 4], [0, 1]], [-10.0, -2.0], (2 / 3, 2.0)),  # into a corner of it
        ([[1, 0], [-1, 0]], [-0.3, 2.0], (0.3, 0)),  # between two walls: as far as the nearer
    ],
)
def test_pieces_that_slide_freely_move_no_farther_than_their_walls_ask(walls, offsets, moved):
    """The point of a polygon nearest to where the pieces were made, by hand."""
    found = solve_contact(resting(walls, offsets))
    assert found.outcome is Outcome.CONVERGED
    assert found.p == pytest.approx([1.0, 1.0, *[0.0] * len(walls)], abs=1e-9)
    assert found.motion[[1, 3]] == pytest.approx(moved, abs=1e-9)
    assert found.w[2:] == pytest.approx(np.array(walls) @ moved + offsets, abs=1e-9)


def flat_block(friction=0.0):
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
            "block": {"shape": "rectangle", "width_mm": 180, "height_mm": 60, "bevel_mm": 3},
            "cavity": [
                {"shape": "round", "diameter_mm": 20, "centre_mm": [x, 0]} for x in (-36, 36)
            ],
            "cut": [{"path_mm": [[-90, 0], [90, 0]], "friction": friction}],
            "band": [{"tension_n_per_mm": 0.6}],
        }
    )


def seen(block, **case):
    """Close a block, and return the contact problem of the same case as well."""
    return block.close(**case), block.problem(**case)


@pytest.mark.parametrize("gap", [0.0, 0.3, [0.4, 0.0, 0.4]])
def test_a_flat_block(gap):
    closing, problem = seen(squeeze.Block(flat_block()), gap_mm=gap)
    assert closing.trust.outcome == "converged"
    p = 1000 * by_quadratic_programme(problem)
    found = np.concatenate([land.pressure_kpa for land in closing.lands])
    assert found == pytest.approx(p, abs=1e-5 * p.max())
    assert 0.05 < np.mean(found > 0) < 0.95


@pytest.mark.parametrize("friction", [0.0, 0.3])
def test_the_certificate_holds_when_it_is_worked_out_anew(friction):
    block = squeeze.Block(flat_block(friction))
    closing, problem = seen(block)
    found = solve_contact(problem)
    c = len(found.p)
    moved = problem.C @ np.concatenate([found.p, found.t]) + problem.q + problem.R @ found.motion
    w, v, bound = moved[:c], moved[c:], friction * found.p
    p_most, w_most = found.p.max(), np.abs(moved).max()
    assert closing.trust.outcome == found.outcome == "converged"
    assert found.p.min() >= 0
    assert w.min() > -1e-8 * w_most
    assert np.abs(w * found.p).max() < 1e-8 * w_most * p_most
    assert (np.abs(found.t) <= bound + 1e-8 * p_most).all()
    assert np.abs(found.t * v + bound * np.abs(v)).max() < 1e-8 * w_most * p_most
    left = problem.R.T @ np.concatenate([found.p, found.t]) - problem.b
    assert np.abs(left).max() < 1e-8 * problem.load
    assert found.balance < 1e-8
    assert found.complementarity < 1e-8


@pytest.mark.parametrize("friction", [0.0, 0.3])
def test_the_forces_on_the_nodes_balance_and_agree_with_the_stiffness(friction):
    """Stiffness x displacement = loads + contact, node by node: nothing else carries.

    Fails as well when a large rigid motion of the whole has drowned the displacement's digits.
    """
    block = squeeze.Block(flat_block(friction))
    closing = block.close()
    u = closing.field.displacement_mm.ravel()
    p = np.concatenate([land.pressure_kpa for land in closing.lands]) / 1000
    t = np.concatenate([land.shear_kpa for land in closing.lands]) / 1000
    contact = block.factor.rows.T @ np.concatenate([p, t])
    left = (block.elastic.K @ u - contact).reshape(-1, 2)
    band = closing.wrap.push_n_per_mm
    assert np.abs(left).sum() == pytest.approx(np.abs(band).sum(), rel=1e-8)
    inner = np.setdiff1d(np.arange(len(left)), np.unique(block.mesh.outside))
    assert np.abs(left[inner]).max() < 1e-9 * np.abs(left).max()


def test_a_piece_that_nothing_holds_is_named():
    rng = np.random.default_rng(3)
    problem = random_problem(3, motions=2)
    pushed_off = ContactProblem(
        problem.C, problem.q, np.abs(problem.R), -np.abs(rng.normal(size=2)), problem.mu, 1.0
    )
    assert solve_contact(pushed_off).outcome is Outcome.PIECE_NOT_HELD


def test_numbers_that_are_no_numbers_are_named():
    problem = random_problem(4)
    q = problem.q.copy()
    q[0] = np.nan
    broken = ContactProblem(problem.C, q, problem.R, problem.b, problem.mu, problem.load)
    assert solve_contact(broken).outcome is Outcome.NOT_FINITE
