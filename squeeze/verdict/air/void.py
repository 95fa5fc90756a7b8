"""What fills with resin, as a grid of places: from a mold's stations, or from models on disk."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from squeeze.mold import Mold, section_of, stations_of
from squeeze.mold.model.mesh import section_at
from squeeze.mold.model.slices import Placed
from squeeze.mold.tables.shape import ModelTable
from squeeze.mold.vents import vents_of
from squeeze.verdict.air.flood import open_parts

FINEST_MM = 0.5
MOST_PLACES = 60_000
"""Places that are looked at."""

XYZ = tuple[float, float, float]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Void:
    """What fills, as a grid of places.

    Attributes
    ----------
    filled : array (i, j, k) of bool
    xs, ys, zs : arrays
        Coordinates of the places: x and y in the section, z along the block [mm].
    grid_mm : float
    """

    filled: Flags
    xs: NDArray[np.float64]
    ys: NDArray[np.float64]
    zs: NDArray[np.float64]
    grid_mm: float

    @cached_property
    def places(self) -> NDArray[np.float64]:
        """All places, (i, j, k, 3)."""
        return np.stack(np.meshgrid(self.xs, self.ys, self.zs, indexing="ij"), axis=-1)

    @property
    def cell_mm3(self) -> float:
        """Volume of one place."""
        steps = (float(np.ptp(v)) / max(len(v) - 1, 1) for v in (self.xs, self.ys, self.zs))
        return math.prod(step or self.grid_mm for step in steps)

    def height(self, up: XYZ) -> NDArray[np.float64]:
        """How high each place lies, (i, j, k) [mm]."""
        return self.places @ np.array(up)

    def nearest(self, at: XYZ) -> Flags:
        """Flag the filled place nearest to `at`, (i, j, k)."""
        away = np.sum((self.places - np.array(at)) ** 2, axis=-1)
        found = np.zeros(self.filled.shape, bool)
        found[np.unravel_index(np.argmin(np.where(self.filled, away, np.inf)), away.shape)] = True
        return found


def void_of(mold: Mold, most: int = MOST_PLACES) -> Void:
    """Return the cavities of a mold as a grid of at most so many places, or a few more.

    Each station stands for its part of the length.
    """
    stations = [(at, section_of(each)) for at, each in stations_of(mold)]
    loops = [c.loop for _, section in stations for c in section.cavities]
    if not loops:
        empty = np.zeros(0)
        return Void(np.zeros((0, 0, 0), bool), empty, empty, empty, 1.0)
    bounds = np.array([loop.polygon.bounds for loop in loops])
    (x0, y0), (x1, y1) = bounds[:, :2].min(axis=0), bounds[:, 2:].max(axis=0)
    room = (x1 - x0) * (y1 - y0) * mold.length_mm
    h = max(FINEST_MM, (room / most) ** (1 / 3))
    xs, ys = (_middles(a, b, h) for a, b in ((x0, x1), (y0, y1)))
    zs = _middles(0.0, mold.length_mm, h)
    places = np.array([at for at, _ in stations])
    own = np.argmin(np.abs(zs[:, None] - places), axis=1)
    x, y = np.meshgrid(xs, ys, indexing="ij")
    filled = np.zeros((*x.shape, len(zs)), bool)
    for k, (each, (_, section)) in enumerate(zip(stations_of(mold), stations, strict=True)):
        models = {table.name: table.models for table in each[1].cavity}
        for cavity in section.cavities:
            inside = shapely.contains_xy(cavity.loop.polygon, x, y)
            filled |= inside[..., None] & ((own == k) & _in_models(zs, models.get(cavity.name, ())))
    return Void(filled, xs, ys, zs, h)


def _in_models(zs: NDArray[np.float64], models: Sequence[ModelTable]) -> Flags:
    """Return which places along the block lie in a model; all where none is given."""
    if not models:
        return np.ones(len(zs), bool)
    return np.any([np.abs(zs - each.at_mm) <= each.length_mm / 2 for each in models], axis=0)


def _middles(a: float, b: float, h: float) -> NDArray[np.float64]:
    n = max(1, round((b - a) / h))
    return a + (np.arange(n) + 0.5) * (b - a) / n


MakeVoid = Callable[[int], Void]
"""Returns a void of at most so many places, or a few more."""


@lru_cache(maxsize=4)
def void_of_models(placed: tuple[Placed, ...], most: int = MOST_PLACES) -> Void:
    """Return models as they lie in a block as a grid of at most so many places, or a few more.

    Every layer of places is a section of the meshes, so nothing stands for its neighbours.

    Parameters
    ----------
    placed : tuple of Placed
    most : int

    Raises
    ------
    BadInput
        Where a hole in a mesh leaves a section open.
    """
    corners = np.array([each.at_mm for each in placed])
    ends = corners + np.array([each.model.size_mm for each in placed])
    low, high = corners.min(axis=0), ends.max(axis=0)
    h = max(FINEST_MM, float(np.prod(high - low) / most) ** (1 / 3))
    xs, ys, zs = (_middles(float(a), float(b), h) for a, b in zip(low, high, strict=True))
    x, y = np.meshgrid(xs, ys, indexing="ij")
    filled = np.zeros((len(xs), len(ys), len(zs)), bool)
    for each, (left, lower, start) in zip(placed, corners, strict=True):
        for k, z in enumerate(zs):
            if 0 < z - start < each.model.size_mm[2]:
                for shape in section_at(each.model, float(z - start)):
                    filled[..., k] |= shapely.contains_xy(shape, x - left, y - lower)
    return Void(filled, xs, ys, zs, h)


def up_of(about_length_deg: float, end_up_deg: float, standing: bool) -> XYZ:
    """Return the direction that points up in a tilted block.

    The first angle raises the right side of the section, the second the far end. Of a block that
    stands on its start the first raises its right side too, the second its upper side (y up).

    Parameters
    ----------
    about_length_deg, end_up_deg : float
        The two tilts.
    standing : bool
        Whether the block stands on its start.
    """
    a, b = math.radians(about_length_deg), math.radians(end_up_deg)
    if standing:
        return math.sin(a) * math.cos(b), math.sin(b), math.cos(a) * math.cos(b)
    return math.sin(a) * math.cos(b), math.cos(a) * math.cos(b), math.sin(b)


@dataclass(frozen=True, eq=False)
class Outlets:
    """Where resin comes in, and where air goes out.

    Attributes
    ----------
    sprues, vents : array (i, j, k) of bool
    sprues_mm : tuple of (x, y, along)
        The sprues' places.
    """

    sprues: Flags
    vents: Flags
    sprues_mm: tuple[XYZ, ...]

    @property
    def flags(self) -> Flags:
        """All places at which air goes out, (i, j, k)."""
        return self.sprues | self.vents


def outlets_of(mold: Mold, void: Void, up: XYZ) -> Outlets:
    """Return where resin comes in and air goes out.

    A vent, and a sprue that the mold gives a place, lead to the filled place next to theirs. Each
    part that such a sprue does not lead to has a sprue at its highest place.
    """
    sprues, vents = np.zeros(void.filled.shape, bool), np.zeros(void.filled.shape, bool)
    places: list[XYZ] = []
    sprue = mold.sprue
    if sprue is not None and sprue.at_mm is not None:
        along = mold.length_mm / 2 if sprue.along_mm is None else sprue.along_mm
        given = (float(sprue.at_mm[0]), float(sprue.at_mm[1]), float(along))
        sprues |= void.nearest(given)
        places.append(given)
    for vent in vents_of(mold):
        vents |= void.nearest(vent.at_mm)
    labels, count = open_parts(void.filled)
    height = void.height(up)
    for number in range(1, count + 1):
        own = labels == number
        if not (own & sprues).any():
            x, y, z = (int(k) for k in top_of(void, own, height))
            sprues[x, y, z] = True
            a, b, c = (float(v) for v in void.places[x, y, z])
            places.append((a, b, c))
    return Outlets(sprues, vents, tuple(places))


def top_of(void: Void, own: Flags, height: NDArray[np.float64]) -> tuple[int, ...]:
    """Return the highest place of a part; of several as high, the one nearest to their middle.

    Parameters
    ----------
    void : Void
    own : array (i, j, k) of bool
        The part.
    height : array (i, j, k)
        How high each place lies [mm].
    """
    level = np.max(height, where=own, initial=-np.inf)
    ridge = np.argwhere(own & (height > level - 1e-6))
    places = void.places[tuple(ridge.T)]
    away = np.sum((places - places.mean(axis=0)) ** 2, axis=1)
    return tuple(int(k) for k in ridge[int(np.argmin(away))])
