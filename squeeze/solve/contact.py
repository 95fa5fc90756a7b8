"""One-sided contact with Coulomb friction on all cuts at once, as a small dense complementarity problem.

With p the pressure and t the shear traction at each place, C the compliance, q the weighted gap and slip that the loads make
with all faces free, and a the rigid motions of the pieces (G = what they do to gaps and slips):

    (w, v) = C (p, t) + q + G a ,      w >= 0 ,  p >= 0 ,  p w = 0 ,
    |t| <= mu p ,   t = -mu p sign(v) where v is not 0 ,   G' (p, t) = e .

The last is the equilibrium of every piece. The load is put on once. Without friction this is a convex quadratic programme.
Solved by a primal-dual active set, which is a semismooth Newton method (M. Hintermueller, K. Ito, K. Kunisch, SIAM J. Optim.
13 (2003) 865; P. Alart, A. Curnier, Comput. Methods Appl. Mech. Eng. 92 (1991) 353), from the state in which everything
is closed and sticks. Where that cycles, one place at a time by least index (K. G. Murty, Linear Complementarity, Linear and
Nonlinear Programming, 1988), then friction is raised in steps. Nothing is returned as good that the certificate refuses.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import lu_factor, lu_solve
from scipy.optimize import linprog

from squeeze.solve.closing import Outcome

Array = NDArray[np.float64]
States = NDArray[np.int8]

OPEN, STICK, FORWARD, BACKWARD = 0, 1, 2, 3  # a place's state; forward = the left face slides forward

MOST_STEPS = 40
SLIDES = 1e-3  # share of the loads that may be left over along a motion that no cut resists
CERTAIN = 1e-8  # what the certificate's figures may reach


@dataclass(frozen=True, eq=False)
class Problem:
    """The contact problem of one load case; places first as gaps, then as slips.

    Attributes
    ----------
    C : array (2 c, 2 c)
        Compliance.
    q : array (2 c,)
        Weighted gap and slip with all faces free [mm2].
    G : array (2 c, k)
        Weighted gap and slip that each rigid motion makes.
    e : array (k,)
        What contact has to put up against the loads, per rigid motion.
    mu : array (c,)
        Coefficient of friction at each place.
    load : float
        Sum of the sizes of all forces, for tolerances [N/mm].
    """

    C: Array
    q: Array
    G: Array
    e: Array
    mu: Array
    load: float


@dataclass(frozen=True, eq=False)
class Contact:
    """Answer of the contact problem.

    Attributes
    ----------
    outcome : Outcome
    p, t : array (c,)
        Pressure and shear traction (on the left face, along the cut) at each place [MPa].
    w, v : array (c,)
        Weighted gap and slip at each place [mm2].
    state : array (c,) of int
        OPEN, STICK, FORWARD or BACKWARD.
    motion : array (k,)
        Rigid motions of the pieces; when a piece is not held, the way it goes.
    steps : int
    balance : float
        Largest out-of-balance force of a piece over the sum of the loads.
    complementarity : float
        Largest violation of any of the conditions, each over its own scale.
    """

    outcome: Outcome
    p: Array
    t: Array
    w: Array
    v: Array
    state: States
    motion: Array
    steps: int
    balance: float
    complementarity: float


def solve_contact(problem: Problem) -> Contact:
    """Solve the contact problem.

    Parameters
    ----------
    problem : Problem

    Returns
    -------
    Contact
        Certified when its outcome is CONVERGED. A piece that nothing holds, a state that is not the only one, or one that
        could not be found are outcomes, not errors.
    """
    held, free = _resisted(problem)
    loose = free @ (free.T @ problem.e)
    if np.abs(loose).max(initial=0.0) > SLIDES * problem.load:
        return _not_held(problem, -loose, 0)
    inner = replace(problem, G=problem.G @ held, e=held.T @ problem.e)
    found = _searched(inner)
    leaves = _floating(inner, found) if found.outcome is Outcome.CONVERGED else _escape(inner)
    if leaves is not None:
        return _not_held(problem, held @ leaves, found.steps)
    return replace(found, motion=held @ found.motion)


def _resisted(problem: Problem) -> tuple[Array, Array]:
    """Orthonormal bases of the motions that some cut resists, by pressure or friction, and of those that none does."""
    rough = np.concatenate([np.ones(len(problem.mu), bool), problem.mu > 0])
    _, size, V = np.linalg.svd(problem.G[rough], full_matrices=True)
    rank = int(np.sum(size > 1e-9 * size.max(initial=0.0)))
    return V[:rank].T, V[rank:].T


def _searched(problem: Problem) -> Contact:
    """Try from full stick; then with friction raised in steps; and see whether another start ends elsewhere."""
    c = len(problem.mu)
    sticks = np.where(problem.mu > 0, STICK, FORWARD).astype(np.int8)
    found = _newton(problem, sticks)
    if not problem.mu.any():
        return found
    steps = found.steps
    if found.outcome is not Outcome.CONVERGED:
        found = _raised(problem, steps)
    elif (found.state > STICK).any():
        other = _newton(problem, _smooth_state(problem, c), single=False)
        if other.outcome is Outcome.CONVERGED and _differ(found, other):
            found = replace(found, outcome=Outcome.NOT_UNIQUE)
    return found


def _smooth_state(problem: Problem, c: int) -> States:
    """State without friction, each closed place sliding the way it slides there."""
    smooth = _newton(replace(problem, mu=np.zeros(c)), np.full(c, FORWARD, np.int8))
    return np.where(smooth.state == OPEN, OPEN, np.where(smooth.v >= 0, FORWARD, BACKWARD)).astype(np.int8)


def _differ(one: Contact, other: Contact) -> bool:
    scale = max(np.abs(one.p).max(initial=0.0), np.abs(one.t).max(initial=0.0), 1e-300)
    return bool(max(np.abs(one.p - other.p).max(), np.abs(one.t - other.t).max()) > 1e-5 * scale)


def _raised(problem: Problem, steps: int) -> Contact:
    """Raise friction from nothing to the given in steps, each started from the one before."""
    state = _smooth_state(problem, len(problem.mu))
    found = None
    for share in np.linspace(0.0, 1.0, 11)[1:]:
        found = _newton(replace(problem, mu=share * problem.mu), state)
        steps += found.steps
        state = found.state
    assert found is not None
    return replace(found, steps=steps)


def _newton(problem: Problem, state: States, single: bool = True) -> Contact:
    """Active set from a given state of the places; one place at a time once it cycles."""
    c = len(state)
    seen: set[bytes] = set()
    by_index = False
    most = MOST_STEPS + (4 * c if single else 0)
    for step in range(1, most + 1):
        traction, a = _with_state(problem, state)
        moved = problem.C @ traction + problem.q + problem.G @ a
        new = _next_state(problem, state, traction, moved)
        wrong = new != state
        if not wrong.any():
            break
        by_index = by_index or state.tobytes() in seen or step > MOST_STEPS
        if by_index and not single:
            break
        seen.add(state.tobytes())
        state = np.where(wrong & (np.cumsum(wrong) == 1), new, state) if by_index else new
    return _certified(problem, state, traction, moved, a, step)


def _with_state(problem: Problem, state: States) -> tuple[Array, Array]:
    """Traction (2 c,) and rigid motions (k,) with every place kept in its state."""
    c, k = len(state), len(problem.e)
    closed, stick = np.flatnonzero(state != OPEN), np.flatnonzero(state == STICK)
    slide = np.where(state == FORWARD, -problem.mu, np.where(state == BACKWARD, problem.mu, 0.0))[closed]
    n, m = len(closed), len(closed) + len(stick)
    rows = np.concatenate([closed, c + stick])
    M = np.zeros((m + k, m + k))
    M[:m, :m] = problem.C[np.ix_(rows, rows)]
    M[m:, :m] = problem.G[rows].T
    if slide.any():
        M[:m, :n] += problem.C[np.ix_(rows, c + closed)] * slide
        M[m:, :n] += problem.G[c + closed].T * slide
    M[:m, m:] = problem.G[rows]
    # a piece that the closed places do not hold goes far, meets others, and closes them in the next step
    scale = np.abs(problem.G).max(initial=1e-300)
    M[m:, m:] -= 1e-12 * scale**2 / np.abs(problem.C).max(initial=1e-300) * np.eye(k)
    x = _solved(M, np.concatenate([-problem.q[rows], problem.e]))
    traction = np.zeros(2 * c)
    traction[rows] = x[:m]
    traction[c + closed] += slide * x[:n]
    return traction, x[m:]


def _solved(M: Array, b: Array) -> Array:
    """Solve with one step of refinement."""
    if not len(b):
        return b
    factors = lu_factor(M, check_finite=False)
    x = lu_solve(factors, b, check_finite=False)
    return x + lu_solve(factors, b - M @ x, check_finite=False)


def _next_state(problem: Problem, state: States, traction: Array, moved: Array) -> States:
    """State that each place asks for; within rounding it keeps its own."""
    c = len(state)
    p, t, w, v = traction[:c], traction[c:], moved[:c], moved[c:]
    force, way = 1e-11 * np.abs(traction).max(initial=0.0), 1e-11 * _way(problem, moved)
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


def _way(problem: Problem, moved: Array) -> float:
    """Scale of gaps and slips: the largest there is, but not less than what rounding leaves of the free motion."""
    return max(np.abs(moved).max(initial=0.0), 1e-7 * np.abs(problem.q).max(initial=0.0), 1e-300)


def _certified(problem: Problem, state: States, traction: Array, moved: Array, a: Array, steps: int) -> Contact:
    """Attach the outcome and the figures that prove it."""
    c = len(state)
    p, t, w, v = traction[:c], traction[c:], moved[:c], moved[c:]
    left = problem.G.T @ traction - problem.e
    balance = float(np.abs(left).max(initial=0.0) / max(problem.load, 1e-300))
    force, way = max(np.abs(traction).max(initial=0.0), 1e-300), _way(problem, moved)
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
        return _not_held(problem, a, steps)  # all conditions hold but a piece still goes
    elif wrong < CERTAIN and balance < CERTAIN:
        outcome = Outcome.CONVERGED
    closed = state != OPEN
    return Contact(
        outcome, np.where(closed, np.maximum(p, 0.0), 0.0), t, np.where(closed, 0.0, w), v, state, a, steps, balance, wrong
    )


def _floating(problem: Problem, found: Contact) -> Array | None:
    """A rigid motion that no place which presses or sticks resists, or None."""
    rows = np.concatenate([found.state != OPEN, found.state == STICK])
    _, size, V = np.linalg.svd(problem.G[rows], full_matrices=True)
    rank = int(np.sum(size > 1e-9 * np.abs(problem.G).max(initial=0.0)))
    return V[rank] if rank < len(V) else None


def _escape(problem: Problem) -> Array | None:
    """The rigid motion along which no pressure and friction can hold the pieces, or None when they can.

    Linear programme: least force (in sum) that has to be added to balance the loads with p >= 0, |t| <= mu p. Its dual is
    the way out.
    """
    c, k = len(problem.mu), len(problem.e)
    if not k:
        return None
    scale = max(problem.load, 1e-300)
    size = np.abs(problem.G).max(initial=1e-300)
    cost = np.concatenate([np.zeros(2 * c), np.ones(2 * k)])
    balance = np.hstack([problem.G.T / size, np.eye(k), -np.eye(k)])
    cone = np.vstack([np.hstack([-np.diag(problem.mu), s * np.eye(c), np.zeros((c, 2 * k))]) for s in (1.0, -1.0)])
    bounds = [(0, None)] * c + [(None, None)] * c + [(0, None)] * (2 * k)
    answer = linprog(cost, cone, np.zeros(2 * c), balance, problem.e / scale, bounds, method="highs")
    if answer.status != 0 or answer.fun < SLIDES:
        return None
    return -np.asarray(answer.eqlin.marginals)


def _not_held(problem: Problem, motion: Array, steps: int) -> Contact:
    none = np.zeros(len(problem.mu))
    state = np.full(len(none), OPEN, np.int8)
    return Contact(Outcome.PIECE_NOT_HELD, none, none, none, none, state, motion, steps, 1.0, 1.0)
