"""The one-sided problem of one Newton step: contact on the faces as they lie."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.contact.active_set import solve_active_set
from squeeze.solve.contact.coulomb import OPEN, when_closing
from squeeze.solve.contact.partial_pivoting import pivot_restless_places
from squeeze.solve.contact.problem import ContactProblem, ContactSolution
from squeeze.solve.contact.wetting import flooded_places
from squeeze.solve.large.faces.current_rows import CurrentRows
from squeeze.solve.large.reference import LargeCase, ReferenceModel
from squeeze.solve.large.tangent_system import TangentSystem
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

MOST_STEPS = 40
"""Steps of the active set before the restless places are pivoted."""
MOST_FLOODS = 20
"""Times that resin may run further between the faces in one step."""


def contact_step(
    model: ReferenceModel,
    case: LargeCase,
    system: TangentSystem,
    faces: CurrentRows,
    free_gaps: Array,
    slip: Array,
    before: ContactSolution | None,
    wet: Mask,
    pressure: float,
    load: float,
) -> tuple[ContactSolution, Mask, Array] | None:
    """Solve the contact problem on the current faces, resin in the open ones.

    Parameters
    ----------
    model : ReferenceModel
    case : LargeCase
    system : TangentSystem
    faces : CurrentRows
    free_gaps : array (2 c,)
        Weighted gap and slip that the residual makes with all faces free [mm2].
    slip : array (c,)
        Weighted slip of the faces since the share of the load before [mm2].
    before : ContactSolution or None
        Of the step before; the states begin there.
    wet : array (c,) of bool
        Places that resin has reached.
    pressure : float
        Of the resin [MPa].
    load : float
        Sum of the sizes of the loads [N/mm].

    Returns
    -------
    contact : ContactSolution
    wet : array (c,) of bool
    traction : array (2 c,)
        Pressure, the resin's included, then shear [MPa].

    None where the problem has no certified answer.
    """
    c = case.pairs.places
    C, q = system.C, free_gaps[: 2 * c] + np.concatenate([faces.gap, slip])
    away = np.flatnonzero(~faces.counts)
    if len(away):
        both = np.concatenate([away, away + c])
        C = C.copy()
        C[both], C[:, both] = 0.0, 0.0
        C[both, both] = np.abs(np.diag(system.C)).max()
        q[away], q[away + c] = 1.0, 0.0
    size = np.tile(1.0 / np.sqrt(np.maximum(np.abs(np.diag(C)[:c]), 1e-300)), 2)
    scaled = C * size[:, None] * size
    state = when_closing(case.friction)
    if before is not None:
        state = before.state
    wet = np.zeros(c, bool) if not pressure else wet & (state == OPEN)
    for _ in range(MOST_FLOODS):
        floor = np.concatenate([pressure * wet, np.zeros(c)])
        problem = ContactProblem(
            C=scaled,
            q=(q + C @ floor) * size,
            R=np.zeros((2 * c, 0)),
            b=np.zeros(0),
            mu=case.friction,
            load=load,
        )
        # far from balance the tangent may be singular: what is not finite then is not certified
        with np.errstate(over="ignore", invalid="ignore"):
            found, restless = solve_active_set(problem, state, most=MOST_STEPS)
            if found.outcome is not Outcome.CONVERGED:
                found = pivot_restless_places(problem, found, restless)
        if found.outcome is not Outcome.CONVERGED:
            return None
        state = found.state
        more = wet | (flooded_places(model.resin_paths, state == OPEN) if pressure else wet)
        if (more == wet).all():
            normal, along = size[:c], size[c:]
            found = replace(
                found,
                p=found.p * normal,
                t=found.t * along,
                w=found.w / normal,
                v=found.v / along,
            )
            return found, wet, np.concatenate([found.p + pressure * wet, found.t])
        wet = more
    return None
