"""Area, girth and reach of an outline, by closed forms.

The search compares thousands of blocks by them, and the curve itself takes a hundred times as long
to build. A convex polygon whose corners have a radius is a smaller polygon grown by that radius on
all sides, so J. Steiner's formulas (1840) give its area and its length.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ellipe

from squeeze.mold.shapes.corners import ROUND_MM
from squeeze.mold.shapes.registry import SHAPES, Form

Array = NDArray[np.float64]

_ANGLES = np.arange(144) * math.tau / 144
DIRECTIONS = np.column_stack([np.cos(_ANGLES), np.sin(_ANGLES)])
"""Unit vectors (144, 2) in which an outline's reach is taken: those across all straight sides of
the shapes are among them."""


@dataclass(frozen=True, eq=False)
class OutlineSizes:
    """Sizes of an outline round its middle.

    Attributes
    ----------
    area_mm2, girth_mm : float
    across_mm : float
        Diameter of the circle round it; at bevels up to a thousandth more.
    reach_mm : array (144,)
        How far it reaches from its middle in each of `DIRECTIONS`.
    """

    area_mm2: float
    girth_mm: float
    across_mm: float
    reach_mm: Array

    @property
    def size_mm(self) -> tuple[float, float]:
        """Its width and its height."""
        right, up, left, down = self.reach_mm[:: len(self.reach_mm) // 4]
        return float(right + left), float(up + down)


def reach_along_directions(points: Array) -> Array:
    """Return how far `points` (n, 2) [mm] reach from the origin in each of `DIRECTIONS` (144,)."""
    return (points @ DIRECTIONS.T).max(axis=0)


def moved_reach(reach: Array, by: Array) -> Array:
    """Return the `reach` (144,) of what is moved `by` (2,) [mm]."""
    return reach + DIRECTIONS @ by


def sizes_of(block: dict[str, Any]) -> OutlineSizes:
    """Return the sizes of the outline of a block's table: a shape of the registry, not drawn.

    Parameters
    ----------
    block : dict
        Its lengths in [mm].

    Raises
    ------
    ValueError
        When it is drawn.
    """
    return _sizes(tuple(sorted(block.items())))


@lru_cache(maxsize=4096)
def _sizes(items: tuple[tuple[str, Any], ...]) -> OutlineSizes:
    block = dict(items)
    kind = SHAPES[block["shape"]]
    if kind.form is Form.POINTS:
        raise ValueError("a drawn outline has no closed form")
    figures = [float(block[key]) / 2 for key in kind.keys]
    halves = np.array([figures[0], figures[-1]])
    if kind.form is Form.ELLIPSE:
        a, b = float(halves.max()), float(halves.min())
        reach = np.hypot(*(DIRECTIONS * halves).T)
        girth = 4 * a * float(ellipe(1 - (b / a) ** 2))
        return OutlineSizes(math.pi * a * b, girth, 2 * a, reach)
    corners = np.array(kind.corners) * halves
    corners = _bevelled(corners, float(block.get("bevel_mm", 0.0)))
    radius, centres = _grown(corners, block.get("round_mm"))
    after = _next(centres)
    area = 0.5 * float(np.sum(centres[:, 0] * after[:, 1] - after[:, 0] * centres[:, 1]))
    length = float(np.hypot(*(after - centres).T).sum())
    return OutlineSizes(
        area + radius * length + math.pi * radius**2,
        length + math.tau * radius,
        2 * (float(np.hypot(*centres.T).max()) + radius),
        reach_along_directions(centres) + radius,
    )


def _next(rows: Array) -> Array:
    """Return the row after each, the first after the last; `np.roll` takes five times as long."""
    return np.concatenate([rows[1:], rows[:1]])


def _before(rows: Array) -> Array:
    return np.concatenate([rows[-1:], rows[:-1]])


def _bevelled(corners: Array, leg_mm: float) -> Array:
    if leg_mm <= 0:
        return corners
    side = _next(corners) - corners
    along = side / np.hypot(*side.T)[:, None]
    ends = np.stack([corners - leg_mm * _before(along), corners + leg_mm * along], 1)
    return ends.reshape(-1, 2)


def _grown(corners: Array, round_mm: float | None) -> tuple[float, Array]:
    """Return the radius of the corners [mm], and the middles (n, 2) of their arcs."""
    side = _next(corners) - corners
    length = np.hypot(*side.T)
    along = side / length[:, None]
    before = _before(along)
    cosine = np.sum(along * before, axis=1)  # of the turn at each corner
    radius = round_mm
    if radius is None:  # what half of the shorter side carries
        per_radius = np.sqrt((1 - cosine) / (1 + cosine))
        fits = np.minimum(length, _before(length)) / 2 / per_radius
        radius = min(ROUND_MM, float(fits.min()))
    inward = np.column_stack([-along[:, 1] - before[:, 1], along[:, 0] + before[:, 0]])
    return float(radius), corners + radius * inward / (1 + cosine)[:, None]
