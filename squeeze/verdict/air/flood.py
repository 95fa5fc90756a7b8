"""Which places of a void keep their air while resin rises in it: a flood from the openings."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

Flags = NDArray[np.bool_]
Heights = NDArray[np.float64]


def open_parts(places: Flags) -> tuple[NDArray[np.int32], int]:
    """Return the number of the part that each place belongs to, from 1, and how many there are.

    The numbers have the shape of `places` (i, j, k), 0 = not among them. Places hang together over
    faces, edges and corners.
    """
    found: Any = ndimage.label(places, np.ones((3,) * places.ndim, bool))
    return found[0], int(found[1])


def caught(void: Flags, height: Heights, outlets: Flags, step: float) -> Flags:
    """Return the places whose air is cut off from every opening.

    Air above the resin stays where it is connected, above the resin, to no outlet. So a place is
    let out down to the highest level at which the void above that level joins it to an outlet;
    it keeps its air where it lies higher than that level.

    Parameters
    ----------
    void : array (i, j, k) of bool
        Places that fill.
    height : array of float
        How high each place lies, the same shape [mm].
    outlets : array (i, j, k) of bool
        Places at which air leaves: the sprue and the vents.
    step : float
        From one level to the next; a place counts as caught when it lies higher than its level by
        more than this [mm].
    """
    if not (void & outlets).any():
        return void.copy()
    level = np.full(void.shape, -np.inf)
    low, high = float(height[void].min()), float(height[void].max())
    for at in np.arange(high, low - step, -step):
        above = void & (height >= at - 1e-9)
        labels, count = open_parts(above)
        let_out = np.zeros(count + 1, bool)
        let_out[labels[outlets]] = True
        let_out[0] = False
        level[let_out[labels] & np.isinf(level)] = at
    return void & (height > level + 1.5 * step)


def behind_necks(void: Flags, outlets: Flags, reach: int) -> Flags:
    """Return the parts of a void that only necks join to the openings.

    Resin that runs in through a neck leaves no room there for air to come back.

    Parameters
    ----------
    void, outlets : array (i, j, k) of bool
    reach : int
        Half the width of a neck, in places.
    """
    if reach < 1:
        return np.zeros(void.shape, bool)
    offsets = np.indices((2 * reach + 1,) * void.ndim) - reach
    ball = np.sum(offsets**2, axis=0) <= (reach + 0.25) ** 2
    wide: Any = ndimage.binary_opening(np.pad(void, reach), ball)
    wide = wide[tuple(slice(reach, -reach) for _ in range(void.ndim))]
    labels, _ = open_parts(wide)
    near = (
        ndimage.binary_dilation(outlets, np.ones((3,) * void.ndim, bool), iterations=reach + 1)
        & wide
    )
    open_ones = np.unique(labels[near])
    return wide & ~np.isin(labels, open_ones)
