"""How sure the figures are: the same closing with other stiffness, friction and pull of the bands.

What a person at the bench does not know closely is varied: the rubber's modulus by +/- 25 %, the
friction between a low and a high value, the pull of bands and pushes by +/- 20 %. All variations
use the factor of one block. A modulus k times as high with the loads L has the displacements of
the given modulus with the loads L/k, and k times its pressures, so not even E needs a new factor;
only fillers and cradle pieces, which keep their own stiffness, do.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import product

from squeeze.mold.forces.loads import Loads
from squeeze.mold.progress import Progress, silent
from squeeze.mold.rubber import SPREAD
from squeeze.mold.section.records import Section
from squeeze.mold.tables.values import LEAST_FINENESS as COARSEST
from squeeze.mold.tables.values import MOST_FRICTION
from squeeze.solve.block import Block
from squeeze.solve.closing import Closing, Land
from squeeze.verdict.figures import BY_NAME, MEASURES, Figures, figures_of
from squeeze.verdict.film import film_limit_mm
from squeeze.verdict.seal.barrier import seal_of

STIFFNESS = (1 - SPREAD, 1.0, 1 + SPREAD)
"""Times the given modulus."""

PULL = (0.8, 1.2)
"""Times the given pull of bands and pushes."""

ROUGH = 0.5
"""High friction of a cut for which little or none is given (common practice: clean rubber on
rubber grips; release agent takes that away)."""

LEFT_OVER = 100.0
"""A variation stops with more left out of balance than a closing: what it gives is a range."""

Friction = dict[str, float]

Case = tuple[float, str, float]
"""Stiffness, friction, pull of a variation."""

MOST_UNKNOWNS = {"small": 12_000, "large": 6_000}
"""Blocks with more, by the deformation, are varied on a coarser mesh with about half as many. Every
variation at large deformation takes tangents of its own: twenty cavities took minutes."""

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
    """

    given: Figures
    variations: tuple[Variation, ...]
    ranges: tuple[FigureRange, ...]
    friction: tuple[tuple[str, float, float], ...]
    film_limit_mm: float | None = None
    fineness: float = 1.0

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
    fineness = fineness_of_variations(closing.trust.unknowns, _theory(closing))
    base = closing
    if fineness < 1:
        progress("the same on a coarser mesh", 0.0)
        if coarse is None or not _stands_in(coarse[1], closing):
            coarse = _coarser(block, closing, fineness)
        fineness = coarse[0].fineness / block.fineness
        block, base = coarse
    vary = _varied_bodies if block.section.fillers or block.section.cradles else _varied
    figures: dict[Case, Figures] = {}
    for case, varied in vary(block, base, cases, friction):
        figures[case] = figures_of(varied, block.mold)
        progress(f"variation {len(figures)} of {len(cases)}", len(figures) / len(cases))
    found = [Variation(*case, figures[case]) for case in cases]
    limits = tuple((name, low, high) for name, (low, high) in bounds.items())
    limit = film_limit_mm(block.section, closing.loads)
    return Uncertainty(given, tuple(found), _ranges(given, found), limits, limit, fineness)


def fineness_of_variations(unknowns: int, deformation: str = "large") -> float:
    """Return the fineness of the mesh of variations for a block with so many unknowns.

    Unknowns go with the square of the fineness.

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


def _coarser(block: Block, closing: Closing, fineness: float) -> tuple[Block, Closing]:
    """Return a block with a coarser mesh, and its answer to the loads of a closing."""
    fineness = max(COARSEST, fineness * block.fineness)
    coarse = Block(block.section if block.mold is None else block.mold, fineness)
    theory = "large" if closing.deformation.is_large else "small"
    base = coarse.close(closing.loads, deformation=theory, check=False)
    return coarse, base


def _stands_in(closing: Closing, fine: Closing) -> bool:
    """Whether a coarse answer may stand in for a fine one: small enough, and by the same theory."""
    theory = _theory(fine)
    return (
        closing.outcome.has_answer
        and _theory(closing) == theory
        and closing.loads == fine.loads
        and closing.trust.unknowns <= MOST_UNKNOWNS[theory]
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


def friction_bounds(friction: float) -> tuple[float, float]:
    """Return the low and the high coefficient between which a given one is varied.

    Half and twice of it, at least up to `ROUGH`, and no more than a file may hold.

    Examples
    --------
    >>> friction_bounds(0.3), friction_bounds(0.0), friction_bounds(2.0)
    ((0.15, 0.6), (0.0, 0.5), (1.0, 3.0))
    """
    return friction / 2, min(max(2 * friction, ROUGH), MOST_FRICTION)


def _varied(
    block: Block, given: Closing, cases: list[Case], friction: Mapping[str, Friction]
) -> Iterator[tuple[Case, Closing]]:
    """Yield each case's closing. The softer the rubber, the farther the same loads grow in it."""
    theory = _theory(given)
    before: tuple[str, float] | None = None
    after: Closing | None = None
    for k, word, pull in sorted(cases, key=lambda case: (case[1], case[2], -case[0])):
        after = after if before == (word, pull) else None
        wanted = pulled(given.loads, pull)
        closing = block.close(
            scaled(wanted, 1 / k),
            friction=friction[word],
            deformation=theory,
            start=given,
            after=after,
            left_over=LEFT_OVER,
            check=False,
        )
        before, after = (word, pull), closing if closing.deformation.is_large else None
        yield (k, word, pull), as_stiff(closing, k, wanted)


