"""Equilibrium of the deformed block: its loads grow until all of them are on.

A load that does not settle is put on in parts; where faces rub it is put on in two parts at least,
for friction depends on the history of the load.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from squeeze.solve.contact.coulomb import OPEN, when_closing
from squeeze.solve.contact.problem import ContactSolution
from squeeze.solve.large.deformed import Deformed, Iterate
from squeeze.solve.large.faces.current_rows import current_rows
from squeeze.solve.large.loads.current_forces import current_forces
from squeeze.solve.large.newton import newton
from squeeze.solve.large.reference import LargeCase, ReferenceModel
from squeeze.solve.large.rubber.body import State, unloaded
from squeeze.solve.outcome import Outcome

LEAST_SHARE = 1 / 64
MOST_TANGENTS, MOST_UNKNOWNS = 130, 1_500_000
"""Tangents that are factorised at the most, and the unknowns of all of them together: what has not
settled by then is given up, within a minute."""
FRICTION_PARTS = 2
"""Shares in which the load grows where faces rub: friction depends on the history of the load."""


def deform(
    model: ReferenceModel,
    case: LargeCase,
    parts: int | None = None,
    progress: Callable[[float], None] | None = None,
    start: Iterate | None = None,
    is_on_path: bool = False,
    left_over: float = 1.0,
    guesses: tuple[tuple[float, State], ...] = (),
    most_tangents: int = MOST_TANGENTS,
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
    most_tangents : int
        Tangents after which it is given up; fewer where they take a minute.

    Returns
    -------
    Deformed
    """
    rubs = bool(case.friction.any())
    step = 1.0 / (parts or (FRICTION_PARTS if rubs else 1))
    here = Iterate(unloaded(model.mesh))
    share, steps, unstable, failures = 0.0, 0, False, 0
    most = min(most_tangents, MOST_UNKNOWNS // model.mesh.points.size)
    if start is not None and (is_on_path or not rubs):
        near, steps = newton(
            model,
            case,
            start if is_on_path else _nearby(start, case),
            1.0,
            left_over,
            most_tangents=most,
        )
        if near.good:
            near = replace(near, passed=((1.0, near.state),))
            return _record(model, case, near, 1.0, steps, Outcome.CONVERGED)
    guessed = dict(guesses)
    while share < 1.0 and steps < most:
        aim = min(1.0, share + step)
        guess = guessed.pop(aim, None)
        after, used = newton(model, case, here, aim, left_over, guess, most - steps)
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
    outcome = Outcome.CONVERGED
    if share < 1.0:
        # of the whole load alone, within few tangents, nothing can be said
        is_looked_into = share > 0.0 or step < LEAST_SHARE
        outcome = Outcome.UNSTABLE if unstable and is_looked_into else Outcome.NOT_SETTLED
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
