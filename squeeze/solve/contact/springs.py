"""Contact of pieces that the places hold too loosely to find out how: put on springs.

The springs are made ever weaker, so that each state is close to the next. They serve to find the
state; what they carry in the end, if it is not found without them, is told as force balance.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.contact.active_set import balanced, settled
from squeeze.solve.contact.coulomb import States
from squeeze.solve.contact.partial_pivoting import settled_by_parts
from squeeze.solve.contact.problem import SLIDES, Contact, Problem, not_held
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]

SOFTNESS = (1e1, 1e3, 1e5, 1e6, 1e7, 1e8)  # of the springs, over the softest place
CARRIED = 1e-5  # share of the loads that may be left over in an answer


def settled_on_springs(problem: Problem, contact: Contact) -> Contact:
    """Return the contact without springs, or on the weakest ones on which it settles.

    Parameters
    ----------
    problem : Problem
    contact : Contact
        Where everything else stopped.

    Returns
    -------
    Contact
    """
    found, state, steps = _told(contact), contact.state, contact.steps
    for softness in SOFTNESS:
        sprung = _sprung(problem, softness)
        on_springs = settled_by_parts(sprung, *settled(sprung, state))
        steps += on_springs.steps
        if on_springs.outcome is not Outcome.CONVERGED:
            break
        state = on_springs.state
        taken_off = _taken_off(problem, on_springs, softness)
        if taken_off.balance < CARRIED or softness == SOFTNESS[-1]:
            found = taken_off
        if balanced(taken_off):
            break
        exact = _without(problem, state)
        steps += exact.steps
        if balanced(exact):
            found = exact
            break
    return replace(found, steps=steps)


def _without(problem: Problem, state: States) -> Contact:
    """Settle without springs from a state on them."""
    contact = settled_by_parts(problem, *settled(problem, state))
    if balanced(contact):
        return contact
    free, _ = settled(problem, state, slack=0.0)
    return replace(free, steps=contact.steps + free.steps)


def _sprung(problem: Problem, softness: float) -> Problem:
    """Return the problem with every motion of the pieces on a spring, and no free one."""
    soft = _compliance(problem, softness) * problem.G
    C, q = problem.C + soft @ problem.G.T, problem.q - soft @ problem.e
    return replace(problem, C=C, q=q, G=problem.G[:, :0], e=problem.e[:0])


def _compliance(problem: Problem, softness: float) -> float:
    return softness * float(np.abs(np.diag(problem.C)).max(initial=0.0))


def _taken_off(problem: Problem, contact: Contact, softness: float) -> Contact:
    """Return the contact with what the springs do told as motion and force balance."""
    left = problem.G.T @ np.concatenate([contact.p, contact.t]) - problem.e
    motion = _compliance(problem, softness) * left
    balance = float(np.abs(left).max(initial=0.0) / max(problem.load, 1e-300))
    if balance > SLIDES:
        return not_held(problem, motion, contact.steps)
    return _told(replace(contact, motion=motion, balance=balance))


def _told(contact: Contact) -> Contact:
    """Return the contact, no answer where too much is left over."""
    too_much = contact.outcome is Outcome.CONVERGED and contact.balance > CARRIED
    return replace(contact, outcome=Outcome.STEP_LIMIT) if too_much else contact
