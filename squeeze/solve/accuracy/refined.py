"""Close a block on a mesh that is fine where it pays, until each figure is good enough."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from squeeze.mold import BadInput, Mold
from squeeze.mold.forces.loads import Loads
from squeeze.mold.progress import Progress, silent
from squeeze.mold.section.records import Section
from squeeze.mold.tables.values import LEAST_ACCURACY_PCT, MOST_ACCURACY_PCT
from squeeze.solve.accuracy.errors import Errors, errors_of
from squeeze.solve.accuracy.meshes import Question, coarser, of_one_theory, on_both_meshes
from squeeze.solve.accuracy.usual_mesh import fineness_for
from squeeze.solve.allowance import Allowance
from squeeze.solve.block import Block
from squeeze.solve.certified import certified
from squeeze.solve.closing import Closing
from squeeze.solve.load_case import (
    MOST_FINENESS,
    Friction,
    Gap,
    check_fineness,
    check_numbers,
)
from squeeze.solve.outcome import Outcome

ACCURACY_PCT = 1.0
GAP_SHARE, GAP_MM = 2.0, 0.005  # of a gap [%], or of the gap itself [mm], for each % of pressure
MOST_WORK = 120_000
"""Unknowns times factors that one solve may take, some seconds: by work and not by time, so that an
answer does not hang on how fast a processor is."""
MOST_WORK_IN_ALL = 800_000
"""Unknowns times tangents of large deformation on all meshes together, about half a minute."""
MOST_UNKNOWNS = 30_000
"""Unknowns of a mesh that is made for accuracy alone: more fill a gigabyte of memory."""
LEAST_STEP, MOST_STEP = 1.25, 1.6  # by which the fineness grows at a time


@dataclass(frozen=True, eq=False)
class Refined:
    """An answer with its errors, and the block it was found on.

    Attributes
    ----------
    block : Block
        Fine at the ends of contact of this load case.
    closing : Closing
        `closing.errors` says how far its figures are off; None where nobody can say.
    coarse : tuple of (Block, Closing), optional
        The answer on the coarse mesh that the errors come from, for what may be had from less.
    """

    block: Block
    closing: Closing
    coarse: tuple[Block, Closing] | None = None


def refined(
    mold: Mold | Section,
    loads: Loads | None = None,
    *,
    accuracy_pct: float | None = None,
    fineness: float | None = None,
    most_work: int = MOST_WORK,
    progress: Progress = silent,
    **case: Any,
) -> Refined:
    """Close a block, and say how far each figure is off.

    A coarse mesh finds where contact ends; the mesh is then made fine there. What changes from the
    coarse mesh to the fine one gives the errors. Where they are larger than asked for, the whole
    is done again with shorter edges.

    Parameters
    ----------
    mold : Mold or Section
    loads : Loads, optional
        Instead of the mold's.
    accuracy_pct : float, optional
        Error that pressures may have, over the largest [%], 0.05 to 20; 1 by default. Gaps may be
        off by twice that, in percent, or by 0.005 mm for each percent.
    fineness : float, optional
        Stay at this mesh, 0.25 to 8; 1 = the default mesh, 2 halves every edge.
    most_work : int
        Unknowns times factors beyond which no finer mesh is begun.
    progress : Progress
    **case
        As for `Block.close`, without `check`: what has no answer is returned as it is. The
        deformation is "auto" by default.

    Returns
    -------
    Refined

    Raises
    ------
    BadInput
        When geometry or loads cannot be computed as given, or a figure is out of its range.
    """
    wanted = _allowed_accuracy(accuracy_pct)
    now = 1.0 if fineness is None else check_fineness(fineness)
    first = Block(mold, coarser(now))
    if fineness is None and (usual := fineness_for(first.mesh.points.size)) < now:
        now, first = usual, first.remeshed(coarser(usual))
    case = {"deformation": "auto"} | case
    asked = Question(loads, case, progress, first, Allowance(MOST_WORK_IN_ALL))
    del first
    coarse, (block, closing) = on_both_meshes(asked, now)
    if coarse[1].deformation.is_large and closing.deformation.outcome is Outcome.NOT_SETTLED:
        how = replace(coarse[1].deformation, finer=closing.deformation.outcome)
        return Refined(coarse[0], replace(coarse[1], deformation=how), coarse)
    while True:
        errors = errors_of(closing, coarse[1], now, coarser(now))
        if errors is None:
            return Refined(block, closing, coarse)
        errors = replace(errors, is_enough=_over(errors, closing, wanted) <= 1.0)
        closing = replace(closing, errors=errors)
        finer = now * _step(_over(errors, closing, wanted))
        unknowns = closing.trust.unknowns * (finer / now) ** 2
        if (
            fineness is not None
            or errors.is_enough
            or finer > MOST_FINENESS
            or unknowns > MOST_UNKNOWNS
            or unknowns * (1 + closing.deformation.tangents) > most_work
        ):
            return Refined(block, closing, coarse)
        found, known, now = Refined(block, closing, coarse), closing, finer
        try:
            coarse = asked.on(coarser(now), known)
            block, closing = asked.on(now, known)
            coarse = of_one_theory(asked, coarse, closing)
        except BadInput:  # no finer mesh can be made: the answer stands, with its errors
            return found
        if known.deformation.is_confirmed and not closing.deformation.is_confirmed:
            return found


def _allowed_accuracy(accuracy_pct: float | None) -> float:
    if accuracy_pct is None:
        return ACCURACY_PCT
    check_numbers("accuracy_pct", accuracy_pct, least=LEAST_ACCURACY_PCT, most=MOST_ACCURACY_PCT)
    return float(accuracy_pct)


def _over(errors: Errors, closing: Closing, accuracy_pct: float) -> float:
    """Return the larger of both errors over what it may be."""
    widest = max((land.largest_gap_mm for land in closing.lands), default=0.0)
    bearable = accuracy_pct * max(GAP_SHARE / 100.0 * widest, GAP_MM)
    return max(errors.pressure_pct / accuracy_pct, errors.gap_mm / bearable)


def _step(over: float) -> float:
    """Return by how much finer to make the mesh.

    By less than the second power asks for: ends of contact are known better each time, and that
    is most of what is gained.
    """
    return min(max(over**0.3, LEAST_STEP), MOST_STEP)


def close(
    mold: Mold | Section,
    loads: Loads | None = None,
    *,
    accuracy_pct: float | None = None,
    fineness: float | None = None,
    band_tension_n_per_mm: float | None = None,
    resin_kpa: float | None = None,
    friction: Friction | None = None,
    gap_mm: Gap | None = None,
    deformation: str = "auto",
    check: bool = True,
    progress: Progress = silent,
) -> Closing:
    """Compute how the cuts of a mold close, and how far each figure is off.

    Parameters
    ----------
    mold : Mold or Section
    accuracy_pct, fineness
        As for `refined`: the error that pressures may have, or the mesh to stay at.
    loads, band_tension_n_per_mm, resin_kpa, friction, gap_mm, deformation, check, progress
        As for `Block.close`.

    Returns
    -------
    Closing
        `closing.errors` says how far its figures are off.

    Raises
    ------
    BadInput
        When geometry or loads cannot be computed as given.
    NotSolved
        When there is no certified answer, unless `check` is False.

    Examples
    --------
    >>> import squeeze
    >>> mold = squeeze.load("studies/barrels/barrels-round.toml")
    >>> closing = squeeze.close(mold, band_tension_n_per_mm=0.6)
    >>> closing.outcome.has_answer, closing.lands[0].closed_share
    (True, 1.0)
    >>> closing.errors.pressure_pct < 1
    True
    """
    found = refined(
        mold,
        loads,
        accuracy_pct=accuracy_pct,
        fineness=fineness,
        band_tension_n_per_mm=band_tension_n_per_mm,
        resin_kpa=resin_kpa,
        friction=friction,
        gap_mm=gap_mm,
        deformation=deformation,
        progress=progress,
    )
    return certified(found.closing, check)
