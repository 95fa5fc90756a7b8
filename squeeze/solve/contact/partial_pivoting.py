"""Finding the state of every place where active sets go round in a circle.

Most places settle all the same. Those that do not are pivoted by themselves, the others kept in
their states; whoever then asks for another state joins them, until nobody does.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.contact.active_set import Kept, settled, solved
from squeeze.solve.contact.coulomb import OPEN, States
from squeeze.solve.contact.lemke import friction_states
from squeeze.solve.contact.problem import Contact, Problem
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

ROUNDS = 40
MOST_PIVOTS = 400  # and four for each place
NEARBY = 4  # steps of the active sets from where pivoting led
TOGETHER = 300  # places that are pivoted at once at the most
# A place that gives way so much more than any does by itself is one that holds a piece: it has to
# be among those that are kept.
HOLDS = 1e7


def settled_by_parts(problem: Problem, contact: Contact, restless: Mask) -> Contact:
    """Settle what active sets did not.

    Parameters
    ----------
    problem : Problem
    contact : Contact
        Where the active sets stopped.
    restless : array (c,) of bool
        The places that were still changing.

    Returns
    -------
    Contact
        With its outcome STEP_LIMIT when this did not settle it either.
    """
    steps = contact.steps
    for _ in range(ROUNDS):
        if contact.outcome is not Outcome.STEP_LIMIT or not 0 < restless.sum() <= TOGETHER:
            break
        guess = _pivoted(problem, contact.state, restless)
        asking = restless
        if guess is not None:
            contact, asking = settled(problem, guess, 1)
            nearby, _ = settled(problem, guess, NEARBY) if asking.any() else (contact, asking)
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


def _pivoted(problem: Problem, state: States, places: Mask) -> States | None:
    """Find the states of some places by complementary pivoting, the others in theirs; or None."""
    c, some = len(state), np.flatnonzero(places)
    C, G, q, mu = problem.C, problem.G, problem.q, problem.mu
    kept, both = Kept.of(mu, np.where(places, OPEN, state)), np.concatenate([some, c + some])
    right = np.block(
        [[C[np.ix_(kept.rows, both)], q[kept.rows, None]], [G[both].T, -problem.e[:, None]]]
    )
    left = np.column_stack([C[np.ix_(both, both)], q[both]])
    own = np.column_stack([kept.borne(C[both]), G[both]])
    left -= own @ solved(kept.balance(problem), right)
    if not np.abs(left[:, :-1]).max(initial=0.0) < HOLDS * np.abs(np.diag(C)).max():
        return None
    guess = friction_states(left[:, :-1], left[:, -1], mu[some], MOST_PIVOTS + 4 * len(some))
    if guess is None:
        return None
    new = state.copy()
    new[some] = guess
    return new
