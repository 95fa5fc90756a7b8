"""An outline with the least number of its points that keep to it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
GIVES_UP = 12
"""Chords from a point that stray in a row, after which no longer one is tried."""

AT_ONCE = 32
"""Chords from a point that are looked at together."""


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
        for j in _kept_ends(line, i, stray_mm):
            if steps[i] + 1 < steps[j]:
                steps[j], come[j] = steps[i] + 1, i
    kept, k = [], n
    while k > 0:
        k = int(come[k])
        kept.append(k)
    return line[kept[::-1]] if len(kept) >= 3 else ring


def _kept_ends(line: Points, i: int, stray_mm: float) -> list[int]:
    """Return the points of a line that a chord from its point `i` may end at."""
    found, failed = [], 0
    for begin in range(i + 1, len(line), AT_ONCE):
        strays = _strays(line[i + 1 : begin + AT_ONCE], line[i], begin - i - 1)
        for j, stray in enumerate(strays, start=begin):
            failed = 0 if stray <= stray_mm else failed + 1
            if failed == GIVES_UP:
                return found
            if not failed:
                found.append(j)
    return found


def _strays(points: Points, a: Points, first: int) -> Points:
    """Return how far chords from `a` (2,) leave the points that they pass [mm].

    There is a chord to each of `points` (n, 2) from number `first` on; it passes those before. A
    chord of no length that passes any leaves them for good.
    """
    ends, away = points[first:] - a, points - a
    size = np.sum(ends**2, axis=1)
    t = np.clip(away @ ends.T / np.where(size > 0, size, 1.0), 0, 1)
    off = np.hypot(*(away[:, None] - t[..., None] * ends).transpose(2, 0, 1))
    passed = np.arange(len(points))[:, None] < np.arange(first, len(points))
    strays: Points = np.max(np.where(passed, off, 0.0), axis=0, initial=0.0)
    return np.where((size == 0) & passed.any(axis=0), np.inf, strays)
