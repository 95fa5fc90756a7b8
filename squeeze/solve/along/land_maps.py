"""From tractions and jumps on the parting plane to the records that people read."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.along.partial_cuts import CutExtent
from squeeze.solve.along.plane import PlaneSolution
from squeeze.solve.along.record import LandMap
from squeeze.solve.block import Block

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


def land_maps(
    block: Block, extent: CutExtent, z_mm: Array, solution: PlaneSolution | None
) -> tuple[LandMap, ...]:
    """Return the map of each land.

    Parameters
    ----------
    block : Block
    extent : CutExtent
    z_mm : array (M,)
        Places along the block's length.
    solution : PlaneSolution or None
        Without an answer every figure is NaN.
    """
    begins = block.contact_rows.begins
    return tuple(
        _land_map(block, extent, z_mm, solution, k, slice(int(begins[k]), int(begins[k + 1])))
        for k in range(len(block.mesh.lands))
    )


def _land_map(
    block: Block, extent: CutExtent, z_mm: Array, solution: PlaneSolution | None, k: int, at: slice
) -> LandMap:
    faces = block.mesh.lands[k]
    x = block.mesh.points[faces.left[::2]]
    step = np.hypot(*np.diff(x, axis=0).T)
    pressure, gap = (np.full((len(x), len(z_mm)), np.nan) for _ in range(2))
    if solution is not None:
        pressure = 1000.0 * (solution.traction[:, at] - solution.resin[:, at]).T
        gap = _gaps(step, solution.jump[:, at], solution.open[:, at]).T
    return LandMap(
        cut=block.section.cuts[faces.cut].name,
        land=faces.land,
        s_mm=np.concatenate([[0.0], np.cumsum(step)]),
        x_mm=x[:, 0].copy(),
        y_mm=x[:, 1].copy(),
        z_mm=z_mm.copy(),
        is_cut=extent.by_land[k].copy(),
        pressure_kpa=pressure,
        gap_mm=gap,
    )


def _gaps(step: Array, weighted: Array, stands_open: Mask) -> Array:
    """Gap (M, n) that is linear between places and has the weighted gaps that were found."""
    n = len(step) + 1
    mass = np.zeros((n, n))
    k = np.arange(n - 1)
    mass[k, k] += step / 3
    mass[k + 1, k + 1] += step / 3
    mass[k, k + 1] = mass[k + 1, k] = step / 6
    gap = np.zeros(weighted.shape)
    for j in np.flatnonzero(stands_open.any(axis=1)):
        on = stands_open[j]
        gap[j, on] = np.maximum(np.linalg.solve(mass[np.ix_(on, on)], weighted[j, on]), 1e-9)
    return gap
