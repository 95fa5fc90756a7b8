"""The closing of a deformed block."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.section.records import Section
from squeeze.solve import results
from squeeze.solve.closing import Closing, Deformation
from squeeze.solve.contact.rows import ContactRows
from squeeze.solve.elastic.rigid import rigid_fit
from squeeze.solve.field import Field, Wrap
from squeeze.solve.large.deformed import Deformed
from squeeze.solve.large.faces.current_rows import CurrentRows
from squeeze.solve.large.loads.band import Hull
from squeeze.solve.large.newton import left_on_pieces
from squeeze.solve.large.reference import ReferenceModel
from squeeze.solve.large.rubber.body import corner_fields
from squeeze.solve.mesh.parting import Mesh
from squeeze.solve.trust import Piece, Trust

Array = NDArray[np.float64]

WHOLE = 0.95
"""Share of a place opposite the other face from which on it counts as all of it: both faces stretch
by a few percent, and not alike."""


def large_closing(
    small: Closing,
    model: ReferenceModel,
    section: Section,
    rows: ContactRows,
    deformed: Deformed,
    how: Deformation,
) -> Closing:
    """Return the closing of a deformed block.

    Parameters
    ----------
    small : Closing
        The linear answer of the same case.
    model, section
    rows : ContactRows
        The linear contact rows.
    deformed : Deformed
        In equilibrium under all of its loads.
    how : Deformation
        How the answer was found.
    """
    mesh, faces = model.mesh, deformed.faces
    u = deformed.state.u.reshape(-1, 2)
    u = u - rigid_fit(mesh.points, np.arange(len(u)), u)
    weight = np.where(faces.counts, faces.weight, 1.0)
    opposite = _share_opposite(mesh, rows, faces, mesh.points + u)
    contact = replace(
        deformed.contact,
        p=deformed.contact.p * opposite,
        t=deformed.contact.t * opposite,
        w=_carried_on(rows, faces.gap / weight, faces.counts) * weight,
        v=_carried_on(rows, deformed.contact.v / weight, faces.counts) * weight,
    )
    moved = results.face_displacements(mesh, u)
    lands, seats, joints = results.face_records(
        mesh, section, replace(rows, weight=weight), moved, contact, deformed.wet
    )
    made = _field(model, deformed)
    is_rubber = mesh.body <= len(section.fillers)
    strain_pct, strain_at_mm = results.largest_strain(mesh, made, is_rubber)
    parts = _balance(model, small.trust.pieces, deformed)
    return replace(
        small,
        lands=lands,
        seats=seats,
        joints=joints,
        cavities=results.cavities(mesh, section, u),
        wrap=_wrap(deformed.band, deformed.pull_n_per_mm) if small.loads.tension_n_per_mm else None,
        field=replace(made, displacement_mm=u),
        trust=Trust(
            outcome=deformed.outcome,
            force_balance=max(max(p.force_balance, p.moment_balance) for p in parts),
            complementarity=deformed.gap_error,
            largest_strain_pct=strain_pct,
            strain_at_mm=strain_at_mm,
            pieces=parts,
            unknowns=small.trust.unknowns,
            contact_places=small.trust.contact_places,
            contact_steps=deformed.contact.steps,
            residual=deformed.residual,
        ),
        deformation=how,
    )


def _share_opposite(mesh: Mesh, rows: ContactRows, faces: CurrentRows, x: Array) -> Array:
    """Return the share (c,) of each place that stands opposite the other face; 1 but at lips.

    Lips that slide press on a sliver of their last place. Its force is given as a pressure on the
    whole place, so that pressures times lengths are the forces that the faces carry.
    """
    share = np.ones(len(faces.weight))
    for land, first, end in zip(mesh.faces, rows.begins[:-1], rows.begins[1:], strict=True):
        half = 0.5 * np.hypot(*np.diff(x[land.left[::2]], axis=0).T)
        whole = np.pad(half, (1, 0)) + np.pad(half, (0, 1))
        share[first:end] = faces.weight[first:end] / np.maximum(whole, 1e-300)
    return np.where(share < WHOLE, share, 1.0)


def _carried_on(rows: ContactRows, value: Array, counts: NDArray[np.bool_]) -> Array:
    """Give places without an opposite face the value of the nearest place on their land."""
    out = value.copy()
    for first, end in zip(rows.begins[:-1], rows.begins[1:], strict=True):
        here = counts[first:end]
        if here.all():
            continue
        if not here.any():
            out[first:end] = 0.0
            continue
        known = np.flatnonzero(here)
        nearest = known[np.argmin(np.abs(np.arange(end - first)[:, None] - known), axis=1)]
        out[first:end] = value[first:end][nearest]
    return out


def _field(model: ReferenceModel, deformed: Deformed) -> Field:
    """Cauchy stress, mean pressure, and the largest principal stretch less 1, in percent."""
    mesh = model.mesh
    stress, pressure, stretch = corner_fields(mesh, model.body, deformed.state)
    strain = 100.0 * np.abs(stretch - 1.0).max(axis=(1, 2))
    u = deformed.state.u.reshape(-1, 2)
    return Field(mesh.points, mesh.triangles, mesh.body, u, stress, pressure, strain)


def _wrap(band: Hull, pull: float) -> Wrap:
    places = band.places_mm
    step = np.roll(places, -1, axis=0) - places
    t = step / np.maximum(np.hypot(*step.T), 1e-300)[:, None]
    return Wrap(pull, band.length_mm, places, pull * (t - np.roll(t, 1, axis=0)))


def _balance(
    model: ReferenceModel, pieces: tuple[Piece, ...], deformed: Deformed
) -> tuple[Piece, ...]:
    """How well the forces on each piece of the deformed block balance."""
    x = model.mesh.points + deformed.state.u.reshape(-1, 2)
    left = left_on_pieces(model.mesh, x, deformed.on_pieces, deformed.load)
    return tuple(
        Piece(piece.middle_mm, piece.area_mm2, float(force), float(moment))
        for piece, (force, moment) in zip(pieces, left, strict=True)
    )