def _varied_bodies(
    block: Block, given: Closing, cases: list[Case], friction: Mapping[str, Friction]
) -> Iterator[tuple[Case, Closing]]:
    """Yield each case's closing where other bodies keep their stiffness: a factor a stiffness."""
    theory = _theory(given)
    stiff, own = 1.0, block
    for k, word, pull in cases:
        if k != stiff:
            own = block  # one more factor at a time: they are what fills the memory
            own = block if k == 1 else _stiffer(block, k)
            stiff = k
        loads = pulled(given.loads, pull)
        closing = own.close(
            loads,
            friction=friction[word],
            deformation=theory,
            start=given,
            left_over=LEFT_OVER,
            check=False,
        )
        yield (k, word, pull), closing


def _stiffer(block: Block, times: float) -> Block:
    """Return a block of rubber `times` as stiff on the same mesh."""
    return Block(stiffer(block.section, times), block.fineness, block.finer)


def _theory(given: Closing) -> str:
    return "large" if given.deformation.is_large else "small"


def pulled(loads: Loads, times: float) -> Loads:
    """Return loads with the pull of bands and all pushes `times` as high; resin stays."""
    return replace(scaled(loads, times), cavity_mpa=loads.cavity_mpa)


def scaled(loads: Loads, times: float) -> Loads:
    """Return all loads `times` as high."""
    return loads.scaled(times)


def as_stiff(closing: Closing, times: float, loads: Loads) -> Closing:
    """Return a closing under loads / `times` as that of rubber `times` as stiff under `loads`.

    Displacements are the same, pressures `times` as high. The field's stresses are left out.
    """
    lands = tuple(_pressed(land, times) for land in closing.lands)
    return replace(closing, lands=lands, loads=loads)


def _pressed(land: Land, times: float) -> Land:
    return replace(land, pressure_kpa=times * land.pressure_kpa, shear_kpa=times * land.shear_kpa)


def stiffer(section: Section, times: float) -> Section:
    """Return a section whose block has `times` the modulus; other bodies keep theirs."""
    E = times * section.material.youngs_modulus_mpa
    return replace(section, material=replace(section.material, youngs_modulus_mpa=E))


def _ranges(given: Figures, found: list[Variation]) -> tuple[FigureRange, ...]:
    return tuple(_range(name, given, [each.figures for each in found]) for name in MEASURES)


def _range(name: str, given: Figures, found: list[Figures]) -> FigureRange:
    lost = [BY_NAME[name].worst for each in found if not each.solved]
    values = [each.values[name] for each in (given, *found) if each.solved]
    if any(value is None for value in values):  # the mold lacks what this figure needs
        return FigureRange(name, math.nan, math.nan, math.nan)
    values += lost
    return FigureRange(name, given.values[name], min(values), max(values))


def say_variations(found: Uncertainty) -> str:
    """Return the sentence on all variations."""
    count = len(found.variations)
    seals = _in(found.seals_in, count)
    closes = _in(found.closes_in, count)
    what = (
        "rubber 25 % softer to 25 % stiffer, friction low and high, bands 20 % slacker and tighter"
    )
    if found.seals_in == found.closes_in:
        said = f"It closes all along and seals {seals} ({what})"
    else:
        said = f"It seals {seals}, and closes all along {closes} ({what})"
    why = _why(found)
    mesh = " The variations are on a coarser mesh." if found.fineness < 1 else ""
    return f"{said}{'; ' + why if why else ''}.{_lost(found.unsolved)}{mesh}"


def _lost(count: int) -> str:
    """Say how many variations have no answer; nothing when all have one."""
    if not count:
        return ""
    if count == 1:
        return " 1 variation has no answer and counts as a failure."
    return f" {count} variations have no answer and count as failures."


def _in(part: int, count: int) -> str:
    if part == count:
        return f"in all {count} variations"
    return f"in none of {count} variations" if part == 0 else f"in {part} of {count} variations"


_CALLED = {
    ("pull", PULL[0]): "slack bands",
    ("pull", PULL[1]): "tight bands",
    ("friction", "low"): "low friction",
    ("friction", "high"): "high friction",
    ("stiffness", STIFFNESS[0]): "soft rubber",
    ("stiffness", STIFFNESS[2]): "stiff rubber",
}


def _why(found: Uncertainty) -> str:
    """Say what all variations that do not seal have in common, when it is one thing."""
    common = in_common(found, lambda figures: not figures.seals)
    return f"the others have {common}" if common else ""


def in_common(found: Uncertainty, bad: Callable[[Figures], bool]) -> str:
    """Return what all variations of which `bad` is true have in common, e.g. ``slack bands``.

    Empty when they have nothing in common, or when it is true of none or of all.
    """
    these = [each for each in found.variations if bad(each.figures)]
    if not these or len(these) == len(found.variations):
        return ""
    return " and ".join(
        words
        for (key, value), words in _CALLED.items()
        if all(getattr(each, key) == value for each in these)
    )
