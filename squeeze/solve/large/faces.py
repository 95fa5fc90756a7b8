"""Contact between deformed faces that slide on each other.

Of the two faces of a cut one measures: pressure is linear between its corner nodes, the places of
the linear contact rows. Gap and slip are taken on it as it lies: from each point along its normal
to the other faces of the same seam. Force acts along this line on both points, so the pair leaves
neither force nor moment over. Where no face stands opposite nothing is pressed. The measuring face
is divided where nodes of the others stand opposite, so that an even pressure is passed on evenly
wherever the nodes lie (a segment-to-segment rule: G. Zavarise, P. Wriggers, Comput. Methods Appl.
Mech. Eng. 156 (1998) 299).

The face on the far side of the cut from the middle of the section measures: the lid's, where a cut
takes off a lid. So a mold drawn the other way round, or its mirror image, gives the same answer. On
a seat the block's face measures.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csr_array

from squeeze.solve.contact.rows import Seam, gap_at
from squeeze.solve.elastic.edge import shapes, slopes
from squeeze.solve.mesh.parting import Land, Mesh

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Whole = NDArray[np.int64]

SUPPORTED = 0.02
"""Share of a place's own length that has to stand opposite the other face for it to count."""

_GAUSS = np.polynomial.legendre.leggauss(3)


@dataclass(frozen=True, eq=False)
class Opposite:
    """What stands opposite what.

    Attributes
    ----------
    normal, along : csr_array (c, 2 n)
        Weighted gap and slip of each place that a displacement of the nodes makes.
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
    points : tuple of Touching
        The integration points, seam by seam.
    ends : tuple of Ends
        Where what stands opposite ends, seam by seam.
    """

    normal: csr_array
    along: csr_array
    gap: Array
    weight: Array
    slid: Array
    stretched: Array
    counts: Mask
    unknowns: int
    points: tuple[Touching, ...]
    ends: tuple[Ends, ...]

    def turning(self, pressure: Array) -> coo_array:
        """Return the stiffness (2 n, 2 n) of pressed faces that turn and slide on each other.

        Minus the derivative of the force that a pressure on the current faces exerts. It stays
        normal to the left face, grows with it, acts where the faces meet, and ends where they end.
        Not symmetric, since the gap between the faces is taken to be closed.

        Parameters
        ----------
        pressure : array (c,)
            At the places [MPa].
        """
        size = self.unknowns
        found = [part.turning(pressure) for part in (*self.points, *self.ends)]
        if not found:
            return coo_array((size, size))
        rows, columns, values = (np.concatenate(part) for part in zip(*found, strict=True))
        return coo_array((values, (rows, columns)), shape=(size, size))


@dataclass(frozen=True, eq=False)
class Touching:
    """Integration points of one seam with what stands opposite them.

    Attributes
    ----------
    unknown : array (k, 12) of int
        Unknowns of the left, then of the right edge.
    r, ratio : array (k,)
        Parameter on the left and on the right edge.
    part : array (k,)
        Share of the left edge's parameter.
    place : array (k, 2) of int
        Places at the start and at the end of the left edge.
    x : array (k, 6, 2)
        Nodes of the left, then of the right edge.
    apart : array (k,)
        Gap between the faces themselves [mm].
    """

    unknown: Whole
    r: Array
    ratio: Array
    part: Array
    place: Whole
    x: Array
    apart: Array

    def turning(self, pressure: Array) -> tuple[Whole, Whole, Array]:
        """Entries of the stiffness of one seam."""
        p = _between(pressure, self.place, self.r)
        on = p > 0
        p, r, ratio = (p * self.part)[on], self.r[on], self.ratio[on]
        x, apart, unknown = self.x[on], self.apart[on], self.unknown[on]
        k = len(p)
        shape, own = np.hstack([shapes(r), -shapes(ratio)]), slopes(r)
        slope = np.einsum("ks,ksc->kc", own, x[:, :3])
        across = np.einsum("ks,ksc->kc", slopes(ratio), x[:, 3:])
        size = np.hypot(*slope.T)
        t = slope / size[:, None]
        n = np.column_stack([-t[:, 1], t[:, 0]])
        rate = np.einsum("kc,kc->k", across, t)
        moves = shape[:, :, None] * t[:, None, :]  # what slides the place opposite along its edge
        moves[:, :3] += (apart / size)[:, None, None] * own[:, :, None] * n[:, None, :]
        moves = (moves / np.where(np.abs(rate) > 1e-9, rate, np.inf)[:, None, None]).reshape(k, 12)
        K = np.zeros((k, 6, 2, 6, 2))
        K[:, :, 0, :3, 1] = -shape[:, :, None] * own[:, None, :]  # normal = (-y', x')
        K[:, :, 1, :3, 0] = shape[:, :, None] * own[:, None, :]
        K = K.reshape(k, 12, 12)
        slides = np.zeros((k, 6, 2))
        slides[:, 3:] = -slopes(ratio)[:, :, None] * (size[:, None] * n)[:, None, :]
        K = K + slides.reshape(k, 12, 1) * moves[:, None, :]
        K = -p[:, None, None] * K
        rows, columns = np.repeat(unknown, 12, axis=1), np.tile(unknown, (1, 12))
        return rows.ravel(), columns.ravel(), K.ravel()


