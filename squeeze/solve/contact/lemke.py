"""Complementary pivoting: slow but sure, for a few places where the active set cycles.

Coulomb's law as a linear complementarity problem with a copositive matrix (`coulomb`), solved by
complementary pivoting (C. E. Lemke, Manage. Sci. 11 (1965) 681), which cannot cycle back and ends
in a solution as long as every piece is held.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import get_blas_funcs

from squeeze.solve.contact.coulomb import Complementarity, States

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

(_add_outer,) = get_blas_funcs(("ger",), dtype=np.float64)  # T + a x y'


def lemke(M: Array, q: Array, most: int) -> tuple[Array, NDArray[np.bool_], bool]:
    """Solve w = M z + q, w >= 0, z >= 0, w z = 0 by complementary pivoting.

    Parameters
    ----------
    M : array (n, n)
    q : array (n,)
    most : int
        Pivots at the most.

    Returns
    -------
    z : array (n,)
    basic : array (n,) of bool
        Which of z are free to be positive.
    solved : bool
        False when it ended on a ray or at the limit.
    """
    n = len(q)
    if (q >= 0).all():
        return np.zeros(n), np.zeros(n, bool), True
    # rows say w - M z - z0 = q; only columns of variables that are 0 are kept
    T = np.asfortranarray(np.hstack([-M, -np.ones((n, 1)), q[:, None]]))
    basis, outside = np.arange(n), np.arange(n, 2 * n + 1)  # w, then z, then z0
    row, at = int(np.argmin(q)), n
    for _ in range(most):
        pivot, column = T[row, at], T[:, at].copy()
        T[:, at] = 0.0
        T[row, at] = 1.0
        T[row] /= pivot
        column[row] = 0.0
        T = _add_outer(-1.0, column, T[row].copy(), a=T, overwrite_a=1)
        leave = basis[row]
        basis[row], outside[at] = outside[at], leave
        if leave == 2 * n:
            z, basic = np.zeros(2 * n), np.zeros(2 * n, bool)
            z[basis], basic[basis] = T[:, -1], True
            return z[n:], basic[n:], True
        at = int(np.flatnonzero(outside == (leave + n if leave < n else leave - n))[0])
        row = _leaving(T[:, at], T[:, -1], basis == 2 * n)
        if row < 0:
            break
    return np.zeros(n), np.zeros(n, bool), False


def _leaving(column: Array, rhs: Array, artificial: NDArray[np.bool_]) -> int:
    """Row of least ratio; -1 for a ray.

    Among equals the artificial variable comes first, then the largest pivot.
    """
    able = np.flatnonzero(column > 1e-10 * np.abs(column).max())
    if not len(able):
        return -1
    ratio = np.maximum(rhs[able], 0.0) / column[able]
    ties = able[ratio <= ratio.min() * (1 + 1e-9) + 1e-300]
    for row in ties:
        if artificial[row]:
            return int(row)
    return int(ties[np.argmax(column[ties])])


def friction_states(C: Array, q: Array, mu: Array, most: int) -> States | None:
    """Find the state of every place, none of the pieces being free; None where that fails.

    Parameters
    ----------
    C : array (2 c, 2 c)
    q : array (2 c,)
    mu : array (c,)
    most : int
        Pivots at the most.

    Returns
    -------
    array (c,) of int, or None
    """
    law = Complementarity.of(C, q, mu)
    z, basic, solved = lemke(law.M, law.q, most)
    return law.states(mu, z, basic) if solved else None
