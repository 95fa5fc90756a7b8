"""Complementary pivoting of the places whose states cycle in the active set.

Most places settle all the same. The restless ones are pivoted while the others keep their states.
Places that ask for another state afterwards join them, until none does.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.contact.active_set import FreeTractions, solve_active_set, solve_dense
from squeeze.solve.contact.coulomb import OPEN, States
from squeeze.solve.contact.lemke import friction_states
from squeeze.solve.contact.problem import ContactProblem, ContactSolution
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

ROUNDS = 40
MOST_PIVOTS = 400  # and four for each place
NEARBY = 4  # steps of the active sets from where pivoting led
TOGETHER = 300  # places that are pivoted at once at the most
# A place so much more compliant than any is by itself is one that holds a piece: its state has to
# be kept.
HOLDS = 1e7


def pivot_restless_places(
    problem: ContactProblem, contact: ContactSolution, restless: Mask
) -> ContactSolution:
    """Find the states of the places that the active set left restless.

    Parameters
    ----------
    problem : ContactProblem
    contact : ContactSolution
        Where the active set stopped.
    restless : array (c,) of bool
        The places that were still changing.

    Returns
    -------
    ContactSolution
        Its outcome is STEP_LIMIT where this did not find them either.
    """
    steps = contact.steps
    for _ in range(ROUNDS):
        if contact.outcome is not Outcome.STEP_LIMIT or not 0 < restless.sum() <= TOGETHER:
            break
        guess = _pivoted(problem, contact.state, restless)
        asking = restless
        if guess is not None:
            contact, asking = solve_active_set(problem, guess, 1)
            nearby, _ = (
                solve_active_set(problem, guess, NEARBY) if asking.any() else (contact, asking)
            )
            steps += nearby.steps
            if nearby.outcome is Outcome.CONVERGED:
                contact = nearby
        if (asking & ~restless).any():
            restless = restless | asking
        elif restless.all():
            break
        else:
            restless = np.ones_like(restless)
    return replace(contact, steps=steps)


def _pivoted(problem: ContactProblem, state: States, places: Mask) -> States | None:
    """Find the states of some places by complementary pivoting, the others in theirs; or None."""
    c, some = len(state), np.flatnonzero(places)
    C, R, q, mu = problem.C, problem.R, problem.q, problem.mu
    free, both = (
        FreeTractions.of(mu, np.where(places, OPEN, state)),
        np.concatenate([some, c + some]),
    )
    right = np.block(
        [[C[np.ix_(free.rows, both)], q[free.rows, None]], [R[both].T, -problem.b[:, None]]]
    )
    left = np.column_stack([C[np.ix_(both, both)], q[both]])
    own = np.column_stack([free.reduced(C[both]), R[both]])
    left -= own @ solve_dense(free.matrix(problem), right)
    if not np.abs(left[:, :-1]).max(initial=0.0) < HOLDS * np.abs(np.diag(C)).max():
        return None
    guess = friction_states(left[:, :-1], left[:, -1], mu[some], MOST_PIVOTS + 4 * len(some))
    if guess is None:
        return None
    new = state.copy()
    new[some] = guess
    return new
