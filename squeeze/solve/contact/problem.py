"""The contact problem, its answer, and the states that places can be in."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.contact.given_forces import GivenForces
from squeeze.solve.contact.rows import Seams
from squeeze.solve.elastic.schur import Factor
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]
States = NDArray[np.int8]

# a place's state; forward = the left face slides forward
OPEN, STICK, FORWARD, BACKWARD = 0, 1, 2, 3

SLIDES = 1e-3  # share of the loads that may be left over along a motion that no cut resists
# A cut that resists a motion by less than this, over what resists most, is straight: gathering its
# places may bend it so.
STRAIGHT = 1e-3


@dataclass(frozen=True, eq=False)
class Problem:
    """The contact problem of one load case; places first as gaps, then as slips.

    Attributes
    ----------
    C : array (2 c, 2 c)
        Compliance.
    q : array (2 c,)
        Weighted gap and slip with all faces free [mm2].
    G : array (2 c, k)
        Weighted gap and slip that each rigid motion makes.
    e : array (k,)
        What contact has to put up against the loads, per rigid motion.
    mu : array (c,)
        Coefficient of friction at each place.
    load : float
        Sum of the sizes of all forces, for tolerances [N/mm].
    gap0 : array (c,), optional
        The part of the weighted gaps that is there without loads [mm2]; none by default.
    """

    C: Array
    q: Array
    G: Array
    e: Array
    mu: Array
    load: float
    gap0: Array | None = None

    def at_share(self, share: float) -> Problem:
        """Return the problem under a share of the loads; unloaded gaps stay as they are."""
        q = share * self.q
        if self.gap0 is not None:
            q[: len(self.mu)] += (1.0 - share) * self.gap0
        return replace(self, q=q, e=share * self.e, load=share * self.load)


def contact_problem(factor: Factor, seams: Seams, given: GivenForces) -> Problem:
    """Put together the contact problem of a section under given forces.

    Parameters
    ----------
    factor : Factor
    seams : Seams
        With friction and unloaded gaps of the load case.
    given : GivenForces
    """
    return Problem(
        C=factor.C,
        q=given.opened + np.concatenate([seams.gap0, np.zeros_like(seams.gap0)]),
        G=factor.rigid,
        e=given.e,
        mu=seams.friction,
        load=given.size,
        gap0=seams.gap0,
    )


@dataclass(frozen=True, eq=False)
class Contact:
    """Answer of the contact problem.

    Attributes
    ----------
    outcome : Outcome
    p, t : array (c,)
        Pressure and shear traction (on the left face, along the cut) at each place [MPa].
    w, v : array (c,)
        Weighted gap and slip at each place [mm2].
    state : array (c,) of int
        OPEN, STICK, FORWARD or BACKWARD.
    motion : array (k,)
        Rigid motions of the pieces; when a piece is not held, the way it goes.
    steps : int
    balance : float
        Largest out-of-balance force of a piece over the sum of the loads.
    complementarity : float
        Largest violation of any of the conditions, each over its own scale.
    others : tuple of Contact
        Other certified states that friction allows, as far as they were found.
    """

    outcome: Outcome
    p: Array
    t: Array
    w: Array
    v: Array
    state: States
    motion: Array
    steps: int
    balance: float
    complementarity: float
    others: tuple[Contact, ...] = ()


def not_held(problem: Problem, motion: Array, steps: int) -> Contact:
    """Return the answer that a piece goes along `motion`."""
    none = np.zeros(len(problem.mu))
    state = np.full(len(none), OPEN, np.int8)
    return Contact(Outcome.PIECE_NOT_HELD, none, none, none, none, state, motion, steps, 1.0, 1.0)


def split_motions(G: Array) -> tuple[Array, Array]:
    """Return orthonormal bases of the motions that change the rows of `G`, and that do not.

    Shapes (k, r) and (k, k - r).
    """
    size, V = right_singular(G)
    rank = int(np.sum(size > STRAIGHT * size.max(initial=0.0)))
    return V[:rank].T, V[rank:].T


def right_singular(G: Array) -> tuple[Array, Array]:
    """Singular values and all right singular vectors (rows) of a tall matrix.

    By way of its triangular factor.
    """
    _, size, V = np.linalg.svd(np.linalg.qr(G, mode="r"), full_matrices=True)
    return size, V
