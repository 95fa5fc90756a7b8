"""Where arrows show that the band pushes: near places taken together."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.field import Wrap

Array = NDArray[np.float64]

OFF = 0.025
"""Between an arrow's head and the outline, over the larger side of the section."""
ARROWS_ROUND = 36


def merged_pushes(wrap: Wrap) -> tuple[Array, Array]:
    """Return where the band pushes, near places taken together: places and forces, (n, 2) each.

    A stretch of places that all push is parted into groups of equal force, one to each 1/36 of the
    wrap that it reaches over: a corner has one arrow, an arc many, closer where it turns more.
    """
    strength = np.hypot(*wrap.push_n_per_mm.T)
    pushing = strength > 1e-9 * strength.max(initial=0.0)
    if not pushing.any():
        return np.zeros((0, 2)), np.zeros((0, 2))
    points, push = wrap.points_mm[pushing], wrap.push_n_per_mm[pushing]
    reach = wrap.wrap_mm / ARROWS_ROUND
    parts = [_parted(points[k], push[k], reach) for k in _stretches(points, reach)]
    return np.vstack([at for at, _ in parts]), np.vstack([force for _, force in parts])


def _stretches(points: Array, reach: float) -> list[NDArray[np.intp]]:
    """Return the places of each stretch without a gap wider than `reach`, in order."""
    step = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    order = np.roll(np.arange(len(points)), -1 - int(np.argmax(step)))
    return np.split(order, np.flatnonzero(step[order[:-1]] > reach) + 1)


def _parted(points: Array, push: Array, reach: float) -> tuple[Array, Array]:
    """Part a stretch into groups of equal force; a place may give a share to two of them."""
    long = float(np.hypot(*np.diff(points, axis=0).T).sum())
    strength = np.hypot(*push.T)
    end = np.cumsum(strength)
    edge = np.linspace(0.0, end[-1], max(1, int(np.ceil(long / reach))) + 1)
    low, high = np.maximum.outer(edge[:-1], end - strength), np.minimum.outer(edge[1:], end)
    share = np.clip(high - low, 0.0, None) / strength
    weight = share * strength
    return weight @ points / weight.sum(axis=1)[:, None], share @ push
