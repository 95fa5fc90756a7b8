"""The least number of bands, or tension, that seals, or why more will not help."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import asdict
from typing import Any

from squeeze.mold.forces.bands import (
    WORKING_STRETCH,
    size_of,
    strand_n,
    stretch_of,
    stretching_well,
)
from squeeze.mold.forces.loads import wrap_mm
from squeeze.mold.tables.loads import BandTable
from squeeze.mold.tables.mold import Mold
from squeeze.solve.allowance import Allowance
from squeeze.solve.along.loads import lying_width_mm
from squeeze.solve.block import Block
from squeeze.verdict.advice.bisection import boundary
from squeeze.verdict.advice.change import Change, change_of
from squeeze.verdict.advice.changed_mold import with_entry
from squeeze.verdict.advice.trial import Trial, Trials, coarse_block
from squeeze.verdict.remarks import MORE_BANDS, STRAIN_LIMIT_PCT, bands_help
from squeeze.verdict.seal.barrier import seal_of
from squeeze.verdict.uncertainty import PULL

SLACK = PULL[0]
"""Bands that are advised still seal when they pull only so many times as hard."""

AMPLE = 5.0
"""Fewer bands are looked for where these press so many times as hard as the resin; a judgement."""

WALLS_APART = 2.0
"""Fewer bands are not advised when they would lie farther apart than so many times the least wall.
A push that waves along the block with the pitch L has lost all but (1 + kz) exp(-kz), k = 2 pi / L,
of its waves at the depth z (K. L. Johnson, Contact Mechanics, 1985): 18 % are left at L = 2 z."""

TOUCHES_MM = 0.01
"""Faces touch where they stand no more than a hairline apart."""

MOST_TOUCHING = 6.0
"""Largest pull at which touching faces are looked for, over the present one; rubber and hands bear
no more."""

TOUCHING_WITHIN = 0.1
"""How near that pull is looked for, in times the present one."""

MOST_WORK = 300_000
"""Unknowns times tangents that this may take, some ten seconds."""

MOST_TIMES = 50.0
"""Largest pull that is tried, over the present one; more would squash the castings flat."""


def advise_bands(block: Block, now: Trial, trials: Trials) -> tuple[list[Change], list[str]]:
    """Return what to do about the bands, and sentences when that is nothing.

    Parameters
    ----------
    block : Block
        Of the mold as it is.
    now : Trial
        The mold as it is, closed.
    trials : Trials
    """
    mold = now.mold
    if not mold.band or not now.closing.lands:
        return [], []
    number = _strongest(mold, wrap_mm(block.section))
    if _pull(mold.band[number]) == 0:
        return [], []
    if not now.figures.seals:
        mold = _with_shorter(mold, number, wrap_mm(block.section))
    tried: dict[float, Trial] = {}
    closed: dict[float, tuple[Trial, bool]] = {}  # by count or tension

    def seals(times: float) -> bool:
        pulled = with_pull(mold, number, times)
        pull = _pull(pulled.band[number])
        if pull not in closed:
            trials.say(f"bands, {times:.2f} times the pull")
            trial = trials.close(block, pulled)
            holds = trial.figures.seals and trials.close(block, pulled, pull=SLACK).figures.seals
            closed[pull] = trial, holds
        tried[times], holds = closed[pull]
        return holds

    if now.figures.seals:
        return _fewer(mold, number, now, seals, tried), []
    most = _most_times(mold, number, wrap_mm(block.section))
    if not seals(most):
        return [], _no_help(block, now.mold, mold.band[number], most, trials)
    if seals(1.0):  # shorter bands, no more of them
        return _bands_change(tried[1.0], now, number), []
    times = boundary(seals, 1.0, most, 0.02)
    return _bands_change(_least(mold, number, times, seals, tried), now, number), []


def _with_shorter(mold: Mold, number: int, wrap: float) -> Mold:
    """Return the mold with bands that stretch well, where its own are stretched too little."""
    band = mold.band[number]
    size, stretch = size_of(band), stretch_of(band, wrap)
    if size is None or stretch is None or stretch >= WORKING_STRETCH[0]:
        return mold
    stock, better = stretching_well(size, wrap)
    keys: dict[str, Any] = dict.fromkeys(("width_mm", "thickness_mm", "flat_length_mm"))
    keys = {"stock": stock} | keys if stock else {"stock": None} | asdict(better)
    return with_entry(mold, "band", number, **keys)


def _most_times(mold: Mold, number: int, wrap: float) -> float:
    """Return the largest pull that is tried, over the present one: bands have to fit."""
    band = mold.band[number]
    if size_of(band) is None:
        return MOST_TIMES
    fit = math.floor(mold.length_mm / lying_width_mm(band, wrap))
    return max(1.0, min(MOST_TIMES, fit / band.strands))


def _no_help(block: Block, mold: Mold, band: BandTable, most: float, trials: Trials) -> list[str]:
    """Say that more bands do not help; with many, the resin no longer matters, so leave it out."""
    if not mold.push and not any(_gaps(mold)):
        closing = block.close(resin_kpa=0.0, check=False)
        if not bands_help(closing, seal_of(closing)):
            number = _strongest(mold, wrap_mm(block.section))
            return [MORE_BANDS, *_touching(block, mold, number, trials)]
    if most < MOST_TIMES:
        count = math.floor(most * band.strands + 1e-9)
        return [
            f"Even {count} bands{_size(band)}, side by side, do not make it seal: take"
            " stronger ones, or change the shape."
        ]
    return [f"Even {most:.0f} times the pull does not make it seal: change the shape instead."]


def _size(band: BandTable) -> str:
    return f" of size {band.stock}" if band.stock else ""


def _touching(block: Block, mold: Mold, number: int, trials: Trials) -> list[str]:
    """Say at how many times the pull the faces touch, with the block as it deforms.

    About, on a coarse mesh. Nothing where the block has no equilibrium at the largest pull that is
    tried.
    """
    converged, coarse, last = True, coarse_block(block), None
    within = Allowance(MOST_WORK)

    def touch(times: float) -> bool:
        nonlocal converged, last
        trials.say(f"bands, {times:.2f} times the pull, large deformation")
        pulled = with_pull(mold, number, times)
        closing = trials.close(coarse, pulled, "large", last, within=within).closing
        converged, last = converged and closing.deformation.is_large, closing
        return converged and max(land.largest_gap_mm for land in closing.lands) < TOUCHES_MM

    if not touch(MOST_TOUCHING):
        words = f"Even {MOST_TOUCHING:g} times the pull leaves its faces apart."
        return [words] if converged else []
    times = boundary(touch, 1.0, MOST_TOUCHING, TOUCHING_WITHIN)
    return [
        f"That holds up to about {times:.1f} times the pull, which squashes the block until its"
        " faces touch all along."
    ] * converged


def _gaps(mold: Mold) -> list[float]:
    return [float(cut.misfits) for cut in mold.cut]


def _strongest(mold: Mold, wrap: float) -> int:
    pulls = [(strand_n(b, wrap) or 0.0) * b.strands or b.tension_n_per_mm or 0.0 for b in mold.band]
    return max(range(len(pulls)), key=lambda k: pulls[k])


def _pull(band: BandTable) -> float:
    """Return what `with_pull` multiplies: a count, or a tension."""
    return band.tension_n_per_mm if band.tension_n_per_mm is not None else float(band.strands)


def with_pull(mold: Mold, number: int, times: float) -> Mold:
    """Return the mold with `times` the bands of one kind, rounded up to whole bands, 0.01 N/mm.

    Bands at given places become as many as needed, evenly spread.

    Parameters
    ----------
    mold : Mold
    number : int
        Of the kind, from 0, as the file lists them.
    times : float
        As a ratio.
    """
    band = mold.band[number]
    if band.tension_n_per_mm is not None:
        tension = math.ceil(100 * band.tension_n_per_mm * times - 1e-9) / 100
        return with_entry(mold, "band", number, tension_n_per_mm=tension)
    count = math.ceil(band.strands * times - 1e-9)
    return with_entry(mold, "band", number, count=count, at_mm=None)


def _least(
    mold: Mold, number: int, times: float, seals: Callable[[float], bool], tried: dict[float, Trial]
) -> Trial | None:
    """Return the least whole number of bands near `times` at which it seals."""
    step = 0.01 if mold.band[number].tension_n_per_mm is not None else 1.0
    pull = _pull(mold.band[number])
    most = math.ceil(pull * times / step) + 1
    found = None
    for n in range(most, most - 4, -1):
        each = round(n * step, 10) / pull
        if each <= 0 or not seals(each):
            break
        found = tried[each]
    return found


def _fewer(
    mold: Mold, number: int, now: Trial, seals: Callable[[float], bool], tried: dict[float, Trial]
) -> list[Change]:
    """Advise fewer bands where the margin is ample: the castings are squashed less."""
    pull = _pull(mold.band[number])
    low = _fewest(now, number) / pull
    if now.figures.margin < AMPLE or low >= 1:
        return []
    if seals(low):
        trial = tried[low]
    else:
        step = 0.01 if mold.band[number].tension_n_per_mm is not None else 1.0
        times = boundary(seals, low, 1.0, 0.5 * step / pull)
        trial = _least(mold, number, times, seals, tried)
    return _bands_change(trial, now, number, fewer=True)


def _fewest(now: Trial, number: int) -> float:
    """Return the fewest bands, or the least tension, that may be advised."""
    band = now.mold.band[number]
    if band.tension_n_per_mm is not None:
        return 0.01
    return max(1, math.ceil(now.mold.length_mm / (WALLS_APART * (now.wall_mm or 10.0))))


def _bands_change(
    trial: Trial | None, now: Trial, number: int, fewer: bool = False
) -> list[Change]:
    if trial is None or trial.mold.band == now.mold.band:
        return []
    before, after = now.mold.band[number], trial.mold.band[number]
    if before.tension_n_per_mm is not None:
        much = "Less tension would do" if fewer else "More tension"
        say = f"{much}: {after.tension_n_per_mm:g} instead of {before.tension_n_per_mm:g} N/mm"
    else:
        shorter = size_of(before) != size_of(after)
        much = "Fewer bands would do" if fewer else "Shorter bands" if shorter else "More bands"
        say = f"{much}: {after.strands}{_size(after)} instead of {before.strands}"
        if shorter:
            wrap = wrap_mm(now.closing.section)
            flat = "" if after.stock else f" {after.flat_length_mm:g} mm long when flat"
            now_on, then = (stretch_of(band, wrap) or 0.0 for band in (before, after))
            say = (
                f"{much}: {after.strands}{_size(after)}{flat} instead of"
                f" {before.strands}{_size(before)}, stretched {then:.2f} instead of"
                f" {now_on:.2f} times"
            )
    if trial.trust.largest_strain_pct > max(STRAIN_LIMIT_PCT, now.trust.largest_strain_pct):
        say += f", which strains the rubber by {trial.trust.largest_strain_pct:.0f} %"
    return [change_of("fewer bands" if fewer else "bands", say, now, trial)]
