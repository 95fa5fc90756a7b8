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

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from squeeze.solve.contact.active_set import CERTAIN, balanced, settled, way_scale
from squeeze.solve.contact.coulomb import (
    FORWARD,
    OPEN,
    STICK,
    States,
    sliding_by,
    when_closing,
)
from squeeze.solve.contact.holding import leaving
from squeeze.solve.contact.partial_pivoting import settled_by_parts
from squeeze.solve.contact.problem import (
    SAME,
    SLIDES,
    STRAIGHT,
    Contact,
    Problem,
    not_held,
    right_singular,
    split_motions,
)
from squeeze.solve.contact.springs import settled_on_springs
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

LOAD_STEPS = 8  # in which loads are put on where friction allows several states


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
        Certified when its outcome has an answer. Where friction allows several states, the outcome
        is NOT_UNIQUE, the answer is the state that the loads lead to as they grow from zero, and
        `others` holds the other states. A piece that nothing holds, or a state that could not be
        found, are outcomes, not errors.
    """
    if not all(np.isfinite(part).all() for part in (problem.C, problem.q, problem.G, problem.e)):
        return replace(not_held(problem, np.zeros_like(problem.e), 0), outcome=Outcome.NOT_FINITE)
    if not problem.load and (problem.q[: len(problem.mu)] >= 0).all():
        return _unloaded(problem)
    held, free = resisted(problem.G, problem.mu)
    loose = free @ (free.T @ problem.e)
    if np.abs(loose).max(initial=0.0) > SLIDES * problem.load:
        return not_held(problem, -loose, 0)
    leaves = leaving(problem.G @ held, problem.mu, held.T @ problem.e, problem.load)
    if leaves is not None:
        return not_held(problem, held @ leaves, 0)
    size = _sizes(problem.C)
    inner, R = _unpinned(_scaled(problem, size), held)

    def unscaled(found: Contact) -> Contact:
        return _unscaled(problem, found, size, inner.G, held, R)

    found = unscaled(_searched(inner, start))
    slides = (found.state > STICK) & (problem.mu > 0)
    if not (look_elsewhere and balanced(found) and slides.any()):
        return found
    other = unscaled(settled(inner, _smooth_state(inner))[0])
    if not (other.outcome is Outcome.CONVERGED and _differ(found, other)):
        return found

    def settle(part: Problem, state: States) -> Contact:
        inner, R = _unpinned(_scaled(part, size), held)
        return _unscaled(part, settled(inner, state)[0], size, inner.G, held, R)

    return _of_several(problem, (found, other), settle)


def _of_several(
    problem: Problem, states: tuple[Contact, ...], settle: Callable[[Problem, States], Contact]
) -> Contact:
    """Return the state that the loads lead to as they grow from zero, and beside it the others.

    Friction remembers: what slides at each step of the loads slides on from where it was, and the
    way in which places slide last is where the whole load starts from. Without unloaded gaps the
    first share of the loads makes the same state as all of them, and that from everything sticking
    on is the one.
    """
    found, steps = states[0], sum(each.steps for each in states)
    if problem.gap0 is not None and problem.gap0.any():
        state = np.where(problem.gap0 > 0, OPEN, when_closing(problem.mu)).astype(np.int8)
        slid = np.zeros(len(problem.mu))
        for share in np.arange(1, LOAD_STEPS + 1) / LOAD_STEPS:
            led = settle(problem.at_share(float(share), slid), state)
            steps, state, slid = steps + led.steps, led.state, slid + led.v
        led = settle(problem, state)
        steps += led.steps
        found = led if balanced(led) else found
    others = tuple(each for each in states if _differ(found, each))
    return replace(found, outcome=Outcome.NOT_UNIQUE, others=others, steps=steps)


def _unscaled(
    problem: Problem, found: Contact, size: Array, inner_G: Array, held: Array, R: Array
) -> Contact:
    """Return the answer of the inner problem as one of the problem as it was given."""
    if found.outcome is Outcome.PIECE_NOT_HELD:
        return replace(found, motion=held @ np.linalg.solve(R, found.motion))
    c, moved = len(problem.mu), found.motion
    found = replace(
        found,
        p=found.p * size[:c],
        t=found.t * size[:c],
        w=found.w / size[:c],
        v=found.v / size[:c],
    )
    apart = problem.C @ np.concatenate([found.p, found.t]) + problem.q
    ways = np.linalg.solve(R, found.motion - inner_G.T @ (size * apart))
    found = replace(found, motion=held @ ways)
    if found.outcome is Outcome.CONVERGED:
        if not _all_pressed(problem, found):
            rough = np.concatenate([np.ones(c, bool), problem.mu > 0])
            way = _floating(inner_G, _pressing(problem, found) & rough, moved)
            return not_held(problem, held @ np.linalg.solve(R, way), found.steps)
        found = _least_slip(problem, _least_motion(problem, found))
    violated = _violated(problem, found, apart + problem.G @ found.motion)
    return replace(found, complementarity=max(found.complementarity, violated))


def _unloaded(problem: Problem) -> Contact:
    """Return the answer without any load: nothing presses, and gaps are as they were made."""
    c = len(problem.mu)
    none, gap = np.zeros(c), problem.q[:c]
    touches = when_closing(problem.mu)
    state = np.where(gap > 0, OPEN, touches).astype(np.int8)
    still = np.zeros_like(problem.e)
    return Contact(Outcome.CONVERGED, none, none, gap, none, state, still, 0, 0.0, 0.0)


def _violated(problem: Problem, found: Contact, moved: Array) -> float:
    """Return how far gaps and slips stray from those that motions and tractions make.

    From none where faces press or stick, and from passing through each other; over the largest.
    """
    stick = found.state == STICK
    stray = np.abs(moved - np.concatenate([found.w, np.where(stick, 0.0, found.v)]))
    return float(stray.max(initial=0.0) / way_scale(problem, moved))


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


def resisted(G: Array, mu: Array) -> tuple[Array, Array]:
    """Orthonormal bases of the motions that some cut resists, and of those that none does.

    By pressure or by friction.
    """
    return split_motions(G, np.concatenate([np.ones(len(mu), bool), mu > 0]))


def _searched(problem: Problem, start: States | None) -> Contact:
    """Settle from the start, by parts or on springs where that does not do."""
    sticks = when_closing(problem.mu)
    found, restless = settled(problem, sticks if start is None else start)
    if not balanced(found):
        found = settled_by_parts(problem, found, restless)
    smooth = found.outcome is Outcome.CONVERGED and not problem.mu.any()
    if not balanced(found) and not smooth and problem.G.size:
        found = settled_on_springs(problem, found)
    return found


def _smooth_state(problem: Problem) -> States:
    """State without friction, each closed place sliding the way it slides there."""
    c = len(problem.mu)
    smooth, _ = settled(replace(problem, mu=np.zeros(c)), np.full(c, FORWARD, np.int8))
    return np.where(smooth.state == OPEN, OPEN, sliding_by(smooth.v)).astype(np.int8)


def _differ(one: Contact, other: Contact) -> bool:
    scale = max(np.abs(one.p).max(initial=0.0), np.abs(one.t).max(initial=0.0), 1e-300)
    return bool(max(np.abs(one.p - other.p).max(), np.abs(one.t - other.t).max()) > 1e-5 * scale)


def _all_pressed(problem: Problem, found: Contact) -> bool:
    """Whether something presses on every piece that has faces."""
    touched, has_faces = (
        np.abs(rows).any(axis=0) for rows in (problem.G[_pressing(problem, found)], problem.G)
    )
    return not problem.load or bool((touched | ~has_faces).all())


def _pressing(problem: Problem, found: Contact) -> Mask:
    """Which rows (2 c,) are of places that press."""
    force = found.p * np.abs(problem.G[: len(found.p)]).max(axis=1, initial=0.0)
    return np.tile(force > CERTAIN * problem.load, 2)


def _floating(G: Array, rows: Mask, motion: Array) -> Array:
    """Return the part of a motion that no place of `rows` resists: the way of pieces that float."""
    size, V = right_singular(G[rows])
    free = V[int(np.sum(size > 1e-9 * np.abs(G).max(initial=0.0))) :]
    way = free.T @ (free @ motion)
    return way if np.linalg.norm(way) > CERTAIN * np.linalg.norm(motion) else free[0]


def _least_motion(problem: Problem, found: Contact) -> Contact:
    """Return the contact with motions that nothing resists made the least that keeps faces apart.

    A piece that rests on smooth level faces may slide until it meets a slope: any place is an
    equilibrium, and the one nearest to where it was made is taken. The least distance programme is
    solved by non-negative least squares (C. L. Lawson, R. J. Hanson, Solving Least Squares
    Problems, 1974, chapter 23).
    """
    c = len(problem.mu)
    closed = found.state != OPEN
    free = split_motions(problem.G, np.concatenate([closed, closed & (problem.mu > 0)]))[1]
    opens = problem.G[:c][~closed] @ free
    if not np.abs(opens).max(initial=0.0) > STRAIGHT * np.abs(problem.G).max(initial=0.0):
        return found
    motion = found.motion - free @ (free.T @ found.motion)
    apart = found.w[~closed] - opens @ (free.T @ found.motion)
    scale = max(np.abs(apart).max(initial=0.0), 1e-300)
    programme = np.vstack([opens.T, -apart / scale])
    target = np.concatenate([np.zeros(len(opens.T)), [1.0]])
    left = programme @ nnls(programme, target)[0] - target
    least = -left[:-1] / left[-1] * scale if left[-1] < 0 else free.T @ found.motion
    moved = problem.G @ (motion + free @ least - found.motion)
    w = np.where(closed, 0.0, np.maximum(found.w + moved[:c], 0.0))
    return replace(found, motion=motion + free @ least, w=w, v=found.v + moved[c:])


def _least_slip(problem: Problem, found: Contact) -> Contact:
    """Return the contact with sliding that nothing resists made the least there can be."""
    c = len(problem.mu)
    _, free = split_motions(problem.G, np.concatenate([np.ones(c, bool), found.state == STICK]))
    slides = problem.G[c:] @ free
    # what moves no face, the block as a whole for one, stays as it is
    if not np.abs(slides).max(initial=0.0) > SAME * np.abs(problem.G).max(initial=0.0):
        return found
    way = np.linalg.lstsq(slides, -found.v, rcond=SAME)[0]
    return replace(found, motion=found.motion + free @ way, v=found.v + slides @ way)
