"""The linear solution of one load case: given forces, contact, displacement."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.forces.loads import Loads
from squeeze.mold.section.records import Section
from squeeze.solve.bands.wrap import BandPath
from squeeze.solve.contact.given_forces import GivenForces
from squeeze.solve.contact.problem import ContactSolution, contact_problem
from squeeze.solve.contact.rows import ContactRows
from squeeze.solve.contact.wetting import solve_with_resin
from squeeze.solve.elastic.rigid import rigid_fit
from squeeze.solve.factorised_section import FactorisedSection
from squeeze.solve.outcome import Outcome

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
    case : LoadCase
    given : GivenForces
    contact : SolvedContact
    u : array (n, 2)
        Displacement of the nodes [mm]; the rigid motion of the whole is taken off.
    """

    case: LoadCase
    given: GivenForces
    contact: SolvedContact
    u: Array


def solved_contact(
    model: FactorisedSection, case: LoadCase, given: GivenForces, look_elsewhere: bool = True
) -> SolvedContact:
    """Solve the contact problem of one load case.

    Parameters
    ----------
    model : FactorisedSection
    case : LoadCase
    given : GivenForces
        The forces of its loads.
    look_elsewhere : bool
        Whether to see if friction allows another state.
    """
    problem = contact_problem(model.factor, case.rows, given)
    resin = case.loads.cavity_mpa if case.loads.enters_cuts else 0.0
    found, wet, pried = solve_with_resin(problem, model.resin_paths, resin, look_elsewhere)
    return SolvedContact(found, wet, pried, np.concatenate([found.p + resin * wet, found.t]))


def linear_solution(model: FactorisedSection, case: LoadCase, given: GivenForces) -> LinearSolution:
    """Solve one load case by linear elasticity."""
    contact = solved_contact(model, case, given)
    return LinearSolution(case, given, contact, _displacement(model, given, contact))


def _displacement(model: FactorisedSection, given: GivenForces, contact: SolvedContact) -> Array:
    """Return the nodal displacement (n, 2), the whole's rigid motion taken off."""
    points, factor = model.mesh.points, model.factor
    if contact.solution.outcome is Outcome.PIECE_NOT_HELD:
        return np.zeros((len(points), 2))
    u = factor.displaced(given.f, given.free_gaps, contact.traction)
    u = (u + factor.motions @ contact.solution.motion).reshape(-1, 2)
    return u - rigid_fit(points, np.arange(len(u)), u)
