"""Places in a family: what a block costs there, by its geometry alone.

A computation shows how a block closes. Its rubber, its girth, its work and the pull of its
bands need none, so thousands of blocks can be compared by them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from squeeze.design.blocks.family import (
    Family,
    Point,
    least_wrap_mm,
    shared_band,
    walls,
)
from squeeze.design.blocks.limits import Limits
from squeeze.design.blocks.outline_sizes import OutlineSizes, sizes_of
from squeeze.design.blocks.work import bands_on, box_steps, steps_of
from squeeze.design.search.drafts import Found
from squeeze.design.search.given_up import FITS_NOT, OVERSIZE, Unfit
from squeeze.design.search.screen import PITCH, bands_for, check_fit, kind_pull
from squeeze.mold import Mold, mold_of, section_of, wrap_mm
from squeeze.mold.fit import volumes_of
from squeeze.mold.tables.shape import BlockTable

Array = NDArray[np.float64]

STEP_MM = 1.0
"""Sizes of what is poured are multiples of this."""

PLAIN, MIDDLE, OFF = 0.3, 0.5, 0.15
"""Share of the places without strips or fillets; with the models in the middle; and how far off it
the others have them."""

BANDS_MM = 20.0
"""What leaves this much room in the pot is not looked at more closely here [mm]: bands add less to
its width, and screening checks it again."""

LOOK = (
    (0.25, 0.6, 0.65, 0.0),
    (0.7, 0.3, 0.0, 0.0),
    (0.1, 0.9, 1.0, 0.9),
    *((0.0, aspect, corner, 0.0) for aspect in (0.2, 0.6, 1.0) for corner in (0.0, 0.65, 1.0)),
)
"""Where a family is looked at first, as far as a block can stand there: shares of `Places.at`."""


class BandsOn(NamedTuple):
    """Bands of one kind that may lie on a block.

    Attributes
    ----------
    pull : float
        Of one of them, spread over the block's length [N/mm].
    least, most : int
        So many at least, or they stand too far apart; and no more than fit.
    apart : float
        The least as a real number: that changes smoothly.
    """

    pull: float
    least: int
    most: int
    apart: float


@dataclass(frozen=True)
class Place:
    """A block of a family that could be computed.

    Attributes
    ----------
    shares : tuple of float
        Where it stands among the places of its family, each from 0 to 1.
    figures : tuple of float
        What sets its shape apart from others: sizes on a log scale, corner, rise, offset.
    rubber_g, wrap_mm, width_mm, across_mm : float
        The last is the diameter of the circle round its outline.
    steps : int
        Of work, without the bands.
    key : tuple
        The same for the same block.
    bands : tuple of BandsOn
        By kind; empty where no band at hand goes round it.
    """

    shares: tuple[float, ...]
    figures: tuple[float, ...]
    rubber_g: float
    wrap_mm: float
    width_mm: float
    across_mm: float
    steps: int
    key: tuple[Any, ...]
    bands: tuple[BandsOn, ...]


class Places:
    """The places of one family.

    Parameters
    ----------
    family : Family
    base : Mold
        What all blocks share.
    limits : Limits
    found : Found
        Where what is given up for its size is put down.
    """

    def __init__(self, family: Family, base: Mold, limits: Limits, found: Found) -> None:
        self.family, self.base, self.limits, self.found = family, base, limits, found
        self.least_wrap = least_wrap_mm(limits)
        self.least, self.most = walls(limits, family.points)
        self._shared: tuple[float, float, int] | None = None

    def at(self, shares: Iterable[float]) -> Point:
        """Return the point for `shares` of wall, aspect, corner and offset, each from 0 to 1."""
        wall, aspect, corner, off = (float(v) for v in shares)
        if not self.family.cradle:
            corner = max(0.0, (corner - PLAIN) / (1 - PLAIN))
        off = max(0.0, (off - MIDDLE) / (1 - MIDDLE))
        offset = 0.5 + OFF * (2 * off - 1 if off > 0 else 0.0)
        return Point(self.least + wall * (self.most - self.least), aspect, corner, offset)

    def data(self, place: Place) -> dict[str, Any]:
        """Return the whole mold of a place, with a band that stands in for those to come."""
        data = self._data(place.shares)
        return data | {"band": shared_band(self.limits.bands)}

    def _data(self, shares: tuple[float, ...]) -> dict[str, Any]:
        return self.family.data(self.base, self.at(shares), self.least_wrap, STEP_MM)

    def check(self, place: Place) -> None:
        """Give a place up where no block can stand, or no band goes round it.

        Raises
        ------
        Unfit
        """
        bands_for(place.wrap_mm, self.limits)
        pot = self.base.pot
        if pot is None:
            return
        cradle = self.family.cradle
        boards = 2 * cradle.most_mm(place.width_mm) if cradle else 0.0
        if self.base.length_mm > pot.depth_mm or place.across_mm + boards + BANDS_MM > pot.bore_mm:
            check_fit(mold_of(self.data(place)), self.limits)

    def place(self, shares: Iterable[float]) -> Place | None:
        """Return the place for `shares`, 0 to 1; None where no block comes of it, or too large."""
        kept = tuple(float(v) for v in shares)
        at = self.at(kept)
        cradle = self.family.cradle
        try:
            block, middle = self.family.placed(at, self.least_wrap, STEP_MM)
            sizes = sizes_of(block)
            self._check_size(sizes)
            table = BlockTable.model_validate(block)
            around = self._around(at, table, sizes.girth_mm)
            rubber, more, steps = self._what_is_shared(kept)
        except Unfit as unfit:
            self.found.give_up(unfit.reason, unfit.needs)
            return None
        except ValueError:  # a shape that these figures do not make
            return None
        wide = float(block.get("width_mm", block.get("diameter_mm", 0.0)))
        high = float(block.get("height_mm", wide))
        corner = float(block.get("bevel_mm", block.get("round_mm", 0.0))) / min(wide, high)
        rise = at.corner if cradle else 0.0
        off = at.offset - 0.5
        side = max(wide, high) if cradle else min(wide, high)
        return Place(
            shares=kept,
            figures=(math.log(wide), math.log(high / wide), corner, rise, abs(off), off),
            rubber_g=self.base.rubber.density_g_cm3
            * (sizes.area_mm2 * self.base.length_mm / 1000.0 - rubber),
            wrap_mm=around + more,
            width_mm=wide,
            across_mm=sizes.across_mm,
            steps=box_steps(table) + steps,
            key=(tuple(sorted(block.items())), round(rise, 3), *np.round(middle, 1).tolist()),
            bands=self._bands(around + more, side),
        )

    def _bands(self, wrap: float, side_mm: float) -> tuple[BandsOn, ...]:
        """Return how many bands of each kind may lie on a block; none where none goes round it."""
        length = self.limits.length_mm
        least = max(1, math.ceil(length / (PITCH * side_mm) - 1e-9))
        try:
            kinds = bands_for(wrap, self.limits)
        except Unfit:
            return ()
        return tuple(
            BandsOn(
                kind_pull(kind, 1, wrap, length),
                min(least, most) if kind.most else 1,
                most,
                min(length / (PITCH * side_mm), most),
            )
            for kind, most in kinds
        )

    def _around(self, at: Point, block: BlockTable, own_mm: float) -> float:
        """Return the girth of a block, that of its boards where it has some."""
        cradle = self.family.cradle
        if cradle is None:
            return own_mm
        wide = block.width_mm or 0.0
        high = block.height_mm or wide
        return cradle.girth_mm(wide, high, block.bevel_mm, self.family.rise_mm(at, wide))

    def _check_size(self, sizes: OutlineSizes) -> None:
        most = self.limits.wishes.most_width_mm, self.limits.wishes.most_height_mm
        for size, limit in zip(sizes.size_mm, most, strict=True):
            if limit is not None and size > limit + 1e-6:
                raise Unfit(OVERSIZE, size)
        pot = self.base.pot
        if pot is not None and sizes.across_mm > pot.bore_mm:
            raise Unfit(FITS_NOT, sizes.across_mm)

    def _what_is_shared(self, shares: tuple[float, ...]) -> tuple[float, float, int]:
        """Return what all places share: volume without rubber [cm3], more girth, knife work."""
        if self._shared is None:
            mold = mold_of(self._data(shares))
            section = section_of(mold)
            loop = section.outline
            whole = loop.polygon.area * mold.length_mm / 1000.0
            more = wrap_mm(section) - self._around(self.at(shares), mold.block, loop.length)
            steps = steps_of(mold) - box_steps(mold.block) - bands_on(mold)
            self._shared = whole - volumes_of(mold).rubber, more, steps
        return self._shared

    def looks(self) -> Iterator[Place]:
        """Yield where the family is looked at first."""
        yield from self._made(LOOK)

    def spread(self, count: int, start: int) -> Iterator[Place]:
        """Yield places all over the family, from the `start`-th on of those that it has.

        Those of its `count` points that make no block are left out.
        """
        yield from self._made(_sobol(count, start))

    def about(self, place: Place, count: int, reach: float, start: int) -> Iterator[Place]:
        """Yield `count` places about one, at most `reach` off in a share, from point `start` on."""
        off = reach * (2 * _sobol(count, start) - 1)
        yield from self._made(np.clip(np.array(place.shares) + off, 0.0, 1.0))

    def _made(self, shares: Iterable[Iterable[float]]) -> Iterator[Place]:
        varied = [name in self.family.varied for name in ("aspect", "corner")]
        for row in shares:
            wall, aspect, corner, off = (float(v) for v in row)
            kept = (wall, aspect if varied[0] else 0.0, corner if varied[1] else 0.0, off)
            place = self.place(kept)
            if place is not None:
                yield place


def _sobol(count: int, start: int) -> Array:
    """Return Sobol points (count, 4) from the `start`-th on, each figure from 0 to 1."""
    from scipy.stats import qmc  # takes a second to load, and the page loads this module

    return qmc.Sobol(4, scramble=False).fast_forward(1 + start).random(count)
