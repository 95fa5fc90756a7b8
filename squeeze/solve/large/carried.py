"""Where Newton's method begins: a deformed body of an earlier closing, carried to another mesh.

Newton's method only starts from it; equilibrium is that of the new mesh. So it is enough to look up
each node in a triangle near it, on its own side of the cuts.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import KDTree

from squeeze.solve.closing import Closing
from squeeze.solve.large.deformed import Iterate
from squeeze.solve.large.rubber.body import State
from squeeze.solve.mesh.parting import Mesh

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

NEAREST = 12
"""Triangles that are looked at for each place: those with the nearest middles."""
INWARD = 0.1
"""How far into its own triangle a node is looked up: faces of a cut lie in the same place."""
BEYOND = 1.0
"""How far beyond a triangle its field is carried on, in triangles."""


@dataclass(frozen=True, eq=False)
class Beginning:
    """Where the deformation of a block may begin.

    Attributes
    ----------
    reached : Iterate or None
        Where an earlier closing on the same mesh ended.
    is_on_path : bool
        Whether the loads pass there as they grow.
    guesses : tuple of (share, State)
        What an earlier closing on another mesh passed, by the share of its loads.
    """

    reached: Iterate | None = None
    is_on_path: bool = False
    guesses: tuple[tuple[float, State], ...] = ()


def beginning(mesh: Mesh, start: Closing | None, after: Closing | None) -> Beginning:
    """Return where the deformation of a block on `mesh` may begin.

    Parameters
    ----------
    mesh : Mesh
    start : Closing or None
        Of the same section, on any mesh, under much the same loads.
    after : Closing or None
        Of the same block, under smaller loads in the same proportion.
    """
    nearest = start if after is None else after
    reached = None if nearest is None else _reached_on(mesh, nearest)
    return Beginning(reached, after is not None, () if start is None else _guesses(mesh, start))


def _guesses(mesh: Mesh, start: Closing) -> tuple[tuple[float, State], ...]:
    """Return what a closing on another mesh passed; none on the same mesh, under other loads."""
    reached, field = start.deformation.reached, start.field
    if not isinstance(reached, Iterate) or _is_on(mesh, start):
        return ()
    return tuple(
        (
            share,
            carried(
                state,
                field.points_mm,
                field.triangles,
                field.body,
                mesh.points,
                mesh.triangles,
                mesh.body,
            ),
        )
        for share, state in reached.passed
    )


def _reached_on(mesh: Mesh, closing: Closing) -> Iterate | None:
    """Return where a closing ended; None for one of another mesh, or of small deformation."""
    reached = closing.deformation.reached
    return reached if isinstance(reached, Iterate) and _is_on(mesh, closing) else None


def _is_on(mesh: Mesh, closing: Closing) -> bool:
    return np.array_equal(closing.field.points_mm, mesh.points)


def carried(
    state: State,
    points: Array,
    triangles: Whole,
    body: Whole,
    onto: Array,
    new: Whole,
    new_body: Whole,
) -> State:
    """Return a state on another mesh of the same section.

    Parameters
    ----------
    state : State
    points : array (n, 2)
        Nodes of the mesh that the state is on [mm].
    triangles : array (m, 6) of int
    body : array (m,) of int
        Which body each of them belongs to.
    onto : array (k, 2)
        Nodes of the other mesh [mm].
    new : array (l, 6) of int
        Its triangles.
    new_body : array (l,) of int
        Which body each of those belongs to: it is looked up in that one alone, for along a curved
        seam a node may lie in a triangle of the body opposite.

    Returns
    -------
    State
    """
    nodes, first = np.unique(new.ravel(), return_index=True)
    middle = onto[new[:, :3]].mean(axis=1)
    own = first // new.shape[1]
    inside = onto[nodes] + INWARD * (middle[own] - onto[nodes])
    there = _nearest(points, triangles, body, inside, new_body[own])
    u = np.zeros((len(onto), 2))
    shapes = _quadratic(_barycentric(points, triangles[there], onto[nodes]))
    u[nodes] = np.einsum("ks,ksc->kc", shapes, state.u.reshape(-1, 2)[triangles[there]])
    there = _nearest(points, triangles, body, middle, new_body)
    s = np.empty((len(new), 3))
    for corner in range(3):
        share = _barycentric(points, triangles[there], onto[new[:, corner]])
        s[:, corner] = np.einsum("ks,ks->k", share, state.s[there])
    return State(u.ravel(), np.zeros((len(new), 2)), s)


def _nearest(points: Array, triangles: Whole, body: Whole, places: Array, own: Whole) -> Whole:
    """Return the triangle (k,) of its `own` body that holds each place, or is nearest to that."""
    found = np.empty(len(places), np.int64)
    for number in np.unique(own):
        theirs, ours = np.flatnonzero(body == number), own == number
        found[ours] = theirs[_nearest_of(points, triangles[theirs], places[ours])]
    return found


def _nearest_of(points: Array, triangles: Whole, places: Array) -> Whole:
    """Return the triangle (k,) that holds each place, or that it lies least outside of."""
    middle = points[triangles[:, :3]].mean(axis=1)
    _, near = KDTree(middle).query(places, k=min(NEAREST, len(middle)))
    near = near.reshape(len(places), -1)
    share = _barycentric(points, triangles[near.ravel()], np.repeat(places, near.shape[1], axis=0))
    inside = share.min(axis=1).reshape(near.shape)
    return np.asarray(near[np.arange(len(near)), inside.argmax(axis=1)], np.int64)


def _barycentric(points: Array, triangles: Whole, places: Array) -> Array:
    """Return the barycentric coordinates (k, 3) of places in triangles (k, 6), straight ones."""
    a, b, c = (points[triangles[:, corner]] for corner in range(3))
    (ux, uy), (vx, vy), (px, py) = (b - a).T, (c - a).T, (places - a).T
    area = ux * vy - uy * vx
    second, third = (px * vy - py * vx) / area, (ux * py - uy * px) / area
    share = np.column_stack([1 - second - third, second, third])
    return np.clip(share, -BEYOND, 1 + BEYOND)


def _quadratic(share: Array) -> Array:
    """Return the six quadratic shapes (k, 6): corners, then mid-sides of 0-1, 1-2, 2-0."""
    return np.hstack([share * (2 * share - 1), 4 * share * np.roll(share, -1, axis=1)])
