"""Pressure that stays normal to a deformed edge, as that of a liquid does.

The force on an edge is p J x' dr with J a quarter turn, so its derivative is p J N'. Where lips
part at the mouth of a cut, the straight line between them closes the curve: a liquid in a closed
curve leaves neither force nor moment over.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array

from squeeze.solve.bands.outline_forces import LoadTerm
from squeeze.solve.elastic.edge import gauss, shapes, slopes
from squeeze.solve.mesh.parting import Mesh

Array = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class PressedEdges:
    """Edges under a pressure: the force on the nodes is a matrix times their places.

    Attributes
    ----------
    rows, columns : array of int
    values : array
        Entries of the matrix (2 n, 2 n) for 1 MPa. Symmetric, since the curves are closed.
    """

    rows: Whole
    columns: Whole
    values: Array

    def force(self, x: Array) -> Array:
        """Return the force (2 n,) of 1 MPa on nodes at `x` (n, 2)."""
        each = self.values * x.ravel()[self.columns]
        return np.asarray(np.bincount(self.rows, each, x.size), np.float64)


def _integrals() -> Array:
    """Integral of N_i N_j' over an edge, shape (3, 3)."""
    r, w = gauss(3)
    return np.einsum("gi,gj,g->ij", shapes(r), slopes(r), w)


def pressed_edges(mesh: Mesh, loops: list[Whole]) -> PressedEdges:
    """Return the edges of closed loops (k, 3), the rubber to their left, under a pressure."""
    size = 2 * len(mesh.points)
    rows: list[Whole] = []
    columns: list[Whole] = []
    values: list[Array] = []

    def add(nodes: Whole, weight: Array) -> None:
        """Add force on nodes (k, s) = weight (s, s) times quarter turn of nodes' places."""
        for c, d, sign in ((0, 1, -1.0), (1, 0, 1.0)):  # inward normal (-y', x')
            k, s = nodes.shape
            rows.append(np.repeat(2 * nodes + c, s, axis=1).ravel())
            columns.append(np.tile(2 * nodes + d, (1, s)).ravel())
            values.append(np.tile(sign * weight.ravel(), k))

    over = _integrals()
    chord = np.array([[-0.5, 0.5], [-0.5, 0.5]])
    for edges in loops:
        if not len(edges):
            continue
        add(edges, over)
        ends = np.column_stack([edges[:, 2], np.roll(edges[:, 0], -1)])
        ends = ends[ends[:, 0] != ends[:, 1]]
        if len(ends):
            add(ends, chord)
    if not rows:
        none = np.zeros(0, np.int64)
        return PressedEdges(none, none, np.zeros(0))
    i, j, v = (np.concatenate(part) for part in (rows, columns, values))
    both = np.concatenate([i, j]), np.concatenate([j, i])
    A = coo_array((0.5 * np.concatenate([v, v]), both), shape=(size, size)).tocsr().tocoo()
    rows_of, columns_of = (np.asarray(part, np.int64) for part in A.coords)
    return PressedEdges(rows_of, columns_of, np.asarray(A.data, np.float64))


@lru_cache(maxsize=4)
def edges_under(term: LoadTerm, mesh: Mesh) -> PressedEdges | None:
    """Return the edges that a term of the loads presses as a liquid; None where it is no liquid."""
    return pressed_edges(mesh, term.pressed(mesh)) if term.pressed else None
