"""The bands' potential on the hull of the deformed outline, with force and second derivative.

A band that slides freely has one pull all along, so what it stores depends on its length alone:
V = integral of T dl, with l the perimeter of the convex hull of what it lies on. Force and
stiffness follow exactly:

    dV = T dl ,       d2V = T d2l + (dT/dl) dl (x) dl ,

and a straight stretch of length a with the unit normal n has d2l = n n' / a between its ends. The
perimeter of a hull is a convex function of the points, so a band of constant pull never loses
stability by itself.

The outline is sampled; the hull of the samples says which stretches the band lies on. There it
takes the length of the quadratic edge itself, elsewhere that of the chord. The lips of a cut share
one sample midway between them, since a band is thicker than the step or gap at a mouth.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.spatial import ConvexHull

from squeeze.solve.bands.wrap import Drag
from squeeze.solve.elastic.edge import shapes, slopes
from squeeze.solve.mesh.parting import Mesh

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

PARTS = 4  # stretches of an edge between samples

_GAUSS = np.polynomial.legendre.leggauss(3)


@dataclass(frozen=True, eq=False)
class Samples:
    """Places along the outside that a band can lie on.

    Attributes
    ----------
    nodes : array (k, 6) of int
        Nodes of which each place is made up; unused ones repeat the first with weight 0.
    shares : array (k, 6)
        Weight of each.
    edge : array (k,) of int
        Number of the edge that runs from the place to the next one, -1 where that is not along one
        edge without a lip.
    start, end : array (k,)
        Parameters 0..1 of this stretch on the edge.
    edges : array (e, 3) of int
    """

    nodes: Whole
    shares: Array
    edge: Whole
    start: Array
    end: Array
    edges: Whole

    def places(self, x: Array) -> Array:
        """Return the places (k, 2) when the nodes are at `x` (n, 2)."""
        return np.einsum("ks,ksc->kc", self.shares, x[self.nodes])


def samples(mesh: Mesh) -> Samples:
    """Return the places along the outside of a mesh on which a band can lie."""
    lips = {int(n) for faces in mesh.lands for n in (*faces.left[[0, -1]], *faces.right[[0, -1]])}
    ends = mesh.outside[:, [0, 2]].ravel()
    at_mouth: dict[int, list[int]] = {}
    for node in ends:
        if int(node) in lips:
            at_mouth.setdefault(int(mesh.base[node]), []).append(int(node))
    mouths = {base: sorted(set(found)) for base, found in at_mouth.items() if len(set(found)) > 1}
    nodes, shares, edge, start, end = [], [], [], [], []
    for k, (a, m, b) in enumerate(mesh.outside.tolist()):
        for j in range(PARTS):
            r, after = j / PARTS, (j + 1) / PARTS
            lip = j == 0 and a in lips and int(mesh.base[a]) in mouths
            into = j == PARTS - 1 and b in lips and int(mesh.base[b]) in mouths
            if lip:
                found = mouths[int(mesh.base[a])]
                nodes.append(found + [found[0]] * (6 - len(found)))
                shares.append([1 / len(found)] * len(found) + [0.0] * (6 - len(found)))
            else:
                nodes.append([a, m, b, a, a, a])
                shares.append([*shapes(r), 0.0, 0.0, 0.0])
            edge.append(-1 if lip or into else k)
            start.append(r)
            end.append(after)
    return Samples(
        np.array(nodes, np.int64),
        np.array(shares, float),
        np.array(edge, np.int64),
        np.array(start),
        np.array(end),
        mesh.outside,
    )


@dataclass(frozen=True, eq=False)
class Hull:
    """A band round deformed nodes, for a pull of 1 N/mm.

    Attributes
    ----------
    length_mm : float
    slope : array (2 n,)
        Derivative of the length: minus the band's force.
    dragged : array (2 n,)
        Force of the band with its friction on what it lies on; minus `slope` without.
    rows, columns, values : arrays
        Entries of the second derivative of the length.
    places_mm : array (h, 2)
        Corners of the hull, counter-clockwise.
    nodes : array (h, 6) of int
    shares : array (h, 6)
        Of which nodes they are made up.
    """

    length_mm: float
    slope: Array
    dragged: Array
    rows: Whole
    columns: Whole
    values: Array
    places_mm: Array
    nodes: Whole
    shares: Array


Pull = Callable[[Array], Array]


def hull(outside: Samples, x: Array, drags: tuple[tuple[float, Drag], ...] = ()) -> Hull:
    """Return the band round nodes at `x` (n, 2).

    Parameters
    ----------
    outside : Samples
    x : array (n, 2)
        Where the nodes are [mm].
    drags : tuple of (share, Drag)
        Parts of the pull by their friction; all of it slides freely by default.
    """
    places = outside.places(x)
    corners = ConvexHull(places).vertices  # counter-clockwise
    after = np.roll(corners, -1)
    along = (outside.edge[corners] >= 0) & (after == (corners + 1) % len(places))
    n = x.size
    slope, dragged = np.zeros(n), np.zeros(n)
    found: list[tuple[Whole, Whole, Array]] = []
    length = 0.0

    def pull(t: Array) -> Array:
        if not drags:
            return np.ones(len(t))
        return sum((share * drag.pull(t) for share, drag in drags), np.zeros(len(t)))

    def add(nodes: Whole, weight: Array, t: Array, stiff: Array) -> None:
        """Add stretches whose length changes by t . sum(weight x): (j, s), (j, s), (j, 2), (j,)."""
        if not len(nodes):  # a sharp block may bear the band at its corners alone
            return
        force = weight[:, :, None] * t[:, None, :]
        unknown = 2 * nodes[:, :, None] + np.arange(2)
        np.add.at(slope, unknown.ravel(), force.ravel())
        np.add.at(dragged, unknown.ravel(), -(pull(t)[:, None, None] * force).ravel())
        across = weight[:, :, None] * np.column_stack([-t[:, 1], t[:, 0]])[:, None, :]
        across = across.reshape(len(nodes), -1)
        block = stiff[:, None, None] * across[:, :, None] * across[:, None, :]
        flat = unknown.reshape(len(nodes), -1)
        size = flat.shape[1]
        found.append(
            (
                np.repeat(flat, size, axis=1).ravel(),
                np.tile(flat, (1, size)).ravel(),
                block.ravel(),
            )
        )

    lying = corners[along]
    nodes = outside.edges[outside.edge[lying]]
    for g, w in zip(*_GAUSS, strict=True):
        r = outside.start[lying] + (outside.end - outside.start)[lying] * 0.5 * (1 + g)
        weight = slopes(r)
        d = np.einsum("ks,ksc->kc", weight, x[nodes])
        size = np.hypot(*d.T)
        part = 0.5 * w * (outside.end - outside.start)[lying]
        length += float((part * size).sum())
        add(nodes, part[:, None] * weight, d / size[:, None], 1.0 / (part * size))
    a, b = corners[~along], after[~along]
    d = places[b] - places[a]
    size = np.hypot(*d.T)
    keep = size > 1e-9
    a, b, d, size = a[keep], b[keep], d[keep], size[keep]
    length += float(size.sum())
    add(
        np.hstack([outside.nodes[a], outside.nodes[b]]),
        np.hstack([-outside.shares[a], outside.shares[b]]),
        d / size[:, None],
        1.0 / size,
    )
    rows, columns, values = (np.concatenate(part) for part in zip(*found, strict=True))
    used = values != 0
    return Hull(
        length,
        slope,
        dragged,
        rows[used],
        columns[used],
        values[used],
        places[corners],
        outside.nodes[corners],
        outside.shares[corners],
    )


def stiffness(hull: Hull, size: int) -> coo_array:
    """Return the second derivative of a hull's length, shape (size, size)."""
    return coo_array((hull.values, (hull.rows, hull.columns)), shape=(size, size))
