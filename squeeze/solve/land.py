"""How one land closes: pressure, gap, slip and friction at each place along it.

Pressure is positive in compression [kPa], gaps are normal to the cut [mm], forces are per mm of
block length. Figures of a solve without an answer are NaN.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.array_record import ArrayRecord, LandRecord

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False, repr=False)
class Land(LandRecord):
    """A stretch of cut with rubber on both sides; all arrays have one entry per place.

    Attributes
    ----------
    cut : str
        Name of the cut it belongs to.
    land : int
        Its number along the cut, from 0.
    s_mm : array (n,)
        Distance along the cut from the land's start; the places run as the cut's path runs.
    x_mm, y_mm : array (n,)
        Where the places are in the unloaded section.
    pressure_kpa : array (n,)
        Contact pressure, 0 where the land is open.
    gap_mm : array (n,)
        How far the faces stand apart, normal to the cut; 0 where the land is closed.
    slip_mm : array (n,)
        Relative sliding along the cut: how far the face on the left of the path (looking along it)
        has moved forward against the face on the right.
    shear_kpa : array (n,)
        Friction on the left face, positive along the path.
    sticks : array (n,) of bool
        Where the faces press and do not slide.
    wet : array (n,) of bool
        Where resin stands between the faces.
    faces_mm : array (n, 2, 2)
        Displacement of the two faces: [place, 0 = left of the path or 1 = right, x or y].
    """

    cut: str
    land: int
    s_mm: Array
    x_mm: Array
    y_mm: Array
    pressure_kpa: Array
    gap_mm: Array
    slip_mm: Array
    shear_kpa: Array
    sticks: NDArray[np.bool_]
    wet: NDArray[np.bool_]
    faces_mm: Array

    @property
    def length_mm(self) -> float:
        """Length along the cut [mm]."""
        return float(self.s_mm[-1])

    @property
    def closed_share(self) -> float:
        """Share of the length that presses, 0..1.

        A stretch between two places counts by the mean of its ends.
        """
        if np.isnan(self.pressure_kpa).any():
            return float("nan")
        presses = self.pressure_kpa > 0
        return 1.0 if presses.all() else self._mean(presses.astype(float))

    @property
    def mean_pressure_kpa(self) -> float:
        """Mean contact pressure over the whole land, open places counted as 0 [kPa]."""
        return self._mean(self.pressure_kpa)

    @property
    def least_pressure_kpa(self) -> float:
        """Least contact pressure [kPa]; 0 when any place is open."""
        return float(self.pressure_kpa.min())

    @property
    def largest_gap_mm(self) -> float:
        """Largest gap [mm]."""
        return float(self.gap_mm.max())

    @property
    def evenness(self) -> float:
        """Least over mean contact pressure, 0..1; 0 for a land without pressure."""
        mean = self.mean_pressure_kpa
        return 0.0 if mean == 0 else self.least_pressure_kpa / mean

    @property
    def force_n_per_mm(self) -> float:
        """Contact force per mm of block length [N/mm]."""
        return self.mean_pressure_kpa * self.length_mm / 1000.0

    def _mean(self, value: Array) -> float:
        return float(np.trapezoid(value, self.s_mm) / self.s_mm[-1])


@dataclass(frozen=True, eq=False, repr=False)
class LandRange(ArrayRecord):
    """What a land does in all states that friction allows, as far as they were found.

    Attributes
    ----------
    cut : str
    land : int
    pressure_kpa : array (2, n)
        Least and largest contact pressure at each place.
    gap_mm : array (2, n)
        Least and largest gap at each place.
    """

    cut: str
    land: int
    pressure_kpa: Array
    gap_mm: Array
