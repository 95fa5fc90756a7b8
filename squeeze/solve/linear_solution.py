"""The linear solution of one load case: given forces, contact, displacement."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.forces.loads import Loads
from squeeze.mold.section.records import Section
from squeeze.solve.bands.wrap import BandPath
from squeeze.solve.contact.given_forces import GivenForces
from squeeze.solve.contact.problem import ContactSolution
from squeeze.solve.contact.rows import ContactRows

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class LoadCase:
    """One load case of a block, read from its mold and from the call.

    Attributes
    ----------
    loads : Loads
    section : Section
        With the friction and the unloaded gaps of the case.
    rows : ContactRows
        Likewise.
    path : BandPath
        Of the bands round the undeformed block.
    """

    loads: Loads
    section: Section
    rows: ContactRows
    path: BandPath


@dataclass(frozen=True, eq=False)
class SolvedContact:
    """The solved contact problem, with the resin that stands between the faces.

    Attributes
    ----------
    solution : ContactSolution
        Its pressure is that of the faces on each other.
    wet : array (c,) of bool
        Places between whose faces resin stands.
    pried : bool
        Whether that resin opened places.
    traction : array (2 c,)
        Pressure, the resin's included, then shear [MPa].
    """

    solution: ContactSolution
    wet: Mask
    pried: bool
    traction: Array


@dataclass(frozen=True, eq=False)
class LinearSolution:
    """What acts on the block, how its faces press, and how it moves.

    Attributes
    ----------
    given : GivenForces
    contact : SolvedContact
    u : array (n, 2)
        Displacement of the nodes [mm].
    """

    given: GivenForces
    contact: SolvedContact
    u: Array
