"""Families of blocks: one kind of outline, one arrangement of the models, one kind of cradle.

What varies within a family is continuous: wall, height over width, bevel or radius, rise of the
backs, and where the models sit. Families are searched one by one, and may be in any order.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from squeeze.design.blocks.block_dict import MOST_RISE, Cradle, mold_dict
from squeeze.design.blocks.limits import BandAtHand, Limits
from squeeze.design.blocks.outline_sizes import moved_reach, reach_along_directions
from squeeze.design.blocks.outlines import (
    UNIT_MM,
    OutlineKind,
    block_of,
    kinds_of,
    middle_for,
    scale_for,
    unit_sizes,
)
from squeeze.design.models.arrange import arrangements
from squeeze.design.models.group import Models, moved, with_free_cuts
from squeeze.mold import Mold

Array = NDArray[np.float64]

FREE_ANGLES = (0.0, 45.0, 90.0)
"""Directions of free cuts that are tried [deg]."""

CORNER_TURNS = {"square": (0.0, 45.0), "hexagon": (0.0, 90.0)}
"""Turns of the models in a block that is not the same all round [deg]. In a round block none
matters; in an oval and a rectangle the height over the width does the same."""

BOARDED = ("square", "rectangle")
FOUR = ("top", "bottom", "left", "right")
LIGHT_SHARE = 0.04
"""Bevel of a block with boards, over its shorter side."""


@dataclass(frozen=True)
class Point:
    """A place in a family, all from 0 to 1 but the wall.

    Attributes
    ----------
    wall_mm : float
        Wall that is asked for; a block may get more, when its bands need a larger girth.
    aspect, corner, offset : float
        0 to 1: height over width on a log scale; bevel, radius or rise of the backs over the most;
        how far the models sit off the middle, 0.5 = not at all.
    """

    wall_mm: float
    aspect: float = 0.5
    corner: float = 0.0
    offset: float = 0.5


@dataclass(frozen=True)
class Family:
    """A kind of block about an arrangement of the models.

    Attributes
    ----------
    kind : OutlineKind
    models : Models
    turn_deg : float
        Of the models in the block.
    cradle : Cradle or None
    words : str
        What distinguishes it.
    """

    kind: OutlineKind
    models: Models
    turn_deg: float
    cradle: Cradle | None
    words: str
    turned: Models = field(init=False, repr=False, compare=False)
    points: Array = field(init=False, repr=False, compare=False)
    reach: Array = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        turned = moved(self.models, self.turn_deg, (0.0, 0.0))
        object.__setattr__(self, "turned", turned)
        object.__setattr__(self, "points", turned.points())
        object.__setattr__(self, "reach", reach_along_directions(self.points))

    @property
    def varied(self) -> tuple[str, ...]:
        """Names of what varies besides the wall."""
        named = []
        if self.kind.has_height:
            named.append("aspect")
        if self.kind.corner or self.cradle:
            named.append("corner")
        return (*named, "offset")

    def aspects(self) -> tuple[float, float]:
        """Return the least and the most height over width that are worth trying."""
        wide, high = np.ptp(self.points, axis=0)
        own = float((high + 10.0) / (wide + 10.0))
        if self.kind.shape == "oval":
            return min(0.35, own), max(1.0, min(1 / 0.35, own)) if own <= 1 else 1 / 0.35
        return min(0.4, own), max(1.0, own) if own <= 1 else max(2.5, own)

    def placed(self, at: Point, wrap_mm: float, step_mm: float) -> tuple[dict[str, Any], Array]:
        """Return the table of the block at a place, and its middle (2,) as the models stand [mm].

        Parameters
        ----------
        at : Point
        wrap_mm : float
            Least girth of the block [mm].
        step_mm : float
            Sizes are multiples of this [mm].
        """
        low, high = self.aspects()
        aspect = low * (high / low) ** at.aspect if self.kind.has_height else 1.0
        share = LIGHT_SHARE if self.cradle else at.corner * self.kind.most_share
        middle = middle_for(self.kind, self.reach, at.wall_mm, aspect, share)
        off = (at.offset - 0.5) * float(np.ptp(self.points, axis=0).max() + 2 * at.wall_mm)
        middle = middle + off * self._across()
        size = scale_for(self.kind, moved_reach(self.reach, -middle), at.wall_mm, aspect, share)
        size = max(size, wrap_mm / unit_sizes(self.kind, aspect, share).girth_mm)
        block = block_of(self.kind, size * UNIT_MM, aspect, share, step_mm)
        return block, middle

    def rise_mm(self, at: Point, width_mm: float) -> float:
        """Return the rise of the boards' backs on a block `width_mm` wide [mm]."""
        return max(0.5, at.corner * MOST_RISE * width_mm)

    def data(self, base: Mold, at: Point, wrap_mm: float, step_mm: float) -> dict[str, Any]:
        """Return the mold at a place, with a girth of at least `wrap_mm`, without bands.

        Parameters
        ----------
        base : Mold
        at : Point
        wrap_mm : float
        step_mm : float
            Sizes are multiples of this [mm].
        """
        block, middle = self.placed(at, wrap_mm, step_mm)
        placed = moved(self.turned, 0.0, (-float(middle[0]), -float(middle[1])))
        boards = None
        if self.cradle is not None:
            wide = block["width_mm"]
            boards = self.cradle.tables(self.rise_mm(at, wide))
        return mold_dict(base, block, placed, [], boards)

    def _across(self) -> Array:
        """Return the unit vector across the first cut, along which the models may sit off."""
        for part in self.turned.sections:
            for cut in part.cuts:
                along = np.subtract(cut.path[-1], cut.path[0])
                return np.array([-along[1], along[0]]) / max(float(np.hypot(*along)), 1e-9)
        return np.array([0.0, 1.0])


