"""Given forces, and what they make of the faces as long as these are free."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.elastic.rigid import resultants
from squeeze.solve.elastic.schur import Factor

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class GivenForces:
    """Nodal forces with what they do. Linear: forces are summed and scaled as they are.

    Attributes
    ----------
    f : array (2 n,)
        Nodal forces [N/mm].
    opened : array (2 c,)
        Weighted gap and slip that they make with all faces free [mm2].
    e : array (k,)
        What contact has to do against them, per rigid motion of the pieces.
    size : float
        Sum of the sizes of all forces [N/mm].
    """

    f: Array
    opened: Array
    e: Array
    size: float

    def __add__(self, other: GivenForces) -> GivenForces:
        parts = (self.f + other.f, self.opened + other.opened, self.e + other.e)
        return GivenForces(*parts, self.size + other.size)

    def __rmul__(self, factor: float) -> GivenForces:
        return GivenForces(
            factor * self.f, factor * self.opened, factor * self.e, abs(factor) * self.size
        )


def given_forces(factor: Factor, points: Array, f: Array) -> GivenForces:
    """Return nodal forces `f` (2 n,) with what they do to a section's faces and pieces."""
    size = resultants(points, f)[2]
    return GivenForces(f, factor.opened(f), -factor.motions.T @ f, size)
