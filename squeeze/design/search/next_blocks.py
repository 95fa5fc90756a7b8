"""Which blocks to compute next: those that cover most of the front that is forecast.

A block covers another where it is no worse than it by more than `NEAR` in any figure. Of the
blocks that are forecast, those count that none beats in everything and that none which was
computed covers. The next is the one that covers the most of them; then they are struck off, and so
on (the greedy rule of set covering, V. Chvatal, 1979).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from squeeze.design.search.forecast import Guesses

Array = NDArray[np.float64]

NEAR = 0.02
"""Share by which a block may be worse in each figure, to stand in for another."""

CELL = NEAR / 4
"""Share by which blocks of the forecast front may differ in each figure, to count as one."""

BLOCK = 256
"""Rows that are compared at once."""

FINE_MM = 0.01
"""Flash and shift count to this much: less does not tell blocks apart [mm]."""


def logs_of(costs: Sequence[tuple[float, ...]] | Array) -> Array:
    """Return costs on a log scale, all the less the better, shape (n, 6).

    Parameters
    ----------
    costs : sequence of tuple or array (n, 6)
        As `Draft.costs` [each in its own unit].
    """
    c = np.asarray(costs, float).reshape(-1, 6)
    return np.column_stack(
        [
            np.log(c[:, :3]),
            -np.log(np.maximum(-c[:, 3], 1e-9)),
            np.log(np.maximum(c[:, 4:], FINE_MM)),
        ]
    )


def front_of(logs: Array) -> NDArray[np.bool_]:
    """Return which rows of `logs` (n, 6) no other beats in everything (n,); of equals the first."""
    order = np.lexsort((*logs.T[::-1], logs.sum(axis=1)))  # what beats a row stands before it
    ahead = np.empty((0, logs.shape[1]))
    kept: list[int] = []
    for start in range(0, len(order), BLOCK):
        part = order[start : start + BLOCK]
        part = part[~covered(logs[part], ahead)]
        own = logs[part]
        beaten = np.all(own[None] <= own[:, None], axis=2)
        first = ~np.any(np.tril(beaten, -1), axis=1)
        kept += part[first].tolist()
        ahead = np.vstack([ahead, own[first]])
    found = np.zeros(len(logs), bool)
    found[kept] = True
    return found


def covered(targets: Array, known: Array, near: float = 0.0) -> NDArray[np.bool_]:
    """Return which `targets` (n, 6) some of `known` (m, 6) covers, shape (n,).

    Parameters
    ----------
    targets, known : array
        As `logs_of` gives them.
    near : float
        By how much it may be worse, on the log scale [-].
    """
    if not len(known) or not len(targets):
        return np.zeros(len(targets), bool)
    found = [
        np.any(_no_worse(known, targets[k : k + BLOCK] + near), axis=0)
        for k in range(0, len(targets), BLOCK)
    ]
    return np.concatenate(found)


def _no_worse(a: Array, b: Array) -> NDArray[np.bool_]:
    """Return whether each row of `a` (n, 6) is no worse than each of `b` (m, 6), shape (n, m)."""
    found = a[:, 0, None] <= b[:, 0]
    for k in range(1, a.shape[1]):
        found &= a[:, k, None] <= b[:, k]
    return found


def next_places(guesses: Guesses, known: Array) -> list[tuple[int, float]]:
    """Return the places to compute next, the most promising first, each with what it covers.

    Parameters
    ----------
    guesses : Guesses
        Blocks as they are forecast.
    known : array (n, 6)
        Costs of those that were computed, as `logs_of` gives them.

    Returns
    -------
    list of (int, float)
        Number of the place, and the share that it covers first of all of what is forecast and of
        what was found. A place whose share is 0 is left out.
    """
    if not len(guesses.number):
        return []
    near = np.log1p(NEAR) + 1e-12
    logs = logs_of(guesses.costs)
    known = known[front_of(known)]
    left = np.flatnonzero(~covered(logs, known, near))  # what beats one of these is left as well
    ahead = left[front_of(logs[left])]
    if not len(ahead):
        return []
    _, first = np.unique(np.round(logs[ahead] / np.log1p(CELL)), axis=0, return_index=True)
    targets = logs[ahead][np.sort(first)]  # of those that are alike, one
    total = len(targets) + len(known)
    places = np.unique(guesses.number[ahead])
    covers = np.zeros((len(places), len(targets)), bool)
    row = np.full(len(guesses.places), -1)
    row[places] = np.arange(len(places))
    for k in np.flatnonzero(row[guesses.number] >= 0):
        covers[row[guesses.number[k]]] |= np.all(logs[k] <= targets + near, axis=1)
    found: list[tuple[int, float]] = []
    gains = covers.sum(axis=1)
    while gains.any():
        k = int(np.argmax(gains))
        found.append((int(places[k]), float(gains[k]) / total))
        struck = covers[k].copy()
        gains -= covers[:, struck].sum(axis=1)
        covers[:, struck] = False
    return found


def best_in_one_figure(guesses: Guesses, known: Array) -> list[int]:
    """Return the places that are forecast to be best in one figure, better than any known.

    Parameters
    ----------
    guesses : Guesses
    known : array (n, 6)
        Costs of the computed ones, as `logs_of` gives them.
    """
    if not len(guesses.number) or not len(known):
        return []
    logs = logs_of(guesses.costs)
    best, least = np.argmin(logs, axis=0), known.min(axis=0) - np.log1p(NEAR)
    ends = [k for figure, k in enumerate(best) if logs[k, figure] < least[figure]]
    return list(dict.fromkeys(int(guesses.number[k]) for k in ends))
