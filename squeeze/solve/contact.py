"""One-sided contact with Coulomb friction on all cuts at once.

A small dense complementarity problem.

With p the pressure and t the shear traction at each place, C the compliance, q the weighted gap and
slip that the loads make with all faces free, and a the rigid motions of the pieces (G = what they
do to gaps and slips):

    (w, v) = C (p, t) + q + G a ,      w >= 0 ,  p >= 0 ,  p w = 0 ,
    |t| <= mu p ,   t = -mu p sign(v) where v is not 0 ,   G' (p, t) = e .

The last is the equilibrium of every piece. The load is put on once. Without friction this is a
convex quadratic programme. Solved by a primal-dual active set, which is a semismooth Newton method
(M. Hintermueller, K. Ito, K. Kunisch, SIAM J. Optim. 13 (2003) 865; P. Alart, A. Curnier, Comput.
Methods Appl. Mech. Eng. 92 (1991) 353), from the state in which everything is closed and sticks.
Where that cycles, complementary pivoting finds the state (`pivot`). Nothing is returned as good
that the certificate refuses.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import get_lapack_funcs

from squeeze.solve.closing import Outcome
from squeeze.solve.leave import leaving
from squeeze.solve.pivot import friction_states

Array = NDArray[np.float64]
States = NDArray[np.int8]

_getrf, _getrs = get_lapack_funcs(("getrf", "getrs"), dtype=np.float64)

# a place's state; forward = the left face slides forward
OPEN, STICK, FORWARD, BACKWARD = 0, 1, 2, 3

MOST_STEPS = 20
MOST_PIVOTS = 400
SLIDES = 1e-3  # share of the loads that may be left over along a motion that no cut resists
# A cut that resists a motion by less than this, over what resists most, is straight: gathering its
# places may bend it so.
STRAIGHT = 1e-3
# How far, over the free gaps, a motion that nothing resists but friction at its limit may go for a
# left-over of SLIDES; 0 = as far as it likes. One that leaves less than BALANCED is not improved.
SLACKS = (0.01, 1.0, 0.0)
BALANCED = 1e-6
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


def solve_contact(
    problem: Problem, start: States | None = None, look_elsewhere: bool = True
) -> Contact:
    """Solve the contact problem.

    Parameters
    ----------
    problem : Problem
    start : array (c,) of int, optional
        State to start from; everything closed and sticking by default.
    look_elsewhere : bool
        Whether to see if another start ends in another state.

    Returns
    -------
    Contact
        Certified when its outcome is CONVERGED. A piece that nothing holds, a state that is not the
        only one, or one that could not be found are outcomes, not errors.
    """
    if not all(np.isfinite(part).all() for part in (problem.C, problem.q, problem.G, problem.e)):
        return replace(_not_held(problem, np.zeros_like(problem.e), 0), outcome=Outcome.NOT_FINITE)
    held, free = _resisted(problem)
    loose = free @ (free.T @ problem.e)
    if np.abs(loose).max(initial=0.0) > SLIDES * problem.load:
        return _not_held(problem, -loose, 0)
    leaves = leaving(problem.G @ held, problem.mu, held.T @ problem.e, problem.load)
    if leaves is not None:
        return _not_held(problem, held @ leaves, 0)
    size = _sizes(problem.C)
    inner, R = _unpinned(_scaled(problem, size), held)
    found = _searched(inner, start, look_elsewhere)
    leaves = _floating(inner, found) if found.outcome is Outcome.CONVERGED else None
    if leaves is not None:
        found = _not_held(problem, leaves, found.steps)
    if found.outcome is Outcome.PIECE_NOT_HELD:
        return replace(found, motion=held @ np.linalg.solve(R, found.motion))
    c = len(problem.mu)
    found = replace(
        found,
        p=found.p * size[:c],
        t=found.t * size[:c],
        w=found.w / size[:c],
        v=found.v / size[:c],
    )
    apart = problem.C @ np.concatenate([found.p, found.t]) + problem.q
    ways = np.linalg.solve(R, found.motion - inner.G.T @ (size * apart))
    found = replace(found, motion=held @ ways)
    violated = _violated(problem, found, apart + problem.G @ found.motion)
    return replace(found, complementarity=max(found.complementarity, violated))


def _violated(problem: Problem, found: Contact, moved: Array) -> float:
    """Return how far gaps and slips, worked out anew from the problem as it was given, stray.

    From none where faces press or stick, and from passing through each other; over the largest.
    """
    c = len(problem.mu)
    closed, stick = found.state != OPEN, found.state == STICK
    stray = np.concatenate(
        [np.abs(moved[:c][closed]), -moved[:c][~closed], np.abs(moved[c:][stick])]
    )
    return float(max(stray.max(initial=0.0), 0.0) / _way(problem, moved))


def _sizes(C: Array) -> Array:
    """Return what to multiply gaps and slips with, so that small and large places weigh alike."""
    c = len(C) // 2
    own = np.maximum(np.diag(C)[:c], np.diag(C)[c:])
    return np.tile(1.0 / np.sqrt(np.maximum(own, 1e-300)), 2)


def _scaled(problem: Problem, size: Array) -> Problem:
    return replace(
        problem,
        C=problem.C * size[:, None] * size,
        q=problem.q * size,
        G=problem.G * size[:, None],
    )


def _unpinned(problem: Problem, held: Array) -> tuple[Problem, Array]:
    """Take the pins' share out of compliance and load, over an orthonormal basis of the motions.

    With Q R = G and G' (p, t) = e, what C does along Q is a rigid motion of the pieces or known:
    (I - Q Q') C (I - Q Q') takes its place, and the numbers are those of gaps, not of pins.
    """
    Q, R = np.linalg.qr(problem.G @ held)
    e = np.linalg.solve(R.T, held.T @ problem.e)
    CQ = problem.C @ Q
    C = problem.C - CQ @ Q.T - Q @ CQ.T + Q @ (Q.T @ CQ) @ Q.T
    q = problem.q + CQ @ e
    load = problem.load / max(float(np.linalg.norm(R, 2)) if R.size else 0.0, 1e-300)
    return replace(problem, C=C, q=q - Q @ (Q.T @ q), G=Q, e=e, load=load), R


def _resisted(problem: Problem) -> tuple[Array, Array]:
    """Orthonormal bases of the motions that some cut resists, and of those that none does.

    By pressure or by friction.
    """
    rough = np.concatenate([np.ones(len(problem.mu), bool), problem.mu > 0])
    return split_motions(problem.G[rough])


def split_motions(G: Array) -> tuple[Array, Array]:
    """Return orthonormal bases of the motions that change the rows of `G`, and that do not.

    Shapes (k, r) and (k, k - r).
    """
    size, V = _right_singular(G)
    rank = int(np.sum(size > STRAIGHT * size.max(initial=0.0)))
    return V[:rank].T, V[rank:].T


def _right_singular(G: Array) -> tuple[Array, Array]:
    """Singular values and all right singular vectors (rows) of a tall matrix.

    By way of its triangular factor.
    """
    _, size, V = np.linalg.svd(np.linalg.qr(G, mode="r"), full_matrices=True)
    return size, V


def _searched(problem: Problem, start: States | None, look_elsewhere: bool) -> Contact:
    """Try from the start, then from the state that pivoting finds.

    And see whether another start ends elsewhere.
    """
    c = len(problem.mu)
    sticks = np.where(problem.mu > 0, STICK, FORWARD).astype(np.int8)
    found = _newton(problem, sticks if start is None else start)
    if found.outcome in (Outcome.STEP_LIMIT, Outcome.NOT_FINITE):
        return _elsewhere(problem, found)
    rubs = problem.mu.any() and (found.state > STICK).any()
    if look_elsewhere and found.outcome is Outcome.CONVERGED and rubs:
        other = _settled(problem, _smooth_state(problem, c), SLACKS[0])
        if other.outcome is Outcome.CONVERGED and _differ(found, other):
            found = replace(found, outcome=Outcome.NOT_UNIQUE)
    return found


def _elsewhere(problem: Problem, before: Contact) -> Contact:
    """Try from the state without friction, then by pivoting; a piece floats only if both fail."""
    smooth = _newton(problem, _smooth_state(problem, len(problem.mu)))
    smooth = replace(smooth, steps=before.steps + smooth.steps)
    settled = smooth.outcome is Outcome.CONVERGED
    if settled and _floating(problem, smooth) is None:
        return smooth
    found = _pivoted(problem, smooth)
    return smooth if settled and found.outcome is Outcome.STEP_LIMIT else found


def _pivoted(problem: Problem, before: Contact) -> Contact:
    """Find the state by complementary pivoting, pieces on springs that the answer does not know."""
    c, steps, found = len(problem.mu), before.steps, before
    size = float(np.abs(np.diag(problem.C)).max())
    for slack in (1e2, 1e4, 1.0) if problem.G.size else (0.0,):
        soft = slack * size * problem.G
        C, q = problem.C + soft @ problem.G.T, problem.q - soft @ problem.e
        guess = friction_states(C, q, problem.mu, MOST_PIVOTS + 4 * c)
        way = np.where(guess.shear < 0, FORWARD, BACKWARD)
        state = np.where(guess.slides, way, np.where(problem.mu > 0, STICK, FORWARD))
        found = _newton(problem, np.where(guess.presses, state, OPEN).astype(np.int8))
        steps += found.steps
        if found.outcome in (Outcome.CONVERGED, Outcome.PIECE_NOT_HELD):
            break
    return replace(found, steps=steps)


def _smooth_state(problem: Problem, c: int) -> States:
    """State without friction, each closed place sliding the way it slides there."""
    smooth = _newton(replace(problem, mu=np.zeros(c)), np.full(c, FORWARD, np.int8))
    return np.where(smooth.state == OPEN, OPEN, np.where(smooth.v >= 0, FORWARD, BACKWARD)).astype(
        np.int8
    )


def _differ(one: Contact, other: Contact) -> bool:
    scale = max(np.abs(one.p).max(initial=0.0), np.abs(one.t).max(initial=0.0), 1e-300)
    return bool(max(np.abs(one.p - other.p).max(), np.abs(one.t - other.t).max()) > 1e-5 * scale)


def _newton(problem: Problem, state: States) -> Contact:
    """Active set from a given state of the places.

    Motions that nothing resists but friction at its limit are tried stiff first, then ever softer.
    """
    steps, best = 0, None
    for slack in SLACKS if problem.mu.any() else SLACKS[-1:]:
        found = _settled(problem, state, slack)
        steps += found.steps
        if best is None or best.outcome is not Outcome.CONVERGED or _better(found, best):
            best = found
        if best.outcome is Outcome.CONVERGED and best.balance < BALANCED:
            break
    assert best is not None
    return replace(best, steps=steps)


def _better(one: Contact, other: Contact) -> bool:
    return one.outcome is Outcome.CONVERGED and one.balance < other.balance


def _settled(problem: Problem, state: States, slack: float) -> Contact:
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
    size, V = _right_singular(problem.G[rows])
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
    """Scale of gaps and slips: the largest there is.

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


def _floating(problem: Problem, found: Contact) -> Array | None:
    """Return the motion, resisted by no place that presses, by which pieces came clear; or None."""
    presses = found.p > CERTAIN * problem.load
    rows = np.concatenate([presses, presses & (problem.mu > 0)])
    size, V = _right_singular(problem.G[rows])
    free = V[int(np.sum(size > 1e-9 * np.abs(problem.G).max(initial=0.0))) :]
    if not len(free) or not problem.load:
        return None
    way = free.T @ (free @ found.motion)
    return way if np.linalg.norm(way) > CERTAIN * np.linalg.norm(found.motion) else free[0]


def _not_held(problem: Problem, motion: Array, steps: int) -> Contact:
    none = np.zeros(len(problem.mu))
    state = np.full(len(none), OPEN, np.int8)
    return Contact(Outcome.PIECE_NOT_HELD, none, none, none, none, state, motion, steps, 1.0, 1.0)
