"""What the castings are off by: how each cavity changed, rigid motion removed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from squeeze.solve.closing import Closing
from squeeze.solve.field import CavityChange
from squeeze.solve.land import Land
from squeeze.verdict.seal.land_graph import LandPart, parts_of


@dataclass(frozen=True)
class CavityStep:
    """Mismatch across one parting line.

    Attributes
    ----------
    cut : str
    land : int
        Number of the land in the closing.
    x_mm, y_mm : float
        Where it is.
    slip_mm : float
        How far the two faces have slid on each other at the cavity.
    gap_mm : float
        How far they stand apart there.
    """

    cut: str
    land: int
    x_mm: float
    y_mm: float
    slip_mm: float
    gap_mm: float


@dataclass(frozen=True)
class CavityVerdict:
    """How one casting differs from the model.

    Attributes
    ----------
    name : str
    width_mm, height_mm : float
        As poured.
    width_change_mm, height_change_mm : float
        Negative = squashed.
    area_change_pct : float
        Of the edge as it is displaced.
    area_second_pct : float
        What of that goes with the square of the displacement: an edge that is sheared or bent
        encloses another area though nothing was squeezed out. Theory of small deformation does not
        vouch for it.
    largest_shift_mm : float
    step_mm : float
        Largest mismatch across a parting line; 0 without a cut. The closing's own figure.
    steps : tuple of CavityStep
        One for each land that meets the cavity.
    """

    name: str
    width_mm: float
    height_mm: float
    width_change_mm: float
    height_change_mm: float
    area_change_pct: float
    area_second_pct: float
    largest_shift_mm: float
    step_mm: float
    steps: tuple[CavityStep, ...]


def largest_step(cavities: Sequence[CavityChange]) -> float:
    """Return the largest step at a parting line of any of the cavities [mm]; 0 without any."""
    return max((cavity.step_mm for cavity in cavities), default=0.0)


def cavities_of(
    closing: Closing, parts: Sequence[LandPart] | None = None
) -> tuple[CavityVerdict, ...]:
    """Return how each casting differs from the model, in the order of the cavities.

    `parts` are those of the closing's lands, where they are known already.
    """
    ends: dict[str, list[CavityStep]] = {}
    for part in parts_of(closing.lands, closing.section) if parts is None else parts:
        land = closing.lands[part.land]
        for node, place in ((part.start, part.places.start), (part.end, part.places.stop - 1)):
            if node.kind == "cavity":
                ends.setdefault(node.name, []).append(_step(land, part.land, place))
    return tuple(_cavity(cavity, ends.get(cavity.name, ())) for cavity in closing.cavities)


def _step(land: Land, number: int, place: int) -> CavityStep:
    return CavityStep(
        cut=land.cut,
        land=number,
        x_mm=float(land.x_mm[place]),
        y_mm=float(land.y_mm[place]),
        slip_mm=abs(float(land.slip_mm[place])),
        gap_mm=float(land.gap_mm[place]),
    )


def _cavity(cavity: CavityChange, steps: Sequence[CavityStep]) -> CavityVerdict:
    before = np.ptp(cavity.edge_mm, axis=0)
    change = np.ptp(cavity.edge_mm + cavity.shift_mm, axis=0) - before
    return CavityVerdict(
        name=cavity.name,
        width_mm=float(before[0]),
        height_mm=float(before[1]),
        width_change_mm=float(change[0]),
        height_change_mm=float(change[1]),
        area_change_pct=cavity.area_change_pct,
        area_second_pct=100.0 * _enclosed(cavity.shift_mm) / cavity.area_mm2,
        largest_shift_mm=cavity.largest_shift_mm,
        step_mm=cavity.step_mm,
        steps=tuple(steps),
    )


def _enclosed(ring: np.ndarray) -> float:
    """Return the area that a ring of points (n, 2) goes round, by the shoelace formula.

    That of the displacements is the quadratic part of the area that displaced points go round:
    A(x + u) = A(x) + A'(x; u) + A(u).
    """
    x, y = ring.T
    return float(0.5 * np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
