"""An outline with the least number of its points that keep to it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
GIVES_UP = 12
"""Chords from a point that stray in a row, after which no longer one is tried."""


def thinned(ring: Points, stray_mm: float) -> Points:
    """Return the least number of a ring's points whose chords keep within `stray_mm` of it.

    H. Imai, M. Iri, in Computational Morphology (1988) 71, from memory: the shortest path in the
    graph of all chords that keep to what they pass. The path begins at the sharpest corner.

    Parameters
    ----------
    ring : array (n, 2)
        Without its first point again at the end.
    stray_mm : float
    """
    n = len(ring)
    if n < 4:
        return ring
    after, before = np.roll(ring, -1, axis=0) - ring, ring - np.roll(ring, 1, axis=0)
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turn = np.abs(np.arctan2(cross, np.sum(before * after, axis=1)))
    first = int(np.argmax(turn))
    line = np.roll(ring, -first, axis=0)
    line = np.vstack([line, line[:1]])
    steps, come = np.full(n + 1, n + 2), np.zeros(n + 1, int)
    steps[0] = 0
    for i in range(n):
        failed = 0
        for j in range(i + 1, n + 1):
            if not _keeps(line[i + 1 : j], line[i], line[j], stray_mm):
                failed += 1
                if failed == GIVES_UP:
                    break
                continue
            failed = 0
            if steps[i] + 1 < steps[j]:
                steps[j], come[j] = steps[i] + 1, i
    kept, k = [], n
    while k > 0:
        k = int(come[k])
        kept.append(k)
    return line[kept[::-1]] if len(kept) >= 3 else ring


def _keeps(points: Points, a: Points, b: Points, stray: float) -> bool:
    if len(points) == 0:
        return True
    along = b - a
    size = float(along @ along)
    if size == 0:
        return False
    t = np.clip((points - a) @ along / size, 0, 1)
    return bool(np.hypot(*(points - a - t[:, None] * along).T).max() <= stray)
