"""Newton's method on the deformed block, with the contact problem solved inside.

At each iterate forces, stiffness and contact rows are taken on the deformed block, and the
one-sided problem on them is solved exactly:

    K du + r = B' (p, t) ,     w + B du >= 0 ,  p >= 0 ,  p w = 0 ,  friction by Coulomb's law.

That is a semismooth Newton step. From the unloaded block the first step is the linear answer. A
step is shortened until the forces no longer push back along it (a line search on the slope). The
block as a whole is pinned, and its pins carry nothing, for all loads balance. Other pieces hang on
springs fixed to where they are at each iterate: such a spring pulls in proportion to the step, so
that it carries nothing once the steps have ended.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.contact.coulomb import OPEN, States
from squeeze.solve.contact.problem import ContactSolution
from squeeze.solve.large.deformed import Iterate
from squeeze.solve.large.faces.contact_step import contact_step
from squeeze.solve.large.faces.current_rows import CurrentRows, current_rows
from squeeze.solve.large.loads.current_forces import CurrentForces, current_forces
from squeeze.solve.large.reference import LargeCase, ReferenceModel
from squeeze.solve.large.rubber.body import State
from squeeze.solve.large.tangent_system import tangent_system
from squeeze.solve.mesh.parting import Mesh

Array = NDArray[np.float64]

SETTLED = 1e-6
"""Residual force at which the block is in equilibrium, over the sum of the loads: at any node, and
on all pieces but the largest together."""
GAP_ERROR = 1e-5
"""How far pressed faces may overlap or stand apart, over the widest gap (0.01 mm at least)."""
MOST_STEPS = 30
"""Newton steps for one share of the load."""
NEAR = 0.1
"""Below this gap error the tangent includes the ends of the faces that stand opposite."""
SOFT, SOFTEST = 1e-4, 1e-7
"""Springs between steps, over the stiffness of the rubber: as they begin, and at the least. A loose
piece that slides may be held by less than they pull with; then each step goes but part of the way,
and they are made softer."""
SLOW = 0.1
"""Share of what loose pieces carry too much that a step leaves where springs set its length."""


def newton(
    model: ReferenceModel,
    case: LargeCase,
    start: Iterate,
    share: float,
    left_over: float,
    guess: State | None = None,
    most_tangents: int = MOST_STEPS,
) -> tuple[Iterate, int]:
    """Look for equilibrium at one share of the load.

    Parameters
    ----------
    model : ReferenceModel
    case : LargeCase
    start : Iterate
        Equilibrium at the share before; slips count from there.
    share : float
        Of the load, 0..1.
    left_over : float
        Times `SETTLED` and `GAP_ERROR`, residual force and gap error at which it stops.
    guess : State, optional
        Where it begins in place of `start`.
    most_tangents : int

    Returns
    -------
    iterate : Iterate
        `good` where it is in equilibrium; otherwise the one with the least residual.
    tangents : int
        Tangents that were factorised.
    """
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
    springs = _Springs()
    contact = here.contact
    wet = here.wet if len(here.wet) else np.zeros(case.pairs.places, bool)
    turning = True
    system = None
    for _ in range(min(MOST_STEPS, most_tangents)):
        del system  # one factor at a time: they are what fills the memory
        here_tangent = model.body.tangent(here.state)
        system = tangent_system(
            model,
            outer,
            here_tangent,
            faces if here.gap_error < NEAR else replace(faces, opening=faces.normal),
            contact if turning else None,
            np.asarray(loads * wet, np.float64),
            springs.softness,
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
            if springs.softness >= 1.0:
                break
            springs = replace(springs, softness=100.0 * springs.softness)
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
        springs = springs.softer(contact.state, uneven, alpha == 1.0)
    return best, used


@dataclass(frozen=True, eq=False)
class _Springs:
    """How stiff the springs between steps are, over the stiffness of the rubber."""

    softness: float = SOFT
    softest: float = SOFT
    states: States | None = None
    uneven: float = np.inf

    def softer(self, states: States, uneven: float, is_whole: bool) -> _Springs:
        """Return those of the next step.

        Parameters
        ----------
        states : array (places,) of int
            Of contact, after a step.
        uneven : float
            What loose pieces carry too much, over the loads.
        is_whole : bool
            Whether the step was not shortened.
        """
        is_same = self.states is not None and np.array_equal(states, self.states)
        is_slow = is_same and is_whole and SLOW * self.uneven < uneven < self.uneven
        softest = max(self.softest / 100.0, SOFTEST) if is_slow else self.softest
        return _Springs(max(self.softness / 10.0, softest), softest, states, uneven)


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
        raw, least = model.body.internal_force(state)
        x = model.mesh.points + state.u.reshape(-1, 2)
        if least > 0.1 and np.isfinite(raw).all():
            outer, faces = current_forces(model, case, x, share), current_rows(case.pairs, x)
            force = faces.normal.T @ traction[:c] + faces.along.T @ traction[c:]
            g = float(du @ (outer.force - raw + force))
            if g >= -0.5 * abs(g0):
                return alpha, state, outer, faces, force, raw
            shorter = min(max(g_low / (g_low - g), 0.1), 0.9)
        else:
            shorter = 0.5
        alpha = low + (alpha - low) * shorter
    x, none = model.mesh.points, np.zeros(len(du))
    return (
        0.0, None, current_forces(model, case, x, share), current_rows(case.pairs, x), none, none
    )  # fmt: skip
