"""The headline figures of a closing, for comparing one with another."""

from __future__ import annotations

from dataclasses import dataclass, fields

from squeeze.mold.tables.mold import Mold
from squeeze.solve.closing import Closing
from squeeze.verdict.casting.flash import FINE_MM, HAIRLINE_MM, flash_of
from squeeze.verdict.seal.barrier import seal_of


@dataclass(frozen=True)
class Figures:
    """Headline figures.

    Attributes
    ----------
    solved : bool
        There is an answer to rely on.
    seals : bool
        Nothing leaks.
    closes : bool
        No place of any land is open by as much as a hairline, 0.01 mm.
    leaks : int
        Paths without a barrier.
    margin : float
        Pressure of the weakest barrier over the resin's; 0 when there is none.
    least_pressure_kpa : float
        Of all places of all lands.
    evenness : float
        Least of all lands.
    largest_gap_mm : float
    flash_mm : float
        Thickest flash at a cavity.
    reach_mm : float
        Farthest reach of flash.
    shift_mm : float
        Largest shift of a cavity's edge, rigid motion removed.
    area_change_pct : float
        Of the cavity whose area changes most; its size, without a sign.
    step_mm : float
        Largest step at a parting line.
    """

    solved: bool
    seals: bool
    closes: bool
    leaks: int
    margin: float
    least_pressure_kpa: float
    evenness: float
    largest_gap_mm: float
    flash_mm: float
    reach_mm: float
    shift_mm: float
    area_change_pct: float
    step_mm: float

    @property
    def good(self) -> bool:
        """Whether there is nothing to mend: it seals, and flash is no nuisance."""
        return self.seals and self.flash_mm < FINE_MM


def reaches(before: Figures, after: Figures) -> bool:
    """Return whether a change gets what is wanted.

    That it seals; and where it does so already, that flash is no nuisance any more.
    """
    return after.good if before.seals else after.seals


NUMBERS = tuple(
    entry.name
    for entry in fields(Figures)
    if entry.name not in ("solved", "seals", "closes", "leaks")
)
"""The figures that are measures."""


def figures_of(closing: Closing, mold: Mold | None = None) -> Figures:
    """Return the headline figures of a closing; without an answer nothing seals or closes."""
    seal, flash = seal_of(closing), flash_of(closing, mold)
    solved = closing.outcome.has_answer
    lands, cavities = closing.lands, closing.cavities
    gap = max((land.largest_gap_mm for land in lands), default=0.0)
    return Figures(
        solved=solved,
        seals=solved and seal.seals,
        closes=solved and gap < HAIRLINE_MM,
        leaks=len(seal.leaks),
        margin=seal.weakest.margin if seal.weakest else 0.0,
        least_pressure_kpa=min((land.least_pressure_kpa for land in lands), default=0.0),
        evenness=min((land.evenness for land in lands), default=0.0),
        largest_gap_mm=gap,
        flash_mm=flash.thickness_mm,
        reach_mm=flash.reach_mm,
        shift_mm=max((c.largest_shift_mm for c in cavities), default=0.0),
        area_change_pct=max((abs(c.area_change_pct) for c in cavities), default=0.0),
        step_mm=max((c.step_mm for c in cavities), default=0.0),
    )
