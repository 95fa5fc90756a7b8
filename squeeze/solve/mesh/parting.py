"""Parting the mesh along its cuts, and making it quadratic.

A node on a cut is shared by fans of triangles, parted from each other by cut edges. The first fan
keeps the node, each other fan gets a copy. This is pure topology: ends inside the rubber,
T-junctions, crossings and pieces that come free need no special case.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from skfem import MeshTri, MeshTri2

from squeeze.mold.section.records import Section
from squeeze.solve.mesh.meetings import cradle_numbers
from squeeze.solve.mesh.triangulate import Triangles

Points = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Land:
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
    tri : MeshTri2
        Nodes and connectivity as scikit-fem has them, curved along round edges.
    points : array (n, 2)
        Nodes [mm]: corners, then mid-sides.
    triangles : array (m, 6) of int
        Corners 0, 1, 2, then mid-sides of 0-1, 1-2, 2-0.
    body : array (m,) of int
    piece : array (n,) of int
        Number of the piece that a node belongs to; pieces hang together only through contact.
    base : array (n,) of int
        The node that a copy was made from; a node that is no copy is its own.
    lands, seats, joints : tuple of Land
        Faces of the cuts, of cradle pieces on the block, of cradle pieces on earlier pieces.
    outside : array (k, 3) of int
        Start, mid-side and end node of the edges of the exposed outside, counter-clockwise: of
        the block's outline and of the cradle pieces, without their seats.
    edges : tuple of arrays (k, 3) of int
        By loop (0 = outline, then cavities): start, mid-side and end node of each edge, in the
        loop's order.
    """

    tri: MeshTri2
    points: Points
    triangles: Whole
    body: Whole
    piece: Whole
    base: Whole
    lands: tuple[Land, ...]
    seats: tuple[Land, ...]
    joints: tuple[Land, ...]
    outside: Whole
    edges: tuple[Whole, ...]

    @property
    def faces(self) -> tuple[Land, ...]:
        """All pairs of faces: lands, then seats, then joints."""
        return self.lands + self.seats + self.joints


def part(section: Section, flat: Triangles) -> Mesh:
    """Return the quadratic mesh of a section, parted along its cuts.

    Parameters
    ----------
    section : Section
    flat : Triangles
        Straight triangles that follow the section.

    Returns
    -------
    Mesh
    """
    parted = (flat.graph.runs, flat.graph.seats, flat.graph.joints)
    chains = [run.nodes for runs in parted for run in runs]
    corners, triangles, origin = split(flat.corners, flat.triangles, chains)
    linear = MeshTri(
        np.ascontiguousarray(corners.T), np.ascontiguousarray(triangles.T), sort_t=False
    )
    tri = MeshTri2.from_mesh(linear)
    points = tri.doflocs.T.copy()
    triangles = np.asarray(tri.dofs.element_dofs.T, np.int64)
    sides = _Sides(triangles, origin)
    loops = [_loop_edges(flat, sides, points, k, section) for k in range(len(section.loops))]
    lands, seats, joints = (
        tuple(Land(run.cut, run.land, run.start_mm, *sides.faces(run.nodes)) for run in runs)
        for runs in parted
    )
    for face in (*lands, *seats, *joints):
        points[face.right] = points[face.left]  # two curves put their mid-sides a little apart
    tri = MeshTri2(np.ascontiguousarray(points.T), tri.t, sort_t=False)
    return Mesh(
        tri,
        points,
        triangles,
        flat.body,
        _pieces(triangles, len(points)),
        _bases((*lands, *seats, *joints), origin, len(points)),
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
    cut = {frozenset(pair) for chain in chains for pair in pairwise(chain)}
    start, end = triangles.ravel(), triangles[:, [1, 2, 0]].ravel()
    low, high = np.minimum(start, end), np.maximum(start, end)
    key = low * n + high
    order = np.argsort(key, kind="stable")
    twin = np.flatnonzero(key[order][1:] == key[order][:-1])
    a, b = order[twin], order[twin + 1]  # half-edges of neighbouring triangles
    keep = np.array(
        [frozenset((int(i), int(j))) not in cut for i, j in zip(low[a], high[a], strict=True)], bool
    )
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


class _Sides:
    """Finds the triangle side from one (unparted) corner to another, as its three nodes."""

    def __init__(self, triangles: Whole, origin: Whole):
        self._found = {
            (int(origin[row[i]]), int(origin[row[j]])): (int(row[i]), int(row[3 + i]), int(row[j]))
            for row in triangles
            for i, j in ((0, 1), (1, 2), (2, 0))
        }

    def along(self, a: int, b: int) -> tuple[int, int, int]:
        """Start, mid-side and end node of the side whose triangle lies left of a-b."""
        return self._found[a, b]

    def faces(self, chain: tuple[int, ...]) -> tuple[Whole, Whole]:
        """Nodes of both faces of a cut: (left, right), each corner, mid-side, corner, ..."""
        pairs = list(pairwise(chain))
        left = [self.along(a, b) for a, b in pairs]
        right = [(end, mid, start) for start, mid, end in (self.along(b, a) for a, b in pairs)]
        return _strung(left), _strung(right)


def _strung(sides: list[tuple[int, int, int]]) -> Whole:
    nodes = [sides[0][0]]
    for _, mid, end in sides:
        nodes += [mid, end]
    return np.array(nodes, np.int64)


def _loop_edges(
    flat: Triangles, sides: _Sides, points: Points, loop: int, section: Section
) -> Whole:
    """Edges of one loop in its order; their mid-side nodes are moved onto the curve."""
    is_hole = 1 <= loop <= len(section.cavities)
    found = []
    for side in (s for s in flat.graph.sides if s.loop == loop):
        piece = section.loops[loop].pieces[side.piece]
        for k, (a, b) in enumerate(zip(side.nodes[:-1], side.nodes[1:], strict=True)):
            edge = sides.along(b, a)[::-1] if is_hole else sides.along(a, b)
            points[edge[1]] = piece.at(0.5 * (side.at[k] + side.at[k + 1]))[0]
            found.append(edge)
    return np.array(found, np.int64).reshape(-1, 3)


def _outside(section: Section, loops: list[Whole], origin: Whole, faces: tuple[Land, ...]) -> Whole:
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


def _bases(lands: tuple[Land, ...], origin: Whole, n: int) -> Whole:
    """Return the node each was copied from; of a mid-side on a land the left face's is the base."""
    base = np.arange(n)
    base[: len(origin)] = origin
    for land in lands:
        base[land.right[1::2]] = land.left[1::2]
    return base
