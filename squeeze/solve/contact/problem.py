"""The contact problem and its solution."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.contact.coulomb import OPEN, States
from squeeze.solve.contact.given_forces import GivenForces
from squeeze.solve.contact.rows import ContactRows
from squeeze.solve.elastic.schur import Factor
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

SLIDES = 1e-3  # share of the loads that may stay unbalanced along a motion that no cut resists
# A motion that opens a cut by less than this share of its sliding leaves the cut closed: the few
# places of a mesh may bend a straight cut by so much.
STRAIGHT = 1e-3
SAME = 1e-9  # rounding of the faces' movements, over the largest


@dataclass(frozen=True, eq=False)
class ContactProblem:
    """The contact problem of one load case; places first as gaps, then as slips.

    Attributes
    ----------
    C : array (2 c, 2 c)
        Compliance.
    q : array (2 c,)
        Weighted gap and slip with all faces free [mm2].
    R : array (2 c, k)
        Weighted gap and slip that each rigid motion makes.
    b : array (k,)
        Generalised force of the contact tractions along each rigid motion that balances the
        loads: R' (p, t) = b.
    mu : array (c,)
        Coefficient of friction at each place.
    load : float
        Sum of the sizes of all forces, for tolerances [N/mm].
    gap0 : array (c,), optional
        The part of the weighted gaps that is there without loads [mm2]; none by default.
    """

    C: Array
    q: Array
    R: Array
    b: Array
    mu: Array
    load: float
    gap0: Array | None = None

    def __repr__(self) -> str:
        return f"ContactProblem: {len(self.mu)} places, {len(self.b)} rigid motions"

    def at_share(self, share: float, slid: Array) -> ContactProblem:
        """Return the problem under a share of the loads; unloaded gaps stay as they are.

        Slips count from where faces are that have slid by `slid` (c,) [mm2].
        """
        q = share * self.q
        q[len(self.mu) :] -= slid
        if self.gap0 is not None:
            q[: len(self.mu)] += (1.0 - share) * self.gap0
        return replace(self, q=q, b=share * self.b, load=share * self.load)


def contact_problem(factor: Factor, rows: ContactRows, given: GivenForces) -> ContactProblem:
    """Put together the contact problem of a section under given forces.

    Parameters
    ----------
    factor : Factor
    rows : ContactRows
        With friction and unloaded gaps of the load case.
    given : GivenForces
    """
    return ContactProblem(
        C=factor.C,
        q=given.free_gaps + np.concatenate([rows.gap0, np.zeros_like(rows.gap0)]),
        R=factor.rigid,
        b=given.b,
        mu=rows.friction,
        load=given.size,
        gap0=rows.gap0,
    )


@dataclass(frozen=True, eq=False)
class ContactSolution:
    """Solution of the contact problem.

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
        Rigid motions of the pieces; when a piece is not held, the motion it goes into.
    steps : int
    balance : float
        Largest out-of-balance force of a piece over the sum of the loads.
    complementarity : float
        Largest violation of any of the conditions, each over its own scale.
    others : tuple of ContactSolution
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
    others: tuple[ContactSolution, ...] = ()


def not_held(problem: ContactProblem, motion: Array, steps: int) -> ContactSolution:
    """Return the solution where nothing holds a piece: it goes along `motion` (k,).

    Parameters
    ----------
    problem : ContactProblem
    motion : array (k,)
    steps : int
        How many the search took.
    """
    none = np.zeros(len(problem.mu))
    state = np.full(len(none), OPEN, np.int8)
    return ContactSolution(
        Outcome.PIECE_NOT_HELD, none, none, none, none, state, motion, steps, 1.0, 1.0
    )


def split_motions(R: Array, resists: Mask) -> tuple[Array, Array]:
    """Return orthonormal bases of the motions that some rows resist, and of those that none does.

    A motion is free when it opens or closes no place by more than a small share of the sliding
    there. So a narrow seat keeps a wide board from turning, though the turn hardly opens the seat.

    Parameters
    ----------
    R : array (2 c, k)
        Gap, then slip, that each motion makes at each place.
    resists : array (2 c,) of bool
        The rows that resist.

    Returns
    -------
    held : array (k, r)
    free : array (k, k - r)
    """
    c, k = len(R) // 2, R.shape[1]
    at = np.tile(resists[:c] | resists[c:], 2)
    size = np.tile(np.hypot(*np.linalg.norm(R, axis=1).reshape(2, c)), 2)
    even = R / np.where(size > 0, size, 1.0)[:, None]
    moves, V = right_singular(even[at])
    rank = int(np.sum(moves > SAME * moves.max(initial=0.0)))
    unit = V[:rank].T / moves[:rank]  # motions by which the faces, as a whole, move by 1
    opens, W = right_singular(even[resists] @ unit)
    slides = W[int(np.sum(opens > STRAIGHT)) :].T
    free = np.hstack([V[rank:].T, unit @ slides])
    basis = np.linalg.qr(free, mode="complete")[0] if free.size else np.eye(k)
    return basis[:, free.shape[1] :], basis[:, : free.shape[1]]


def right_singular(R: Array) -> tuple[Array, Array]:
    """Return the singular values (k,) of `R` (r, k), and its right singular vectors as rows (k, k).

    It is a tall matrix: they are computed from its triangular factor.
    """
    _, size, V = np.linalg.svd(np.linalg.qr(R, mode="r"), full_matrices=True)
    return size, V
