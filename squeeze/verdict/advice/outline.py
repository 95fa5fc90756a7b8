"""Rounder outlines round the same cavities: which seals with the least rubber."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import partial

import numpy as np

from squeeze.mold import section_of
from squeeze.mold.errors import BadInput
from squeeze.mold.shapes.registry import SHAPES, Form
from squeeze.mold.tables.mold import Mold
from squeeze.verdict.advice.change import Change, change_of
from squeeze.verdict.advice.changed_mold import (
    cavities_middle,
    keeps_outline,
    round_about,
    with_block,
    with_outline,
)
from squeeze.verdict.advice.trial import Trial, Trials, reaches_aim, wanted

Candidate = tuple[str, Callable[[], Mold]]

GRID = 4


def advise_outline(
    now: Trial, trials: Trials, least_wall_mm: float
) -> tuple[list[Change], list[str]]:
    """Return the rounder outlines that seal, at most two, the one with the least rubber first.

    Parameters
    ----------
    now : Trial
        The mold as it is, closed.
    trials : Trials
    least_wall_mm : float
        Outlines that come nearer to a cavity are not tried [mm].
    """
    mold = now.mold
    if now.figures.good or not mold.cut:
        return [], []
    if keeps_outline(mold):
        return [], ["Other outlines were not tried: something in this mold belongs to its outline."]
    found: list[Change] = []
    tried = (
        _least_round(mold, trials, least_wall_mm, now),
        *(_first(of(mold), trials, least_wall_mm, now) for of in (_ovals, _corners)),
    )
    for trial in tried:
        if trial is not None:
            found.append(change_of("outline", said_of_outline(trial.mold), now, trial))
    if not found:
        return [], [f"No rounder outline that was tried {wanted(now)}."]
    return sorted(found, key=lambda change: change.rubber.mass_g)[:2], []


def _first(
    candidates: Iterator[Candidate], trials: Trials, least_wall: float, now: Trial
) -> Trial | None:
    """Return the first that seals and leaves the wall; they come from the least change on."""
    for words, make in candidates:
        trial = trials.try_out(make, words, least_wall)
        if reaches_aim(now, trial):
            return trial
    return None


def _size(mold: Mold) -> tuple[np.ndarray, np.ndarray]:
    x0, y0, x1, y1 = section_of(mold).outline.polygon.bounds
    return np.array([x1 - x0, y1 - y0]), np.array([(x0 + x1) / 2, (y0 + y1) / 2])


def _least_round(mold: Mold, trials: Trials, least_wall: float, now: Trial) -> Trial | None:
    """Return the smallest round block that reaches the aim, to a millimetre of its wall.

    It has to do so in every variation of rubber, friction and bands. Where no round block does, the
    one with the most variations that have nothing to mend.
    """

    def at(wall: int) -> Trial | None:
        words = f"round block with a wall of {wall} mm"
        make = partial(round_about, mold, float(wall))
        trial = trials.try_out(make, words, least_wall, vary=True)
        return trial if reaches_aim(now, trial) else None

    low, best = None, None
    for high in _round_walls(mold, least_wall):
        found = at(high)
        if found is not None and found.is_clean_throughout:
            break
        if found is not None and (best is None or found.clean_in > best.clean_in):
            best = found
        low = high
    else:
        return best
    while low is not None and high - low > 1:
        middle = (low + high) // 2
        trial = at(middle)
        if trial is not None and trial.is_clean_throughout:
            high, found = middle, trial
        else:
            low = middle
    return found


WIDER_MM = (2, 5, 10)
"""How much wider round blocks are tried where the least one is not clean throughout at large
deformation [mm]; a judgement."""


def wider_rounds(mold: Mold) -> Iterator[Mold]:
    """Yield a mold in wider round blocks, from the least on; it is in a round one."""
    block = mold.block
    assert block.diameter_mm is not None
    for more in WIDER_MM:
        try:
            yield with_outline(mold, {"shape": "round", "diameter_mm": block.diameter_mm + more})
        except BadInput:
            return


def _round_walls(mold: Mold, least_wall: float) -> list[int]:
    """Return walls of round blocks about the cavities, from the least to the present size [mm]."""
    section = section_of(mold)
    if not section.cavities:
        return []
    _, radius = cavities_middle(section)
    largest = 0.5 * float(np.hypot(*_size(mold)[0])) - radius
    walls = np.linspace(least_wall, max(largest, least_wall), GRID)
    return list(dict.fromkeys(math.ceil(wall) for wall in walls))


def _ovals(mold: Mold) -> Iterator[Candidate]:
    """Ovals in the block's place: as wide and high as it is, then with a longer short axis."""
    size, middle = _size(mold)
    long, short = float(size.max()), float(size.min())
    for other in dict.fromkeys(math.ceil(x) for x in np.linspace(short, long, GRID)):
        width, height = (long, other) if size[0] >= size[1] else (other, long)
        width, height = math.ceil(width), math.ceil(height)
        if width == height:
            block = {"shape": "round", "diameter_mm": width}
        else:
            block = {"shape": "oval", "width_mm": width, "height_mm": height}
        make = partial(with_outline, mold, block, tuple(middle))
        yield f"{block['shape']} block, {width} x {height} mm", make


def _corners(mold: Mold) -> Iterator[Candidate]:
    """Yield the same sides with larger radii on their corners."""
    if SHAPES[mold.block.shape].form is not Form.CORNERS:
        return
    half = 0.5 * float(_size(mold)[0].min())
    for share in np.linspace(0.0, 0.95, GRID + 1)[1:]:
        radius = float(math.floor(share * half))
        if radius > (mold.block.round_mm or 2.0) + mold.block.bevel_mm:
            make = partial(with_block, mold, bevel_mm=0.0, round_mm=radius)
            yield f"corners of radius {radius:g} mm", make


def said_of_outline(mold: Mold) -> str:
    """Return which outline a mold is to be poured in, in words."""
    block = mold.block
    if block.diameter_mm is not None:
        return f"Pour a round block of {block.diameter_mm:g} mm instead"
    if block.shape == "oval":
        return f"Pour an oval block of {block.width_mm:g} x {block.height_mm:g} mm instead"
    return f"Round the corners with a radius of {block.round_mm:g} mm instead of a bevel"
