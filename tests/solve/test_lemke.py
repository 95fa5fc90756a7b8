"""Complementary pivoting on problems small enough to do by hand, and against all states tried."""

from itertools import product

import numpy as np
import pytest

from squeeze.solve.contact.coulomb import FORWARD, OPEN, STICK
from squeeze.solve.contact.lemke import friction_states, lemke


@pytest.mark.parametrize(
    ("M", "q", "z"),
    [
        ([[2.0]], [-4.0], [2.0]),  # w = 2 z - 4
        ([[2.0]], [4.0], [0.0]),
        ([[2, 1], [1, 2]], [-5, -6], [4 / 3, 7 / 3]),
        ([[2, 1], [1, 2]], [-5, 1], [2.5, 0]),
        ([[1, 2], [0, 1]], [-1, -1], [0, 1]),
        ([[1, -2], [0, 1]], [-1, -1], [3, 1]),
    ],
)
def test_by_hand(M, q, z):
    found, basic, solved = lemke(np.array(M, float), np.array(q, float), 50)
    assert solved
    assert found == pytest.approx(z)
    assert (found[~basic] == 0).all()


@pytest.mark.parametrize("seed", range(20))
def test_any_positive_definite_problem(seed):
    rng = np.random.default_rng(seed)
    A = rng.normal(size=(12, 12))
    M, q = A @ A.T + rng.normal() * (A - A.T) + 0.1 * np.eye(12), rng.normal(size=12)
    z, _, solved = lemke(M, q, 500)
    w = M @ z + q
    assert solved
    assert min(z.min(), w.min()) > -1e-9
    assert np.abs(z * w).max() < 1e-9


def test_a_problem_without_solution_ends_on_a_ray():
    z, basic, solved = lemke(np.array([[-1.0]]), np.array([-1.0]), 50)  # w = -z - 1
    assert not solved
    assert not z.any()
    assert not basic.any()


def test_the_limit_of_pivots_is_told():
    A = np.random.default_rng(0).normal(size=(10, 10))
    *_, solved = lemke(A @ A.T, -np.ones(10), 2)
    assert not solved


def test_one_place_with_friction_by_hand():
    """Gap 2 p - 4, slip t + 3: p = 2, and it slides forward at t = -mu p as long as mu p < 3."""
    C, q = np.diag([2.0, 1.0]), np.array([-4.0, 3.0])
    for mu, slides in ((0.5, True), (1.4, True), (1.6, False)):
        state = friction_states(C, q, np.array([mu]), 50)
        assert state.tolist() == [FORWARD if slides else STICK]
    assert friction_states(C, -q, np.array([0.5]), 50).tolist() == [OPEN]


def obeys(C, q, mu, p, t):
    c = len(mu)
    w, v = np.split(C @ np.concatenate([p, t]) + q, [c])
    slack = mu * p - np.abs(t)
    return (
        min(p.min(), w.min(), slack.min()) > -1e-8
        and np.abs(p * w).max() < 1e-8
        and np.abs(t * v + mu * p * np.abs(v)).max() < 1e-7
    )


def every_answer(C, q, mu):
    """Try open, stick, forward and backward at every place."""
    c = len(mu)
    for states in product((0, 1, 2, 3), repeat=c):
        A, b = np.zeros((2 * c, 2 * c)), np.zeros(2 * c)
        for i, state in enumerate(states):
            A[i], b[i] = (np.eye(2 * c)[i], 0) if state == 0 else (C[i], -q[i])
            A[c + i, c + i] = 1.0
            if state == 1:
                A[c + i], b[c + i] = C[c + i], -q[c + i]
            elif state > 1:
                A[c + i, i] = mu[i] if state == 2 else -mu[i]
        if abs(np.linalg.det(A)) > 1e-12:
            p, t = np.split(np.linalg.solve(A, b), [c])
            if obeys(C, q, mu, p, t):
                yield np.array(states)


@pytest.mark.parametrize("seed", range(12))
def test_its_state_is_among_all_that_obey_friction(seed):
    rng = np.random.default_rng(seed)
    A = rng.normal(size=(6, 6))
    C, q = A @ A.T + 0.3 * np.eye(6), rng.normal(size=6) - np.repeat([2.0, 0.0], 3)
    mu = rng.choice([0.2, 0.6, 1.2], 3)
    state = friction_states(C, q, mu, 300)
    assert any((state == other).all() for other in every_answer(C, q, mu))
