"""Nodal forces of bands, pushes, all-round pressure and resin, and the check that they balance."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.forces.loads import Loads, Push
from squeeze.solve.bands.wrap import BandPath, band_path
from squeeze.solve.elastic.edge import gauss, shapes, slopes
from squeeze.solve.elastic.rigid import resultants
from squeeze.solve.mesh.parting import Mesh

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

IMBALANCE = 1e-4  # imbalance that rounded input may leave, over the sum of all forces

_GAUSS = gauss(4)


def pressure_forces(
    points: Array, edges: Whole, pressure: float, share: Array | None = None
) -> Array:
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
        r = low + (high - low) * g
        dx = np.einsum("ks,ksc->kc", slopes(r), x)
        inward = np.column_stack([-dx[:, 1], dx[:, 0]])  # times ds
        share_here = (w * (high - low))[:, None, None]
        force = pressure * share_here * shapes(r)[:, :, None] * inward[:, None, :]
        np.add.at(f, (2 * edges[:, :, None] + np.arange(2)).ravel(), force.ravel())
    return f


def push_forces(points: Array, outline: Whole, push: Push) -> Array:
    """Return the nodal force (2 n,) of a pressure patch on the outline.

    It is centred at the place of the outline nearest to `push.at_mm`.

    Parameters
    ----------
    points : array (n, 2)
        Nodes [mm].
    outline : array (k, 3) of int
        Start, mid-side and end node of the outline's edges, counter-clockwise.
    push : Push
    """
    x = points[outline]
    length = _lengths(x)
    start = np.concatenate([[0.0], np.cumsum(length)])
    middle = _arc_place(x, start, np.array(push.at_mm))
    # how far each edge begins, and ends, past the start of the patch
    low = (start[:-1] - middle + push.width_mm / 2) % start[-1]
    low = np.where(low > start[-1] - length, low - start[-1], low)
    share = np.clip(np.stack([-low, push.width_mm - low], axis=1) / length[:, None], 0.0, 1.0)
    touched = share[:, 1] > share[:, 0]
    r = _at_share(x[touched], share[touched])
    return pressure_forces(points, outline[touched], push.pressure_mpa, r)


def _lengths(x: Array, upto: float = 1.0) -> Array:
    """Length of curved edges (k, 3, 2) from 0 to the place `upto` in 0..1 [mm]."""
    r, w = _GAUSS
    return upto * np.hypot(*np.einsum("gs,ksc->cgk", slopes(upto * r), x)).T @ w


def _at_share(x: Array, share: Array) -> Array:
    """Places 0..1 (k, 2) on curved edges (k, 3, 2) at which shares of their length are reached."""
    r = np.linspace(0.0, 1.0, 65)
    steps = np.hypot(*np.moveaxis(np.diff(np.einsum("rs,ksc->krc", shapes(r), x), axis=1), 2, 0))
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
    away = np.hypot(*np.moveaxis(np.einsum("krs,ksc->krc", shapes(r), x) - at, 2, 0))
    best = np.argmin(away, axis=1)
    each = np.arange(len(x))
    return away[each, best], r[each, best]


@dataclass(frozen=True)
class LoadTerm:
    """One term of the loads: a kind at a place, and a factor.

    Terms of the same kind at the same place are equal, however strong they are.

    Attributes
    ----------
    factor : float
        Multiplies the forces of factor 1.
    key : tuple
        Kind and place: terms with the same key differ in the factor alone.
    nodal_force : callable
        Nodal forces (2 n,) of factor 1 on a mesh [N/mm].
    pressed : callable or None
        Loops of edges, the rubber to their left, that it presses as a liquid does: at large
        deformation its forces turn with them.
    is_band : bool
        Whether it is the bands, which large deformation lays round the deformed block. What is
        neither keeps its direction and its node.
    """

    factor: float = field(compare=False)
    key: tuple[Hashable, ...]
    nodal_force: Callable[[Mesh], Array] = field(compare=False)
    pressed: Callable[[Mesh], list[Whole]] | None = field(default=None, compare=False)
    is_band: bool = field(default=False, compare=False)


@lru_cache(maxsize=2)
def path_round(mesh: Mesh, loads: Loads) -> BandPath:
    """Return the path of the bands round a mesh; the same record when it is asked for again.

    Parameters
    ----------
    mesh : Mesh
    loads : Loads
        Of which only the friction of the bands counts here.
    """
    return band_path(mesh.points, mesh.outside, loads)


def _band_terms(loads: Loads) -> list[LoadTerm]:
    def force(mesh: Mesh) -> Array:
        return path_round(mesh, Loads(grips=loads.grips)).load

    return [LoadTerm(loads.tension_n_per_mm, ("bands", loads.grips), force, is_band=True)]


def _push_terms(loads: Loads) -> list[LoadTerm]:
    def term(push: Push) -> LoadTerm:
        unit = replace(push, pressure_mpa=1.0)
        key = ("push", push.at_mm, push.width_mm)
        return LoadTerm(
            push.pressure_mpa, key, lambda mesh: push_forces(mesh.points, mesh.outside, unit)
        )

    return [term(push) for push in loads.pushes]


def liquid(pressure_mpa: float, name: str, pressed: Callable[[Mesh], list[Whole]]) -> LoadTerm:
    """Return the term of a pressure that stays normal to the edges it presses.

    Parameters
    ----------
    pressure_mpa : float
        Positive presses into the rubber.
    name : str
        The kind, and where it presses: the same edges of a mesh each time.
    pressed : callable
        The loops of these edges (k, 3), closed, the rubber to their left.
    """

    def force(mesh: Mesh) -> Array:
        none = np.zeros(2 * len(mesh.points))
        return sum((pressure_forces(mesh.points, edges, 1.0) for edges in pressed(mesh)), none)

    return LoadTerm(pressure_mpa, (name,), force, pressed)


def _all_round_terms(loads: Loads) -> list[LoadTerm]:
    return [liquid(loads.all_round_mpa, "all round", lambda mesh: [mesh.outside])]


def _resin_terms(loads: Loads) -> list[LoadTerm]:
    def cavities(mesh: Mesh) -> list[Whole]:
        return [edges[::-1, ::-1] for edges in mesh.edges[1:]]

    return [liquid(loads.cavity_mpa, "resin", cavities)]


LOAD_KINDS = (_band_terms, _push_terms, _all_round_terms, _resin_terms)
"""Every kind of load; one that is missing here acts nowhere."""


def load_terms(loads: Loads) -> list[LoadTerm]:
    """Return the loads as a sum of terms; those of factor 0 are left out."""
    return [term for kind in LOAD_KINDS for term in kind(loads) if term.factor]


def check_pushes(points: Array, loads: Loads, f: Array) -> None:
    """Check that pushes balance.

    Parameters
    ----------
    points : array (n, 2)
    loads : Loads
    f : array (2 n,)
        Nodal forces of all pushes together.

    Raises
    ------
    BadInput
        When their sum is more than rounding explains.
    """
    if loads.pushes:
        _balanced(points, f)


def _balanced(points: Array, f: Array) -> None:
    force, moment, size = resultants(points, f)
    arm = float(np.ptp(points)) / 2
    if max(np.hypot(*force), abs(moment) / arm) > IMBALANCE * size:
        text = (
            f"the pushes do not balance: {force[0]:.3f} N per mm to the right, {force[1]:.3f} N per"
            f" mm upwards and a turning moment of {moment:.3f} N, counter-clockwise, remain;"
            " every push needs others against it"
        )
        raise BadInput([Fault("push", text)])
