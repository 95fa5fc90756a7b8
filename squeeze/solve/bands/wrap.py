"""The band's path round the section, and its forces on it.

The band follows the convex hull of the block. With tension T and unit tangent tau, the virtual work
of its pull is f(v) = -T integral tau . dv/ds ds once round: T x curvature on an arc, a force at a
corner, nothing on a flat, one formula for all. Rigid motions give exactly zero, so the pushes
balance whatever the mesh. Where the band bridges a hollow or the mouth of a cut, the stretch
between its two ends enters as a straight piece.

With friction the pull falls by exp(-mu x turning) in both directions from where the band was pulled
(Euler 1769, Eytelwein 1808). The wrap is convex, so the turning is the angle between tangents, and
T depends on the tangent's direction alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from squeeze.mold.forces.loads import Loads
from squeeze.solve.elastic.edge import gauss, slopes

Array = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class BandPath:
    """The band's path round the section.

    Attributes
    ----------
    edges : array (k, 3) of int
        Start, mid-side and end node of each stretch, in order; mid-side -1 = straight through the
        air.
    length_mm : float
        Length once round.
    load : array (2 n,)
        Nodal force of a band of tension 1 N/mm, where it was pulled.
    """

    edges: Whole
    length_mm: float
    load: Array


@dataclass(frozen=True)
class BandFriction:
    """Friction of the band along its path.

    Attributes
    ----------
    friction : float
        Coulomb's coefficient of the band on what it lies on.
    direction_rad : float
        Direction of the band where it was pulled.
    """

    friction: float
    direction_rad: float

    def pull(self, t: Array) -> Array:
        """Tension over that at the pulled place, where the unit tangent is `t` (..., 2)."""
        turning = np.arctan2(t[..., 1], t[..., 0]) - self.direction_rad
        return np.exp(-self.friction * np.abs((turning + np.pi) % (2 * np.pi) - np.pi))


EVEN = BandFriction(0.0, 0.0)


def wrap(points: Array, outline: Whole, drag: BandFriction = EVEN) -> BandPath:
    """Return the band's path round an outline.

    Parameters
    ----------
    points : array (n, 2)
        Nodes of the mesh, unloaded or displaced [mm].
    outline : array (k, 3) of int
        Start, mid-side and end node of the outline's edges in order, counter-clockwise.
    drag : BandFriction
        Friction of the band; none by default.

    Returns
    -------
    BandPath
    """
    edges = _stretches(outline, _on_hull(points, outline))
    load = np.zeros(2 * len(points))
    lies = edges[:, 1] >= 0
    length = _curved(points, edges[lies], load, drag) + _straight(points, edges, load, drag)
    return BandPath(edges, length, load)


def _on_hull(points: Array, outline: Whole) -> NDArray[np.bool_]:
    """Which nodes of the outline lie on its convex hull, to 1e-4 of its size. Shape (k, 3)."""
    p = points[outline.ravel()]
    hull = ConvexHull(p)
    away = np.min(np.abs(hull.equations[:, :2] @ p.T + hull.equations[:, 2:]), axis=0)
    return (away < 1e-4 * float(np.ptp(p))).reshape(outline.shape)


def _stretches(outline: Whole, on: NDArray[np.bool_]) -> Whole:
    """Edges that the band lies on, joined by straight stretches."""
    lies = np.asarray(on.all(axis=1))
    alone = on[:, 0] & ~lies & ~np.roll(lies, 1)  # a corner that it only touches
    stops = [
        row if lies[k] else (row[0], -1, row[0])
        for k, row in enumerate(outline)
        if lies[k] or alone[k]
    ]
    path = []
    for here, after in zip(stops, stops[1:] + stops[:1], strict=True):
        if here[1] >= 0:
            path.append(tuple(here))
        if here[2] != after[0]:
            path.append((here[2], -1, after[0]))
    return np.array(path, np.int64)


def _curved(points: Array, edges: Whole, load: Array, drag: BandFriction) -> float:
    """Add -t . dv/ds of the edges that the band lies on; returns their length."""
    x = points[edges]
    total = 0.0
    for r, w in zip(*gauss(4), strict=True):
        slope = slopes(r)
        dx = np.einsum("s,ksc->kc", slope, x)
        ds = np.hypot(*dx.T)
        total += w * float(ds.sum())
        t = dx / ds[:, None]
        pull = -w * slope[None, :, None] * (drag.pull(t)[:, None] * t)[:, None, :]
        np.add.at(load, (2 * edges[:, :, None] + np.arange(2)).ravel(), pull.ravel())
    return total


def _straight(points: Array, edges: Whole, load: Array, drag: BandFriction) -> float:
    """Add the stretches through the air.

    Over the mouth of a cut, whose lips coincide, the tangent is the mean of what comes before and
    after, so that the band does not pull the lips apart.
    """
    total = 0.0
    for k in np.flatnonzero(edges[:, 1] < 0):
        a, b = edges[k, 0], edges[k, 2]
        d = points[b] - points[a]
        length = float(np.hypot(*d))
        if length < 1e-9:
            d = _tangent(points, edges[k - 1], 1.0) + _tangent(
                points, edges[(k + 1) % len(edges)], 0.0
            )
        t = d / np.hypot(*d)
        pull = drag.pull(t) * t
        load[2 * a : 2 * a + 2] += pull
        load[2 * b : 2 * b + 2] -= pull
        total += length
    return total


def _tangent(points: Array, edge: Whole, r: float) -> Array:
    """Return the unit tangent at the start (r = 0) or end (r = 1) of a stretch."""
    d = points[edge[2]] - points[edge[0]] if edge[1] < 0 else slopes(r) @ points[edge]
    return d / np.hypot(*d)


def band_path(points: Array, outline: Whole, loads: Loads) -> BandPath:
    """Return the path of the bands; its load is that of all bands under 1 N/mm of tension.

    Parameters
    ----------
    points : array (n, 2)
        Nodes [mm].
    outline : array (k, 3) of int
        Start, mid-side and end node of the outline's edges, counter-clockwise.
    loads : Loads
        Of which only the friction of the bands counts here.
    """
    path = wrap(points, outline)
    if not loads.grips:
        return path
    parts = [
        share * wrap(points, outline, drag).load
        for share, drag in friction_shares(points, path, loads)
    ]
    return replace(path, load=np.sum(parts, axis=0))


def friction_shares(
    points: Array, path: BandPath, loads: Loads
) -> tuple[tuple[float, BandFriction], ...]:
    """Return the parts of the tension by their friction; the shares sum to 1.

    `points` (n, 2) are the nodes [mm].
    """
    smooth = 1.0 - sum(grip.share for grip in loads.grips)
    rough = [
        (grip.share, BandFriction(grip.friction, _direction(points, path, grip.pulled_at_mm)))
        for grip in loads.grips
    ]
    return ((smooth, EVEN), *rough)


def _direction(points: Array, path: BandPath, at: tuple[float, float] | None) -> float:
    """Direction of the band at the stretch of its path nearest to `at` [rad]."""
    if at is None:
        return float(np.pi)  # over the top, counter-clockwise
    a, b = points[path.edges[:, 0]], points[path.edges[:, 2]]
    d = b - a
    along = np.clip(
        np.einsum("ij,ij->i", np.array(at) - a, d) / np.maximum((d**2).sum(axis=1), 1e-300), 0, 1
    )
    k = int(np.argmin(np.hypot(*(a + along[:, None] * d - np.array(at)).T)))
    first, middle, last = path.edges[k]
    if first == last:
        return EVEN.direction_rad
    r, t = along[k], d[k]
    if middle >= 0:
        t = slopes(r) @ points[path.edges[k]]
    return float(np.arctan2(t[1], t[0]))
