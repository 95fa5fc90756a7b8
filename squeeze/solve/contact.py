"""One-sided contact on all cuts at once, as a small dense complementarity problem.

With p the pressure at each place, C the compliance, q the weighted gap that the loads make with all faces free, and a the
rigid motions of the pieces (G = what they do to the gaps):

    w = C p + q + G a >= 0 ,   p >= 0 ,   p w = 0 ,   G' p = e .

The last line is the equilibrium of every piece. It is the optimality condition of a convex quadratic programme, so where
pieces are held its gaps are unique. Solved by a primal-dual active set (M. Hintermueller, K. Ito, K. Kunisch, SIAM J.
Optim. 13 (2003) 865) from the state with everything closed; where that cycles, one place at a time by least index
(K. G. Murty, Linear Complementarity, Linear and Nonlinear Programming, 1988).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import lu_factor, lu_solve

from squeeze.solve.closing import Outcome

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

MOST_STEPS = 60
SLIDES = 1e-3  # share of the loads that may be left over along a motion that no cut resists


@dataclass(frozen=True, eq=False)
class Problem:
    """The contact problem of one load case.

    Attributes
    ----------
    C : array (c, c)
        Compliance.
    q : array (c,)
        Weighted gap with all faces free [mm2].
    G : array (c, k)
        Weighted gap that each rigid motion makes.
    e : array (k,)
        What contact has to put up against the loads, per rigid motion.
    load : float
        Sum of the sizes of all forces, for tolerances [N/mm].
    """

    C: Array
    q: Array
    G: Array
    e: Array
    load: float


@dataclass(frozen=True, eq=False)
class Contact:
    """Answer of the contact problem.

    Attributes
    ----------
    outcome : Outcome
    p : array (c,)
        Pressure at each place [MPa].
    w : array (c,)
        Weighted gap at each place [mm2].
    motion : array (k,)
        Rigid motions of the pieces; when a piece is not held, the way it goes.
    steps : int
    balance : float
        Largest out-of-balance force of a piece over the sum of the loads.
    complementarity : float
        Largest of -p, -w and p w, each over its own scale.
    """

    outcome: Outcome
    p: Array
    w: Array
    motion: Array
    steps: int
    balance: float
    complementarity: float


def solve_contact(problem: Problem) -> Contact:
    """Solve the one-sided, frictionless contact problem.

    Parameters
    ----------
    problem : Problem

    Returns
    -------
    Contact
        Certified when its outcome is CONVERGED; never raises for a piece that nothing holds.
    """
    held, free = _resisted(problem.G)
    loose = free @ (free.T @ problem.e)
    if np.abs(loose).max(initial=0.0) > SLIDES * problem.load:
        return _not_held(problem, -loose, 0)
    G, e = problem.G @ held, held.T @ problem.e
    p, a, w, steps = _active_set(problem.C, problem.q, G, e)
    return _certified(problem, p, held @ a, w, steps)


def _resisted(G: Array) -> tuple[Array, Array]:
    """Orthonormal bases of the motions that some cut resists and of those that none does."""
    _, size, V = np.linalg.svd(G, full_matrices=True)
    rank = int(np.sum(size > 1e-9 * size.max(initial=0.0))) if len(G) else 0
    return V[:rank].T, V[rank:].T


def _active_set(C: Array, q: Array, G: Array, e: Array) -> tuple[Array, Array, Array, int]:
    closed = np.ones(len(q), bool)
    seen: set[bytes] = set()
    one_by_one = False
    most = MOST_STEPS + 10 * len(q)
    p, a, w = q * 0.0, e * 0.0, q
    for step in range(1, most + 1):
        p, a = _with_closed(C, q, G, e, closed)
        w = C @ p + q + G @ a
        small_p, small_w = 1e-12 * np.abs(p).max(initial=0.0), 1e-12 * np.abs(w).max(initial=0.0)
        wrong = np.where(closed, p < -small_p, w < -small_w)
        if not wrong.any():
            return p, a, np.where(closed, 0.0, w), step
        one_by_one = one_by_one or closed.tobytes() in seen or step > MOST_STEPS
        seen.add(closed.tobytes())
        closed = closed ^ (wrong & (np.cumsum(wrong) == 1) if one_by_one else wrong)
    return p, a, w, most + 1


def _with_closed(C: Array, q: Array, G: Array, e: Array, closed: Mask) -> tuple[Array, Array]:
    """Pressure with the given places closed, and the rigid motions that go with it."""
    n, k = int(closed.sum()), len(e)
    scale = np.abs(G).max(initial=1e-300)
    M = np.zeros((n + k, n + k))
    M[:n, :n] = C[np.ix_(closed, closed)]
    M[:n, n:] = G[closed]
    M[n:, :n] = G[closed].T
    # a piece that the closed places do not hold goes far, meets others, and closes them in the next step
    M[n:, n:] -= 1e-12 * scale**2 / np.abs(C).max(initial=1e-300) * np.eye(k)
    x = lu_solve(lu_factor(M, check_finite=False), np.concatenate([-q[closed], e]), check_finite=False)
    p = np.zeros(len(q))
    p[closed] = x[:n]
    return p, x[n:]


def _certified(problem: Problem, p: Array, motion: Array, w: Array, steps: int) -> Contact:
    """Attach the outcome and the figures that prove it."""
    left = problem.G.T @ p - problem.e
    balance = float(np.abs(left).max(initial=0.0) / max(problem.load, 1e-300))
    pressure, gap = np.abs(p).max(initial=0.0), np.abs(w).max(initial=0.0)
    product = np.abs(p * w).max(initial=0.0) / max(pressure * gap, 1e-300)
    wrong = max(-p.min(initial=0.0) / max(pressure, 1e-300), -w.min(initial=0.0) / max(gap, 1e-300), product)
    if not (np.isfinite(p).all() and np.isfinite(w).all()):
        outcome = Outcome.NOT_FINITE
    elif balance > 2 * SLIDES:
        return _not_held(problem, motion, steps)
    else:
        outcome = Outcome.CONVERGED if wrong < 1e-9 else Outcome.STEP_LIMIT
    return Contact(outcome, p, w, motion, steps, balance, float(wrong))


def _not_held(problem: Problem, motion: Array, steps: int) -> Contact:
    nothing = np.zeros(len(problem.q))
    return Contact(Outcome.PIECE_NOT_HELD, nothing, nothing, motion, steps, 1.0, 1.0)
