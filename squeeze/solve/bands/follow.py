"""Bands that follow the deformed block, to a fixed point.

Hull, turning, perimeter, stretch and tension. A flat that bulges gets a push back, a corner that
gives way gets less. The change of the band's load is taken between two hull polygons through the
outline's nodes, unloaded and deformed, since a polygon's corner forces T (t_out - t_in) change
without a jump when a node comes to lie on the hull or leaves it. Plain repetition does not settle
where T / E is not small against the spacing of the nodes, so the steps are mixed (D. G. Anderson,
J. ACM 12 (1965) 547).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from squeeze.solve.bands.wrap import Drag

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

MOST_STEPS = 100
SETTLED = 1e-6  # change of the band's load over the load at which its way has settled
_MEMORY = 40


@dataclass(frozen=True, eq=False)
class Hull:
    """A band as a polygon through nodes: its length [mm] and the nodal force of tension 1 N/mm.

    The force has shape (2 n,).
    """

    length_mm: float
    load: Array


def hull(points: Array, nodes: Whole, base: Whole, drags: tuple[tuple[float, Drag], ...]) -> Hull:
    """Return the convex hull of nodes as a band.

    The lips of a cut count as one place, midway between them, and share its push: a band is thicker
    than the step or gap at a mouth.

    Parameters
    ----------
    points : array (n, 2)
        Where all nodes are [mm].
    nodes : array (k,) of int
        Those that the band can lie on.
    base : array (n,) of int
        The node each node was copied from.
    drags : tuple of (share, Drag)
        Parts of the tension, by their friction; the shares sum to 1.
    """
    _, which, count = np.unique(base[nodes], return_inverse=True, return_counts=True)
    places = np.zeros((len(count), 2))
    np.add.at(places, which, points[nodes] / count[which, None])
    corners = ConvexHull(places).vertices  # counter-clockwise
    step = np.roll(places[corners], -1, axis=0) - places[corners]
    length = np.hypot(*step.T)
    t = step / length[:, None]
    pull = sum((share * drag.pull(t) for share, drag in drags), np.zeros(len(t)))[:, None] * t
    force = np.zeros_like(places)
    force[corners] = pull - np.roll(pull, 1, axis=0)
    load = np.zeros((len(points), 2))
    load[nodes] = (force / count[:, None])[which]
    return Hull(float(length.sum()), load.ravel())


def balanced(load: Array, points: Array, nodes: Whole) -> Array:
    """Take off what a load (2 n,) leaves over as force and moment, spread over `nodes`.

    The moment is about the unloaded places.
    """
    arm = points[nodes] - points[nodes].mean(axis=0)
    motion = np.zeros((len(nodes), 2, 3))
    motion[:, 0, 0] = motion[:, 1, 1] = 1.0
    motion[:, :, 2] = np.column_stack([-arm[:, 1], arm[:, 0]])
    M = motion.reshape(-1, 3)
    at = (2 * nodes[:, None] + np.arange(2)).ravel()
    out = load.copy()
    out[at] -= M @ np.linalg.solve(M.T @ M, M.T @ load[at])
    return out


def settle(step: Callable[[Array], Array], start: Array) -> tuple[Array, int, bool]:
    """Find the fixed point of `step` by mixing its last steps.

    Returns
    -------
    x : array
    steps : int
    settled : bool
    """
    x, xs, fs = start, [], []
    scale = max(float(np.abs(start).max()), 1e-300)
    for count in range(1, MOST_STEPS + 1):
        f = step(x) - x
        if not np.isfinite(f).all():
            break
        if np.abs(f).max() < SETTLED * scale:
            return x, count, True
        xs, fs = [*xs[-_MEMORY:], x], [*fs[-_MEMORY:], f]
        x = x + 0.5 * f
        if len(xs) > 1:
            dx, df = np.diff(xs, axis=0).T, np.diff(fs, axis=0).T
            weight = np.linalg.lstsq(df, f, rcond=1e-10)[0]
            x = x - (dx + 0.5 * df) @ weight
    return x, MOST_STEPS, False
