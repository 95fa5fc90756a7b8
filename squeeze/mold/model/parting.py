"""Where a mold parts round a model: the silhouette, and what is undercut against it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
XY = tuple[float, float]


@dataclass(frozen=True)
class Undercut:
    """A place of a section that rubber has to bend round when its halves part up and down.

    Attributes
    ----------
    depth_mm : float
        How far rubber reaches in under the outline, across the way it is taken off.
    at : (x, y)
        Its deepest place.
    """

    depth_mm: float
    at: XY


def silhouette(ring: Points) -> tuple[XY, XY]:
    """Return the leftmost and the rightmost place of an outline; in the middle where it is upright.

    Parameters
    ----------
    ring : array (n, 2)
    """
    found = []
    for end in (ring[:, 0].min(), ring[:, 0].max()):
        level = ring[np.abs(ring[:, 0] - end) < 1e-6]
        y = (level[:, 1].min() + level[:, 1].max()) / 2
        found.append((float(end), float(y)))
    return found[0], found[1]


def undercuts(ring: Points, least_mm: float = 0.1) -> list[Undercut]:
    """Return what of an outline is undercut, above and below its silhouette, the deepest first.

    From the leftmost place to the rightmost, above and below, x may only grow: where it falls
    back, rubber lies under the model.
    """
    left, right = int(np.argmin(ring[:, 0])), int(np.argmax(ring[:, 0]))
    found = []
    for chain in (
        _chain(ring, left, right),
        _chain(ring[::-1], len(ring) - 1 - left, len(ring) - 1 - right),
    ):
        back = np.maximum.accumulate(chain[:, 0]) - chain[:, 0]
        k = int(np.argmax(back))
        if back[k] > least_mm:
            found.append(Undercut(float(back[k]), (float(chain[k, 0]), float(chain[k, 1]))))
    return sorted(found, key=lambda each: -each.depth_mm)


def _chain(ring: Points, begin: int, end: int) -> Points:
    n = len(ring)
    count = (end - begin) % n
    return ring[(begin + np.arange(count + 1)) % n]
