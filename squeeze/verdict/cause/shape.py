"""Outlines that leave a cut open: a flat above it, corners that take the pull."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from squeeze.mold.geometry.curve import Line
from squeeze.mold.section.records import Section
from squeeze.mold.tables.mold import Mold
from squeeze.solve.closing import Closing
from squeeze.solve.land import Land
from squeeze.verdict.cause.record import Cause
from squeeze.verdict.cause.resin import direction
from squeeze.verdict.place import side_of
from squeeze.verdict.words import length

STRAIGHT = 0.5
"""Share of the outline that is straight from which on the bands push only at the corners."""


SHALLOW = 0.4
"""A cut runs under a flat where it lies no deeper than so much of the block; a judgement."""


PARALLEL = 0.9
"""Least cosine between a cut and the flat that it runs under."""


def open_by_shape(
    closing: Closing, lands: Sequence[Land], mold: Mold | None, inches: bool
) -> Iterator[Cause]:
    """Yield the cause that the outline leaves the widest of the open lands open."""
    section = closing.section
    gaping = [land for land in lands if land.largest_gap_mm > 0]
    if not gaping or closing.loads.tension_n_per_mm == 0:
        return
    land = max(gaping, key=lambda each: each.largest_gap_mm)
    under = None if section.cradles else flat_over(land, section)
    if under is not None:
        side, deep = under
        yield Cause(
            "flat",
            f"The cut runs {length(deep, inches)} under the flat {side}, where no band turns, so"
            " none presses.",
            f"Bevel or round the corners, put a round-backed board on the {side}, or move the cut.",
        )
    elif not section.cradles and straight_share(section) > STRAIGHT:
        yield Cause(
            "corners",
            "The bands push only at the corners, and the block bends open between them.",
            _rounder(mold),
        )
    else:
        yield Cause(
            "shape",
            "The shape of block and cavity leaves the cut open there.",
            "Move the cut, change the outline, or use a stiffer cradle.",
        )


def _rounder(mold: Mold | None) -> str:
    """Say how to spread a push that comes at the corners alone."""
    beveled = mold is not None and mold.block.bevel_mm > 0
    corners = "Round the corners, or bevel them more" if beveled else "Bevel or round the corners"
    return f"{corners}, or put round-backed boards under the bands."


def straight_share(section: Section) -> float:
    """Return how much of the block's outline is straight, 0..1."""
    outline = section.outline
    sides = [piece.length for piece in outline.pieces if isinstance(piece, Line)]
    return sum(side for side in sides if side > 0.05 * outline.length) / outline.length


def flat_over(land: Land, section: Section) -> tuple[str, float] | None:
    """Return the side of the block that a land runs under, and how deep [mm]; None for none."""
    along = direction(land)
    middle = np.array([land.x_mm.mean(), land.y_mm.mean()])
    x0, y0, x1, y1 = section.outline.polygon.bounds
    for piece in section.outline.pieces:
        if not isinstance(piece, Line):
            continue
        a, b = np.array(piece.start), np.array(piece.end)
        t = (b - a) / piece.length
        s = float((middle - a) @ t)
        deep = abs(float((middle - a) @ np.array([-t[1], t[0]])))
        whole = abs(t[1]) * (x1 - x0) + abs(t[0]) * (y1 - y0)
        over = 0 < s < piece.length and piece.length > land.length_mm
        if abs(float(t @ along)) > PARALLEL and over and deep < SHALLOW * whole:
            return side_of(piece.place(0.5), section), deep
    return None
