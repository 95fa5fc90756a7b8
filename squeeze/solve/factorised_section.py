"""A section meshed and factorised: all that its load cases share."""

from __future__ import annotations

import time
from dataclasses import dataclass

from scipy.sparse import csr_array, vstack

from squeeze.mold.section.records import Section
from squeeze.solve.contact.rows import ContactRows, contact_rows
from squeeze.solve.contact.wetting import ResinPaths, resin_paths
from squeeze.solve.elastic.element import Elastic, elastic
from squeeze.solve.elastic.schur import Factor, factorise
from squeeze.solve.mesh.parting import Mesh


@dataclass(frozen=True, eq=False)
class FactorisedSection:
    """A section meshed and factorised.

    Attributes
    ----------
    section : Section
    mesh : Mesh
    elastic : Elastic
        Stiffness of the rubber and the cradle pieces, with all faces free.
    contact_rows : ContactRows
        With the friction and the unloaded gaps of the section.
    factor : Factor
    resin_paths : ResinPaths
    seconds : (float, float)
        Wall time of assembling and of factorising [s].
    """

    section: Section
    mesh: Mesh
    elastic: Elastic
    contact_rows: ContactRows
    factor: Factor
    resin_paths: ResinPaths
    seconds: tuple[float, float]


def factorised_section(section: Section, mesh: Mesh) -> FactorisedSection:
    """Assemble and factorise a section on its mesh."""
    begun = time.perf_counter()
    stiffness = elastic(mesh, section.materials)
    assembled = time.perf_counter()
    rows = contact_rows(mesh, section.seams)
    factor = factorise(mesh, stiffness, csr_array(vstack([rows.normal, rows.along])))
    paths = resin_paths(mesh, rows)
    seconds = assembled - begun, time.perf_counter() - assembled
    return FactorisedSection(section, mesh, stiffness, rows, factor, paths, seconds)
