"""The quadratic edge: start, mid-side and end node, and what lies between them.

A place on an edge is r, 0 at its start and 1 at its end; x(r) = sum N_k(r) x_k with

    N = (1 - r)(1 - 2 r),  4 r (1 - r),  r (2 r - 1) .
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def shapes(r: ArrayLike) -> Array:
    """Return the three shapes at places `r` of any shape (...), as an array (..., 3).

    >>> shapes(0.5).tolist()
    [0.0, 1.0, 0.0]
    """
    r = np.asarray(r, float)
    return np.stack([(1 - r) * (1 - 2 * r), 4 * r * (1 - r), r * (2 * r - 1)], axis=-1)


def slopes(r: ArrayLike) -> Array:
    """Return the derivatives of the three shapes by r at places `r` (...), as an array (..., 3).

    >>> slopes(0.0).tolist()
    [-3.0, 4.0, -1.0]
    """
    r = np.asarray(r, float)
    return np.stack([4 * r - 3, 4 - 8 * r, 4 * r - 1], axis=-1)


@cache
def gauss(count: int) -> tuple[Array, Array]:
    """Return places r in 0..1 and weights (count,) that integrate polynomials over an edge.

    Exact up to degree 2 count - 1. They are worked out once, and read-only.
    """
    x, w = np.polynomial.legendre.leggauss(count)
    r, weight = 0.5 * (1 + x), 0.5 * w
    r.flags.writeable = weight.flags.writeable = False
    return r, weight
