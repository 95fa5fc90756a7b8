"""How much large deformation would change the linear answer, by one more linear solve."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from squeeze.solve import results
from squeeze.solve.closing import Closing
from squeeze.solve.contact.given_forces import given_forces
from squeeze.solve.elastic.element import Elastic
from squeeze.solve.factorised_section import FactorisedSection
from squeeze.solve.land import Land
from squeeze.solve.large.faces.current_rows import current_rows
from squeeze.solve.large.loads.current_forces import current_forces
from squeeze.solve.large.reference import LargeCase, ReferenceModel
from squeeze.solve.large.rubber.body import State
from squeeze.solve.linear_solution import LinearSolution, solved_contact
from squeeze.solve.mesh.parting import Mesh

Array = NDArray[np.float64]

STANDS = 0.02
"""Largest change, of gaps and of pressures, with which the linear answer stands."""
SMALL_GAP_MM = 0.01
"""Gaps are compared with the widest gap, but not with less than this hairline."""
LEAST_AREA = 0.5
"""Area of a triangle over its unloaded one, below which nothing is estimated."""


@dataclass(frozen=True, eq=False)
class Correction:
    """What the linear answer leaves out, as loads and gaps for one more linear solve.

    Attributes
    ----------
    force : array (2 n,)
        Residual at the nodes of the deformed block [N/mm].
    gap : array (c,)
        Weighted gap of the deformed faces less that of the linear answer [mm2].
    """

    force: Array
    gap: Array


def estimated_change(
    model: FactorisedSection,
    reference: ReferenceModel,
    large: LargeCase,
    solution: LinearSolution,
    small: Closing,
) -> float:
    """Estimate what large deformation changes.

    Parameters
    ----------
    model : FactorisedSection
    reference : ReferenceModel
    large : LargeCase
    solution : LinearSolution
        Of the same loads.
    small : Closing
        Of that solution.

    Returns
    -------
    float
        Largest change of pressures and gaps, over the largest of each; infinite where the estimate
        itself breaks off.
    """
    case, rows = solution.case, solution.case.rows
    state = linear_state(model.mesh, model.elastic, solution.u)
    linear_gap = (rows.normal @ state.u) + rows.gap0
    found = correction(reference, large, state, solution.contact.traction, linear_gap)
    if found is None:
        return np.inf
    extra = given_forces(model.factor, model.mesh.points, found.force)
    free_gaps = extra.free_gaps + np.concatenate([found.gap, np.zeros_like(found.gap)])
    given = solution.given + replace(extra, free_gaps=free_gaps, size=0.0)
    contact = solved_contact(model, case, given, look_elsewhere=False)
    if not contact.solution.outcome.has_answer:
        return np.inf
    lands, seats, _ = results.face_records(
        model.mesh, case.section, rows, None, contact.solution, contact.wet
    )
    return largest_change(small.lands + small.seats, lands + seats)


def linear_state(mesh: Mesh, elastic: Elastic, u: Array) -> State:
    """Return the linear answer `u` (n, 2) [mm] as a state of the deformed body."""
    local = u[mesh.triangles].reshape(-1, 12, 1)
    bubble = np.matmul(elastic.bubble, local)[..., 0]
    return State(u.ravel().copy(), bubble, -np.matmul(elastic.pressure, local)[..., 0])


def correction(
    reference: ReferenceModel, case: LargeCase, state: State, traction: Array, linear_gap: Array
) -> Correction | None:
    """Return what the linear answer leaves out; None when it crushes a triangle.

    Parameters
    ----------
    reference : ReferenceModel
    case : LargeCase
    state : State
        The linear answer.
    traction : array (2 c,)
        Its pressure, then its shear [MPa].
    linear_gap : array (c,)
        Its weighted gap [mm2].
    """
    x = reference.mesh.points + state.u.reshape(-1, 2)
    raw, least = reference.body.internal_force(state)
    if least < LEAST_AREA:
        return None
    faces = current_rows(case.pairs, x)
    if not faces.counts.all():
        return None
    c = len(linear_gap)
    pushed = faces.normal.T @ traction[:c] + faces.along.T @ traction[c:]
    left = current_forces(reference, case, x).force + pushed - raw
    scale = case.pairs.rest / np.maximum(faces.weight, 1e-12)
    return Correction(left, faces.gap * scale - linear_gap)


def largest_change(before: tuple[Land, ...], after: tuple[Land, ...]) -> float:
    """Return the largest change of pressures and gaps, over the largest of each."""
    worst = 0.0
    for name, floor in (("pressure_kpa", 1e-9), ("gap_mm", SMALL_GAP_MM)):
        pairs = [(getattr(a, name), getattr(b, name)) for a, b in zip(before, after, strict=True)]
        size = max((float(np.max(b)) for _, b in pairs), default=0.0)
        change = max((float(np.abs(a - b).max()) for a, b in pairs), default=0.0)
        worst = max(worst, change / max(size, floor))
    return worst
