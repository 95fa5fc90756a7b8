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

from squeeze.design.search.forecast import ForecastRow
from squeeze.design.search.places import Place

Array = NDArray[np.float64]

NEAR = 0.02
"""Share by which a block may be worse in each figure, to stand in for another."""

FINE_MM = 0.01
"""Flash and shift count to this much: less does not tell blocks apart [mm]."""


def logs_of(costs: Sequence[tuple[float, ...]]) -> Array:
    """Return costs on a log scale, all the less the better, shape (n, 6).

    Parameters
    ----------
    costs : sequence of tuple
        As `Draft.costs` [each in its own unit].
    """
    c = np.array(costs, float).reshape(-1, 6)
    return np.column_stack(
        [
            np.log(c[:, :3]),
            -np.log(np.maximum(-c[:, 3], 1e-9)),
            np.log(np.maximum(c[:, 4:], FINE_MM)),
        ]
    )


def front_of(logs: Array) -> NDArray[np.bool_]:
    """Return which rows of `logs` (n, 6) no other beats in everything (n,); of equals the first."""
    order = np.lexsort(logs.T[::-1])
    kept = np.zeros(len(logs), bool)
    ahead = np.empty((0, logs.shape[1]))
    for k in order:  # what beats a row stands before it
        if not np.any(np.all(ahead <= logs[k], axis=1)):
            kept[k] = True
            ahead = np.vstack([ahead, logs[k]])
    return kept


def next_places(rows: Sequence[ForecastRow], known: Array) -> list[tuple[Place, float]]:
    """Return the places to compute next, the most promising first, each with what it covers.

    Parameters
    ----------
    rows : sequence of ForecastRow
        Blocks as they are forecast.
    known : array (n, 6)
        Costs of those that were computed, as `logs_of` gives them.

    Returns
    -------
    list of (Place, float)
        With the share of the forecast front that the place covers first of all; a place whose
        share is 0 is left out.
    """
    if not rows:
        return []
    logs = logs_of([row.costs for row in rows])
    ahead = front_of(logs)
    targets = logs[ahead]
    _, first = np.unique(np.round(targets / np.log1p(NEAR)), axis=0, return_index=True)
    targets = targets[np.sort(first)]  # of those that are alike, one
    near = np.log1p(NEAR) + 1e-12
    open_ = np.array([not np.any(np.all(known <= t + near, axis=1)) for t in targets], bool)
    targets = targets[open_]
    if not len(targets):
        return []
    keys = {row.place.key: row.place for row, is_ahead in zip(rows, ahead, strict=True) if is_ahead}
    number = {key: k for k, key in enumerate(keys)}
    covers = np.zeros((len(keys), len(targets)), bool)
    for row, costs in zip(rows, logs, strict=True):
        k = number.get(row.place.key)
        if k is not None:
            covers[k] |= np.all(costs <= targets + near, axis=1)
    found, places = [], list(keys.values())
    total = len(first)
    while True:
        gains = covers.sum(axis=1)
        k = int(np.argmax(gains))
        if gains[k] == 0:
            return found
        found.append((places[k], float(gains[k]) / total))
        covers &= ~covers[k]
