"""How fine the usual mesh of a section is: less fine where it would fill memory."""

from __future__ import annotations

import math

from squeeze.mold.section.records import Section
from squeeze.solve.mesh.triangulate import triangulate

MOST_UNKNOWNS = 12_000
"""Unknowns of a mesh with edges twice as long as usual. The usual one has about two and a half
times as many; more take minutes, and fill a gigabyte of memory at large deformation."""

LEAST_FINENESS = 0.5


def usual_fineness(section: Section) -> float:
    """Return the fineness of a section's usual mesh: 1, or less for one with very many parts.

    Parameters
    ----------
    section : Section

    Raises
    ------
    BadInput
        When a part of the section is so thin that no reasonable mesh holds it.
    """
    mesh = triangulate(section, 0.5)
    nodes = 2 * len(mesh.corners) + len(mesh.triangles)  # with one on each side, by Euler's formula
    return fineness_for(2 * nodes)


def fineness_for(unknowns: int) -> float:
    """Return the usual fineness for a section that has so many `unknowns` at half of it.

    Examples
    --------
    >>> fineness_for(8000), fineness_for(18_750), fineness_for(10**6)
    (1.0, 0.8, 0.5)
    """
    return min(1.0, max(math.sqrt(MOST_UNKNOWNS / unknowns), LEAST_FINENESS))
