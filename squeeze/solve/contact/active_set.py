"""Settling the state of every place: open, sticking, sliding forward or backward."""

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
    Contact,
    Problem,
    not_held,
    split_motions,
)
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

_getrf, _getrs = get_lapack_funcs(("getrf", "getrs"), dtype=np.float64)

MOST_STEPS = 12
SLACK = 0.01  # see `settled`
BALANCED = 1e-6  # share of the loads from which on what is left over is looked into
CERTAIN = 1e-8  # what the certificate's figures may reach


def settled(
    problem: Problem, state: States, most: int = MOST_STEPS, slack: float = SLACK
) -> tuple[Contact, Mask]:
    """Change the places' states until none asks for another; gives up when that goes in a circle.

    Parameters
    ----------
    problem : Problem
    state : array (c,) of int
        State to start from.
    most : int
        Steps at the most.
    slack : float
        How far, over the free gaps, a motion that nothing resists but friction at its limit may go
        for a left-over of SLIDES; 0 = as far as it likes.

    Returns
    -------
    Contact
    restless : array (c,) of bool
        The places that were still changing.
    """
    walked: dict[bytes, States] = {}
    while True:
        traction, a = _with_state(problem, state, slack)
        moved = problem.C @ traction + problem.q + problem.G @ a
        new = _next_state(problem, state, traction, moved)
        walked[state.tobytes()] = state
        if new.tobytes() in walked or len(walked) == most:
            break
        state = new
    walk = list(walked.values())
    back = list(walked).index(new.tobytes()) if new.tobytes() in walked else len(walk) // 2
    restless = (np.array([*walk[back:], new]) != state).any(axis=0)
    return _certified(problem, state, traction, moved, a, len(walk)), restless


def _with_state(problem: Problem, state: States, slack: float) -> tuple[Array, Array]:
    """Traction (2 c,) and rigid motions (k,) with every place kept in its state."""
    kept = Kept.of(problem.mu, state)
    m, n = len(kept.rows), len(kept.closed)
    M = kept.balance(problem)
    if slack and problem.mu.any() and problem.G.size:
        M[m:, m:] -= _yielding(problem, state, slack)
    x = solved(M, np.concatenate([-problem.q[kept.rows], problem.e]))
    traction = np.zeros(2 * len(state))
    traction[kept.rows] = x[:m]
    traction[len(state) + kept.closed] += kept.slide * x[:n]
    return traction, x[m:]


def _yielding(problem: Problem, state: States, slack: float) -> Array:
    """Return springs (k, k) along motions that nothing resists but friction at its limit.

    Forces that do not depend on the motion all but balance there: the least motion is as good as
    any. Along a smooth cut pieces move freely.
    """
    free = split_motions(problem.G, np.concatenate([state != OPEN, state == STICK]))[1]
    stiff = SLIDES * problem.load / (slack * max(np.abs(problem.q).max(initial=0.0), 1e-300))
    return stiff * free @ free.T


@dataclass(frozen=True, eq=False)
class Kept:
    """What is free while places keep their states: pressure if closed, shear too where it sticks.

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
    def of(cls, mu: Array, state: States) -> Kept:
        """Return what is free in a state of the places."""
        closed, stick = np.flatnonzero(state != OPEN), np.flatnonzero(state == STICK)
        slide = shear_of_pressure(mu, state)[closed]
        return cls(np.concatenate([closed, len(state) + stick]), closed, slide)

    def borne(self, A: Array) -> Array:
        """Return what `A` (r, 2 c) makes of the free tractions (r, m), sliding ones with them."""
        together = A[:, self.rows]
        if self.slide.any():
            together[:, : len(self.closed)] += A[:, A.shape[1] // 2 + self.closed] * self.slide
        return together

    def balance(self, problem: Problem) -> Array:
        """Return the matrix (m + k, m + k) of the free tractions and the motions."""
        m, k = len(self.rows), len(problem.e)
        M = np.zeros((m + k, m + k))
        M[:m, :m] = self.borne(problem.C[self.rows])
        M[m:, :m] = self.borne(problem.G.T)
        M[:m, m:] = problem.G[self.rows]
        # a piece that nothing holds goes far, meets others, and closes them in the next step
        scale = np.abs(problem.G).max(initial=1e-300)
        M[m:, m:] -= 1e-12 * scale**2 / np.abs(problem.C).max(initial=1e-300) * np.eye(k)
        return M


def solved(M: Array, b: Array) -> Array:
    """Solve with one step of refinement, straight by LAPACK: the matrices are small and many."""
    if not len(b):
        return b
    lu, pivots, _ = _getrf(M)
    x, _ = _getrs(lu, pivots, b)
    more, _ = _getrs(lu, pivots, b - M @ x)
    return x + more


def _next_state(problem: Problem, state: States, traction: Array, moved: Array) -> States:
    """State that each place asks for; within rounding it keeps its own."""
    force, length = 1e-11 * np.abs(traction).max(initial=0.0), 1e-11 * way_scale(problem, moved)
    return next_state(problem.mu, state, traction, moved, force, length)


def way_scale(problem: Problem, moved: Array) -> float:
    """Return the scale of gaps and slips: the largest there is.

    But not less than a ten-thousandth of what the loads would make with all faces free.
    """
    return max(np.abs(moved).max(initial=0.0), 1e-4 * np.abs(problem.q).max(initial=0.0), 1e-300)


def balanced(contact: Contact) -> bool:
    """Whether the contact is certain and leaves nothing over worth looking into."""
    return contact.outcome is Outcome.CONVERGED and contact.balance < BALANCED


def _certified(
    problem: Problem, state: States, traction: Array, moved: Array, a: Array, steps: int
) -> Contact:
    """Attach the outcome and the figures that prove it."""
    c = len(state)
    p, t, w, v = traction[:c], traction[c:], moved[:c], moved[c:]
    left = problem.G.T @ traction - problem.e
    balance = float(np.abs(left).max(initial=0.0) / max(problem.load, 1e-300))
    force, length = max(np.abs(traction).max(initial=0.0), 1e-300), way_scale(problem, moved)
    wrong = violation(problem.mu, traction, moved, force, length)
    outcome = Outcome.STEP_LIMIT
    if not (np.isfinite(traction).all() and np.isfinite(moved).all()):
        outcome = Outcome.NOT_FINITE
    elif wrong < CERTAIN and balance > SLIDES:
        return not_held(problem, a, steps)  # all conditions hold but a piece still goes
    elif wrong < CERTAIN:
        outcome = Outcome.CONVERGED
    closed = state != OPEN
    return Contact(
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
