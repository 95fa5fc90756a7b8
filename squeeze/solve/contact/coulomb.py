"""Coulomb's law between two faces: everything that the program knows of it.

Faces press or stand apart, and friction bears as much as its coefficient times the pressure. Where
they slide, it bears all of that, against the sliding:

    w >= 0 ,  p >= 0 ,  p w = 0 ,    |t| <= mu p ,    t = -mu p sign(v) where v is not 0 ,

with w the gap, p the pressure, v the slip of the left face forward, t the shear traction on the
left face, positive forward. The solvers ask here for what follows from it: another law of friction
is written in this module.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Whole = NDArray[np.int64]
States = NDArray[np.int8]

# a place's state; forward = the left face slides forward
OPEN, STICK, FORWARD, BACKWARD = 0, 1, 2, 3


def when_closing(mu: Array) -> States:
    """Return the states (c,) in which places with friction `mu` (c,) close.

    They stick; where it is smooth they slide.
    """
    return np.where(mu > 0, STICK, FORWARD).astype(np.int8)


def sliding_under(shear: Array) -> States:
    """Return the states (c,) of places that start to slide under `shear` (c,)."""
    return np.where(shear < 0, FORWARD, BACKWARD).astype(np.int8)


def sliding_by(slip: Array) -> States:
    """Return the states (c,) of places that have slid by `slip` (c,)."""
    return np.where(slip >= 0, FORWARD, BACKWARD).astype(np.int8)


def shear_of_pressure(mu: Array, state: States) -> Array:
    """Return the shear (c,) that goes with a unit pressure; 0 where a place does not slide.

    `mu` (c,) is the friction and `state` (c,) the state of each place.
    """
    return np.array([0.0, 0.0, -1.0, 1.0])[state] * mu


def next_state(
    mu: Array, state: States, traction: Array, moved: Array, force: float, length: float
) -> States:
    """Return the state that each place asks for; within rounding it keeps its own.

    Parameters
    ----------
    mu : array (c,)
    state : array (c,) of int
    traction : array (2 c,)
        Pressure, then shear.
    moved : array (2 c,)
        Gap, then slip.
    force, length : float
        Rounding of tractions [MPa], and of gaps and slips [mm2].
    """
    c = len(state)
    p, t, w, v = traction[:c], traction[c:], moved[:c], moved[c:]
    new, rough = state.copy(), mu > 0
    closes = (state == OPEN) & (w < -length)
    new[closes] = when_closing(mu)[closes]
    slips = (state == STICK) & (np.abs(t) > mu * p + force)
    new[slips] = sliding_under(t)[slips]
    new[rough & (state == FORWARD) & (v < -length)] = STICK
    new[rough & (state == BACKWARD) & (v > length)] = STICK
    new[(state != OPEN) & (p < -force)] = OPEN
    return new


def violation(mu: Array, traction: Array, moved: Array, force: float, length: float) -> float:
    """Return the largest violation of any of the law's conditions, each over its own scale.

    Parameters
    ----------
    mu : array (c,)
    traction, moved : array (2 c,)
        Pressure and shear; gap and slip.
    force, length : float
        Scale of tractions [MPa], and of gaps and slips [mm2].
    """
    c = len(mu)
    p, t, w, v = traction[:c], traction[c:], moved[:c], moved[c:]
    bound = mu * p
    return max(
        float(x.max(initial=0.0))
        for x in (
            -p / force,
            -w / length,
            np.abs(p / force * (w / length)),
            (np.abs(t) - bound) / force,
            np.abs((bound * np.abs(v) + t * v) / force / length),  # full friction, against it
        )
    )


def cone(mu: Array, R: Array) -> Array:
    """Return the edges (k, 2 c) of the cone of forces that places can bear.

    Parameters
    ----------
    mu : array (c,)
    R : array (2 c, k)
        Gap, then slip, that each rigid motion makes at each place.
    """
    normal, rub = R[: len(mu)], mu[:, None] * R[len(mu) :]
    return np.vstack([normal + rub, normal - rub]).T


@dataclass(frozen=True, eq=False)
class Complementarity:
    """The law as a linear complementarity problem: w = M z + q, w >= 0, z >= 0, w z = 0.

    Variables are the pressures, then at rough places shear forward, shear backward, and what slides
    (D. E. Stewart, J. C. Trinkle, Int. J. Numer. Methods Eng. 39 (1996) 2673).

    Attributes
    ----------
    M : array (n, n)
    q : array (n,)
    rough : array (m,) of int
        The places with friction.
    """

    M: Array
    q: Array
    rough: Whole

    @classmethod
    def of(cls, C: Array, q: Array, mu: Array) -> Complementarity:
        """Return the problem of places with compliance `C` (2 c, 2 c) and free gaps `q` (2 c,).

        `mu` (c,) is the friction at each place.
        """
        c, rough = len(mu), np.flatnonzero(mu > 0)
        m, along = len(rough), c + rough
        size, load = np.abs(np.diag(C)).max(), max(np.abs(q).max(), 1e-300)
        A, b = C / size, q / load
        M = np.zeros((c + 3 * m, c + 3 * m))
        f, g, s = (slice(c + k * m, c + (k + 1) * m) for k in range(3))
        M[:c, :c] = A[:c, :c]
        M[:c, f], M[:c, g] = A[:c][:, along], -A[:c][:, along]
        M[f, :c], M[g, :c] = A[along][:, :c], -A[along][:, :c]
        M[f, f] = M[g, g] = A[np.ix_(along, along)]
        M[f, g] = M[g, f] = -A[np.ix_(along, along)]
        M[f, s] = M[g, s] = np.eye(m)
        M[s, f] = M[s, g] = -np.eye(m)
        M[np.arange(m) + c + 2 * m, rough] = mu[rough]
        right = np.concatenate([b[:c], b[along], -b[along], np.zeros(m)])
        right[c:] += 1e-9 * np.random.default_rng(0).random(3 * m)  # breaks ties, alike each time
        return cls(M, right, rough)

    def states(self, mu: Array, z: Array, basic: Mask) -> States:
        """Return the state (c,) of each place.

        Parameters
        ----------
        mu : array (c,)
            Friction.
        z : array (c + 3 m,)
            The solution; m places are rough.
        basic : array (c + 3 m,) of bool
            Which of it is free to be positive.
        """
        c, m = len(mu), len(self.rough)
        shear, slides = np.zeros(c), np.zeros(c, bool)
        shear[self.rough] = z[c : c + m] - z[c + m : c + 2 * m]
        slides[self.rough] = basic[c + 2 * m :]
        closed = np.where(slides, sliding_under(shear), when_closing(mu))
        return np.where(basic[:c], closed, OPEN).astype(np.int8)