@dataclass(frozen=True, eq=False)
class Ends:
    """Places on left edges where what stands opposite ends.

    Attributes
    ----------
    unknown : array (k, 8) of int
        Unknowns of the left edge, then of the corner that ends the right face.
    r : array (k,)
        Parameter on the left edge.
    sign : array (k,)
        +1 where the right face ends, -1 where it begins.
    place : array (k, 2) of int
        Places at the start and at the end of the left edge.
    x : array (k, 4, 2)
    """

    unknown: Whole
    r: Array
    sign: Array
    place: Whole
    x: Array

    def turning(self, pressure: Array) -> tuple[Whole, Whole, Array]:
        """Entries of the stiffness: the pressed stretch grows or shrinks at its end."""
        p = _between(pressure, self.place, self.r) * self.sign
        k = len(p)
        shape, own = shapes(self.r), slopes(self.r)
        slope = np.einsum("ks,ksc->kc", own, self.x[:, :3])
        away = self.x[:, 3] - np.einsum("ks,ksc->kc", shape, self.x[:, :3])
        bend = 4 * (self.x[:, 0] + self.x[:, 2] - 2 * self.x[:, 1])
        rate = (slope**2).sum(axis=1) - (away * bend).sum(axis=1)
        moves = np.zeros((k, 4, 2))
        moves[:, :3] = -shape[:, :, None] * slope[:, None] + own[:, :, None] * away[:, None]
        moves[:, 3] = slope
        moves /= np.where(np.abs(rate) > 1e-12, rate, np.inf)[:, None, None]
        across = np.column_stack([-slope[:, 1], slope[:, 0]])
        tests = np.concatenate([shape, -np.ones((k, 1))], axis=1)[:, :, None] * across[:, None]
        K = -p[:, None, None] * tests.reshape(k, 8, 1) * moves.reshape(k, 1, 8)
        rows, columns = np.repeat(self.unknown, 8, axis=1), np.tile(self.unknown, (1, 8))
        return rows.ravel(), columns.ravel(), K.ravel()


@dataclass(frozen=True, eq=False)
class Faces:
    """The faces of one seam; "left" is the measuring one, seen along its edges.

    Attributes
    ----------
    left : array (e, 3) of int
        Edges of the measuring face, with the other face to their right.
    place : array (e, 2) of int
        Places at the start and the end of each.
    along : array (e, 2)
        Distances of start and end along the cut [mm].
    right : array (f, 3) of int
        Edges of the other face.
    seam : Seam
    """

    left: Whole
    place: Whole
    along: Array
    right: Whole
    seam: Seam

    def at(self, edge: Whole, r: Array) -> tuple[Array, Array]:
        """Distance along the cut [mm] at a parameter of edges, and from their start to their end.

        Both faces have the same edges, so this is for either.
        """
        start, end = self.along[edge].T
        return start + r * (end - start), end - start

    def turned(self) -> Faces:
        """Return the same faces with the other one measuring."""
        return Faces(
            self.right[:, ::-1],
            self.place[:, ::-1],
            self.along[:, ::-1],
            self.left[:, ::-1],
            self.seam,
        )


