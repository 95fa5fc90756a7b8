"""Resin between the faces.

Where a land stands open and is connected to a cavity, the resin presses on both faces. At a wet
place the pressure between the faces cannot be less than the resin's: the contact problem keeps its
form with the floor raised from zero. Wet places can only grow in number, so repeating it ends.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from squeeze.solve.contact.coulomb import OPEN
from squeeze.solve.contact.problem import ContactProblem, ContactSolution
from squeeze.solve.contact.rows import ContactRows
from squeeze.solve.contact.solution import solve_contact
from squeeze.solve.mesh.parting import Mesh

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class ResinPaths:
    """How places are connected for a liquid.

    Attributes
    ----------
    links : array (k, 2) of int
        Places next to each other on a land, and ends of lands that meet.
    mouths : array of int
        Places at a cavity.
    """

    links: Whole
    mouths: Whole


def resin_paths(mesh: Mesh, rows: ContactRows) -> ResinPaths:
    """Return the paths that resin can take between the faces of a mesh's cuts."""
    inside = {int(n) for edges in mesh.edges[1:] for n in np.unique(mesh.base[edges])}
    links, mouths = [np.zeros((0, 2), np.int64)], []
    at: dict[int, int] = {}
    for land, first, end in zip(mesh.lands, rows.begins[:-1], rows.begins[1:], strict=False):
        places = np.arange(first, end)
        links.append(np.column_stack([places[:-1], places[1:]]))
        for place, node in ((first, land.left[0]), (end - 1, land.left[-1])):
            base = int(mesh.base[node])
            if base in inside:
                mouths.append(place)
            elif base in at:
                links.append(np.array([[at[base], place]]))
            else:
                at[base] = place
    return ResinPaths(np.vstack(links), np.array(mouths, np.int64))


def flooded_places(paths: ResinPaths, stands_open: Mask) -> Mask:
    """Return the places (c,) that a liquid reaches from the cavities.

    `stands_open` (c,) says which places it can pass.
    """
    c = len(stands_open)
    through = paths.links[stands_open[paths.links].all(axis=1)]
    pairs = (np.ones(len(through), bool), (through[:, 0], through[:, 1]))
    _, part = connected_components(coo_array(pairs, shape=(c, c)), directed=False)
    fed = np.isin(part, part[paths.mouths[stands_open[paths.mouths]]])
    return fed & stands_open


def solve_with_resin(
    problem: ContactProblem, paths: ResinPaths, pressure_mpa: float, look_elsewhere: bool = True
) -> tuple[ContactSolution, Mask, bool]:
    """Solve the contact problem with resin in the open lands.

    Parameters
    ----------
    problem : ContactProblem
        With the resin's pressure on the cavities among its loads.
    paths : ResinPaths
    pressure_mpa : float
        Pressure of the resin; 0 = it stays out.
    look_elsewhere : bool
        Whether to see if another start ends in another state.

    Returns
    -------
    contact : ContactSolution
        Its pressure p is that of the faces on each other, the resin's taken off.
    wet : array (c,) of bool
    pried : bool
        Whether places opened that stay closed as long as the resin is in the cavity alone.
    """
    enters = pressure_mpa > 0 and len(paths.mouths) > 0
    contact = solve_contact(problem, look_elsewhere=look_elsewhere and not enters)
    wet = np.zeros(len(problem.mu), bool)
    dry = contact.state != OPEN
    squeezed_out = False
    while enters and contact.outcome.has_answer:
        more = wet | flooded_places(paths, contact.state == OPEN)
        last = bool((more == wet).all())
        wet = more
        if last and not squeezed_out and (wet & (contact.state != OPEN)).any():
            # a place may close again once others have opened; it is tried dry, once
            wet, last, squeezed_out = wet & (contact.state == OPEN), False, True
        floor = np.concatenate([pressure_mpa * wet, np.zeros(len(wet))])
        raised = replace(
            problem, q=problem.q + problem.C @ floor, b=problem.b - problem.R.T @ floor
        )
        after = solve_contact(raised, contact.state, look_elsewhere=look_elsewhere and last)
        contact = replace(after, steps=contact.steps + after.steps)
        if last:
            break
    return contact, wet, bool((dry & (contact.state == OPEN)).any())
