"""Equilibrium of the deformed block: Newton's method with the contact problem solved inside.

At each iterate forces, stiffness and contact rows are taken on the deformed block, and the
one-sided problem on them is solved exactly:

    K du + r = B' (p, t) ,     w + B du >= 0 ,  p >= 0 ,  p w = 0 ,  friction by Coulomb's law.

That is a semismooth Newton step. From the unloaded block the first step is the linear answer. A
step is shortened until the forces no longer push back along it (a line search on the slope); a
load that does not settle is put on in parts. The block as a whole is pinned, and its pins carry
nothing, for all loads balance. Other pieces hang on springs fixed to where they are at each
iterate: such a spring pulls in proportion to the step, so that it carries nothing once the steps
have ended.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.contact.coulomb import OPEN, when_closing
from squeeze.solve.contact.problem import ContactSolution
from squeeze.solve.large.band import Hull
from squeeze.solve.large.body import State, internal_force, tangent, unloaded
from squeeze.solve.large.contact_step import contact_step
from squeeze.solve.large.current_forces import CurrentForces, current_forces
from squeeze.solve.large.faces import CurrentRows, current_rows
from squeeze.solve.large.reference import LargeCase, ReferenceModel
from squeeze.solve.large.tangent_system import tangent_system
from squeeze.solve.mesh.parting import Mesh
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

SETTLED = 1e-6
"""Residual force at which the block is in equilibrium, over the sum of the loads: at any node, and
on all pieces but the largest together."""
GAP_ERROR = 1e-5
"""How far pressed faces may overlap or stand apart, over the widest gap (0.01 mm at least)."""
MOST_STEPS = 30
"""Newton steps for one share of the load."""
LEAST_SHARE = 1 / 64
MOST_TANGENTS, MOST_UNKNOWNS = 100, 1_500_000
"""Tangents that are factorised at the most, and the unknowns of all of them together: what has not
settled by then is given up, within a minute."""
FRICTION_PARTS = 2
"""Shares in which the load grows where faces rub: friction depends on the history of the load."""
NEAR = 0.1
"""Below this gap error the tangent includes the ends of the faces that stand opposite."""
SOFT = 1e-4
"""Springs between steps, over the stiffness of the rubber."""


@dataclass(frozen=True, eq=False)
class Deformed:
    """The block at large deformation.

    Attributes
    ----------
    outcome : Outcome
    share : float
        Share of the loads at which the block is in equilibrium.
    state : State
    contact : ContactSolution
        Pressures, shear, weighted gaps, slips since the unloaded block.
    wet : array (c,) of bool
    faces : CurrentRows
    band : Hull
    pull_n_per_mm : float
    residual : float
        Largest residual force at a node, over the sum of the loads.
    balance : float
        Largest force at the pins of the whole, over the sum of the loads.
    gap_error : float
        How far faces overlap, or pressed ones stand apart, over the widest gap.
    on_pieces : array (2 n,)
        Forces of loads and contact at each node.
    load : float
        Sum of the sizes of all given forces.
    steps : int
        Tangents that were factorised.
    negative : int
        Number of motions that no face holds and along which the block is unstable.
    iterate : Iterate
        Where the solve of a similar case may start; what follows from it by the case is left out.
    """

    outcome: Outcome
    share: float
    state: State
    contact: ContactSolution
    wet: Mask
    faces: CurrentRows
    band: Hull
    pull_n_per_mm: float
    residual: float
    balance: float
    gap_error: float
    on_pieces: Array
    load: float
    steps: int
    negative: int
    iterate: Iterate


@dataclass(frozen=True, eq=False)
class Iterate:
    """The deformed body and what presses on it, on the path to equilibrium or in it.

    Attributes
    ----------
    state : State
    contact : ContactSolution or None
        None before the first step.
    wet : array (c,) of bool
    faces : CurrentRows or None
    outer : CurrentForces or None
    residual, balance, gap_error, on_pieces, negative :
        As in `Deformed`.
    good : bool
        Whether it is in equilibrium.
    passed : tuple of (share, State)
        The equilibria that the loads passed as they grew, up to this one.
    """

    state: State
    contact: ContactSolution | None = None
    wet: Mask = field(default_factory=lambda: np.zeros(0, bool))
    faces: CurrentRows | None = None
    outer: CurrentForces | None = None
    residual: float = np.inf
    balance: float = np.inf
    gap_error: float = np.inf
    on_pieces: Array = field(default_factory=lambda: np.zeros(0))
    negative: int = 0
    good: bool = False
    passed: tuple[tuple[float, State], ...] = ()


def deform(
    model: ReferenceModel,
    case: LargeCase,
    parts: int | None = None,
    progress: Callable[[float], None] | None = None,
    start: Iterate | None = None,
    is_on_path: bool = False,
    left_over: float = 1.0,
    guesses: tuple[tuple[float, State], ...] = (),
) -> Deformed:
    """Put the loads of a case on the block and find its equilibrium.

    Parameters
    ----------
    model : ReferenceModel
    case : LargeCase
    parts : int, optional
        Least number of shares in which the load grows; by default one, or two with friction.
    progress : callable, optional
        Called with the share of the load that is in equilibrium, 0..1.
    start : Iterate, optional
        Of a similar case; tried first, with all of the load. Without `is_on_path` only where no
        faces rub: friction depends on the history of the load.
    is_on_path : bool
        Whether the loads pass `start` as they grow, with the same friction.
    left_over : float
        Times `SETTLED` and `GAP_ERROR`, residual force and gap at which it stops.
    guesses : tuple of (share, State)
        Near the equilibria at these shares of the load. Newton's method begins there; what faces
        have slid counts from the share before, so this takes nothing from the path.

    Returns
    -------
    Deformed
    """
    rubs = bool(case.friction.any())
    step = 1.0 / (parts or (FRICTION_PARTS if rubs else 1))
    here = Iterate(unloaded(model.mesh))
    share, steps, unstable, failures = 0.0, 0, False, 0
    most = min(MOST_TANGENTS, MOST_UNKNOWNS / model.mesh.points.size)
    if start is not None and (is_on_path or not rubs):
        near, steps = _newton(
            model, case, start if is_on_path else _nearby(start, case), 1.0, left_over
        )
        if near.good:
            near = replace(near, passed=((1.0, near.state),))
            return _record(model, case, near, 1.0, steps, Outcome.CONVERGED)
    guessed = dict(guesses)
    while share < 1.0 and steps <= most:
        aim = min(1.0, share + step)
        guess = guessed.pop(aim, None)
        after, used = _newton(model, case, here, aim, left_over, guess)
        steps += used
        if guess is not None and not after.good:
            continue  # once more, from the share before
        if after.good:
            share, here = aim, replace(after, passed=(*here.passed, (aim, after.state)))
            if progress:
                progress(share)
            if failures:
                step = min(2 * step, 1.0 - share)
            continue
        unstable = unstable or (after.negative > 0)
        failures += 1
        step /= 2
        if step < LEAST_SHARE:
            break
    outcome = Outcome.CONVERGED if share >= 1.0 else Outcome.NOT_SETTLED
    if share < 1.0 and unstable:
        outcome = Outcome.UNSTABLE
    return _record(model, case, here, share, steps, outcome)


def _nearby(start: Iterate, case: LargeCase) -> Iterate:
    """Return an iterate of a similar case; which places are closed is taken over, not how."""
    if start.contact is None:
        return start
    state = np.where(start.contact.state == OPEN, OPEN, when_closing(case.friction))
    return replace(start, contact=replace(start.contact, state=state))


def _record(
    model: ReferenceModel,
    case: LargeCase,
    here: Iterate,
    share: float,
    steps: int,
    outcome: Outcome,
) -> Deformed:
    if here.faces is None or here.contact is None or here.outer is None:
        x = model.mesh.points
        faces, outer = current_rows(case.pairs, x), current_forces(model, case, x, 0.0)
        none = np.zeros(case.pairs.places)
        contact = ContactSolution(
            outcome, none, none, faces.gap, none, np.full(len(none), OPEN, np.int8),
            np.zeros(0), steps, 1.0, 1.0,
        )  # fmt: skip
        here = replace(here, faces=faces, outer=outer, contact=contact, wet=none > 0)
    assert here.faces is not None
    assert here.contact is not None
    assert here.outer is not None
    contact = replace(
        here.contact,
        outcome=outcome,
        w=np.where(here.faces.counts, here.faces.gap, np.inf),
        v=here.faces.slid * here.faces.weight,
    )
    return Deformed(
        outcome,
        share,
        here.state,
        contact,
        here.wet,
        here.faces,
        here.outer.band,
        here.outer.pull,
        here.residual,
        here.balance,
        here.gap_error,
        here.on_pieces if len(here.on_pieces) else here.outer.force,
        here.outer.size,
        steps,
        here.negative,
        replace(here, faces=None, outer=None, on_pieces=np.zeros(0)),
    )


def _newton(
    model: ReferenceModel,
    case: LargeCase,
    start: Iterate,
    share: float,
    left_over: float,
    guess: State | None = None,
) -> tuple[Iterate, int]:
    """Newton's method at one share of the load, from `start` or from a guess."""
    start = replace(start, good=False)
    loads = share * case.loads.cavity_mpa if case.loads.enters_cuts else 0.0
    x = model.mesh.points + start.state.u.reshape(-1, 2)
    faces = current_rows(case.pairs, x)
    first = faces.slid
    if guess is not None:
        start = replace(start, state=guess, contact=None)
        x = model.mesh.points + guess.u.reshape(-1, 2)
        faces = current_rows(case.pairs, x)
    here, best = start, start
    outer = current_forces(model, case, x, share)
    used = 0
    softness = SOFT
    contact = here.contact
    wet = here.wet if len(here.wet) else np.zeros(case.pairs.places, bool)
    turning = True
    system = None
    for _ in range(MOST_STEPS):
        del system  # one factor at a time: they are what fills the memory
        here_tangent = tangent(model.body, here.state)
        system = tangent_system(
            model,
            outer,
            here_tangent,
            faces if here.gap_error < NEAR else replace(faces, opening=faces.normal),
            contact if turning else None,
            np.asarray(loads * wet, np.float64),
            softness,
        )
        used += 1
        if system is None:
            break
        f = outer.force - here_tangent.force
        free_gaps = system.free_gaps(f)
        slip = faces.stretched * (faces.slid - first)
        found = contact_step(
            model, case, system, faces, free_gaps, slip, contact, wet, loads, outer.size
        )
        if found is None:
            if turning and contact is not None:
                turning = False  # far from equilibrium it may outweigh all other stiffness
                continue
            if softness >= 1.0:
                break
            softness *= 100.0
            continue
        turning = True
        contact, wet, traction = found
        du = system.displaced(f, traction)
        moved = here_tangent.moved(model.body, here.state, du)
        ahead = _along(here.state, moved)
        force = faces.normal.T @ traction[: len(wet)] + faces.along.T @ traction[len(wet) :]
        g0 = float(du @ (outer.force - here_tangent.raw + force))
        alpha, state, outer, faces, force, raw = _line_search(
            model, case, share, ahead, du, traction, g0
        )
        if state is None:
            break
        left = outer.force - raw + force
        size = max(outer.size, 1e-300)
        balance = float(np.abs(left[model.fixed]).max() / size)
        left[model.fixed] = 0.0
        residual = float(np.abs(left).max() / size)
        gap_error = _gap_error(faces, contact)
        x = model.mesh.points + state.u.reshape(-1, 2)
        pieces = left_on_pieces(model.mesh, x, outer.force + force, size)
        # pushes that keep their direction may turn the whole block; its pins guide it
        uneven = float(np.delete(pieces, model.mesh.piece[model.fixed[0] // 2], axis=0).sum())
        here = Iterate(
            state, contact, wet, faces, outer, residual, balance, gap_error,
            outer.force + force, system.negative(contact),
        )  # fmt: skip
        if residual < best.residual or best is start:
            best = here
        settled = max(residual, uneven) < left_over * SETTLED
        if settled and gap_error < left_over * GAP_ERROR and alpha == 1.0:
            return replace(here, good=True), used
        softness = max(softness / 10.0, SOFT)
    return best, used


def left_on_pieces(mesh: Mesh, x: Array, force: Array, size: float) -> Array:
    """Return the resultant force and moment (pieces, 2) of loads and contact on each piece.

    Parameters
    ----------
    mesh : Mesh
    x : array (n, 2)
        Where the nodes are [mm].
    force : array (2 n,)
        On the nodes [N/mm].
    size : float
        Sum of the loads; what is returned is over it, moments over the size of the piece as well.
    """
    found = []
    on_nodes = force.reshape(-1, 2) / max(size, 1e-300)
    for number in range(int(mesh.piece.max()) + 1):
        on = mesh.piece == number
        arm = x[on] - x[on].mean(axis=0)
        moment = float(np.sum(arm[:, 0] * on_nodes[on, 1] - arm[:, 1] * on_nodes[on, 0]))
        far = float(np.hypot(*arm.T).max())
        found.append((float(np.hypot(*on_nodes[on].sum(axis=0))), abs(moment) / far))
    return np.array(found)


def _gap_error(faces: CurrentRows, contact: ContactSolution) -> float:
    """How far faces overlap, or pressed ones stand apart, over the widest gap."""
    mean = faces.gap[faces.counts] / faces.weight[faces.counts]
    closed = contact.state[faces.counts] != OPEN
    gap_error = max(
        float(np.abs(mean[closed]).max(initial=0.0)), float(-mean[~closed].min(initial=0.0))
    )
    return gap_error / max(float(np.abs(mean).max(initial=0.0)), 1e-2)


def _along(start: State, end: State) -> Callable[[float], State]:
    def at(a: float) -> State:
        return State(
            start.u + a * (end.u - start.u),
            start.bubble + a * (end.bubble - start.bubble),
            start.s + a * (end.s - start.s),
        )

    return at


def _line_search(
    model: ReferenceModel,
    case: LargeCase,
    share: float,
    ahead: Callable[[float], State],
    du: Array,
    traction: Array,
    g0: float,
) -> tuple[float, State | None, CurrentForces, CurrentRows, Array, Array]:
    """Shorten a step until the forces push back along it by less than half of what drove it.

    Returns the step, where it leads (None where it leads nowhere), the loads and faces there, the
    force of the tractions on the nodes and the body's own.
    """
    c = case.pairs.places
    alpha, low, g_low = 1.0, 0.0, abs(g0)
    for _ in range(8):
        state = ahead(alpha)
        raw, least = internal_force(model.body, state)
        x = model.mesh.points + state.u.reshape(-1, 2)
        if least > 0.1 and np.isfinite(raw).all():
            outer, faces = current_forces(model, case, x, share), current_rows(case.pairs, x)
            force = faces.normal.T @ traction[:c] + faces.along.T @ traction[c:]
            g = float(du @ (outer.force - raw + force))
            if g >= -0.5 * abs(g0):
                return alpha, state, outer, faces, force, raw
            share_of_way = min(max(g_low / (g_low - g), 0.1), 0.9)
        else:
            share_of_way = 0.5
        alpha = low + (alpha - low) * share_of_way
    x, none = model.mesh.points, np.zeros(len(du))
    return (
        0.0, None, current_forces(model, case, x, share), current_rows(case.pairs, x), none, none
    )  # fmt: skip
