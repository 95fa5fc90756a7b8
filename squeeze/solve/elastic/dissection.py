"""Elimination order by nested dissection of the triangles: halves first, what parts them last.

A. George, SIAM J. Numer. Anal. 10 (1973) 345. Halves are taken across the longer side and their
border smoothed, all groups of a level at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Whole = NDArray[np.int64]

_LEAF = 3
_SMOOTHINGS = 4


@dataclass(frozen=True, eq=False)
class Dissection:
    """Triangles in nested halves.

    Attributes
    ----------
    triangles : array (m, k) of int
        Every node belongs to one triangle at least.
    group : array (m,) of int
        Of each triangle: a bit for the half that it fell into at each level, the first highest.
    nodes : int
    """

    triangles: Whole
    group: Whole
    nodes: int

    def order(self, links: Whole | None = None) -> Whole:
        """Return the nodes in an order that keeps the factor sparse.

        Parameters
        ----------
        links : array (l, j) of int, optional
            Nodes that are coupled without a triangle, a link a row: where the two halves of a level
            are linked, nodes of the links belong to what parts them.

        Returns
        -------
        array (n,) of int
            Node numbers, first to be eliminated first.
        """
        least, most = np.full(self.nodes, np.iinfo(np.int64).max), np.full(self.nodes, -1)
        at, group = self.triangles.ravel(), np.repeat(self.group, self.triangles.shape[1])
        np.minimum.at(least, at, group)
        np.maximum.at(most, at, group)
        if links is not None and len(links):
            at, group = links.ravel(), np.repeat(least[links].min(axis=1), links.shape[1])
            np.minimum.at(least, at, group)
            np.maximum.at(most, at, group)
        _, after = np.frexp((least ^ most).astype(float))  # levels below where groups part
        return np.lexsort((np.arange(self.nodes), least, after))


def halved(points: Points, triangles: Whole) -> Dissection:
    """Halve the triangles again and again.

    Parameters
    ----------
    points : array (n, 2)
    triangles : array (m, 6) of int
        Every node belongs to one triangle at least.
    """
    m, n = len(triangles), len(points)
    middle = points[triangles[:, :3]].mean(axis=1)
    beside = neighbours(triangles, n)
    group = np.zeros(m, np.int64)
    for d in range(max(1, int(np.ceil(np.log2(max(m / _LEAF, 2)))))):
        group = 2 * group + _halves(middle, group, 1 << d, beside)
    return Dissection(triangles, group, n)


def dissection(points: Points, triangles: Whole) -> Whole:
    """Return the nodes (n,) in an order that keeps the factor sparse; see `halved`.

    `points` (n, 2) are the nodes [mm], `triangles` (m, 6) their numbers.
    """
    return halved(points, triangles).order()


def neighbours(triangles: Whole, n: int) -> Whole:
    """Return the neighbour (m, 3) of `triangles` (m, 6) across each side 0-1, 1-2, 2-0.

    `n` is the number of nodes. At a side of the border a triangle is its own neighbour.
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
