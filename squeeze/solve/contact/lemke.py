"""A slow but sure way to the state of a few places, for when the active set does not settle.

Coulomb's law in the plane as a linear complementarity problem with a copositive matrix (D. E.
Stewart, J. C. Trinkle, Int. J. Numer. Methods Eng. 39 (1996) 2673), solved by complementary
pivoting (C. E. Lemke, Manage. Sci. 11 (1965) 681), which cannot cycle back and ends in a solution
as long as every piece is held.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import get_blas_funcs

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


@dataclass(frozen=True, eq=False)
class States:
    """What pivoting found: which places press, which slide, the sign of their shear; all (c,)."""

    presses: NDArray[np.bool_]
    slides: NDArray[np.bool_]
    shear: Array
    solved: bool


def friction_states(C: Array, q: Array, mu: Array, most: int) -> States:
    """Find the state of every place, none of the pieces being free.

    Parameters
    ----------
    C : array (2 c, 2 c)
    q : array (2 c,)
    mu : array (c,)
    most : int
        Pivots at the most.

    Returns
    -------
    States
    """
    c = len(mu)
    rough = np.flatnonzero(mu > 0)
    m = len(rough)
    size, load = np.abs(np.diag(C)).max(), max(np.abs(q).max(), 1e-300)
    A, b = C / size, q / load
    t = c + rough
    M = np.zeros((c + 3 * m, c + 3 * m))
    f, g, s = slice(c, c + m), slice(c + m, c + 2 * m), slice(c + 2 * m, c + 3 * m)
    M[:c, :c] = A[:c, :c]
    M[:c, f], M[:c, g] = A[:c][:, t], -A[:c][:, t]
    M[f, :c], M[g, :c] = A[t][:, :c], -A[t][:, :c]
    M[f, f] = M[g, g] = A[np.ix_(t, t)]
    M[f, g] = M[g, f] = -A[np.ix_(t, t)]
    M[f, s] = M[g, s] = np.eye(m)
    M[s, f] = M[s, g] = -np.eye(m)
    M[np.arange(m) + c + 2 * m, rough] = mu[rough]
    shake = 1e-9 * np.random.default_rng(0).random(3 * m)  # parts ties, the same every time
    right = np.concatenate([b[:c], b[t], -b[t], np.zeros(m)])
    right[c:] += shake
    z, basic, solved = lemke(M, right, most)
    shear, slides = np.zeros(c), np.zeros(c, bool)
    shear[rough], slides[rough] = z[f] - z[g], basic[s]
    return States(basic[:c], slides, shear, solved)
