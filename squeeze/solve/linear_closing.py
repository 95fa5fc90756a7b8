"""The closing and the pressing of a linear solution, and how far it can be relied on."""

from __future__ import annotations

import numpy as np

from squeeze.solve import results
from squeeze.solve.closing import Closing, Pressing
from squeeze.solve.contact.balance import pieces
from squeeze.solve.contact.problem import ContactSolution
from squeeze.solve.factorised_section import FactorisedSection
from squeeze.solve.field import Field
from squeeze.solve.linear_solution import LinearSolution, LoadCase, SolvedContact
from squeeze.solve.outcome import Outcome
from squeeze.solve.trust import Piece, Seconds, Trust

IN_BALANCE = 1e-6
"""Force left over at a node, over the sum of the loads, that rounding may leave."""


def linear_closing(model: FactorisedSection, solution: LinearSolution, title: str) -> Closing:
    """Return the closing of a linear solution; `seconds` are left to the caller.

    Parameters
    ----------
    model : FactorisedSection
    solution : LinearSolution
    title : str
        Of the mold.
    """
    mesh, case, u = model.mesh, solution.case, solution.u
    contact, wet = solution.contact.solution, solution.contact.wet
    given, tension = solution.given, case.loads.tension_n_per_mm
    on_pieces = pieces(mesh, model.factor, given.f, solution.contact.traction, contact, given.size)
    field = results.field(mesh, model.elastic, u)
    moved = results.face_displacements(mesh, u)
    lands, seats, joints = results.face_records(mesh, case.section, case.rows, moved, contact, wet)
    return Closing(
        title=title,
        section=case.section,
        loads=case.loads,
        lands=lands,
        seats=seats,
        cavities=results.cavities(mesh, case.section, u),
        wrap=results.wrapped(mesh.points, case.path, tension) if tension else None,
        field=field,
        trust=_trust(model, contact, field, on_pieces, _residual(model, solution)),
        seconds=Seconds(0.0, 0.0, 0.0, 0.0, 0.0),
        pried=solution.contact.pried,
        joints=joints,
        ranges=results.ranges(mesh, case.section, case.rows, contact, wet),
    )


def pressing(model: FactorisedSection, case: LoadCase, contact: SolvedContact) -> Pressing:
    """Return what the solved contact alone says of one load case."""
    solution = contact.solution
    lands, seats, joints = results.face_records(
        model.mesh, case.section, case.rows, None, solution, contact.wet
    )
    return Pressing(
        section=case.section,
        loads=case.loads,
        outcome=solution.outcome,
        lands=lands,
        seats=seats,
        joints=joints,
        pried=contact.pried,
        complementarity=solution.complementarity,
        steps=solution.steps,
    )


def _residual(model: FactorisedSection, solution: LinearSolution) -> float:
    """Return the largest force left over at any node (K u against loads and contact).

    Over the sum of the loads.
    """
    contact, given = solution.contact, solution.given
    if contact.solution.outcome is Outcome.PIECE_NOT_HELD or not given.size:
        return 0.0
    pressed = model.factor.rows.T @ contact.traction
    left = model.elastic.K @ solution.u.ravel() - given.f - pressed
    return float(np.abs(left).max() / given.size)


def _trust(
    model: FactorisedSection,
    contact: ContactSolution,
    field: Field,
    on_pieces: tuple[Piece, ...],
    residual: float,
) -> Trust:
    mesh = model.mesh
    balance = max(max(part.force_balance, part.moment_balance) for part in on_pieces)
    outcome = contact.outcome
    # what contact leaves over as a whole, the pins carry: it may show at their nodes
    if outcome.has_answer and not residual <= IN_BALANCE + 2 * balance:
        outcome = Outcome.OUT_OF_BALANCE
    is_rubber = mesh.body <= len(model.section.fillers)
    strain_pct, strain_at_mm = results.largest_strain(mesh, field, is_rubber)
    return Trust(
        outcome=outcome,
        force_balance=balance,
        complementarity=contact.complementarity,
        largest_strain_pct=strain_pct,
        strain_at_mm=strain_at_mm,
        pieces=on_pieces,
        unknowns=2 * len(mesh.points),
        contact_places=len(contact.p),
        contact_steps=contact.steps,
        residual=residual,
    )
