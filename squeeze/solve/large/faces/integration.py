"""Integration points on a measuring face, and the stiffness of the pressure on them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.large.faces.gap import Facing

Array = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class IntegrationPoints:
    """Integration points of one seam with what stands opposite them.

    Attributes
    ----------
    unknown : array (k, 12) of int
        Unknowns of the left, then of the right edge.
    facing : Facing
    part : array (k,)
        Share of the left edge's parameter.
    place : array (k, 2) of int
        Places at the start and at the end of the left edge.
    """

    unknown: Whole
    facing: Facing
    part: Array
    place: Whole

    def turning(self, pressure: Array) -> tuple[Whole, Whole, Array]:
        """Return rows, columns and values (144 k,) of the stiffness under `pressure` (c,)."""
        p = _between(pressure, self.place, self.facing.r) * self.part
        return _entries(self.unknown, -p[:, None, None] * self.facing.phi_xx())


@dataclass(frozen=True, eq=False)
class IntegrationEnds:
    """Corners of the right faces opposite which integration begins or ends.

    Attributes
    ----------
    unknown : array (k, 12) of int
        Unknowns of the left, then of the right edge.
    facing : Facing
    sign : array (k,)
        +1 where the integral ends, -1 where it begins.
    place : array (k, 2) of int
        Places at the start and at the end of the left edge.
    """

    unknown: Whole
    facing: Facing
    sign: Array
    place: Whole

    def turning(self, pressure: Array) -> tuple[Whole, Whole, Array]:
        """Return rows, columns and values (144 k,) of the stiffness under `pressure` (c,) [MPa].

        The pressed stretch grows or shrinks at its end.
        """
        p = self.sign * _between(pressure, self.place, self.facing.r)
        phi_x, end_x = (each.reshape(-1, 12) for each in (self.facing.phi_x, self.facing.end_x()))
        return _entries(self.unknown, -p[:, None, None] * phi_x[:, :, None] * end_x[:, None, :])


def _entries(unknown: Whole, K: Array) -> tuple[Whole, Whole, Array]:
    size = unknown.shape[1]
    rows, columns = np.repeat(unknown, size, axis=1), np.tile(unknown, (1, size))
    return rows.ravel(), columns.ravel(), K.ravel()


def _between(pressure: Array, place: Whole, r: Array) -> Array:
    """Pressure between two places, at the share `r` from the first to the second."""
    return (1 - r) * pressure[place[:, 0]] + r * pressure[place[:, 1]]
