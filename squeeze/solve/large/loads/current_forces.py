"""Forces on the block in its current configuration: bands, liquids, and what does not turn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.bands.outline_forces import load_terms
from squeeze.solve.large.loads.band import Hull, hull
from squeeze.solve.large.loads.pressure import edges_under
from squeeze.solve.large.reference import LargeCase, ReferenceModel

Array = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class CurrentForces:
    """Forces on the block in its current configuration.

    Attributes
    ----------
    force : array (2 n,)
        On the nodes [N/mm].
    size : float
        Sum of the sizes of all of them.
    band : Hull
    pull, rate : float
        Pull of the bands, and its derivative by their length.
    rows, columns, values : arrays
        Entries of the stiffness, but for the part of rank one: rate x slope (x) slope of the band.
    """

    force: Array
    size: float
    band: Hull
    pull: float
    rate: float
    rows: Whole
    columns: Whole
    values: Array


def current_forces(
    model: ReferenceModel, case: LargeCase, x: Array, share: float = 1.0
) -> CurrentForces:
    """Return the forces on nodes that are now at `x` (n, 2), at a share of the whole loads.

    `model` and `case` are the block and its load case.
    """
    loads = case.loads
    band = hull(model.outside, x, case.friction_shares)
    pull, rate = case.pull_of(band.length_mm)
    pull, rate = share * pull, share * rate
    parts = [pull * band.dragged]
    rows, columns, values = [band.rows], [band.columns], [pull * band.values]
    for term in load_terms(loads):
        if term.is_band:
            continue
        edges = edges_under(term, model.mesh)
        if edges is None:
            parts.append(share * term.factor * term.nodal_force(model.mesh))
            continue
        parts.append(share * term.factor * edges.force(x))
        rows.append(edges.rows)
        columns.append(edges.columns)
        values.append(-share * term.factor * edges.values)
    size = sum(float(np.hypot(*part.reshape(-1, 2).T).sum()) for part in parts)
    entries = np.concatenate(rows), np.concatenate(columns), np.concatenate(values)
    return CurrentForces(np.sum(parts, axis=0), size, band, pull, rate, *entries)
