"""Nodal forces of bands, pushes, all-round pressure and resin, and the check that they balance."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.section.records import Loads, Push
from squeeze.solve.mesh.parting import Mesh

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

IMBALANCE = 1e-4  # of the sum of all forces: what rounding of the input may leave over

_GAUSS = np.polynomial.legendre.leggauss(4)


def pressed(points: Array, edges: Whole, pressure: float, share: Array | None = None) -> Array:
    """Nodal force (2 n,) of a pressure on edges that run counter-clockwise round the rubber.

    Parameters
    ----------
    points : array (n, 2)
    edges : array (k, 3) of int
        Start, mid-side, end node; the rubber lies to the left.
    pressure : float
        [MPa], positive presses into the rubber.
    share : array (k, 2), optional
        Part of each edge that is pressed, from 0..1 to 0..1; all of it by default.

    Returns
    -------
    array (2 n,)
        [N/mm].
    """
    f = np.zeros(2 * len(points))
    x = points[edges]
    low, high = (np.zeros(len(edges)), np.ones(len(edges))) if share is None else share.T
    for g, w in zip(*_GAUSS, strict=True):
        r = low + (high - low) * 0.5 * (1 + g)
        shape = np.stack([(1 - r) * (1 - 2 * r), 4 * r * (1 - r), r * (2 * r - 1)], axis=1)
        slope = np.stack([4 * r - 3, 4 - 8 * r, 4 * r - 1], axis=1)
        dx = np.einsum("ks,ksc->kc", slope, x)
        inward = np.column_stack([-dx[:, 1], dx[:, 0]])  # times ds
        force = (
            pressure
            * 0.5
            * (w * (high - low))[:, None, None]
            * shape[:, :, None]
            * inward[:, None, :]
        )
        np.add.at(f, (2 * edges[:, :, None] + np.arange(2)).ravel(), force.ravel())
    return f


def pushed(points: Array, outline: Whole, push: Push) -> Array:
    """Return the nodal force (2 n,) of a pressure patch on the outline.

    It is centred at the place of the outline nearest to `push.at_mm`.
    """
    x = points[outline]
    length = _lengths(x)
    start = np.concatenate([[0.0], np.cumsum(length)])
    middle = _arc_place(x, start, np.array(push.at_mm))
    # of each edge's start, past the patch's
    low = (start[:-1] - middle + push.width_mm / 2) % start[-1]
    low = np.where(low > start[-1] - length, low - start[-1], low)
    share = np.clip(np.stack([-low, push.width_mm - low], axis=1) / length[:, None], 0.0, 1.0)
    touched = share[:, 1] > share[:, 0]
    r = _at_share(x[touched], share[touched])
    return pressed(points, outline[touched], push.pressure_mpa, r)


def _lengths(x: Array, upto: float = 1.0) -> Array:
    """Length of curved edges (k, 3, 2) from 0 to the place `upto` in 0..1 [mm]."""
    r, w = _GAUSS
    r = 0.5 * upto * (1 + r)
    slope = np.stack([4 * r - 3, 4 - 8 * r, 4 * r - 1])
    return 0.5 * upto * np.hypot(*np.einsum("sg,ksc->cgk", slope, x)).T @ w


def _at_share(x: Array, share: Array) -> Array:
    """Places 0..1 (k, 2) on curved edges (k, 3, 2) at which shares of their length are reached."""
    r = np.linspace(0.0, 1.0, 65)
    shape = np.stack([(1 - r) * (1 - 2 * r), 4 * r * (1 - r), r * (2 * r - 1)])
    steps = np.hypot(*np.moveaxis(np.diff(np.einsum("sr,ksc->krc", shape, x), axis=1), 2, 0))
    gone = np.pad(np.cumsum(steps, axis=1), ((0, 0), (1, 0)))
    return np.array([np.interp(a * g[-1], g, r) for a, g in zip(share, gone, strict=True)])


def _arc_place(x: Array, start: Array, at: Array) -> float:
    """Distance along the outline of the place nearest to `at` [mm]."""
    away, places = _nearest(x, at, np.full(len(x), 0.5), 0.5)
    near = (int(np.argmin(away)) + np.arange(-1, 2)) % len(x)  # a place may lie just over the end
    away, places = away[near], places[near]
    for half in 0.5 / 16.0 ** np.arange(1, 5):  # look ever closer
        away, places = _nearest(x[near], at, places, half)
    best = int(np.argmin(away))
    k = int(near[best])
    return float(start[k] + _lengths(x[[k]], float(places[best]))[0])


def _nearest(x: Array, at: Array, middle: Array, half: float) -> tuple[Array, Array]:
    """Distance from `at`, and place 0..1, of each edge's nearest sample.

    Samples lie within `half` of `middle`.
    """
    r = np.clip(middle[:, None] + half * np.linspace(-1.0, 1.0, 33), 0.0, 1.0)
    shape = np.stack([(1 - r) * (1 - 2 * r), 4 * r * (1 - r), r * (2 * r - 1)])
    away = np.hypot(*np.moveaxis(np.einsum("skr,ksc->krc", shape, x) - at, 2, 0))
    best = np.argmin(away, axis=1)
    each = np.arange(len(x))
    return away[each, best], r[each, best]


def nodal_forces(mesh: Mesh, loads: Loads, band: Array | None) -> Array:
    """Return all given forces on the nodes.

    Parameters
    ----------
    mesh : Mesh
    loads : Loads
    band : array (2 n,) or None
        Nodal force of a band of tension 1 N/mm.

    Returns
    -------
    array (2 n,)
        [N/mm].

    Raises
    ------
    BadInput
        When the pushes do not balance.
    """
    f = np.zeros(2 * len(mesh.points))
    outline = mesh.outside
    if loads.all_round_mpa:
        f += pressed(mesh.points, outline, loads.all_round_mpa)
    if loads.cavity_mpa:
        for edges in mesh.edges[1:]:
            f += pressed(mesh.points, edges[:, ::-1], loads.cavity_mpa)
    for push in loads.pushes:
        f += pushed(mesh.points, outline, push)
    _balanced(mesh.points, f)
    return f if band is None else f + loads.tension_n_per_mm * band


def unit_loads(loads: Loads) -> list[tuple[float, tuple, Loads]]:
    """Return the loads but for the bands as a sum of kinds that are solved once.

    (factor, name of the kind, load of factor 1) of each.
    """
    kinds = [
        (loads.all_round_mpa, ("all round",), Loads(all_round_mpa=1.0)),
        (loads.cavity_mpa, ("cavity",), Loads(cavity_mpa=1.0)),
        (float(bool(loads.pushes)), ("pushes", loads.pushes), Loads(pushes=loads.pushes)),
    ]
    return [kind for kind in kinds if kind[0]]


def _balanced(points: Array, f: Array) -> None:
    force, moment, size = resultants(points, f)
    arm = float(np.ptp(points)) / 2
    if max(np.hypot(*force), abs(moment) / arm) > IMBALANCE * size:
        text = (
            f"the pushes do not balance: {force[0]:.3f} N per mm to the right, {force[1]:.3f} N per"
            f" mm upwards and a turning moment of {moment:.3f} N, counter-clockwise, are left over;"
            " every push needs others against it"
        )
        raise BadInput([Fault("push", text)])


def resultants(points: Array, f: Array) -> tuple[Array, float, float]:
    """Return the sum (2,) of nodal forces, their moment, and the sum of their sizes.

    The moment is about the middle of the points.
    """
    force = f.reshape(-1, 2)
    arm = points - points.mean(axis=0)
    moment = float(np.sum(arm[:, 0] * force[:, 1] - arm[:, 1] * force[:, 0]))
    return force.sum(axis=0), moment, float(np.hypot(*force.T).sum())