def least_wrap_mm(limits: Limits) -> float:
    """Return the least girth that stretches some band at hand enough [mm]."""
    wraps = [kind.wraps_mm() for kind in limits.bands]
    return 0.0 if None in wraps else min((w[0] for w in wraps if w), default=0.0)


def shared_band(kinds: tuple[BandAtHand, ...]) -> list[dict[str, Any]]:
    """Return bands that stand in while a block is screened, so that the pot counts their height."""
    return [kinds[0].table | ({"count": 1} if kinds[0].most else {})] if kinds else []


def families(models: Models, limits: Limits, how: dict[str, Any]) -> Iterator[Family]:
    """Yield every kind of block that the wishes allow.

    Parameters
    ----------
    models : Models
        As the file has them.
    limits : Limits
    how : dict
        Keys that free cuts share.
    """
    wishes = limits.wishes
    kinds = kinds_of(wishes.outlines)
    for group, words in _groups(models, limits, how):
        for kind in kinds:
            turns = CORNER_TURNS.get(kind.shape, (0.0,)) if wishes.turn else (0.0,)
            for turn in turns:
                said = [kind.words, *words]
                if turn:
                    said.append(f"models turned by {turn:g} degrees")
                yield Family(kind, group, turn, None, ", ".join(said))
        if limits.allows_boards:
            yield from _boarded(group, words, limits)


def _boarded(group: Models, words: list[str], limits: Limits) -> Iterator[Family]:
    for shape in BOARDED:
        if shape not in limits.wishes.outlines:
            continue
        for sides in (FOUR,) if shape == "square" else (_facing(group), FOUR):
            cradle = Cradle(sides, limits.wishes.cradle_material)
            kind = OutlineKind(shape, "bevel", shape == "rectangle")
            said = ", ".join([f"{shape} with {cradle.words}", *words])
            yield Family(kind, group, 0.0, cradle, said)


def _facing(group: Models) -> tuple[str, ...]:
    """Return the two sides that face the cuts, so that boards there press them shut."""
    paths = [np.subtract(c.path[-1], c.path[0]) for part in group.sections for c in part.cuts]
    along = np.abs(np.sum([np.abs(p) for p in paths], axis=0)) if paths else np.array([1.0, 0.0])
    return ("top", "bottom") if along[0] >= along[1] else ("left", "right")


def _groups(
    models: Models, limits: Limits, how: dict[str, Any]
) -> Iterator[tuple[Models, list[str]]]:
    """Yield the arrangements with their cuts, and what is to be said of each."""
    if limits.has_own_cuts:
        yield models, []
        return
    if limits.wishes.arrange == "kept":
        for angle in FREE_ANGLES:
            words = [] if not angle else [f"cut at {angle:g} degrees"]
            yield with_free_cuts(models, angle, how), words
        return
    for group in arrangements(models, limits.wishes.between_mm, how):
        yield group, [group.say]


def walls(limits: Limits, points: Array) -> tuple[float, float]:
    """Return the least wall and the most that is worth trying about `points` (n, 2) [mm]."""
    least = limits.wishes.least_wall_mm
    return least, max(2.5 * least, 0.5 * float(np.ptp(points, axis=0).max()))


def finite(value: float) -> float | None:
    """Return `value`, of any unit [-], as JSON takes it: None where it is not finite."""
    return value if math.isfinite(value) else None
