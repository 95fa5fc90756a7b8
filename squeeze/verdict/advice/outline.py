"""Rounder outlines round the same cavities: which seals with the least rubber."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import partial

import numpy as np

from squeeze.mold import section_of
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
from squeeze.verdict.advice.trial import Trial, Trials, reached, wanted

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
    for family in (_rounds, _ovals, _corners):
        trial = _first(family(mold, least_wall_mm), trials, least_wall_mm, now)
        if trial is not None:
            found.append(change_of("outline", _said(trial.mold), now, trial))
    if not found:
        return [], [f"No rounder outline that was tried {wanted(now)}."]
    return sorted(found, key=lambda change: change.rubber.mass_g)[:2], []


def _first(
    candidates: Iterator[Candidate], trials: Trials, least_wall: float, now: Trial
) -> Trial | None:
    """Return the first that seals and leaves the wall; they come from the least change on."""
    for words, make in candidates:
        trial = trials.try_out(make, words, least_wall)
        if reached(now, trial):
            return trial
    return None


def _size(mold: Mold) -> tuple[np.ndarray, np.ndarray]:
    x0, y0, x1, y1 = section_of(mold).outline.polygon.bounds
    return np.array([x1 - x0, y1 - y0]), np.array([(x0 + x1) / 2, (y0 + y1) / 2])


def _rounds(mold: Mold, least_wall: float) -> Iterator[Candidate]:
    """Round blocks with the cavities in their middle, from the least wall to the present size."""
    section = section_of(mold)
    if not section.cavities:
        return
    _, radius = cavities_middle(section)
    largest = 0.5 * float(np.hypot(*_size(mold)[0])) - radius
    for wall in np.linspace(least_wall, max(largest, least_wall), GRID):
        make = partial(round_about, mold, float(math.ceil(wall)))
        yield f"round block with a wall of {math.ceil(wall)} mm", make


def _ovals(mold: Mold, least_wall: float) -> Iterator[Candidate]:
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


def _corners(mold: Mold, least_wall: float) -> Iterator[Candidate]:
    """Yield the same sides with larger radii on their corners."""
    if SHAPES[mold.block.shape].form is not Form.CORNERS:
        return
    half = 0.5 * float(_size(mold)[0].min())
    for share in np.linspace(0.0, 0.95, GRID + 1)[1:]:
        radius = float(math.floor(share * half))
        if radius > (mold.block.round_mm or 2.0) + mold.block.bevel_mm:
            make = partial(with_block, mold, bevel_mm=0.0, round_mm=radius)
            yield f"corners of radius {radius:g} mm", make


def _said(mold: Mold) -> str:
    block = mold.block
    if block.diameter_mm is not None:
        return f"Pour a round block of {block.diameter_mm:g} mm instead"
    if block.shape == "oval":
        return f"Pour an oval block of {block.width_mm:g} x {block.height_mm:g} mm instead"
    return f"Round the corners with a radius of {block.round_mm:g} mm instead of a bevel"
