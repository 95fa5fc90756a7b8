"""What a block solves in one load case: given forces, contact, displacement."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.contact.given_forces import GivenForces
from squeeze.solve.contact.problem import Contact

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


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

    given: GivenForces
    touch: Touch
    u: Array
