"""Films in cuts: how thick glue, old flash or dirt may be before a land leaks."""

from __future__ import annotations

from dataclasses import replace

from squeeze.mold.forces.loads import Loads
from squeeze.mold.section.records import Section
from squeeze.solve.block import Block
from squeeze.verdict.seal.barrier import seal_of

STEPS = 8
"""Halvings in the search."""

FINENESS = 0.5
"""Of the mesh in the search: gaps beside a film are as long as the piece, not as an edge."""

MOST_MM = 2.0
"""Films are tried up to this; thicker ones are no films [mm]."""


def thickest_mm(section: Section) -> float:
    """Return the thickness of the thickest film in any cut [mm]; 0 without one."""
    return max((value for cut in section.cuts for value in cut.film_mm), default=0.0)


def film_limit_mm(section: Section, loads: Loads) -> float | None:
    """Return how thick the films of a section may be before a land leaks [mm].

    All films are scaled alike, at small deformation; the thickest one is returned.
    None where there is no film, or where it leaks without. `MOST_MM` where no film up to that does.

    Parameters
    ----------
    section : Section
    loads : Loads
    """
    thickest = thickest_mm(section)
    if thickest == 0 or not _seals(section, loads, 0.0):
        return None
    low, high = 0.0, MOST_MM / thickest
    if _seals(section, loads, high):
        return MOST_MM
    for _ in range(STEPS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _seals(section, loads, middle) else (low, middle)
    return low * thickest


def _seals(section: Section, loads: Loads, times: float) -> bool:
    """Whether a section seals with its films `times` as thick."""
    cuts = tuple(
        replace(cut, film_mm=tuple(times * value for value in cut.film_mm)) for cut in section.cuts
    )
    closing = Block(replace(section, cuts=cuts), FINENESS).close(loads, check=False)
    return closing.outcome.has_answer and seal_of(closing).seals
