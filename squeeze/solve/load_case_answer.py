"""What a block solves in one load case: given forces, contact, displacement."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.contact.problem import Contact

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Given:
    """Given forces, the gaps and slips they make with all faces free, what contact has to put up.

    Forces are nodal (2 n,). Linear in the loads, so a load case is a sum of a few that are solved
    once.
    """

    f: Array
    opened: Array
    e: Array
    size: float

    def __add__(self, other: Given) -> Given:
        parts = (self.f + other.f, self.opened + other.opened, self.e + other.e)
        return Given(*parts, self.size + other.size)

    def __rmul__(self, factor: float) -> Given:
        return Given(
            factor * self.f, factor * self.opened, factor * self.e, abs(factor) * self.size
        )


@dataclass(frozen=True, eq=False)
class Touch:
    """Contact under given forces."""

    contact: Contact
    wet: Mask
    pried: bool
    traction: Array


@dataclass(frozen=True, eq=False)
class Answer:
    """One solve: what was pressed on what, and how it moved."""

    given: Given
    touch: Touch
    u: Array
