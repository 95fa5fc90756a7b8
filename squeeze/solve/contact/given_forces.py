"""Given forces, and the gaps and slips that they make while all faces are free."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.elastic.rigid import resultants
from squeeze.solve.elastic.schur import Factor

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class GivenForces:
    """Nodal forces with their free gaps. All of it is linear: sum and scale them as they are.

    Attributes
    ----------
    f : array (2 n,)
        Nodal forces [N/mm].
    free_gaps : array (2 c,)
        Weighted gap, then slip, that they make with all faces free [mm2].
    b : array (k,)
        Generalised force of the contact tractions along each rigid motion that balances them.
    size : float
        Sum of the sizes of all forces [N/mm].
    """

    f: Array
    free_gaps: Array
    b: Array
    size: float

    def __add__(self, other: GivenForces) -> GivenForces:
        parts = (self.f + other.f, self.free_gaps + other.free_gaps, self.b + other.b)
        return GivenForces(*parts, self.size + other.size)

    def __rmul__(self, factor: float) -> GivenForces:
        return GivenForces(
            factor * self.f, factor * self.free_gaps, factor * self.b, abs(factor) * self.size
        )


def given_forces(factor: Factor, points: Array, f: Array) -> GivenForces:
    """Return nodal forces `f` (2 n,) with the gaps and slips they make, faces free.

    `points` (n, 2) are the nodes [mm].
    """
    size = resultants(points, f)[2]
    return GivenForces(f, factor.free_gaps(f), -factor.motions.T @ f, size)
