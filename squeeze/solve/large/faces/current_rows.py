"""Contact between deformed faces that slide on each other.

Of the two faces of a cut one measures: pressure is linear between its corner nodes, the places of
the linear contact rows. Gap and slip are taken on it as it lies: from each point along its normal
to the other faces of the same seam; the force of a pressure is the derivative of the gap (`gap`).
Where no face stands opposite nothing is pressed. The measuring face is divided where nodes of the
others stand opposite, so that an even pressure is passed on evenly wherever the nodes lie (a
segment-to-segment rule: G. Zavarise, P. Wriggers, Comput. Methods Appl. Mech. Eng. 156 (1998) 299).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csr_array

from squeeze.solve.contact.rows import gap_at
from squeeze.solve.elastic.edge import shapes, slopes
from squeeze.solve.large.faces.gap import Facing
from squeeze.solve.large.faces.integration import IntegrationEnds, IntegrationPoints
from squeeze.solve.large.faces.pairing import Pairing, SeamFaces

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Whole = NDArray[np.int64]

SUPPORTED = 0.02
"""Share of a place's own length that has to stand opposite the other face for it to count."""

_GAUSS = np.polynomial.legendre.leggauss(3)


@dataclass(frozen=True, eq=False)
class CurrentRows:
    """Contact rows in the current configuration.

    Attributes
    ----------
    normal, along : csr_array (c, 2 n)
        Force on the nodes of a unit of pressure and of shear at each place.
    opening : csr_array (c, 2 n)
        Derivative of the weighted gaps by the nodes: `normal`, and how ends that move change it.
    gap : array (c,)
        Weighted gap with the unloaded gap in it [mm2].
    weight : array (c,)
        Integral of each place's hat over what stands opposite [mm].
    slid : array (c,)
        How far the faces have slid on each other, as a distance along the unloaded cut between what
        stands opposite and what stood there [mm]. It does not depend on how the block is turned.
    stretched : array (c,)
        `weight` times the stretch of the other face.
    counts : array (c,) of bool
        Places with enough opposite them to press.
    unknowns : int
        2 n.
    points : tuple of IntegrationPoints
        The integration points, seam by seam.
    ends : tuple of IntegrationEnds
        Where what stands opposite ends, seam by seam.
    """

    normal: csr_array
    along: csr_array
    opening: csr_array
    gap: Array
    weight: Array
    slid: Array
    stretched: Array
    counts: Mask
    unknowns: int
    points: tuple[IntegrationPoints, ...]
    ends: tuple[IntegrationEnds, ...]

    @property
    def coupled(self) -> Whole:
        """Nodes (k, 6) of each pair of edges that stand opposite each other."""
        unknown = [part.unknown[:, ::2] for part in (*self.points, *self.ends)]
        return np.unique(np.concatenate([np.zeros((0, 6), np.int64), *unknown]) // 2, axis=0)

    def turning(self, pressure: Array) -> coo_array:
        """Return the stiffness (2 n, 2 n) of pressed faces that turn and slide on each other.

        Minus the derivative of the force that a pressure on the current faces exerts. Symmetric but
        for the ends of what stands opposite: force follows the pressed stretch there, and the work
        of what gapes at the very end is left out, so that no force jumps as corners pass.

        Parameters
        ----------
        pressure : array (c,)
            At the places [MPa].
        """
        found = [part.turning(pressure) for part in (*self.points, *self.ends)]
        if not found:
            return coo_array((self.unknowns, self.unknowns))
        rows, columns, values = (np.concatenate(part) for part in zip(*found, strict=True))
        return coo_array((values, (rows, columns)), shape=(self.unknowns, self.unknowns))


def current_rows(pairs: Pairing, x: Array) -> CurrentRows:
    """Return the contact rows of faces whose nodes are now at `x` (n, 2)."""
    rows: list[Whole] = []
    columns: list[Whole] = []
    normals: list[Array] = []
    alongs: list[Array] = []
    end_rows: list[Whole] = []
    end_columns: list[Whole] = []
    openings: list[Array] = []
    points: list[IntegrationPoints] = []
    ends: list[IntegrationEnds] = []
    gap, weight, slid, stretched = np.zeros((4, pairs.places))
    for faces in pairs.seams:
        stretches = _stretches(x, faces.left, faces.right)
        e, r, part = stretches.points()
        f, q, on = _across(x[faces.left], x[faces.right], e, r)
        e = e[on]
        unknown, facing = _facing(faces, x, e, f, r[on], q)
        here = IntegrationPoints(unknown, facing, part[on], faces.place[e])
        points.append(here)
        end = _ends(stretches, faces, x, on, f)
        ends.append(end)
        own = here.part * facing.size
        along, _ = faces.at(e, facing.r)
        along_other, size = faces.at(f, facing.q)
        stretch = np.hypot(*facing.b.T) / np.abs(size)
        slipped = stretch * np.sign(size) * (along_other - along)
        slip_x = facing.slip_x * facing.size[:, None, None]
        for hat, at in ((1 - facing.r, here.place[:, 0]), (facing.r, here.place[:, 1])):
            np.add.at(gap, at, own * hat * facing.apart)
            np.add.at(weight, at, own * hat)
            np.add.at(stretched, at, own * hat * stretch)
            np.add.at(slid, at, own * hat * slipped)
            rows.append(np.repeat(at, 12))
            columns.append(unknown.ravel())
            part = (here.part * hat)[:, None, None]
            normals.append((part * facing.phi_x).ravel())
            alongs.append((part * slip_x).ravel())
        ended = (end.sign * end.facing.phi)[:, None, None] * end.facing.end_x()
        for hat, at in ((1 - end.facing.r, end.place[:, 0]), (end.facing.r, end.place[:, 1])):
            end_rows.append(np.repeat(at, 12))
            end_columns.append(end.unknown.ravel())
            openings.append((hat[:, None, None] * ended).ravel())
    shape = (pairs.places, pairs.unknowns)
    if not rows:
        none = csr_array(shape)
        counts = np.zeros(0, bool)
        return CurrentRows(
            none, none, none, gap, weight, slid, stretched, counts, pairs.unknowns, (), ()
        )
    at = np.concatenate(rows), np.concatenate(columns)
    normal, along = (
        csr_array(coo_array((np.concatenate(v), at), shape=shape)) for v in (normals, alongs)
    )
    at = np.concatenate(end_rows), np.concatenate(end_columns)
    opening = csr_array(normal + coo_array((np.concatenate(openings), at), shape=shape))
    counts = weight > SUPPORTED * pairs.rest
    slid = np.where(counts, slid / np.where(counts, stretched, 1.0), 0.0)
    return CurrentRows(
        normal, along, opening, gap, weight, slid, stretched, counts, pairs.unknowns,
        tuple(points), tuple(ends),
    )  # fmt: skip


def _facing(
    faces: SeamFaces, x: Array, e: Whole, f: Whole, r: Array, q: Array
) -> tuple[Whole, Facing]:
    """Unknowns (k, 12) of left edges `e` and right edges `f`, and points on them."""
    nodes = np.hstack([faces.left[e], faces.right[f]])
    unknown = (2 * nodes[:, :, None] + np.arange(2)).reshape(len(e), 12)
    return unknown, Facing(x[nodes], r, q, gap_at(faces.seam, faces.at(e, r)[0]))


@dataclass(frozen=True, eq=False)
class _Stretches:
    """Parts of left edges between places opposite which a corner of a right edge stands.

    Attributes
    ----------
    edge : array (k,) of int
    start, end : array (k,)
        Parameters on the edge.
    first, last : array (k,) of int
        Node of the right face's corner opposite start and end, -1 where there is none.
    """

    edge: Whole
    start: Array
    end: Array
    first: Whole
    last: Whole

    def points(self) -> tuple[Whole, Array, Array]:
        """Integration points: edge, parameter on it, share of the parameter."""
        g, w = _GAUSS
        step = (self.end - self.start)[:, None]
        r = self.start[:, None] + step * 0.5 * (1 + g)
        return np.repeat(self.edge, len(g)), r.ravel(), (step * 0.5 * w).ravel()


def _stretches(x: Array, left: Whole, right: Whole) -> _Stretches:
    """Divide left edges (e, 3) where corners of right edges (f, 3) stand opposite."""
    nodes = np.unique(right[:, [0, 2]])
    corners, on = x[nodes], x[left]
    first, middle, last = on[:, 0], on[:, 1], on[:, 2]
    before = np.einsum("kec,ec->ke", corners[:, None] - first, 4 * middle - 3 * first - last)
    after = np.einsum("kec,ec->ke", corners[:, None] - last, 3 * last + first - 4 * middle)
    k, e = np.nonzero((before > 0) & (after < 0))
    r = before[k, e] / (before[k, e] - after[k, e])
    for _ in range(4):
        d = np.einsum("ks,ksc->kc", shapes(r), on[e]) - corners[k]
        t = np.einsum("ks,ksc->kc", slopes(r), on[e])
        bend = 4 * (on[e, 0] + on[e, 2] - 2 * on[e, 1])
        rate = (t**2).sum(axis=1) + (d * bend).sum(axis=1)
        r = np.clip(r - (d * t).sum(axis=1) / np.where(np.abs(rate) > 0, rate, 1.0), 0.0, 1.0)
    every = np.arange(len(left))
    edges = np.concatenate([every, every, e])
    stops = np.concatenate([np.zeros(len(left)), np.ones(len(left)), r])
    which = np.concatenate([np.full(2 * len(left), -1), nodes[k]])
    order = np.lexsort((stops, edges))
    edges, stops, which = edges[order], stops[order], which[order]
    whole = (edges[:-1] == edges[1:]) & (np.diff(stops) > 1e-9)
    return _Stretches(
        edges[:-1][whole], stops[:-1][whole], stops[1:][whole], which[:-1][whole], which[1:][whole]
    )


def _ends(stretches: _Stretches, faces: SeamFaces, x: Array, on: Mask, f: Whole) -> IntegrationEnds:
    """Where integration ends at a corner of a right face.

    `on` says for each integration point whether an edge stands opposite; `f`, for those, which.
    """
    edge = np.full(len(on), -1)
    edge[on] = f
    edge = edge.reshape(-1, len(_GAUSS[0]))
    corner = np.concatenate([stretches.last, stretches.first])
    f = np.concatenate([edge[:, -1], edge[:, 0]])
    r = np.concatenate([stretches.end, stretches.start])
    e = np.tile(stretches.edge, 2)
    sign = np.repeat([1.0, -1.0], len(edge))
    ahead, behind = corner == faces.right[f, 2], corner == faces.right[f, 0]
    kept = (corner >= 0) & (f >= 0) & (ahead | behind)
    e, f = e[kept], f[kept]
    unknown, facing = _facing(faces, x, e, f, r[kept], np.where(ahead, 1.0, 0.0)[kept])
    return IntegrationEnds(unknown, facing, sign[kept], faces.place[e])


def _across(left: Array, right: Array, e: Whole, r: Array) -> tuple[Whole, Array, Mask]:
    """Find what stands opposite points on left edges, along their normal.

    Returns for which of the points there is anything (`on`), and for these the right edge and the
    parameter on it.
    """
    x = np.einsum("ks,ksc->kc", shapes(r), left[e])
    slope = np.einsum("ks,ksc->kc", slopes(r), left[e])
    t = slope / np.hypot(*slope.T)[:, None]
    n = np.column_stack([-t[:, 1], t[:, 0]])
    low = np.einsum("kfc,kc->kf", right[:, 0] - x[:, None], t)
    high = np.einsum("kfc,kc->kf", right[:, 2] - x[:, None], t)
    crossed = (low <= 0) & (high > 0)
    ratio = low / np.where(crossed, low - high, 1.0)
    chord = right[None, :, 0] + ratio[:, :, None] * (right[:, 2] - right[:, 0])
    apart = np.where(crossed, np.abs(np.einsum("kfc,kc->kf", x[:, None] - chord, n)), np.inf)
    f = np.argmin(apart, axis=1)
    k = np.arange(len(x))
    reach = 0.25 * float(np.ptp(left.reshape(-1, 2), axis=0).max())
    on = apart[k, f] < max(reach, 1.0)
    k, f = k[on], f[on]
    ratio = ratio[k, f]
    for _ in range(4):
        d = np.einsum("ks,ksc->kc", shapes(ratio), right[f]) - x[k]
        rate = np.einsum("ks,ksc,kc->k", slopes(ratio), right[f], t[k])
        step = np.einsum("kc,kc->k", d, t[k]) / np.where(np.abs(rate) > 1e-12, rate, 1.0)
        ratio = np.clip(ratio - step, 0.0, 1.0)
    return f, ratio, on
