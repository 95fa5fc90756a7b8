"""Outlines about a group of models: the smallest of a kind that leaves a wall all round.

All of them are convex. With outward normals n_k and distances d_k of the edges of an outline of
unit size, and h_k the farthest that the models reach along n_k (their support function), the
outline has to be s = max_k (wall + h_k) / d_k times as large.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from squeeze.design.blocks.outline_sizes import (
    DIRECTIONS,
    OutlineSizes,
    moved_reach,
    sizes_of,
)
from squeeze.mold.shapes.registry import SHAPES

Array = NDArray[np.float64]

UNIT_MM = 100.0
"""Width of the outlines that are scaled [mm]."""

STEP_MM = 1.0
"""Boxes are built to the whole millimetre."""

NEAR = 0.02
"""What is over a whole step by no more than this share of it counts as whole: curves are taken as
chords."""


@dataclass(frozen=True)
class OutlineKind:
    """A kind of outline.

    Attributes
    ----------
    shape : str
        Word of the mold file.
    corner : str
        ``"bevel"``, ``"radius"`` or empty.
    has_height : bool
        Whether its height is chosen apart from its width.
    """

    shape: str
    corner: str = ""
    has_height: bool = False

    @property
    def words(self) -> str:
        """What it is called."""
        with_corner = {"bevel": " with bevels", "radius": " with round corners", "": ""}
        return self.shape + with_corner[self.corner]

    @property
    def most_share(self) -> float:
        """Largest bevel or radius over the shorter side; 0 without corners."""
        shape = SHAPES[self.shape]
        return {"bevel": shape.most_bevel, "radius": shape.most_radius, "": 0.0}[self.corner]


def kinds_of(shapes: tuple[str, ...]) -> tuple[OutlineKind, ...]:
    """Return the kinds that the allowed shapes give."""
    found = []
    for shape in shapes:
        corners = ("bevel", "radius") if SHAPES[shape].has_corners else ("",)
        found += [OutlineKind(shape, corner, SHAPES[shape].has_height) for corner in corners]
    return tuple(found)


def block_of(
    kind: OutlineKind, width_mm: float, aspect: float, share: float, step_mm: float = STEP_MM
) -> dict[str, Any]:
    """Return the table of a block of a kind with a width.

    Parameters
    ----------
    kind : OutlineKind
    width_mm : float
    aspect : float
        Height over width, a ratio, where the kind has a height of its own.
    share : float
        Bevel or radius, over the shorter side.
    step_mm : float
        Width and height are rounded up to multiples of this, bevel and radius down.
    """
    wide = _up(width_mm, step_mm)
    high = _up(width_mm * aspect, step_mm) if kind.has_height else wide
    sizes = zip(SHAPES[kind.shape].keys, (wide, high), strict=False)
    table: dict[str, Any] = {"shape": kind.shape, **dict(sizes)}
    corner = _down(share * min(wide, high), step_mm)
    if kind.corner == "bevel" and corner > 0:
        table["bevel_mm"] = corner
    if kind.corner == "radius":
        table["round_mm"] = max(corner, 2.0)
    return table


def _up(value: float, step: float) -> float:
    return round(math.ceil(value / step - NEAR) * step, 6)


def _down(value: float, step: float) -> float:
    return round(math.floor(value / step + 1e-6) * step, 6)


def scale_for(
    kind: OutlineKind, reach: Array, wall_mm: float, aspect: float, share: float
) -> float:
    """Return how many times the unit outline of a kind has to be taken to leave a wall.

    Parameters
    ----------
    kind : OutlineKind
    reach : array (144,)
        Of the models from the block's middle, as `reach_along_directions` gives it [mm].
    wall_mm : float
        Rubber round them.
    aspect, share : float
        Height over width, and bevel or radius over the shorter side: ratios.
    """
    return float(((wall_mm + reach) / unit_sizes(kind, aspect, share).reach_mm).max())


def unit_sizes(kind: OutlineKind, aspect: float, share: float) -> OutlineSizes:
    """Return the sizes of the unit outline of a kind [mm]; `aspect` and `share` are ratios."""
    return sizes_of(block_of(kind, UNIT_MM, aspect, share, 1e-6))


def middle_for(
    kind: OutlineKind, reach: Array, wall_mm: float, aspect: float, share: float
) -> Array:
    """Return the place of the block's middle that makes it smallest, shape (2,) [mm].

    The outlines look the same turned by half a turn, so of the distances along each direction the
    middle of both ends is best for that direction; a few steps towards the one that binds do the
    rest.

    Parameters
    ----------
    kind : OutlineKind
    reach : array (144,)
        Of the models from the origin, as `reach_along_directions` gives it [mm].
    wall_mm : float
        Rubber round them.
    aspect, share : float
        Height over width, and bevel or radius over the shorter side: ratios.
    """
    right, up, left, down = reach[:: len(reach) // 4]
    middle = np.array([right - left, up - down]) / 2
    around = moved_reach(reach, -middle)
    half = len(reach) // 2
    if np.abs(around[:half] - around[half:]).max() < 1e-9:
        return middle  # they reach as far on either side of it, in every direction
    unit = unit_sizes(kind, aspect, share).reach_mm
    size = float(max(right + left, up + down)) or 1.0
    off, best, least = np.zeros(2), np.zeros(2), math.inf
    for k in range(60):
        asked = (wall_mm + moved_reach(around, -off)) / unit
        binds = int(np.argmax(asked))
        if asked[binds] < least - 1e-9:
            least, best = float(asked[binds]), off.copy()
        off = off + DIRECTIONS[binds] * size * 0.1 * 0.9**k
    return middle + best
