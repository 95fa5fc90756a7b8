"""The closing of a deformed block, and the test whether the linear answer stands."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.section.records import Section
from squeeze.solve import results
from squeeze.solve.closing import Closing, Deformation, Field, Land, Piece, Trust, Wrap
from squeeze.solve.contact.rows import ContactRows
from squeeze.solve.elastic.element import Elastic
from squeeze.solve.elastic.rigid import rigid_fit
from squeeze.solve.large.band import Hull
from squeeze.solve.large.body import State, corner_fields, internal_force
from squeeze.solve.large.current_forces import current_forces
from squeeze.solve.large.equilibrium import Deformed, left_on_pieces
from squeeze.solve.large.faces import CurrentRows, current_rows
from squeeze.solve.large.reference import LargeCase, ReferenceModel
from squeeze.solve.mesh.parting import Mesh

Array = NDArray[np.float64]

STANDS = 0.02
"""Largest correction, of gaps and of pressures, with which the linear answer stands."""
SMALL_GAP_MM = 0.01
"""Gaps are compared with the widest gap, but not with less than this hairline."""
WHOLE = 0.95
"""Share of a place opposite the other face from which on it counts as all of it: both faces stretch
by a few percent, and not alike."""


def linear_state(mesh: Mesh, elastic: Elastic, u: Array) -> State:
    """Return the linear answer `u` (n, 2) as a state of the deformed body."""
    local = u[mesh.triangles].reshape(-1, 12, 1)
    bubble = np.matmul(elastic.bubble, local)[..., 0]
    return State(u.ravel().copy(), bubble, -np.matmul(elastic.pressure, local)[..., 0])


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


def correction(
    model: ReferenceModel, case: LargeCase, state: State, traction: Array, linear_gap: Array
) -> Correction | None:
    """Return what the linear answer leaves out; None when it turns a triangle inside out."""
    x = model.mesh.points + state.u.reshape(-1, 2)
    raw, least = internal_force(model.body, state)
    if least < 0.5:
        return None
    faces = current_rows(case.pairs, x)
    if not faces.counts.all():
        return None
    c = len(linear_gap)
    pushed = faces.normal.T @ traction[:c] + faces.along.T @ traction[c:]
    left = current_forces(model, case, x).force + pushed - raw
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
    worst = int(np.argmax(np.where(is_rubber, made.strain_pct, 0.0)))
    at = mesh.points[mesh.triangles[worst, :3]].mean(axis=0)
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
            largest_strain_pct=float(made.strain_pct[worst]),
            strain_at_mm=(float(at[0]), float(at[1])),
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
