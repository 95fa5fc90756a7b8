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
Where that cycles, the places that do not settle are pivoted by themselves (`parts`), with the
pieces on springs where little else holds them (`springs`). Nothing is returned as good that the
certificate refuses.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.contact.active_set import CERTAIN, balanced, settled, way_scale
from squeeze.solve.contact.holding import leaving
from squeeze.solve.contact.partial_pivoting import settled_by_parts
from squeeze.solve.contact.problem import (
    BACKWARD,
    FORWARD,
    OPEN,
    SLIDES,
    STICK,
    Contact,
    Problem,
    States,
    not_held,
    right_singular,
    split_motions,
)
from squeeze.solve.contact.springs import settled_on_springs
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]


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
        return replace(not_held(problem, np.zeros_like(problem.e), 0), outcome=Outcome.NOT_FINITE)
    if not problem.load and (problem.q[: len(problem.mu)] >= 0).all():
        return _unloaded(problem)
    held, free = resisted(problem)
    loose = free @ (free.T @ problem.e)
    if np.abs(loose).max(initial=0.0) > SLIDES * problem.load:
        return not_held(problem, -loose, 0)
    leaves = leaving(problem.G @ held, problem.mu, held.T @ problem.e, problem.load)
    if leaves is not None:
        return not_held(problem, held @ leaves, 0)
    size = _sizes(problem.C)
    inner, R = _unpinned(_scaled(problem, size), held)
    found = _searched(inner, start, look_elsewhere)
    leaves = _floating(inner, found) if found.outcome is Outcome.CONVERGED else None
    if leaves is not None:
        found = not_held(problem, leaves, found.steps)
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


def _unloaded(problem: Problem) -> Contact:
    """Return the answer without any load: nothing presses, and gaps are as they were made."""
    c = len(problem.mu)
    none, gap = np.zeros(c), problem.q[:c]
    touches = np.where(problem.mu > 0, STICK, FORWARD)
    state = np.where(gap > 0, OPEN, touches).astype(np.int8)
    still = np.zeros_like(problem.e)
    return Contact(Outcome.CONVERGED, none, none, gap, none, state, still, 0, 0.0, 0.0)


def _violated(problem: Problem, found: Contact, moved: Array) -> float:
    """Return how far gaps and slips, worked out anew from the problem as it was given, stray.

    From none where faces press or stick, and from passing through each other; over the largest.
    """
    c = len(problem.mu)
    closed, stick = found.state != OPEN, found.state == STICK
    stray = np.concatenate(
        [np.abs(moved[:c][closed]), -moved[:c][~closed], np.abs(moved[c:][stick])]
    )
    return float(max(stray.max(initial=0.0), 0.0) / way_scale(problem, moved))


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


def resisted(problem: Problem) -> tuple[Array, Array]:
    """Orthonormal bases of the motions that some cut resists, and of those that none does.

    By pressure or by friction.
    """
    rough = np.concatenate([np.ones(len(problem.mu), bool), problem.mu > 0])
    return split_motions(problem.G[rough])


def _searched(problem: Problem, start: States | None, look_elsewhere: bool) -> Contact:
    """Settle from the start, by parts or on springs where that does not do.

    And see whether another start ends elsewhere.
    """
    c = len(problem.mu)
    sticks = np.where(problem.mu > 0, STICK, FORWARD).astype(np.int8)
    found, restless = settled(problem, sticks if start is None else start)
    if not balanced(found):
        found = settled_by_parts(problem, found, restless)
    smooth = found.outcome is Outcome.CONVERGED and not problem.mu.any()
    if not balanced(found) and not smooth and problem.G.size:
        found = settled_on_springs(problem, found)
    slides = (found.state > STICK) & (problem.mu > 0)
    if look_elsewhere and balanced(found) and slides.any():
        other, _ = settled(problem, _smooth_state(problem, c))
        if other.outcome is Outcome.CONVERGED and _differ(found, other):
            found = replace(found, outcome=Outcome.NOT_UNIQUE)
    return found


def _smooth_state(problem: Problem, c: int) -> States:
    """State without friction, each closed place sliding the way it slides there."""
    smooth, _ = settled(replace(problem, mu=np.zeros(c)), np.full(c, FORWARD, np.int8))
    return np.where(smooth.state == OPEN, OPEN, np.where(smooth.v >= 0, FORWARD, BACKWARD)).astype(
        np.int8
    )


def _differ(one: Contact, other: Contact) -> bool:
    scale = max(np.abs(one.p).max(initial=0.0), np.abs(one.t).max(initial=0.0), 1e-300)
    return bool(max(np.abs(one.p - other.p).max(), np.abs(one.t - other.t).max()) > 1e-5 * scale)


def _floating(problem: Problem, found: Contact) -> Array | None:
    """Return the motion, resisted by no place that presses, by which pieces came clear; or None."""
    presses = found.p > CERTAIN * problem.load
    rows = np.concatenate([presses, presses & (problem.mu > 0)])
    size, V = right_singular(problem.G[rows])
    free = V[int(np.sum(size > 1e-9 * np.abs(problem.G).max(initial=0.0))) :]
    if not len(free) or not problem.load:
        return None
    way = free.T @ (free @ found.motion)
    return way if np.linalg.norm(way) > CERTAIN * np.linalg.norm(found.motion) else free[0]
