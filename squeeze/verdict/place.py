"""Where on the section something lies, in the words of somebody who holds the block."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from shapely.geometry import LineString, Point

from squeeze.mold.section.records import Section
from squeeze.solve.closing import Closing
from squeeze.solve.land import Land
from squeeze.verdict.words import length

if TYPE_CHECKING:
    from squeeze.solve.along.record import LandMap

TOUCH_MM = 0.1

ALIKE = 0.01
"""Gaps that differ by less, over the widest, are named as one: answers have that much error."""


@dataclass(frozen=True)
class LandEnd:
    """What a land runs into at one of its ends.

    Attributes
    ----------
    kind : str
        ``"outside"``, ``"cavity"``, ``"cut"`` or ``"rubber"``.
    text : str
        In words, to stand after "from" or "at": ``"the left outside"``, ``"'barrel 2'"``.
    """

    kind: str
    text: str

    @property
    def short(self) -> str:
        """The words without an article in front."""
        return self.text.removeprefix("the ")


def land_ends(land: Land | LandMap, section: Section) -> tuple[LandEnd, LandEnd]:
    """Return what the land runs into at its start and at its far end."""
    return _end(land, 0, section), _end(land, -1, section)


def widest_place(lands: Sequence[Land]) -> tuple[Land, int]:
    """Return the land that gapes most, and at which of its places.

    Of peaks that are alike the first is taken: in a block that is its own mirror image rounding
    would choose between left and right.

    Parameters
    ----------
    lands : sequence of Land
        One at least.
    """
    enough = (1 - ALIKE) * max(land.largest_gap_mm for land in lands)
    land = next(each for each in lands if each.largest_gap_mm >= enough)
    gap = np.concatenate([[-np.inf], land.gap_mm, [-np.inf]])
    peaks = (gap[1:-1] >= gap[:-2]) & (gap[1:-1] >= gap[2:]) & (land.gap_mm >= enough)
    return land, int(np.argmax(peaks))


def land_name(land: Land | LandMap, section: Section) -> str:
    """Return where a land lies, e.g. ``left outside to 'barrel 1'``."""
    return " to ".join(end.short for end in land_ends(land, section))


def end_at(point: tuple[float, float], cut: str, section: Section) -> LandEnd:
    """Return what a cut runs into at `point` [mm], the place of one of its ends."""
    return _end_at(point, cut, _Shape(section))


def _end(land: Land | LandMap, place: int, section: Section) -> LandEnd:
    return end_at((float(land.x_mm[place]), float(land.y_mm[place])), land.cut, section)


class _Shape:
    """A section that counts as the same when its curves are: closed again, it ends where it did."""

    def __init__(self, section: Section):
        self.section = section
        stretches = (part for cut in section.cuts for part in cut.stretches)
        self.curves = (section.outline, *section.cavities, *stretches)

    def __hash__(self) -> int:
        return hash(tuple(map(id, self.curves)))

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, _Shape) or len(self.curves) != len(other.curves):
            return False
        return all(a is b for a, b in zip(self.curves, other.curves, strict=True))


@lru_cache(maxsize=256)
def _end_at(point: tuple[float, float], owner: str, shape: _Shape) -> LandEnd:
    """Return what a land of the cut `owner` runs into at a place."""
    section = shape.section
    for cavity in section.cavities:
        if cavity.loop.comes_within(TOUCH_MM, point):
            return LandEnd("cavity", f"'{cavity.name}'")
    if section.outline.comes_within(TOUCH_MM, point):
        return LandEnd("outside", f"the {side_of(point, section)} outside")
    for cut in section.cuts:
        if cut.name != owner and _touches(cut.stretches, point):
            return LandEnd("cut", f"the cut '{cut.name}'")
    return LandEnd("rubber", "the end in the rubber")


def _touches(stretches: tuple, point: tuple[float, float]) -> bool:
    return any(LineString(s.points).distance(Point(point)) <= TOUCH_MM for s in stretches)


def where_on(land: Land, k: int, closing: Closing, inches: bool = False) -> str:
    """Return where the place `k` of a land lies, e.g. ``12 mm in from the left outside``."""
    start, end = land_ends(land, closing.section)
    s, whole = float(land.s_mm[k]), land.length_mm
    near, far = (start, end) if s <= whole - s else (end, start)
    words = _along(min(s, whole - s), whole, near, far, inches)
    return f"{words}, cut '{land.cut}'" if len(closing.section.cuts) > 1 else words


def _along(d: float, whole: float, near: LandEnd, far: LandEnd, inches: bool) -> str:
    if d > 0.4 * whole:
        return f"midway between {near.text} and {far.text}"
    if d < max(0.5, 0.02 * whole):
        return f"at {near.text}" + ("" if near.kind == "outside" else f", towards {far.text}")
    if near.kind == "outside":
        return f"{length(d, inches)} in from {near.text}"
    return f"between {near.text} and {far.text}, {length(d, inches)} from {near.text}"


def side_of(point: tuple[float, float], section: Section) -> str:
    """Return left, right, top or bottom: the side of the block on which `point` lies [mm]."""
    low, high = _box(section)
    across, up = (np.asarray(point) - (low + high) / 2) / (high - low)
    if abs(across) >= abs(up):
        return "left" if across < 0 else "right"
    return "bottom" if up < 0 else "top"


def _box(section: Section) -> tuple[np.ndarray, np.ndarray]:
    x0, y0, x1, y1 = section.outline.polygon.bounds
    return np.array([x0, y0]), np.array([x1, y1])
