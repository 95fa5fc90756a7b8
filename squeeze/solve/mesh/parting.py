"""Parting the mesh along its cuts, and making it quadratic.

A node on a cut is shared by fans of triangles, parted from each other by cut edges. The first fan
keeps the node, each other fan gets a copy. This is pure topology: ends inside the rubber,
T-junctions, crossings and pieces that come free need no special case.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from skfem import MeshTri2

from squeeze.mold.section.records import Section
from squeeze.solve.mesh.curved import unfold
from squeeze.solve.mesh.meetings import cradle_numbers
from squeeze.solve.mesh.triangulate import Triangles

Points = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class FacePair:
    """One land in the parted mesh. Nodes run along the cut's path: corner, mid-side, corner, ...

    Attributes
    ----------
    cut, land : int
        Number among the section's seams (cuts come first), and of the land along it.
    start_mm : float
        Distance of its start along the cut's path (of a seat: along the seat).
    left, right : array (2 n + 1,) of int
        Nodes of the face left of the path, and of the face right of it. A seat runs along the
        block's outline, so its left face is the block's.
    """

    cut: int
    land: int
    start_mm: float
    left: Whole
    right: Whole


@dataclass(frozen=True, eq=False)
class Mesh:
    """Quadratic triangles, parted along the cuts.

    Attributes
    ----------
    points : array (n, 2)
        Nodes [mm]: corners, then mid-sides.
    triangles : array (m, 6) of int
        Corners 0, 1, 2, then mid-sides of 0-1, 1-2, 2-0.
    body : array (m,) of int
    piece : array (n,) of int
        Number of the piece that a node belongs to; pieces hang together only through contact.
    base : array (n,) of int
        The node that a copy was made from; a node that is no copy is its own.
    lands, seats, joints : tuple of FacePair
        Faces of the cuts, of cradle pieces on the block, of cradle pieces on earlier pieces.
    outside : array (k, 3) of int
        Start, mid-side and end node of the edges of the exposed outside, counter-clockwise: of
        the block's outline and of the cradle pieces, without their seats.
    edges : tuple of arrays (k, 3) of int
        By loop (0 = outline, then cavities): start, mid-side and end node of each edge, in the
        loop's order.
    """

    points: Points
    triangles: Whole
    body: Whole
    piece: Whole
    base: Whole
    lands: tuple[FacePair, ...]
    seats: tuple[FacePair, ...]
    joints: tuple[FacePair, ...]
    outside: Whole
    edges: tuple[Whole, ...]

    @cached_property
    def tri(self) -> MeshTri2:
        """Nodes and connectivity as scikit-fem has them, curved along round edges."""
        corners = np.ascontiguousarray(self.triangles[:, :3].T)
        return MeshTri2(np.ascontiguousarray(self.points.T), corners, sort_t=False)

    @property
    def faces(self) -> tuple[FacePair, ...]:
        """All pairs of faces: lands, then seats, then joints."""
        return self.lands + self.seats + self.joints


def parted_mesh(section: Section, flat: Triangles) -> Mesh:
    """Return the quadratic mesh of a section, parted along its cuts.

    Parameters
    ----------
    section : Section
    flat : Triangles
        Straight triangles that follow the section.

    Returns
    -------
    Mesh

    Raises
    ------
    BadInput
        When a triangle is turned round.
    """
    parted = (flat.graph.lands, flat.graph.seats, flat.graph.joints)
    chains = [run.nodes for runs in parted for run in runs]
    corners, triangles, origin = split(flat.corners, flat.triangles, chains)
    points, triangles = _quadratic(corners, triangles)
    sides = _TriangleSides(triangles, origin)
    loops = [_loop_edges(flat, sides, points, k, section) for k in range(len(section.loops))]
    lands, seats, joints = (
        tuple(FacePair(run.cut, run.land, run.start_mm, *sides.faces(run.nodes)) for run in runs)
        for runs in parted
    )
    faces = (*lands, *seats, *joints)
    for face in faces:
        points[face.right] = points[face.left]  # two curves put their mid-sides a little apart
    unfold(points, triangles, [(face.left, face.right) for face in faces])
    return Mesh(
        points,
        triangles,
        flat.body,
        _pieces(triangles, len(points)),
        _bases(faces, origin, len(points)),
        lands,
        seats,
        joints,
        _outside(section, loops, origin, seats + joints),
        tuple(loops[: 1 + len(section.cavities)]),
    )


def split(
    corners: Points, triangles: Whole, chains: list[tuple[int, ...]]
) -> tuple[Points, Whole, Whole]:
    """Part straight triangles along chains of edges.

    Parameters
    ----------
    corners : array (n, 2)
    triangles : array (m, 3) of int
    chains : list of tuple of int
        Nodes along each cut.

    Returns
    -------
    corners : array (n + copies, 2)
    triangles : array (m, 3) of int
    origin : array (n + copies,) of int
        The corner that each corner was made from.
    """
    n, m = len(corners), len(triangles)
    cut = np.array([pair for chain in chains for pair in pairwise(chain)], np.int64).reshape(-1, 2)
    start, end = triangles.ravel(), triangles[:, [1, 2, 0]].ravel()
    low, high = np.minimum(start, end), np.maximum(start, end)
    key = low * n + high
    order = np.argsort(key, kind="stable")
    twin = np.flatnonzero(key[order][1:] == key[order][:-1])
    a, b = order[twin], order[twin + 1]  # half-edges of neighbouring triangles
    keep = ~np.isin(key[a], cut.min(axis=1) * n + cut.max(axis=1))
    a, b = a[keep], b[keep]
    corner_a = np.concatenate([a, _next(a)])  # the same two nodes, seen from both triangles
    corner_b = np.concatenate([_next(b), b])
    links = coo_array((np.ones(len(corner_a), bool), (corner_a, corner_b)), shape=(3 * m, 3 * m))
    _, fan = connected_components(links, directed=False)
    _, first, which = np.unique(fan, return_index=True, return_inverse=True)
    origin = start[first]  # one entry a fan: the node it stands at
    by_node = np.lexsort((first, origin))
    keeps = np.concatenate([[True], origin[by_node][1:] != origin[by_node][:-1]])
    number = np.empty(len(first), np.int64)
    number[by_node[keeps]] = origin[by_node[keeps]]
    copies = by_node[~keeps]
    number[copies] = n + np.arange(len(copies))
    source = np.concatenate([np.arange(n), origin[copies]])
    return corners[source], number[which].reshape(m, 3), source


def _next(half_edge: Whole) -> Whole:
    return half_edge - half_edge % 3 + (half_edge % 3 + 1) % 3


def _quadratic(corners: Points, triangles: Whole) -> tuple[Points, Whole]:
    """Return corners and mid-sides (n + k, 2), and the six nodes (m, 6) of each triangle.

    Mid-sides are numbered as scikit-fem does: by their edge's lower end, then by its higher one.
    """
    n = len(corners)
    start, end = triangles, triangles[:, [1, 2, 0]]
    sides = np.minimum(start, end) * n + np.maximum(start, end)
    edges, which = np.unique(sides, return_inverse=True)
    middles = 0.5 * (corners[edges // n] + corners[edges % n])
    return np.vstack([corners, middles]), np.hstack([triangles, n + which.reshape(-1, 3)])


class _TriangleSides:
    """Finds the triangle side from one (unparted) corner to another, as its three nodes."""

    def __init__(self, triangles: Whole, origin: Whole):
        self._nodes = triangles[:, [[0, 3, 1], [1, 4, 2], [2, 5, 0]]].reshape(-1, 3)
        self._corners = len(origin)
        key = origin[self._nodes[:, 0]] * self._corners + origin[self._nodes[:, 2]]
        self._order = np.argsort(key, kind="stable")
        self._key = key[self._order]

    def along(self, a: Whole, b: Whole) -> Whole:
        """Start, mid-side and end node of the sides whose triangles lie left of a-b, (k, 3)."""
        wanted = a * self._corners + b
        found = np.searchsorted(self._key, wanted)
        if (self._key[np.minimum(found, len(self._key) - 1)] != wanted).any():
            raise KeyError("an edge of the graph is no side of a triangle")
        return self._nodes[self._order[found]]

    def faces(self, chain: tuple[int, ...]) -> tuple[Whole, Whole]:
        """Nodes of both faces of a cut: (left, right), each corner, mid-side, corner, ..."""
        a, b = np.array(chain[:-1]), np.array(chain[1:])
        return _chained(self.along(a, b)), _chained(self.along(b, a)[:, ::-1])


def _chained(sides: Whole) -> Whole:
    return np.concatenate([sides[:1, 0], sides[:, 1:].ravel()])


def _loop_edges(
    flat: Triangles, sides: _TriangleSides, points: Points, loop: int, section: Section
) -> Whole:
    """Edges of one loop in its order; their mid-side nodes are moved onto the curve."""
    is_hole = 1 <= loop <= len(section.cavities)
    found = [np.zeros((0, 3), np.int64)]
    for side in (s for s in flat.graph.sides if s.loop == loop):
        a, b, at = np.array(side.nodes[:-1]), np.array(side.nodes[1:]), np.array(side.at)
        edges = sides.along(b, a)[:, ::-1] if is_hole else sides.along(a, b)
        piece = section.loops[loop].pieces[side.piece]
        points[edges[:, 1]] = piece.at(piece.halfway(at[:-1], at[1:]))
        found.append(edges)
    return np.vstack(found)


def _outside(
    section: Section, loops: list[Whole], origin: Whole, faces: tuple[FacePair, ...]
) -> Whole:
    """Edges of outline and cradle pieces that no seat covers, the outermost ring of them."""
    covered = {
        frozenset(map(int, pair))
        for face in faces
        for pair in zip(origin[face.left[:-2:2]], origin[face.left[2::2]], strict=True)
    }
    edges = np.vstack([loops[0], *(loops[k] for k in cradle_numbers(section))])
    if not covered:
        return loops[0]
    ends = origin[edges[:, [0, 2]]].tolist()
    after = {a: (b, k) for k, (a, b) in enumerate(ends) if frozenset((a, b)) not in covered}
    rings = []
    while after:
        a = next(iter(after))
        ring = []
        while a in after:
            a, k = after.pop(a)
            ring.append(k)
        rings.append(edges[ring])
    return max(rings, key=len)


def _pieces(triangles: Whole, n: int) -> Whole:
    rows = np.repeat(triangles[:, 0], 5)
    links = coo_array((np.ones(len(rows), bool), (rows, triangles[:, 1:].ravel())), shape=(n, n))
    return connected_components(links, directed=False)[1].astype(np.int64)


def _bases(lands: tuple[FacePair, ...], origin: Whole, n: int) -> Whole:
    """Return the node each was copied from; of a mid-side on a land the left face's is the base."""
    base = np.arange(n)
    base[: len(origin)] = origin
    for land in lands:
        base[land.right[1::2]] = land.left[1::2]
    return base
