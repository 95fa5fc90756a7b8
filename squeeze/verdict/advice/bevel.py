"""The least bevel at which every land seals, and what it leaves of the wall."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from squeeze.mold import section_of
from squeeze.mold.errors import BadInput
from squeeze.mold.shapes.outline import loop_of
from squeeze.mold.shapes.registry import SHAPES
from squeeze.mold.tables.mold import Mold
from squeeze.verdict.advice.bisection import boundary
from squeeze.verdict.advice.change import Change, change_of
from squeeze.verdict.advice.changed_mold import with_block
from squeeze.verdict.advice.rubber_cost import wall_mm
from squeeze.verdict.advice.trial import Trial, Trials, reaches_aim, wanted
from squeeze.verdict.words import length

STEP_MM = 0.5
"""Bevels are advised to this step [mm]."""

GRID = 6


def advise_bevel(
    now: Trial, trials: Trials, least_wall_mm: float
) -> tuple[list[Change], list[str]]:
    """Return the least bevel that seals, and sentences when there is none.

    Parameters
    ----------
    now : Trial
        The mold as it is, closed.
    trials : Trials
    least_wall_mm : float
        A bevel that comes nearer to a cavity is refused [mm].
    """
    mold = now.mold
    if now.figures.good or not SHAPES[mold.block.shape].has_corners:
        return [], []
    present = mold.block.bevel_mm
    most = largest_bevel_mm(mold, least_wall_mm)
    if most < present + STEP_MM:
        return [], [_refused(present, least_wall_mm)]
    found = least_bevel(now, present, most, trials)
    if found is None:
        return [], [
            f"No bevel up to {most:g} mm, the largest that leaves {length(least_wall_mm)} of wall, "
            f"{wanted(now)}."
        ]
    say = f"Bevel the corners by {found.mold.block.bevel_mm:g} instead of {present:g} mm"
    return [change_of("bevel", say, now, found)], []


def _refused(present: float, least_wall: float) -> str:
    return (
        f"A larger bevel than {present:g} mm is refused: it would leave less than "
        f"{length(least_wall)} of wall round a cavity, or nothing of a side."
    )


def beveled(mold: Mold, bevel_mm: float) -> Mold:
    """Return the mold with a bevel of `bevel_mm` [mm]."""
    return with_block(mold, bevel_mm=float(bevel_mm))


def largest_bevel_mm(mold: Mold, least_wall_mm: float) -> float:
    """Return the largest bevel that fits the sides and leaves the wall, to 0.5 mm.

    `least_wall_mm` is the least distance from a cavity to the outline [mm].
    """
    x0, y0, x1, y1 = section_of(mold).outline.polygon.bounds
    low = math.ceil(mold.block.bevel_mm / STEP_MM)
    high = math.floor(0.5 * min(x1 - x0, y1 - y0) / STEP_MM)
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (
            (middle, high) if _leaves(mold, middle * STEP_MM, least_wall_mm) else (low, middle - 1)
        )
    return low * STEP_MM


def _leaves(mold: Mold, bevel: float, least_wall: float) -> bool:
    try:
        section = section_of(beveled(mold, 0.0))
        outline = loop_of(beveled(mold, bevel).block)
    except BadInput:
        return False
    inside = replace(section, outline=outline)
    holes = [cavity.loop.polygon for cavity in section.cavities]
    if not all(outline.polygon.contains(hole) for hole in holes):
        return False
    wall = wall_mm(inside)
    return wall is None or wall >= least_wall - 1e-6


def least_bevel(now: Trial, low: float, high: float, trials: Trials) -> Trial | None:
    """Return the trial with the least bevel that seals, to 0.5 mm; None = none does.

    It lies between `low` and `high` [mm].
    """
    mold = now.mold
    tried: dict[float, Trial | None] = {}

    def seals(bevel: float) -> bool:
        bevel = math.ceil(bevel / STEP_MM - 1e-9) * STEP_MM
        if bevel not in tried:
            words = f"bevel of {bevel:g} mm"
            tried[bevel] = trials.try_out(lambda: beveled(mold, bevel), words)
        trial = tried[bevel]
        return reaches_aim(now, trial)

    grid = np.linspace(low, high, GRID + 1)[1:]
    first = next((k for k, bevel in enumerate(grid) if seals(float(bevel))), None)
    if first is None:
        return None
    below = low if first == 0 else float(grid[first - 1])
    boundary(seals, below, float(grid[first]), STEP_MM / 2)
    good = [b for b, trial in tried.items() if reaches_aim(now, trial)]
    return tried[min(good)]
