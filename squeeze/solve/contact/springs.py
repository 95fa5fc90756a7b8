"""Contact of pieces that the cuts hold so loosely that the active set does not converge.

Springs hold the pieces, and they are made ever weaker, so that each state is close to the next. The
state found so is then solved without springs. Where that fails, the force that the weakest springs
carry counts as force balance.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.contact.active_set import is_balanced, solve_active_set
from squeeze.solve.contact.coulomb import States
from squeeze.solve.contact.partial_pivoting import pivot_restless_places
from squeeze.solve.contact.problem import SLIDES, ContactProblem, ContactSolution, not_held
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]

SOFTNESS = (1e1, 1e3, 1e5, 1e6, 1e7, 1e8)  # of the springs, over the softest place
CARRIED = 1e-5  # share of the loads that springs may carry in an answer


def solve_on_springs(problem: ContactProblem, contact: ContactSolution) -> ContactSolution:
    """Return the solution without springs, or on the weakest springs on which one is found.

    Parameters
    ----------
    problem : ContactProblem
    contact : ContactSolution
        Where active set and pivoting stopped.

    Returns
    -------
    ContactSolution
    """
    found, state, steps = _accepted(contact), contact.state, contact.steps
    for softness in SOFTNESS:
        sprung = _sprung(problem, softness)
        on_springs = pivot_restless_places(sprung, *solve_active_set(sprung, state))
        steps += on_springs.steps
        if on_springs.outcome is not Outcome.CONVERGED:
            break
        state = on_springs.state
        removed = _springs_removed(problem, on_springs, softness)
        if removed.balance < CARRIED or softness == SOFTNESS[-1]:
            found = removed
        if is_balanced(removed):
            break
        exact = _without_springs(problem, state)
        steps += exact.steps
        if is_balanced(exact):
            found = exact
            break
    return replace(found, steps=steps)


def _without_springs(problem: ContactProblem, state: States) -> ContactSolution:
    """Solve without springs, starting from the state on them."""
    contact = pivot_restless_places(problem, *solve_active_set(problem, state))
    if is_balanced(contact):
        return contact
    free, _ = solve_active_set(problem, state, slack=0.0)
    return replace(free, steps=contact.steps + free.steps)


def _sprung(problem: ContactProblem, softness: float) -> ContactProblem:
    """Return the problem with every motion of the pieces on a spring, and no free one."""
    soft = _compliance(problem, softness) * problem.R
    C, q = problem.C + soft @ problem.R.T, problem.q - soft @ problem.b
    return replace(problem, C=C, q=q, R=problem.R[:, :0], b=problem.b[:0])


def _compliance(problem: ContactProblem, softness: float) -> float:
    return softness * float(np.abs(np.diag(problem.C)).max(initial=0.0))


def _springs_removed(
    problem: ContactProblem, contact: ContactSolution, softness: float
) -> ContactSolution:
    """Return the contact with the springs' force as force balance, their stretch as motion."""
    left = problem.R.T @ np.concatenate([contact.p, contact.t]) - problem.b
    motion = _compliance(problem, softness) * left
    balance = float(np.abs(left).max(initial=0.0) / max(problem.load, 1e-300))
    if balance > SLIDES:
        return not_held(problem, motion, contact.steps)
    return _accepted(replace(contact, motion=motion, balance=balance))


def _accepted(contact: ContactSolution) -> ContactSolution:
    """Return the contact; STEP_LIMIT where too much of the loads is unbalanced."""
    too_much = contact.outcome is Outcome.CONVERGED and contact.balance > CARRIED
    return replace(contact, outcome=Outcome.STEP_LIMIT) if too_much else contact
