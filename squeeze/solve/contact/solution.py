"""One-sided contact with Coulomb friction on all cuts at once.

A small dense complementarity problem.

With p the pressure and t the shear traction at each place, C the compliance, q the weighted gap and
slip that the loads make with all faces free, and a the rigid motions of the pieces (R = what they
do to gaps and slips):

    (w, v) = C (p, t) + q + R a ,      w >= 0 ,  p >= 0 ,  p w = 0 ,
    |t| <= mu p ,   t = -mu p sign(v) where v is not 0 ,   R' (p, t) = b .

The last is the equilibrium of every piece. The load is put on once. Without friction this is a
convex quadratic programme. Solved by a primal-dual active set, which is a semismooth Newton method
(M. Hintermueller, K. Ito, K. Kunisch, SIAM J. Optim. 13 (2003) 865; P. Alart, A. Curnier, Comput.
Methods Appl. Mech. Eng. 92 (1991) 353), from the state in which everything is closed and sticks.
Where that cycles, the restless places are pivoted (`partial_pivoting`), with the pieces on springs
where little else holds them (`springs`). A solution is certified, or its outcome says that it is
not.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.contact.active_set import CERTAIN, gap_scale, is_balanced, solve_active_set
from squeeze.solve.contact.coulomb import (
    FORWARD,
    OPEN,
    STICK,
    States,
    sliding_by,
    when_closing,
)
from squeeze.solve.contact.holding import least_squares_from_zero, unheld_motion
from squeeze.solve.contact.partial_pivoting import pivot_restless_places
from squeeze.solve.contact.problem import (
    SAME,
    SLIDES,
    STRAIGHT,
    ContactProblem,
    ContactSolution,
    not_held,
    right_singular,
    split_motions,
)
from squeeze.solve.contact.springs import solve_on_springs
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

MOST_VIOLATED = 1e-2
"""Largest error of gaps and slips, over the largest of them, with which an answer is certified;
more is left where a piece hangs on no more than the rounding of its faces."""
LOAD_STEPS = 8  # shares in which the loads grow where friction allows several states


def solve_contact(
    problem: ContactProblem, start: States | None = None, look_elsewhere: bool = True
) -> ContactSolution:
    """Solve the contact problem.

    Parameters
    ----------
    problem : ContactProblem
    start : array (c,) of int, optional
        State to start from; everything closed and sticking by default.
    look_elsewhere : bool
        Whether to see if another start ends in another state.

    Returns
    -------
    ContactSolution
        Certified when its outcome has an answer. Where friction allows several states, the outcome
        is NOT_UNIQUE, the answer is the state that the loads lead to as they grow from zero, and
        `others` holds the other states. A piece that nothing holds, or a state that could not be
        found, are outcomes, not errors.
    """
    if not all(np.isfinite(part).all() for part in (problem.C, problem.q, problem.R, problem.b)):
        return replace(not_held(problem, np.zeros_like(problem.b), 0), outcome=Outcome.NOT_FINITE)
    if not problem.load and (problem.q[: len(problem.mu)] >= 0).all():
        return _unloaded(problem)
    held, free = resisted(problem.R, problem.mu)
    loose = free @ (free.T @ problem.b)
    if np.abs(loose).max(initial=0.0) > SLIDES * problem.load:
        return not_held(problem, -loose, 0)
    motion = unheld_motion(problem.R @ held, problem.mu, held.T @ problem.b, problem.load)
    if motion is not None:
        return not_held(problem, held @ motion, 0)
    size = _sizes(problem.C)
    inner, upper = _unpinned(_scaled(problem, size), held)

    def unscaled(found: ContactSolution) -> ContactSolution:
        return _unscaled(problem, found, size, inner.R, held, upper)

    found = unscaled(_searched(inner, start))
    slides = (found.state > STICK) & (problem.mu > 0)
    if not (look_elsewhere and is_balanced(found) and slides.any()):
        return found
    other = unscaled(solve_active_set(inner, _smooth_state(inner))[0])
    if not (other.outcome is Outcome.CONVERGED and _differ(found, other)):
        return found

    def solve_part(part: ContactProblem, state: States) -> ContactSolution:
        inner, upper = _unpinned(_scaled(part, size), held)
        return _unscaled(part, solve_active_set(inner, state)[0], size, inner.R, held, upper)

    return _of_several(problem, (found, other), solve_part)


def _of_several(
    problem: ContactProblem,
    states: tuple[ContactSolution, ...],
    solve_part: Callable[[ContactProblem, States], ContactSolution],
) -> ContactSolution:
    """Return the state that the loads lead to as they grow from zero, and beside it the others.

    Friction depends on the history of the loads: a place slides on from where the last share of the
    loads left it, and the state at the last share starts the whole load. Without unloaded gaps the
    first share makes the same state as all of the loads: the one found from everything sticking.
    """
    found, steps = states[0], sum(each.steps for each in states)
    if problem.gap0 is not None and problem.gap0.any():
        state = np.where(problem.gap0 > 0, OPEN, when_closing(problem.mu)).astype(np.int8)
        slid = np.zeros(len(problem.mu))
        for share in np.arange(1, LOAD_STEPS + 1) / LOAD_STEPS:
            led = solve_part(problem.at_share(float(share), slid), state)
            steps, state, slid = steps + led.steps, led.state, slid + led.v
        led = solve_part(problem, state)
        steps += led.steps
        found = led if is_balanced(led) else found
    others = tuple(each for each in states if _differ(found, each))
    return replace(found, outcome=Outcome.NOT_UNIQUE, others=others, steps=steps)


def _unscaled(
    problem: ContactProblem,
    found: ContactSolution,
    size: Array,
    inner_G: Array,
    held: Array,
    upper: Array,
) -> ContactSolution:
    """Return the solution of the scaled inner problem as one of the given problem."""
    if found.outcome is Outcome.PIECE_NOT_HELD:
        return replace(found, motion=held @ np.linalg.solve(upper, found.motion))
    c, moved = len(problem.mu), found.motion
    found = replace(
        found,
        p=found.p * size[:c],
        t=found.t * size[:c],
        w=found.w / size[:c],
        v=found.v / size[:c],
    )
    apart = problem.C @ np.concatenate([found.p, found.t]) + problem.q
    motion = np.linalg.solve(upper, found.motion - inner_G.T @ (size * apart))
    found = replace(found, motion=held @ motion)
    if found.outcome is Outcome.CONVERGED:
        if not _all_pressed(problem, found):
            rough = np.concatenate([np.ones(c, bool), problem.mu > 0])
            away = _floating(inner_G, _pressing(problem, found) & rough, moved)
            return not_held(problem, held @ np.linalg.solve(upper, away), found.steps)
        found = _least_slip(problem, _least_motion(problem, found))
    violated = _violated(problem, found, apart + problem.R @ found.motion)
    if found.outcome is Outcome.CONVERGED and violated > MOST_VIOLATED:
        found = replace(found, outcome=Outcome.OUT_OF_BALANCE)
    return replace(found, complementarity=max(found.complementarity, violated))


def _unloaded(problem: ContactProblem) -> ContactSolution:
    """Return the solution without loads: nothing presses, and gaps are as they were made."""
    c = len(problem.mu)
    none, gap = np.zeros(c), problem.q[:c]
    touches = when_closing(problem.mu)
    state = np.where(gap > 0, OPEN, touches).astype(np.int8)
    still = np.zeros_like(problem.b)
    return ContactSolution(Outcome.CONVERGED, none, none, gap, none, state, still, 0, 0.0, 0.0)


def _violated(problem: ContactProblem, found: ContactSolution, moved: Array) -> float:
    """Return the largest error of gaps and slips, over the largest of them.

    Against those that motions and tractions make; pressed faces have no gap, sticking ones no slip.
    """
    stick = found.state == STICK
    stray = np.abs(moved - np.concatenate([found.w, np.where(stick, 0.0, found.v)]))
    return float(stray.max(initial=0.0) / gap_scale(problem, moved))


def _sizes(C: Array) -> Array:
    """Return the factors (2 c,) of gaps and slips by which small and large places weigh alike."""
    c = len(C) // 2
    own = np.maximum(np.diag(C)[:c], np.diag(C)[c:])
    return np.tile(1.0 / np.sqrt(np.maximum(own, 1e-300)), 2)


def _scaled(problem: ContactProblem, size: Array) -> ContactProblem:
    return replace(
        problem,
        C=problem.C * size[:, None] * size,
        q=problem.q * size,
        R=problem.R * size[:, None],
    )


def _unpinned(problem: ContactProblem, held: Array) -> tuple[ContactProblem, Array]:
    """Take the pins' part out of compliance and load, in an orthonormal basis Q of the motions.

    With Q U = R and R' (p, t) = b, the part of C along Q is a rigid motion of the pieces, or known.
    (I - Q Q') C (I - Q Q') takes the place of C, whose numbers then are those of gaps, not of pins.
    """
    Q, upper = np.linalg.qr(problem.R @ held)
    b = np.linalg.solve(upper.T, held.T @ problem.b)
    CQ = problem.C @ Q
    C = problem.C - CQ @ Q.T - Q @ CQ.T + Q @ (Q.T @ CQ) @ Q.T
    q = problem.q + CQ @ b
    load = problem.load / max(float(np.linalg.norm(upper, 2)) if upper.size else 0.0, 1e-300)
    return replace(problem, C=C, q=q - Q @ (Q.T @ q), R=Q, b=b, load=load), upper


def resisted(R: Array, mu: Array) -> tuple[Array, Array]:
    """Return bases (k, r) and (k, k - r) of the motions that some cut resists, and of the others.

    They are orthonormal. A cut resists by pressure or by friction.

    Parameters
    ----------
    R : array (2 c, k)
        Gap, then slip, that each rigid motion makes at each place.
    mu : array (c,)
        Friction.
    """
    return split_motions(R, np.concatenate([np.ones(len(mu), bool), mu > 0]))


def _searched(problem: ContactProblem, start: States | None) -> ContactSolution:
    """Solve by the active set; pivot, then put the pieces on springs, where that fails."""
    sticks = when_closing(problem.mu)
    found, restless = solve_active_set(problem, sticks if start is None else start)
    if not is_balanced(found):
        found = pivot_restless_places(problem, found, restless)
    smooth = found.outcome is Outcome.CONVERGED and not problem.mu.any()
    if not is_balanced(found) and not smooth and problem.R.size:
        found = solve_on_springs(problem, found)
    return found


def _smooth_state(problem: ContactProblem) -> States:
    """State without friction: each closed place slides in the direction it slides there."""
    c = len(problem.mu)
    smooth, _ = solve_active_set(replace(problem, mu=np.zeros(c)), np.full(c, FORWARD, np.int8))
    return np.where(smooth.state == OPEN, OPEN, sliding_by(smooth.v)).astype(np.int8)


def _differ(one: ContactSolution, other: ContactSolution) -> bool:
    scale = max(np.abs(one.p).max(initial=0.0), np.abs(one.t).max(initial=0.0), 1e-300)
    return bool(max(np.abs(one.p - other.p).max(), np.abs(one.t - other.t).max()) > 1e-5 * scale)


def _all_pressed(problem: ContactProblem, found: ContactSolution) -> bool:
    """Whether something presses on every piece that has faces."""
    touched, has_faces = (
        np.abs(rows).any(axis=0) for rows in (problem.R[_pressing(problem, found)], problem.R)
    )
    return not problem.load or bool((touched | ~has_faces).all())


def _pressing(problem: ContactProblem, found: ContactSolution) -> Mask:
    """Which rows (2 c,) are of places that press."""
    force = found.p * np.abs(problem.R[: len(found.p)]).max(axis=1, initial=0.0)
    return np.tile(force > CERTAIN * problem.load, 2)


def _floating(R: Array, rows: Mask, motion: Array) -> Array:
    """Return the part of a motion that no place of `rows` resists: that of floating pieces."""
    size, V = right_singular(R[rows])
    free = V[int(np.sum(size > 1e-9 * np.abs(R).max(initial=0.0))) :]
    part = free.T @ (free @ motion)
    return part if np.linalg.norm(part) > CERTAIN * np.linalg.norm(motion) else free[0]


def _least_motion(problem: ContactProblem, found: ContactSolution) -> ContactSolution:
    """Return the solution with the least of the motions that nothing resists and faces allow.

    A piece that rests on smooth level faces may slide until it meets a slope: any place is an
    equilibrium, and the one nearest to where it was made is taken. The least distance programme is
    solved by non-negative least squares (C. L. Lawson, R. J. Hanson, Solving Least Squares
    Problems, 1974, chapter 23).
    """
    c = len(problem.mu)
    closed = found.state != OPEN
    free = split_motions(problem.R, np.concatenate([closed, closed & (problem.mu > 0)]))[1]
    opens = problem.R[:c][~closed] @ free
    if not np.abs(opens).max(initial=0.0) > STRAIGHT * np.abs(problem.R).max(initial=0.0):
        return found
    motion = found.motion - free @ (free.T @ found.motion)
    apart = found.w[~closed] - opens @ (free.T @ found.motion)
    scale = max(np.abs(apart).max(initial=0.0), 1e-300)
    programme = np.vstack([opens.T, -apart / scale])
    target = np.concatenate([np.zeros(len(opens.T)), [1.0]])
    left = programme @ least_squares_from_zero(programme, target) - target
    least = -left[:-1] / left[-1] * scale if left[-1] < 0 else free.T @ found.motion
    moved = problem.R @ (motion + free @ least - found.motion)
    w = np.where(closed, 0.0, np.maximum(found.w + moved[:c], 0.0))
    return replace(found, motion=motion + free @ least, w=w, v=found.v + moved[c:])


def _least_slip(problem: ContactProblem, found: ContactSolution) -> ContactSolution:
    """Return the solution with the least of the slips that nothing resists."""
    c = len(problem.mu)
    _, free = split_motions(problem.R, np.concatenate([np.ones(c, bool), found.state == STICK]))
    slides = problem.R[c:] @ free
    # motions that slide no face, such as that of the whole block, stay
    if not np.abs(slides).max(initial=0.0) > SAME * np.abs(problem.R).max(initial=0.0):
        return found
    back = np.linalg.lstsq(slides, -found.v, rcond=SAME)[0]
    return replace(found, motion=found.motion + free @ back, v=found.v + slides @ back)
