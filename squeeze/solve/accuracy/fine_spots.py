"""Where a mesh has to be fine: at ends of contact and where cuts leave the rubber aslant.

Pressure falls to zero like the root of the distance from the place where contact ends, and like
another power of it where a cut leaves an edge aslant. Edges that grow with the distance from such
a place give there what even edges give elsewhere: half the edge length, a quarter of the error.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from squeeze.mold.geometry.tolerance import SAME_MM
from squeeze.mold.section.records import Section
from squeeze.solve.closing import Closing
from squeeze.solve.land import Land
from squeeze.solve.mesh.size import FineSpot, across

EDGES_ACROSS = 2400
"""Edges of the least size that would go across the section at fineness 1: 0.05 mm on 120 mm."""
MOST_EDGES_ACROSS = 1_000_000  # shorter edges would come near ON_MM
BRACKET_SHARE = 0.15  # of the distance between the places that an end of contact lies between
MOST_ENDS = 40


def edge_at_contact_ends(section: Section, fineness: float) -> float:
    """Return the edge length at ends of contact [mm].

    Pressure at the nearest place is off by a share of its root, so it shrinks as the fourth power
    of the fineness: then the error there shrinks as it does everywhere else, as the second.
    """
    return across(section) / min(EDGES_ACROSS * fineness**4, MOST_EDGES_ACROSS)


def fine_spots(closing: Closing, fineness: float) -> tuple[FineSpot, ...]:
    """Return the places at which contact ends, with the edge length that each one needs.

    Parameters
    ----------
    closing : Closing
    fineness : float
        Of the mesh that is to be made.

    Returns
    -------
    tuple of (x, y, size)
        At most 40: those with the steepest pressure. An end lies between an open place and a closed
        one; the edges there are no shorter than a share of the distance between the two, for so
        well is the end known.
    """
    least = edge_at_contact_ends(closing.section, fineness)
    if closing.deformation.is_large:
        least = max(least, SAME_MM)
    lands = (*closing.lands, *closing.seats, *closing.joints)
    found = [end for land in lands for end in _ends_of(land, least)]
    found.sort(key=lambda end: -end[0])
    return tuple(spot for _, spot in found[:MOST_ENDS])


def _ends_of(land: Land, least: float) -> Iterable[tuple[float, FineSpot]]:
    """Yield (pressure next to it, spot) for each end of contact on a land."""
    s, p = land.s_mm, land.pressure_kpa
    for k in np.flatnonzero(np.diff(p > 0)):
        closed, step = (k, -1) if p[k] > 0 else (k + 1, 1)
        width = float(s[k + 1] - s[k])
        at = s[closed] - step * 0.5 * width
        near = closed + step
        if 0 <= near < len(s) and p[near] > p[closed]:
            # where the square of the pressure, a straight line there, comes to zero
            beyond = (s[closed] - s[near]) * p[closed] ** 2 / (p[near] ** 2 - p[closed] ** 2)
            at = np.clip(s[closed] + beyond, s[k], s[k + 1])
        x, y = np.interp(at, s, land.x_mm), np.interp(at, s, land.y_mm)
        beside = float(p[near] if 0 <= near < len(s) else p[closed])
        yield beside, (float(x), float(y), max(least, BRACKET_SHARE * width))
