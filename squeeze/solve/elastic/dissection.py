"""Elimination order by nested dissection of the triangles: halves first, what parts them last.

A. George, SIAM J. Numer. Anal. 10 (1973) 345. Halves are taken across the longer side and their
border smoothed, all groups of a level at once.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Whole = NDArray[np.int64]

_LEAF = 3
_SMOOTHINGS = 4


def dissection(points: Points, triangles: Whole) -> Whole:
    """Return the nodes in an order that keeps the factor sparse.

    Parameters
    ----------
    points : array (n, 2)
    triangles : array (m, 6) of int
        Every node belongs to one triangle at least.

    Returns
    -------
    array (n,) of int
        Node numbers, first to be eliminated first.
    """
    m, n = len(triangles), len(points)
    middle = points[triangles[:, :3]].mean(axis=1)
    flat = triangles.ravel()
    by_node = np.argsort(flat, kind="stable")
    inside, first = by_node // triangles.shape[1], np.searchsorted(flat[by_node], np.arange(n))
    beside = neighbours(triangles, n)
    depth = max(1, int(np.ceil(np.log2(max(m / _LEAF, 2)))))
    group, level = np.zeros(m, np.int64), np.full(n, depth)
    for d in range(depth):
        group = 2 * group + _halves(middle, group, 1 << d, beside)
        least, most = (f.reduceat(group[inside], first) for f in (np.minimum, np.maximum))
        level[(least != most) & (level == depth)] = d
    return np.lexsort((np.arange(n), np.minimum.reduceat(group[inside], first), -level))


def neighbours(triangles: Whole, n: int) -> Whole:
    """Return the neighbour across each side 0-1, 1-2, 2-0, shape (m, 3).

    The triangle itself where there is none.
    """
    m = len(triangles)
    start, end = triangles[:, :3].ravel(), triangles[:, [1, 2, 0]].ravel()
    key = np.minimum(start, end) * n + np.maximum(start, end)
    order = np.argsort(key, kind="stable")
    twin = np.flatnonzero(key[order][1:] == key[order][:-1])
    beside = np.repeat(np.arange(m), 3)
    beside[order[twin]] = order[twin + 1] // 3
    beside[order[twin + 1]] = order[twin] // 3
    return beside.reshape(m, 3)


def _halves(middle: Points, group: Whole, groups: int, beside: Whole) -> NDArray[np.bool_]:
    """Which half of its group each triangle falls into."""
    m = len(middle)
    order = np.argsort(group, kind="stable")
    count = np.bincount(group, minlength=groups)
    start = np.concatenate([[0], np.cumsum(count)[:-1]])
    there = np.flatnonzero(count)
    spread = np.zeros((groups, 2))
    spread[there] = np.maximum.reduceat(middle[order], start[there]) - np.minimum.reduceat(
        middle[order], start[there]
    )
    along = middle[np.arange(m), np.argmax(spread, axis=1)[group]]
    rank = np.empty(m, np.int64)
    rank[np.lexsort((along, group))] = np.arange(m)
    half = rank - start[group] >= (count[group] + 1) // 2
    same = group[beside] == group[:, None]
    for k in range(_SMOOTHINGS):
        across = ((half[beside] != half[:, None]) & same).sum(axis=1)
        half = half ^ ((across >= 2) & (half == bool(k % 2)))
    return half
