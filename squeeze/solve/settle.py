"""Settling the state of every place: open, sticking, sliding forward or backward."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import get_lapack_funcs

from squeeze.solve.closing import Outcome
from squeeze.solve.states import (
    BACKWARD,
    FORWARD,
    OPEN,
    SLIDES,
    STICK,
    STRAIGHT,
    Contact,
    Problem,
    States,
    not_held,
    right_singular,
)

Array = NDArray[np.float64]

_getrf, _getrs = get_lapack_funcs(("getrf", "getrs"), dtype=np.float64)

MOST_STEPS = 20
# How far, over the free gaps, a motion that nothing resists but friction at its limit may go for a
# left-over of SLIDES; 0 = as far as it likes. One that leaves less than BALANCED is not improved.
SLACKS = (0.01, 1.0, 0.0)
BALANCED = 1e-6
CERTAIN = 1e-8  # what the certificate's figures may reach


def settled(problem: Problem, state: States) -> Contact:
    """Return the settled contact, by active sets from a given state of the places.

    Motions that nothing resists but friction at its limit are tried stiff first, then ever softer.
    """
    steps, best = 0, None
    for slack in SLACKS if problem.mu.any() else SLACKS[-1:]:
        found = settled_with(problem, state, slack)
        steps += found.steps
        if best is None or best.outcome is not Outcome.CONVERGED or _better(found, best):
            best = found
        if best.outcome is Outcome.CONVERGED and best.balance < BALANCED:
            break
    assert best is not None
    return replace(best, steps=steps)


def _better(one: Contact, other: Contact) -> bool:
    return one.outcome is Outcome.CONVERGED and one.balance < other.balance


def settled_with(problem: Problem, state: States, slack: float) -> Contact:
    """Change the places' states until none asks for another; gives up when it cycles."""
    seen: set[bytes] = set()
    while True:
        traction, a = _with_state(problem, state, slack)
        moved = problem.C @ traction + problem.q + problem.G @ a
        new = _next_state(problem, state, traction, moved)
        seen.add(state.tobytes())
        if new.tobytes() in seen:  # settled, or back where it was
            break
        state = new
        if len(seen) == MOST_STEPS:
            break
    return _certified(problem, state, traction, moved, a, len(seen))


def _with_state(problem: Problem, state: States, slack: float) -> tuple[Array, Array]:
    """Traction (2 c,) and rigid motions (k,) with every place kept in its state."""
    c, k = len(state), len(problem.e)
    closed, stick = np.flatnonzero(state != OPEN), np.flatnonzero(state == STICK)
    slide = np.where(state == FORWARD, -problem.mu, np.where(state == BACKWARD, problem.mu, 0.0))[
        closed
    ]
    n, m = len(closed), len(closed) + len(stick)
    rows = np.concatenate([closed, c + stick])
    M = np.zeros((m + k, m + k))
    M[:m, :m] = problem.C[np.ix_(rows, rows)]
    M[m:, :m] = problem.G[rows].T
    if slide.any():
        M[:m, :n] += problem.C[np.ix_(rows, c + closed)] * slide
        M[m:, :n] += problem.G[c + closed].T * slide
    M[:m, m:] = problem.G[rows]
    M[m:, m:] -= _yielding(problem, state, slack)
    x = _solved(M, np.concatenate([-problem.q[rows], problem.e]))
    traction = np.zeros(2 * c)
    traction[rows] = x[:m]
    traction[c + closed] += slide * x[:n]
    return traction, x[m:]


def _yielding(problem: Problem, state: States, slack: float) -> Array:
    """Return what lets pieces move that the places, kept in their states, do not hold, (k, k).

    A piece that nothing holds goes far, meets others, and closes them in the next step. A motion
    that only friction at its limit goes against is found up to SLIDES of the loads.
    """
    scale = np.abs(problem.G).max(initial=1e-300)
    small = 1e-12 * scale**2 / np.abs(problem.C).max(initial=1e-300)
    if not slack:
        return small * np.eye(len(problem.e))
    free = _unresisted(problem, state)
    stiff = SLIDES * problem.load / (slack * max(np.abs(problem.q).max(initial=0.0), 1e-300))
    return small * np.eye(len(problem.e)) + stiff * free @ free.T


def _unresisted(problem: Problem, state: States) -> Array:
    """Return a basis (k, z) of the motions that no closed or sticking place resists."""
    rows = np.concatenate([state != OPEN, state == STICK])
    size, V = right_singular(problem.G[rows])
    return V[int(np.sum(size > STRAIGHT * np.abs(problem.G).max(initial=0.0))) :].T


def _solved(M: Array, b: Array) -> Array:
    """Solve with one step of refinement, straight by LAPACK: the matrices are small and many."""
    if not len(b):
        return b
    lu, pivots, _ = _getrf(M)
    x, _ = _getrs(lu, pivots, b)
    more, _ = _getrs(lu, pivots, b - M @ x)
    return x + more


def _next_state(problem: Problem, state: States, traction: Array, moved: Array) -> States:
    """State that each place asks for; within rounding it keeps its own."""
    c = len(state)
    p, t, w, v = traction[:c], traction[c:], moved[:c], moved[c:]
    force, way = 1e-11 * np.abs(traction).max(initial=0.0), 1e-11 * way_scale(problem, moved)
    grips = np.where(problem.mu > 0, STICK, FORWARD).astype(np.int8)
    new = state.copy()
    new[(state == OPEN) & (w < -way)] = grips[(state == OPEN) & (w < -way)]
    rough = problem.mu > 0
    slips = (state == STICK) & (np.abs(t) > problem.mu * p + force)
    new[slips] = np.where(t[slips] < 0, FORWARD, BACKWARD)
    new[rough & (state == FORWARD) & (v < -way)] = STICK
    new[rough & (state == BACKWARD) & (v > way)] = STICK
    new[(state != OPEN) & (p < -force)] = OPEN
    return new


def way_scale(problem: Problem, moved: Array) -> float:
    """Return the scale of gaps and slips: the largest there is.

    But not less than rounding leaves of the free motion.
    """
    return max(np.abs(moved).max(initial=0.0), 1e-6 * np.abs(problem.q).max(initial=0.0), 1e-300)


def _certified(
    problem: Problem, state: States, traction: Array, moved: Array, a: Array, steps: int
) -> Contact:
    """Attach the outcome and the figures that prove it."""
    c = len(state)
    p, t, w, v = traction[:c], traction[c:], moved[:c], moved[c:]
    left = problem.G.T @ traction - problem.e
    balance = float(np.abs(left).max(initial=0.0) / max(problem.load, 1e-300))
    free = _unresisted(problem, state)
    held = float(np.abs(left - free @ (free.T @ left)).max(initial=0.0) / max(problem.load, 1e-300))
    force, way = max(np.abs(traction).max(initial=0.0), 1e-300), way_scale(problem, moved)
    bound = problem.mu * p
    wrong = max(
        float(x.max(initial=0.0))
        for x in (
            -p / force,
            -w / way,
            np.abs(p / force * (w / way)),
            (np.abs(t) - bound) / force,
            np.abs((bound * np.abs(v) + t * v) / force / way),  # sliding: full friction, against it
        )
    )
    outcome = Outcome.STEP_LIMIT
    if not (np.isfinite(traction).all() and np.isfinite(moved).all()):
        outcome = Outcome.NOT_FINITE
    elif wrong < CERTAIN and balance > SLIDES:
        return not_held(problem, a, steps)  # all conditions hold but a piece still goes
    elif wrong < CERTAIN and held < CERTAIN:
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
