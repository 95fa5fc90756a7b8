"""The contact of whole sections, handed to two solvers that know nothing of ours.

Without friction the pressures are the least of p'C p / 2 + q'p with p >= 0 and all in balance,
which is convex and has one answer. With friction the answer has to be the least in shear while the
pressures stay (friction's bounds are then known numbers), and the least in pressure while the shear
stays.
"""

from dataclasses import replace

import clarabel
import numpy as np
import pytest
from scipy.optimize import nnls
from scipy.sparse import csc_matrix

import squeeze
from squeeze.solve.contact.coulomb import STICK
from squeeze.solve.contact.problem import STRAIGHT
from squeeze.solve.contact.solution import solve_contact

FEW, MANY = 16, 50
"""Sections that are looked at each time, and by hand."""
MOST_PLACES = 90  # where slivers crowd more, interior points lose their digits


def without_rigid_part(C, q, R, b):
    """Return the programme with balance orthonormal, and what balance fixes out of C and q."""
    size = np.sqrt(np.diag(C))
    C, q = C / size / size[:, None], q / size
    Q, upper = np.linalg.qr(R / size[:, None])
    b = np.linalg.lstsq(upper.T, b, rcond=None)[0]
    P = np.eye(len(q)) - Q @ Q.T
    return P @ C @ P, P @ (q + C @ (Q @ b)), Q, b, size


def least(C, q, R, b, low, high=None):
    """Least of x'C x / 2 + q'x with R'x = b and low <= x <= high, by an interior-point method.

    None when bounds and balance leave no interior to go through.
    """
    C, q, Q, b, size = without_rigid_part(C, q, *moving(R, b))
    n, scale = len(q), max(np.abs(q).max(), np.abs(b).max(initial=0), 1e-300)
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    settings.tol_gap_abs = settings.tol_gap_rel = settings.tol_feas = 1e-13
    rows, bounds = [-np.eye(n)], [-low * size]
    if high is not None:
        rows, bounds = [*rows, np.eye(n)], [*bounds, high * size]
    solver = clarabel.DefaultSolver(
        csc_matrix(np.triu(C)) / np.diag(C).max(),
        q / scale,
        csc_matrix(np.vstack([Q.T, *rows])),
        np.concatenate([b, *bounds]) / scale * np.diag(C).max(),
        [clarabel.ZeroConeT(len(b)), clarabel.NonnegativeConeT(sum(map(len, rows)))],
        settings,
    )
    answer = solver.solve()
    solved = str(answer.status) in ("Solved", "AlmostSolved")
    return np.array(answer.x) * scale / np.diag(C).max() / size if solved else None


def least_squares(C, q, R, b):
    """Return the same for x >= 0 by non-negative least squares; balance through multipliers."""
    C, q, Q, b, size = without_rigid_part(C, q, *moving(R, b))
    d, V = np.linalg.eigh(C)
    V, d = V[:, d > 1e-13 * d[-1]], d[d > 1e-13 * d[-1]]
    weight = 10 * np.sqrt(d[-1])
    rows = np.vstack([np.sqrt(d)[:, None] * V.T, weight * Q.T])
    multiplier, x = np.zeros_like(b), np.zeros_like(q)
    for _ in range(40):
        right = np.concatenate([-(V.T @ q) / np.sqrt(d), weight * (b - multiplier)])
        x, _ = nnls(rows, right, maxiter=100 * len(q))
        left = Q.T @ x - b
        multiplier = multiplier + left
        if np.abs(left).max(initial=0) < 1e-10 * np.abs(x).max():
            break
    return x / size


def normal(problem, t=None):
    """Return C, q, R, b of the pressures, shear as given."""
    c = len(problem.mu)
    t = np.zeros(c) if t is None else t
    q = problem.q[:c] + problem.C[:c, c:] @ t
    return problem.C[:c, :c], q, problem.R[:c], problem.b - problem.R[c:].T @ t


def along(problem, p):
    """Return C, q, R, b of the shear, pressures as given."""
    c = len(problem.mu)
    q = problem.q[c:] + problem.C[c:, :c] @ p
    return problem.C[c:, c:], q, problem.R[c:], problem.b - problem.R[:c].T @ p


def moving(R, b, straight=1e-9):
    """Leave out motions that these rows do not resist."""
    _, size, V = np.linalg.svd(R, full_matrices=False)
    keep = V[size > straight * size.max(initial=0)].T
    return R @ keep, keep.T @ b


@pytest.fixture(scope="module", params=[FEW, pytest.param(MANY, marks=pytest.mark.slow)])
def sections(tables_of, request):
    """Blocks of random molds with two to five cuts, those with few enough places."""
    found, seed, rng = [], 0, np.random.default_rng(7)
    while len(found) < request.param:
        tables = tables_of(seed, cavities=seed % 4, cuts=2 + seed % 3)
        del tables["band"]  # that part smooth pieces; even pressure holds most of them together
        tables["push"] = [{"pressure_kpa": 10}]
        for cut in tables["cut"]:
            cut["gap_mm"] = [float(x) for x in rng.choice([0, 1]) * rng.uniform(0, 0.1, 4)]
        seed += 1
        try:
            block = squeeze.Block(squeeze.mold_of(tables), fineness=0.4)
        except squeeze.BadInput:
            continue
        if len(block.contact_rows.weight) <= MOST_PLACES:
            found.append(block)
    return found


def test_the_sections_are_worth_testing(sections):
    pieces = [len(np.unique(block.mesh.piece)) for block in sections]
    assert np.mean(np.array(pieces) > 1) > 0.4
    assert max(pieces) >= 5


def test_pressures_without_friction(sections, problem_of):
    held = shares = 0
    for block in sections:
        problem = problem_of(block)
        found = solve_contact(problem)
        if found.outcome == "a piece is not held":
            continue
        held += 1
        shares += 0.02 < np.mean(found.p > 0) < 0.98
        assert found.outcome == "converged"
        C, q, R, b = normal(problem)
        R, b = moving(R, b, straight=STRAIGHT)
        inner = least(C, q, R, b, np.zeros(len(q)))  # an interior point comes no nearer than this
        assert found.p == pytest.approx(inner, abs=1e-5 * inner.max())
        p = least_squares(C, q, R, b)
        assert found.p == pytest.approx(p, abs=1e-9 * p.max())
    assert held >= 0.8 * len(sections)
    assert shares >= 0.2 * len(sections)


def test_pressure_and_shear_with_friction(sections, problem_of):
    held = slides = compared = 0
    for k, block in enumerate(sections):
        problem = problem_of(block)
        problem = replace(problem, mu=np.full_like(problem.mu, (0.05, 0.2, 0.5, 1.2)[k % 4]))
        found = solve_contact(problem)
        assert found.outcome in ("converged", "a piece is not held")
        if found.outcome == "a piece is not held":
            continue
        held += 1
        slides += (found.state > STICK).any()
        on = found.p > 0
        bound = problem.mu[on] * found.p[on]
        C, q, R, b = along(problem, found.p)
        t = least(C[np.ix_(on, on)], q[on], R[on], b, -bound, bound)
        assert not found.t[~on].any()
        compared += t is not None
        assert t is None or found.t[on] == pytest.approx(t, abs=5e-6 * found.p.max())
        p = least_squares(*normal(problem, found.t))
        assert found.p == pytest.approx(p, abs=1e-6 * found.p.max())
    assert held >= 0.9 * len(sections)
    assert slides >= 0.4 * len(sections)
    assert compared >= 0.8 * len(sections)
