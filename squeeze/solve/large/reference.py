"""The block in its reference configuration: what does not change as it deforms, and its loads."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.forces.loads import Loads
from squeeze.mold.section.records import Section
from squeeze.solve.bands.wrap import BandFriction
from squeeze.solve.contact.wetting import ResinPaths
from squeeze.solve.elastic.dissection import Dissection, halved
from squeeze.solve.elastic.rigid import pins
from squeeze.solve.large.faces.pairing import Pairing
from squeeze.solve.large.loads.band import OutlineSamples, outline_samples
from squeeze.solve.large.rubber.body import Body, body_of
from squeeze.solve.mesh.parting import Mesh

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

PullOf = Callable[[float], tuple[float, float]]
"""Pull of all bands [N/mm] and its derivative by the length once round, from that length [mm]."""


@dataclass(frozen=True, eq=False)
class SummedEntries:
    """Entries of a matrix that triangles share, worked out once: summing is then one pass.

    Attributes
    ----------
    rows, columns : array (k,) of int
        Of each entry.
    slot : array (m * 12 * 12,) of int
        The entry that each of the triangles' own adds to.
    """

    rows: Whole
    columns: Whole
    slot: Whole

    def of(self, K: Array) -> Array:
        """Return the values (k,) of the entries, from the triangles' own `K` (m, 12, 12)."""
        return np.asarray(np.bincount(self.slot, K.ravel(), len(self.rows)), np.float64)


def summed_entries(dofs: Whole, size: int) -> SummedEntries:
    """Return where the entries of triangles with the unknowns `dofs` (m, 12) of `size` go."""
    key = (dofs[:, :, None] * size + dofs[:, None, :]).ravel()
    entries, slot = np.unique(key, return_inverse=True)
    return SummedEntries(entries // size, entries % size, slot)


@dataclass(frozen=True, eq=False)
class ReferenceModel:
    """A meshed section in its reference configuration.

    Attributes
    ----------
    mesh : Mesh
    body : Body
    outside : OutlineSamples
    resin_paths : ResinPaths
    halves : Dissection
        Of the triangles as they hang together before the cuts part them.
    merged : array (n,) of int
        Number of each node in `halves`, where both faces of a cut are one.
    fixed, soft : array of int
        Unknowns that pin the block as a whole, and those on springs between steps.
    rows, columns : array
        Of the entries of the triangles' stiffness.
    scale : float
        Stiffness of the rubber [MPa].
    """

    mesh: Mesh
    body: Body
    outside: OutlineSamples
    resin_paths: ResinPaths
    halves: Dissection
    merged: Whole
    fixed: Whole
    soft: Whole
    stiffness: SummedEntries
    scale: float

    def place(self, coupled: Whole) -> Whole:
        """Return the position (2 n,) of each unknown in the factor.

        Parameters
        ----------
        coupled : array (k, j) of int
            Nodes of faces that press each other, a stretch of both a row. Faces that have slid
            couple nodes that were apart.
        """
        rank = np.empty(self.halves.nodes, np.int64)
        rank[self.halves.order(self.merged[coupled])] = np.arange(self.halves.nodes)
        order = np.argsort(rank[self.merged], kind="stable")
        place = np.empty(2 * len(order), np.int64)
        place[(2 * order[:, None] + np.arange(2)).ravel()] = np.arange(2 * len(order))
        return place


def reference_model(mesh: Mesh, section: Section, resin_paths: ResinPaths) -> ReferenceModel:
    """Return the reference model of a meshed section."""
    body = body_of(mesh, section.materials)
    nodes, which = np.unique(mesh.base, return_inverse=True)
    pinned = pins(mesh).reshape(-1, 3)
    largest = int(np.argmax(np.bincount(mesh.piece)))
    return ReferenceModel(
        mesh=mesh,
        body=body,
        outside=outline_samples(mesh),
        resin_paths=resin_paths,
        halves=halved(mesh.points[nodes], which[mesh.triangles]),
        merged=which,
        fixed=pinned[largest],
        soft=np.delete(pinned, largest, axis=0).ravel(),
        stiffness=summed_entries(body.dofs, mesh.points.size),
        scale=section.material.youngs_modulus_mpa,
    )


@dataclass(frozen=True, eq=False)
class LargeCase:
    """One load case at large deformation.

    Attributes
    ----------
    loads : Loads
    pull_of : callable
    friction_shares : tuple of (share, BandFriction)
        Parts of the pull by their friction; empty when all slides freely.
    friction : array (c,)
        Between the faces, at each place.
    pairs : Pairing
    """

    loads: Loads
    pull_of: PullOf
    friction_shares: tuple[tuple[float, BandFriction], ...]
    friction: Array
    pairs: Pairing
