"""How sure the figures are: their ranges over the variations of one block."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product

from squeeze.mold.progress import Progress, silent
from squeeze.mold.tables.values import LEAST_FINENESS as COARSEST
from squeeze.solve.allowance import Allowance
from squeeze.solve.block import Block
from squeeze.solve.closing import Closing
from squeeze.verdict.figures import BY_NAME, MEASURES, Figures, figures_of
from squeeze.verdict.film import film_limit_mm
from squeeze.verdict.seal.barrier import seal_of
from squeeze.verdict.uncertainty.varied_closings import (
    PULL,
    STIFFNESS,
    Case,
    deformation_of,
    friction_bounds,
    varied_closings,
    varied_with_bodies,
)

MOST_UNKNOWNS = {"small": 12_000, "large": 6_000}
"""Blocks with more, by the deformation, are varied on a coarser mesh with about half as many. Every
variation at large deformation takes tangents of its own: twenty cavities took minutes."""

HUGE = 4
"""Times those, above which a coarse mesh is taken as it is."""

MOST_WORK = 600_000
"""Unknowns times tangents that all variations may take at large deformation, some fifteen seconds.
Half where even the coarser mesh has more than `MOST_UNKNOWNS`: all else takes long too."""


LEAST_FINENESS = 0.5


@dataclass(frozen=True)
class Variation:
    """One variation and what it gives.

    Attributes
    ----------
    stiffness : float
        Times the given modulus.
    friction : str
        ``"low"`` or ``"high"``.
    pull : float
        Times the given pull.
    figures : Figures
    """

    stiffness: float
    friction: str
    pull: float
    figures: Figures


@dataclass(frozen=True)
class FigureRange:
    """The band round one figure.

    Attributes
    ----------
    name : str
        Of the field of `Figures`.
    given, low, high : float
        As given, and the least and the most of it and all variations. A variation without an
        answer has failed: it counts with the worst value there is, 0 or infinity. NaN where the
        mold does not say enough.
    """

    name: str
    given: float
    low: float
    high: float


@dataclass(frozen=True)
class Uncertainty:
    """How the figures of a closing vary.

    Attributes
    ----------
    given : Figures
        As the mold says.
    variations : tuple of Variation
    ranges : tuple of FigureRange
        One for each figure that is a measure.
    friction : tuple of (cut, low, high)
        Between which the friction was varied.
    film_limit_mm : float or None
        How thick the films in the cuts may be, the thickest of them, before a land leaks; None
        where there is none, or where it leaks without them.
    fineness : float
        Of the mesh of the variations, over that of the answer; below 1 for large blocks.
    left_out : int
        How many variations were not computed because the work allowed was used up.
    """

    given: Figures
    variations: tuple[Variation, ...]
    ranges: tuple[FigureRange, ...]
    friction: tuple[tuple[str, float, float], ...]
    film_limit_mm: float | None = None
    fineness: float = 1.0
    left_out: int = 0

    def __repr__(self) -> str:
        lines = [f"  {each.name}: {each.low:.3g} to {each.high:.3g}" for each in self.ranges]
        counted = f"it seals in {self.seals_in}, closes in {self.closes_in}"
        head = f"Uncertainty: {len(self.variations)} variations; {counted}"
        return "\n".join([head, *lines])

    @property
    def unsolved(self) -> int:
        """How many variations have no answer; they count as failures."""
        return sum(not each.figures.solved for each in self.variations)

    @property
    def seals_in(self) -> int:
        """In how many variations it seals."""
        return sum(each.figures.seals for each in self.variations)

    @property
    def closes_in(self) -> int:
        """In how many variations every land closes all along."""
        return sum(each.figures.closes for each in self.variations)

    def range_of(self, name: str) -> FigureRange:
        """Return the band round one figure by its name."""
        return next(each for each in self.ranges if each.name == name)


def uncertainty(
    block: Block,
    closing: Closing | None = None,
    progress: Progress = silent,
    coarse: tuple[Block, Closing] | None = None,
    allowance: Allowance | None = None,
) -> Uncertainty:
    """Return how the figures of a block vary.

    Parameters
    ----------
    block : Block
    closing : Closing, optional
        What `block.close` gave; it also says which loads are varied. Closed anew by default.
    progress : Progress
        Called after each variation.
    coarse : tuple of (Block, Closing), optional
        The same on a coarser mesh, where there is an answer already; taken for large blocks.
    allowance : Allowance, optional
        What all variations may take at large deformation; by default `MOST_WORK` of their own.

    Returns
    -------
    Uncertainty
    """
    closing = block.close(check=False) if closing is None else closing
    given = figures_of(closing, block.mold)
    bounds = {
        cut.name: cut.friction_range or friction_bounds(cut.friction)
        for cut in closing.section.cuts
    }
    friction = {
        word: {n: b[k] for n, b in bounds.items()} for k, word in enumerate(("low", "high"))
    }
    cases = list(product(STIFFNESS, friction, PULL))
    fineness = fineness_of_variations(closing.trust.unknowns, deformation_of(closing))
    base = closing
    if fineness < 1:
        progress("the same on a coarser mesh", 0.0)
        fineness = max(COARSEST, fineness * block.fineness)
        if coarse is None or not _stands_in(coarse, closing, fineness):
            coarse = _coarser(block, closing, fineness, allowance or Allowance(MOST_WORK))
        fineness = coarse[0].fineness / block.fineness
        block, base = coarse
    if allowance is None:
        is_large = block.mesh.points.size > MOST_UNKNOWNS["large"]
        allowance = Allowance(MOST_WORK // 2 if is_large else MOST_WORK)
    vary = varied_with_bodies if block.section.fillers or block.section.cradles else varied_closings
    figures: dict[Case, Figures] = {}
    for case, varied in vary(block, base, cases, friction, allowance):
        figures[case] = figures_of(varied, block.mold)
        progress(f"variation {len(figures)} of {len(cases)}", len(figures) / len(cases))
    found = [Variation(*case, figures[case]) for case in cases if case in figures]
    limits = tuple((name, low, high) for name, (low, high) in bounds.items())
    limit = film_limit_mm(block.section, closing.loads)
    ranges, left_out = ranges_of(given, found), len(cases) - len(found)
    return Uncertainty(given, tuple(found), ranges, limits, limit, fineness, left_out)


def fineness_of_variations(unknowns: int, deformation: str = "large") -> float:
    """Return the fineness of the mesh of variations for a block with so many unknowns.

    Unknowns go with the square of the fineness.

    `deformation` is "large" or "small"; at large deformation fewer unknowns are allowed.

    Examples
    --------
    >>> fineness_of_variations(5000), fineness_of_variations(12_000), fineness_of_variations(10**6)
    (1.0, 0.5, 0.5)
    >>> fineness_of_variations(10_000, "small")
    1.0
    """
    most = MOST_UNKNOWNS[deformation]
    if unknowns <= most:
        return 1.0
    return max(LEAST_FINENESS, math.sqrt(most / 2 / unknowns))


def _coarser(
    block: Block, closing: Closing, fineness: float, allowance: Allowance
) -> tuple[Block, Closing]:
    """Return a block with a coarser mesh, and its answer to the loads of a closing."""
    coarse = Block(block.section if block.mold is None else block.mold, fineness)
    theory = "large" if closing.deformation.is_large else "small"
    base = allowance.close(coarse, closing.loads, deformation=theory)
    return coarse, base


def _stands_in(coarse: tuple[Block, Closing], fine: Closing, fineness: float) -> bool:
    """Whether a coarse answer may stand in for a fine one: small enough, and by the same theory.

    A huge one that is as coarse as `fineness` stands in as well: what sets its edges would set
    those of a mesh made anew, and one block more fills memory.
    """
    block, closing = coarse
    theory = deformation_of(fine)
    unknowns, most = closing.trust.unknowns, MOST_UNKNOWNS[theory]
    is_huge = unknowns > HUGE * most and block.fineness <= fineness
    return (
        closing.outcome.has_answer
        and deformation_of(closing) == theory
        and closing.loads == fine.loads
        and (unknowns <= most or is_huge)
    )


def varies(closing: Closing) -> bool:
    """Return whether it says anything to vary a closing: it has an answer, and some land presses.

    A block that cannot be opened is not varied: no rubber, friction or band mends that.
    """
    if not closing.outcome.has_answer or not any(
        land.mean_pressure_kpa > 0 for land in closing.lands
    ):
        return False
    seal = seal_of(closing)
    return not seal.unreached and not seal.locked


def ranges_of(given: Figures, found: list[Variation]) -> tuple[FigureRange, ...]:
    """Return the range of each measure over the given figures and all variations."""
    return tuple(_range(name, given, [each.figures for each in found]) for name in MEASURES)


def _range(name: str, given: Figures, found: list[Figures]) -> FigureRange:
    lost = [BY_NAME[name].worst for each in found if not each.solved]
    values = [each.values[name] for each in (given, *found) if each.solved]
    # the mold lacks what this figure needs, or nothing was varied
    if not found or any(value is None for value in values):
        return FigureRange(name, math.nan, math.nan, math.nan)
    values += lost
    return FigureRange(name, given.values[name], min(values), max(values))
