"""Rigid motions of pieces: along x, along y, turning; what forces do along them, and their pins."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.mesh.parting import Mesh

Array = NDArray[np.float64]
Whole = NDArray[np.int64]


def turned_about(points: Array, middle: Array) -> Array:
    """Return how points (n, 2) move when all turn by 1 rad about `middle`, small turns (n, 2)."""
    arm = points - middle
    return np.column_stack([-arm[:, 1], arm[:, 0]])


def rigid_motions(mesh: Mesh) -> Array:
    """Return the rigid motions of each piece, shape (2 n, 3 p).

    Along x, along y, turn by 1 at its farthest node.
    """
    n, pieces = len(mesh.points), int(mesh.piece.max()) + 1
    motions = np.zeros((n, 2, pieces, 3))
    for piece in range(pieces):
        on = mesh.piece == piece
        turn = turned_about(mesh.points[on], mesh.points[on].mean(axis=0))
        motions[on, 0, piece, 0] = motions[on, 1, piece, 1] = 1.0
        motions[on, :, piece, 2] = turn / np.hypot(*turn.T).max()
    return motions.reshape(2 * n, 3 * pieces)


def rigid_fit(points: Array, nodes: Whole, u: Array, weight: Array | None = None) -> Array:
    """Best-fitting rigid motion of `u` at `nodes`, everywhere (n, 2).

    Parameters
    ----------
    points, u : array (n, 2)
    nodes : array (k,) of int
    weight : array (k,), optional
        What each node counts; all alike unless given.
    """
    w = np.ones(len(nodes)) if weight is None else weight
    middle = np.average(points[nodes], axis=0, weights=w)
    turn = turned_about(points, middle)
    moved = np.average(u[nodes], axis=0, weights=w)
    work = np.sum(turn[nodes] * (u[nodes] - moved), axis=1)
    angle = float(w @ work / (w @ np.sum(turn[nodes] ** 2, axis=1)))
    return moved + angle * turn


def resultants(points: Array, f: Array) -> tuple[Array, float, float]:
    """Return the sum (2,) of nodal forces, their moment, and the sum of their sizes.

    `f` (2 n,) are the forces on `points` (n, 2). The moment is about the middle of the points.
    """
    force = f.reshape(-1, 2)
    moment = float(np.sum(turned_about(points, points.mean(axis=0)) * force))
    return force.sum(axis=0), moment, float(np.hypot(*force.T).sum())


def pins(mesh: Mesh) -> Whole:
    """Return the unknowns (3 pieces,) that pin every piece: three each, just enough.

    They are both displacements of one node of `mesh`, and that of a node far from it across the
    line between them.
    """
    found = []
    for piece in range(mesh.piece.max() + 1):
        nodes = np.flatnonzero(mesh.piece == piece)
        p = mesh.points[nodes]
        a = int(np.argmin(p[:, 0] + p[:, 1]))
        b = int(np.argmax(np.hypot(*(p - p[a]).T)))
        across = int(np.argmin(np.abs(p[b] - p[a])))
        found += [2 * nodes[a], 2 * nodes[a] + 1, 2 * nodes[b] + across]
    return np.array(found)
