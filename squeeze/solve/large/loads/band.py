"""The bands' potential on the hull of the deformed outline, with force and second derivative.

A band that slides freely has one pull all along, so what it stores depends on its length alone:
V = integral of T dl, with l the perimeter of the convex hull of what it lies on. Force and
stiffness follow exactly:

    dV = T dl ,       d2V = T d2l + (dT/dl) dl (x) dl ,

and a straight stretch of length a with the unit normal n has d2l = n n' / a between its ends. The
perimeter of a hull is a convex function of the points, so a band of constant pull never loses
stability by itself.

The outline is sampled, and the band runs straight from one sample on the hull to the next: a sample
that joins or leaves the hull lies on the straight line between its neighbours, so that the force
changes without a jump. The lips of a cut share one sample midway between them, since a band is
thicker than the step or gap at a mouth.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csr_array
from scipy.spatial import ConvexHull

from squeeze.solve.bands.wrap import BandFriction
from squeeze.solve.elastic.edge import shapes
from squeeze.solve.mesh.parting import Mesh

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

PARTS = 8  # stretches of an edge between samples


@dataclass(frozen=True, eq=False)
class OutlineSamples:
    """Places along the outside that a band can lie on.

    Attributes
    ----------
    nodes : array (k, 6) of int
        Nodes of which each place is made up; unused ones repeat the first with weight 0.
    shares : array (k, 6)
        Weight of each.
    """

    nodes: Whole
    shares: Array

    def places(self, x: Array) -> Array:
        """Return the places (k, 2) when the nodes are at `x` (n, 2)."""
        return np.einsum("ks,ksc->kc", self.shares, x[self.nodes])


def outline_samples(mesh: Mesh) -> OutlineSamples:
    """Return the places along the outside of a mesh on which a band can lie."""
    lips = {int(n) for faces in mesh.lands for n in (*faces.left[[0, -1]], *faces.right[[0, -1]])}
    ends = mesh.outside[:, [0, 2]].ravel()
    at_mouth: dict[int, list[int]] = {}
    for node in ends:
        if int(node) in lips:
            at_mouth.setdefault(int(mesh.base[node]), []).append(int(node))
    mouths = {base: sorted(set(found)) for base, found in at_mouth.items() if len(set(found)) > 1}
    nodes, shares = [], []
    for a, m, b in mesh.outside.tolist():
        for r in np.arange(PARTS) / PARTS:
            if r == 0 and a in lips and int(mesh.base[a]) in mouths:
                found = mouths[int(mesh.base[a])]
                nodes.append(found + [found[0]] * (6 - len(found)))
                shares.append([1 / len(found)] * len(found) + [0.0] * (6 - len(found)))
            else:
                nodes.append([a, m, b, a, a, a])
                shares.append([*shapes(r), 0.0, 0.0, 0.0])
    return OutlineSamples(np.array(nodes, np.int64), np.array(shares, float))


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


def hull(
    outside: OutlineSamples, x: Array, friction_shares: tuple[tuple[float, BandFriction], ...] = ()
) -> Hull:
    """Return the band round nodes at `x` (n, 2).

    Parameters
    ----------
    outside : OutlineSamples
    x : array (n, 2)
        Where the nodes are [mm].
    friction_shares : tuple of (share, BandFriction)
        Parts of the pull by their friction; all of it slides freely by default.
    """
    places = outside.places(x)
    corners = ConvexHull(places).vertices  # counter-clockwise
    step = np.roll(places[corners], -1, axis=0) - places[corners]
    kept = np.hypot(*step.T) > 1e-9
    a, b, step = corners[kept], np.roll(corners, -1)[kept], step[kept]
    size = np.hypot(*step.T)
    t = step / size[:, None]
    pull = np.ones(len(t))
    if friction_shares:
        pull = sum((share * drag.pull(t) for share, drag in friction_shares), np.zeros(len(t)))
    nodes = np.hstack([outside.nodes[a], outside.nodes[b]])
    weight = np.hstack([-outside.shares[a], outside.shares[b]])
    unknown = (2 * nodes[:, :, None] + np.arange(2)).reshape(len(t), -1)
    along = (weight[:, :, None] * t[:, None, :]).reshape(len(t), -1)
    normal = np.column_stack([-t[:, 1], t[:, 0]])
    across = (weight[:, :, None] * normal[:, None, :]).reshape(len(t), -1)
    at = unknown.ravel()
    stretch = np.repeat(np.arange(len(t)), unknown.shape[1])
    turned = csr_array(coo_array((across.ravel(), (stretch, at)), shape=(len(t), x.size)))
    bent = coo_array(turned.T @ (turned / size[:, None]))
    return Hull(
        float(size.sum()),
        np.asarray(np.bincount(at, along.ravel(), x.size), np.float64),
        np.asarray(np.bincount(at, (-pull[:, None] * along).ravel(), x.size), np.float64),
        np.asarray(bent.coords[0], np.int64),
        np.asarray(bent.coords[1], np.int64),
        np.asarray(bent.data, np.float64),
        places[corners],
        outside.nodes[corners],
        outside.shares[corners],
    )


def stiffness(hull: Hull, size: int) -> coo_array:
    """Return the second derivative of a hull's length, shape (size, size)."""
    return coo_array((hull.values, (hull.rows, hull.columns)), shape=(size, size))
