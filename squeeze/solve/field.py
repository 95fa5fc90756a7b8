"""What the rubber does besides its lands: cavities, the band round the block, the whole field."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.array_record import ArrayRecord

Array = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False, repr=False)
class CavityChange(ArrayRecord):
    """How a cavity deformed; rigid motion removed.

    Attributes
    ----------
    name : str
    area_mm2 : float
        Unloaded area.
    area_change_pct : float
        Change of area, negative = squashed [%].
    largest_shift_mm : float
        Largest movement of a point of its edge after the best-fitting rigid motion is taken off.
    step_mm : float
        Largest mismatch across a parting line at the cavity, along the cut; 0 without a cut.
    edge_mm, shift_mm : array (n, 2)
        Points of the edge in order, and their displacement with rigid motion removed.
    """

    name: str
    area_mm2: float
    area_change_pct: float
    largest_shift_mm: float
    step_mm: float
    edge_mm: Array
    shift_mm: Array


@dataclass(frozen=True, eq=False, repr=False)
class Wrap(ArrayRecord):
    """The band round the block: the convex hull of what it lies on.

    Attributes
    ----------
    tension_n_per_mm : float
        Tension of all strands together [N/mm].
    wrap_mm : float
        Length once round.
    points_mm : array (n, 2)
        Places of the hull in order, counter-clockwise.
    push_n_per_mm : array (n, 2)
        Force of the band on the block at these places; they sum to zero.
    """

    tension_n_per_mm: float
    wrap_mm: float
    points_mm: Array
    push_n_per_mm: Array


@dataclass(frozen=True, eq=False, repr=False)
class Field(ArrayRecord):
    """The finite-element field, for drawing and export.

    Triangles have six nodes: corners, then mid-sides.

    Attributes
    ----------
    points_mm : array (n, 2)
    triangles : array (m, 6) of int
        Corner nodes 0, 1, 2, then the nodes between 0-1, 1-2, 2-0.
    body : array (m,) of int
        Which body a triangle belongs to; 0 is the block.
    displacement_mm : array (n, 2)
    stress_mpa : array (m, 3, 3)
        At the three corners of each triangle: s_xx, s_yy, s_xy (tension positive).
    pressure_mpa : array (m, 3)
        Mean pressure at the three corners (compression positive).
    strain_pct : array (m,)
        Largest principal strain in magnitude, in each triangle [%].
    """

    points_mm: Array
    triangles: Whole
    body: Whole
    displacement_mm: Array
    stress_mpa: Array
    pressure_mpa: Array
    strain_pct: Array
