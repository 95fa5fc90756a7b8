"""Primal-dual active set: the state of every place, open, sticking or sliding."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import get_lapack_funcs

from squeeze.solve.contact.coulomb import (
    OPEN,
    STICK,
    States,
    next_state,
    shear_of_pressure,
    violation,
)
from squeeze.solve.contact.problem import (
    SLIDES,
    ContactProblem,
    ContactSolution,
    not_held,
    split_motions,
)
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

_getrf, _getrs = get_lapack_funcs(("getrf", "getrs"), dtype=np.float64)

MOST_STEPS = 12
SLACK = 0.01  # see `solve_active_set`
BALANCED = 1e-6  # a larger unbalanced share of the loads is looked into
CERTAIN = 1e-8  # largest violation that the certificate allows


def solve_active_set(
    problem: ContactProblem, state: States, most: int = MOST_STEPS, slack: float = SLACK
) -> tuple[ContactSolution, Mask]:
    """Change the places' states until none asks for another; stop when the states cycle.

    Parameters
    ----------
    problem : ContactProblem
    state : array (c,) of int
        State to start from.
    most : int
        Most steps.
    slack : float
        How far a motion may go that only friction at its limit resists, over the free gaps, when a
        share SLIDES of the loads is unbalanced; 0 = without bound.

    Returns
    -------
    ContactSolution
    restless : array (c,) of bool
        The places that were still changing.
    """
    walked: dict[bytes, States] = {}
    while True:
        traction, a = _with_state(problem, state, slack)
        moved = problem.C @ traction + problem.q + problem.R @ a
        new = _next_state(problem, state, traction, moved)
        walked[state.tobytes()] = state
        if new.tobytes() in walked or len(walked) == most:
            break
        state = new
    walk = list(walked.values())
    back = list(walked).index(new.tobytes()) if new.tobytes() in walked else len(walk) // 2
    restless = (np.array([*walk[back:], new]) != state).any(axis=0)
    return _certified(problem, state, traction, moved, a, len(walk)), restless


def _with_state(problem: ContactProblem, state: States, slack: float) -> tuple[Array, Array]:
    """Traction (2 c,) and rigid motions (k,) with every place kept in its state."""
    free = FreeTractions.of(problem.mu, state)
    m, n = len(free.rows), len(free.closed)
    M = free.matrix(problem)
    if slack and problem.mu.any() and problem.R.size:
        M[m:, m:] -= _yielding(problem, state, slack)
    x = solve_dense(M, np.concatenate([-problem.q[free.rows], problem.b]))
    traction = np.zeros(2 * len(state))
    traction[free.rows] = x[:m]
    traction[len(state) + free.closed] += free.slide * x[:n]
    return traction, x[m:]


def _yielding(problem: ContactProblem, state: States, slack: float) -> Array:
    """Return springs (k, k) along motions that only friction at its limit resists.

    Forces there do not depend on the motion and all but balance, so the least motion is as good as
    any. Along a smooth cut pieces move freely.
    """
    free = split_motions(problem.R, np.concatenate([state != OPEN, state == STICK]))[1]
    stiff = SLIDES * problem.load / (slack * max(np.abs(problem.q).max(initial=0.0), 1e-300))
    return stiff * free @ free.T


@dataclass(frozen=True, eq=False)
class FreeTractions:
    """The unknown tractions in a state: pressure where closed, shear too where it sticks.

    Attributes
    ----------
    rows : array (m,) of int
        Which of the tractions (2 c,), pressures first.
    closed : array (n,) of int
        The closed places.
    slide : array (n,)
        Shear that goes with a unit pressure there.
    """

    rows: NDArray[np.int64]
    closed: NDArray[np.int64]
    slide: Array

    @classmethod
    def of(cls, mu: Array, state: States) -> FreeTractions:
        """Return the free tractions of places in states `state` (c,), friction `mu` (c,)."""
        closed, stick = np.flatnonzero(state != OPEN), np.flatnonzero(state == STICK)
        slide = shear_of_pressure(mu, state)[closed]
        return cls(np.concatenate([closed, len(state) + stick]), closed, slide)

    def reduced(self, A: Array) -> Array:
        """Return the columns of `A` (r, 2 c) for the free tractions (r, m).

        Where a place slides, the column of its pressure includes that of its shear.
        """
        together = A[:, self.rows]
        if self.slide.any():
            together[:, : len(self.closed)] += A[:, A.shape[1] // 2 + self.closed] * self.slide
        return together

    def matrix(self, problem: ContactProblem) -> Array:
        """Return the matrix (m + k, m + k) of the free tractions and the motions."""
        m, k = len(self.rows), len(problem.b)
        M = np.zeros((m + k, m + k))
        M[:m, :m] = self.reduced(problem.C[self.rows])
        M[m:, :m] = self.reduced(problem.R.T)
        M[:m, m:] = problem.R[self.rows]
        # a piece that nothing holds moves far, meets others, and closes on them in the next step
        scale = np.abs(problem.R).max(initial=1e-300)
        M[m:, m:] -= 1e-12 * scale**2 / np.abs(problem.C).max(initial=1e-300) * np.eye(k)
        return M


def solve_dense(M: Array, right: Array) -> Array:
    """Return x (m,) of `M` x = `right`, with `M` (m, m) and `right` (m,).

    One step of refinement, straight by LAPACK: the matrices are small and many.
    """
    if not len(right):
        return right
    lu, pivots, _ = _getrf(M)
    x, _ = _getrs(lu, pivots, right)
    more, _ = _getrs(lu, pivots, right - M @ x)
    return x + more


def _next_state(problem: ContactProblem, state: States, traction: Array, moved: Array) -> States:
    """State that each place asks for; within rounding it keeps its own."""
    force, length = 1e-11 * np.abs(traction).max(initial=0.0), 1e-11 * gap_scale(problem, moved)
    return next_state(problem.mu, state, traction, moved, force, length)


def gap_scale(problem: ContactProblem, moved: Array) -> float:
    """Return the scale of gaps and slips [mm2]: the largest of `moved` (2 c,).

    It is no less than a ten-thousandth of what the loads would make with all faces free.
    """
    return max(np.abs(moved).max(initial=0.0), 1e-4 * np.abs(problem.q).max(initial=0.0), 1e-300)


def is_balanced(contact: ContactSolution) -> bool:
    """Whether the solution is certified and leaves no unbalanced force to look into."""
    return contact.outcome is Outcome.CONVERGED and contact.balance < BALANCED


def _certified(
    problem: ContactProblem, state: States, traction: Array, moved: Array, a: Array, steps: int
) -> ContactSolution:
    """Attach the outcome and the figures that prove it."""
    c = len(state)
    p, t, w, v = traction[:c], traction[c:], moved[:c], moved[c:]
    left = problem.R.T @ traction - problem.b
    balance = float(np.abs(left).max(initial=0.0) / max(problem.load, 1e-300))
    force, length = max(np.abs(traction).max(initial=0.0), 1e-300), gap_scale(problem, moved)
    wrong = violation(problem.mu, traction, moved, force, length)
    outcome = Outcome.STEP_LIMIT
    if not (np.isfinite(traction).all() and np.isfinite(moved).all()):
        outcome = Outcome.NOT_FINITE
    elif wrong < CERTAIN and balance > SLIDES:
        return not_held(problem, a, steps)  # all conditions hold, but a piece still moves off
    elif wrong < CERTAIN:
        outcome = Outcome.CONVERGED
    closed = state != OPEN
    return ContactSolution(
        outcome,
        np.where(closed, np.maximum(p, 0.0), 0.0),
        t,
        np.where(closed, 0.0, w),
        v,
        state,
        a,
        steps,
        balance,
        wrong,
    )