@dataclass(frozen=True, eq=False)
class Pairing:
    """The faces of a mesh by seam, worked out once.

    Attributes
    ----------
    seams : tuple of Faces
    rest : array (c,)
        Unloaded weight of each place [mm].
    places, unknowns : int
    """

    seams: tuple[Faces, ...]
    rest: Array
    places: int
    unknowns: int


def pairing(mesh: Mesh, seams: tuple[Seam, ...]) -> Pairing:
    """Return the faces of a mesh by seam."""
    begins = np.cumsum([0, *(len(land.left) // 2 + 1 for land in mesh.faces)])
    of_seam: dict[int, list[tuple[Land, int]]] = {}
    rest = np.zeros(begins[-1])
    for land, first in zip(mesh.faces, begins, strict=False):
        of_seam.setdefault(land.cut, []).append((land, int(first)))
    made = []
    cuts = {land.cut for land in mesh.lands}
    middle = _middle(mesh)
    for cut, lands in of_seam.items():
        left, place, along, right = [], [], [], []
        for land, first in lands:
            step = np.hypot(*np.diff(mesh.points[land.left[::2]], axis=0).T)
            places = first + np.arange(len(step))
            np.add.at(rest, places, step / 2)
            np.add.at(rest, places + 1, step / 2)
            left.append(_edges(land.left))
            right.append(_edges(land.right))
            place.append(np.column_stack([places, places + 1]))
            ends = land.start_mm + np.concatenate([[0.0], np.cumsum(step)])
            along.append(np.column_stack([ends[:-1], ends[1:]]))
        faces = Faces(*map(np.vstack, (left, place, along, right)), seams[cut])
        made.append(faces.turned() if cut in cuts and _is_near(mesh, faces, middle) else faces)
    return Pairing(tuple(made), rest, int(begins[-1]), 2 * len(mesh.points))


def _middle(mesh: Mesh) -> Array:
    """Middle of the area of the whole section (2,)."""
    corners = mesh.points[mesh.triangles[:, :3]]
    (ax, ay), (bx, by) = (corners[:, 1] - corners[:, 0]).T, (corners[:, 2] - corners[:, 0]).T
    return np.average(corners.mean(axis=1), axis=0, weights=np.abs(ax * by - ay * bx))


def _is_near(mesh: Mesh, faces: Faces, middle: Array) -> bool:
    """Whether the middle of the section lies to the left of the chord of a cut."""
    start, end = mesh.points[faces.left[0, 0]], mesh.points[faces.left[-1, 2]]
    chord, away = end - start, middle - start
    side = chord[0] * away[1] - chord[1] * away[0]
    return bool(side > 1e-6 * np.hypot(*chord) * np.ptp(mesh.points, axis=0).max())


def _edges(chain: Whole) -> Whole:
    return np.column_stack([chain[:-2:2], chain[1::2], chain[2::2]])


def _between(pressure: Array, place: Whole, r: Array) -> Array:
    """Pressure at `r` of the way from the first of two places to the second."""
    return (1 - r) * pressure[place[:, 0]] + r * pressure[place[:, 1]]


def opposite(pairs: Pairing, x: Array) -> Opposite:
    """Return the contact rows of faces whose nodes are at `x` (n, 2)."""
    rows: list[Whole] = []
    columns: list[Whole] = []
    normals: list[Array] = []
    alongs: list[Array] = []
    points: list[Touching] = []
    ends: list[Ends] = []
    gap, weight, slid, stretched = np.zeros((4, pairs.places))
    for faces in pairs.seams:
        left, place, right = faces.left, faces.place, faces.right
        stretches = _stretches(x, left, right)
        e, r, part = stretches.points()
        f, ratio, apart, t, ds, on = _across(x[left], x[right], e, r)
        ends.append(_ends(stretches, x, left, place, on.reshape(-1, len(_GAUSS[0]))[:, 1]))
        e, r, part = e[on], r[on], part[on]
        n = np.column_stack([-t[:, 1], t[:, 0]])
        own = part * ds
        bare = apart
        here, size = faces.at(e, r)
        there, size = faces.at(f, ratio)
        apart = apart + gap_at(faces.seam, here)
        stretch = np.hypot(*np.einsum("ks,ksc->ck", slopes(ratio), x[right[f]])) / np.abs(size)
        nodes = np.hstack([left[e], right[f]])
        shares = np.hstack([shapes(r), -shapes(ratio)])
        unknown = (2 * nodes[:, :, None] + np.arange(2)).reshape(len(e), 12)
        points.append(Touching(unknown, r, ratio, part, place[e], x[nodes], bare))
        for hat, at in ((1 - r, place[e, 0]), (r, place[e, 1])):
            np.add.at(gap, at, own * hat * apart)
            np.add.at(weight, at, own * hat)
            np.add.at(stretched, at, own * hat * stretch)
            np.add.at(slid, at, own * hat * stretch * np.sign(size) * (there - here))
            rows.append(np.repeat(at, 12))
            columns.append(unknown.ravel())
            for into, way in ((normals, n), (alongs, t)):
                value = (own * hat)[:, None, None] * shares[:, :, None] * way[:, None, :]
                into.append(value.ravel())
    shape = (pairs.places, pairs.unknowns)
    if not rows:
        none = csr_array(shape)
        counts = np.zeros(0, bool)
        return Opposite(none, none, gap, weight, slid, stretched, counts, pairs.unknowns, (), ())
    at = np.concatenate(rows), np.concatenate(columns)
    normal, along = (
        csr_array(coo_array((np.concatenate(v), at), shape=shape)) for v in (normals, alongs)
    )
    counts = weight > SUPPORTED * pairs.rest
    slid = np.where(counts, slid / np.where(counts, stretched, 1.0), 0.0)
    return Opposite(
        normal, along, gap, weight, slid, stretched, counts, pairs.unknowns,
        tuple(points), tuple(ends),
    )  # fmt: skip


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


def _ends(stretches: _Stretches, x: Array, left: Whole, place: Whole, on: Mask) -> Ends:
    """Where what stands opposite ends within a left edge; `on` (k,) tells it of each stretch."""
    same = stretches.edge[:-1] == stretches.edge[1:]
    ends = np.flatnonzero(same & on[:-1] & ~on[1:] & (stretches.last[:-1] >= 0))
    begins = np.flatnonzero(same & ~on[:-1] & on[1:] & (stretches.first[1:] >= 0)) + 1
    at = np.concatenate([ends, begins])
    r = np.concatenate([stretches.end[ends], stretches.start[begins]])
    corner = np.concatenate([stretches.last[ends], stretches.first[begins]])
    nodes = np.column_stack([left[stretches.edge[at]], corner])
    return Ends(
        unknown=(2 * nodes[:, :, None] + np.arange(2)).reshape(len(at), 8),
        r=r,
        sign=np.concatenate([np.ones(len(ends)), -np.ones(len(begins))]),
        place=place[stretches.edge[at]],
        x=x[nodes],
    )


def _across(
    left: Array, right: Array, e: Whole, r: Array
) -> tuple[Whole, Array, Array, Array, Array, Mask]:
    """Find what stands opposite points on left edges, along their normal.

    Returns right edge, parameter on it, gap, tangent, length per parameter, and for which of the
    points there is one; the others only for these.
    """
    x = np.einsum("ks,ksc->kc", shapes(r), left[e])
    slope = np.einsum("ks,ksc->kc", slopes(r), left[e])
    ds = np.hypot(*slope.T)
    t = slope / ds[:, None]
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
    hit = np.einsum("ks,ksc->kc", shapes(ratio), right[f])
    gap = np.einsum("kc,kc->k", x[k] - hit, n[k])
    return f, ratio, gap, t[k], ds[k], on
