"""Air pockets of a mold: where, how large, what the pot leaves of them, and what mends them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString

from squeeze.mold import Mold, section_of, stations_of
from squeeze.mold.section.records import Section
from squeeze.mold.tables.shape import ModelTable
from squeeze.verdict.air.flood import behind_necks, caught, open_parts

ATMOSPHERE_KPA = 101.325
NECK_MM = 3.0
"""Resin that fills a neck narrower than this leaves no room for air to come back; a judgement."""

LEAST_MM3 = 1.0
MOST_PLACES, MOST_TRIED = 60_000, 10_000
"""Places that are looked at: once, and for each tilt."""

FINEST_MM = 0.5
TILTS_DEG = (-45.0, -30.0, -15.0, 0.0, 15.0, 30.0, 45.0)

XYZ = tuple[float, float, float]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Pocket:
    """Air that is caught at one place.

    Attributes
    ----------
    cavity : str
    at_mm : (x, y, along)
        Its highest place: x and y in the section, and along the block.
    volume_mm3 : float
        When it is cut off, at the pressure of the air.
    in_pot_mm3 : float or None
        What the pot's pressure leaves of it; None when the mold gives no pressure.
    kind : str
        "high point" or "neck".
    crosses : tuple of str
        Cuts that a vent straight up from it would cross.
    """

    cavity: str
    at_mm: XYZ
    volume_mm3: float
    in_pot_mm3: float | None
    kind: str
    crosses: tuple[str, ...]


@dataclass(frozen=True)
class Tilt:
    """A tilt of the block while it is filled, and the air that it leaves [mm3]."""

    about_length_deg: float
    end_up_deg: float
    volume_mm3: float


@dataclass(frozen=True)
class Air:
    """All air that a filling catches.

    Attributes
    ----------
    pockets : tuple of Pocket
        The largest first.
    sprues_mm : tuple of (x, y, along)
        Where resin comes in and air goes out.
    tilt : Tilt or None
        The tilt that leaves the least air, when one leaves less than half.
    other_sprue_mm : (x, y, along) or None
        The place for the sprue that leaves the least air, when it leaves less than half.
    grid_mm : float
        Size of the places that were looked at.
    """

    pockets: tuple[Pocket, ...]
    sprues_mm: tuple[XYZ, ...]
    tilt: Tilt | None
    other_sprue_mm: XYZ | None
    grid_mm: float

    @property
    def volume_mm3(self) -> float:
        """All of it, at the pressure of the air."""
        return sum(pocket.volume_mm3 for pocket in self.pockets)


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


def air_of(mold: Mold) -> Air:
    """Return where air is caught when a mold is filled.

    The block lies with y up, or stands on its start where the resin says so. Resin comes in where
    the sprue's place says; each cavity that it does not lead to has a sprue at its highest place.

    Raises
    ------
    BadInput
        When the mold's geometry cannot be built.
    """
    void = void_of(mold)
    if not void.filled.any():
        return Air((), (), None, None, void.grid_mm)
    standing = mold.resin is not None and mold.resin.standing
    up = _up(0.0, 0.0, standing)
    outlets, sprues = _outlets(mold, void, up)
    held = caught(void.filled, void.height(up), outlets, void.grid_mm)
    thin = behind_necks(void.filled, outlets, round(NECK_MM / 2 / void.grid_mm)) & ~held
    section = section_of(mold)
    pockets = [
        *_pockets(mold, void, held, up, "high point", section),
        *_pockets(mold, void, thin, up, "neck", section),
    ]
    pockets.sort(key=lambda pocket: -pocket.volume_mm3)
    now = sum(pocket.volume_mm3 for pocket in pockets if pocket.kind == "high point")
    tilt = _best_tilt(mold, standing, up) if now else None
    other = _other_sprue(void, up, pockets, now) if now else None
    return Air(tuple(pockets), sprues, tilt, other, void.grid_mm)


def pockets_at(
    mold: Mold, about_length_deg: float = 0.0, end_up_deg: float = 0.0
) -> tuple[tuple[Pocket, ...], tuple[XYZ, ...]]:
    """Return the air that is caught while the block is held tilted, and where the sprues are.

    The sprues are where they are in the block that is not tilted: they are cut before it is poured.

    Parameters
    ----------
    mold : Mold
    about_length_deg, end_up_deg : float
        The tilt, as in `Tilt` [degrees].

    Returns
    -------
    pockets : tuple of Pocket
        The largest first.
    sprues_mm : tuple of (x, y, along)

    Raises
    ------
    BadInput
        When the mold's geometry cannot be built.
    """
    void = void_of(mold)
    if not void.filled.any():
        return (), ()
    standing = mold.resin is not None and mold.resin.standing
    outlets, sprues = _outlets(mold, void, _up(0.0, 0.0, standing))
    up = _up(about_length_deg, end_up_deg, standing)
    held = caught(void.filled, void.height(up), outlets, void.grid_mm)
    found = _pockets(mold, void, held, up, "high point", section_of(mold))
    return tuple(sorted(found, key=lambda pocket: -pocket.volume_mm3)), sprues


def _outlets(mold: Mold, void: Void, up: XYZ) -> tuple[Flags, tuple[XYZ, ...]]:
    outlets = np.zeros(void.filled.shape, bool)
    sprue = mold.sprue
    if sprue is not None and sprue.at_mm is not None:
        along = mold.length_mm / 2 if sprue.along_mm is None else sprue.along_mm
        outlets |= void.nearest((*sprue.at_mm, along))
    labels, count = open_parts(void.filled)
    height = void.height(up)
    for number in range(1, count + 1):
        own = labels == number
        if not (own & outlets).any():
            top = np.unravel_index(np.argmax(np.where(own, height, -np.inf)), own.shape)
            outlets[top] = True
    places = [(float(x), float(y), float(z)) for x, y, z in void.places[outlets]]
    return outlets, tuple(places)


def _pockets(
    mold: Mold, void: Void, held: Flags, up: XYZ, kind: str, section: Section
) -> list[Pocket]:
    labels, count = open_parts(held)
    height, found = void.height(up), []
    cell = void.cell_mm3
    pressure = mold.pot.pressure_kpa if mold.pot else None
    for number in range(1, count + 1):
        own = labels == number
        volume = float(own.sum()) * cell
        if volume < LEAST_MM3:
            continue
        top = np.unravel_index(np.argmax(np.where(own, height, -np.inf)), own.shape)
        x, y, z = (float(v) for v in void.places[top])
        left = None if pressure is None else boyle(volume, pressure)
        crosses = _crossed((x, y), up, section)
        found.append(Pocket(_cavity_at((x, y), section), (x, y, z), volume, left, kind, crosses))
    return found


def boyle(volume: float, pressure_kpa: float) -> float:
    """Return what a pressure over that of the air leaves of a volume of air: p1 V1 = p2 V2.

    Examples
    --------
    >>> boyle(100.0, 3 * ATMOSPHERE_KPA)
    25.0
    """
    return volume * ATMOSPHERE_KPA / (ATMOSPHERE_KPA + pressure_kpa)


def _cavity_at(at: tuple[float, float], section: Section) -> str:
    away = [(float(c.loop.polygon.distance(shapely.Point(at))), c.name) for c in section.cavities]
    return min(away)[1] if away else ""


def _crossed(at: tuple[float, float], up: XYZ, section: Section) -> tuple[str, ...]:
    """Return the cuts that a vent straight up crosses; one along the block crosses none."""
    if up[0] == up[1] == 0:
        return ()
    far = (at[0] + 4000 * up[0], at[1] + 4000 * up[1])
    vent = LineString([at, far])
    return tuple(
        cut.name
        for cut in section.cuts
        if any(vent.intersects(LineString(s.points)) for s in cut.stretches)
    )


def _best_tilt(mold: Mold, standing: bool, up: XYZ) -> Tilt | None:
    """Return the tilt that leaves the least air; None when none leaves less than half."""
    void = void_of(mold, MOST_TRIED)
    outlets, _ = _outlets(mold, void, up)
    tried = []
    for about in TILTS_DEG:
        for end in TILTS_DEG:
            height = void.height(_up(about, end, standing))
            held = caught(void.filled, height, outlets, void.grid_mm)
            tried.append(Tilt(about, end, float(held.sum()) * void.cell_mm3))
    now = next(t.volume_mm3 for t in tried if t.about_length_deg == t.end_up_deg == 0)
    if now == 0:
        return None
    best = min(
        tried,
        key=lambda t: (round(t.volume_mm3 / now, 2), abs(t.about_length_deg) + abs(t.end_up_deg)),
    )
    return best if best.volume_mm3 < now / 2 else None


def _up(about_length_deg: float, end_up_deg: float, standing: bool) -> XYZ:
    """Return the direction that points up in a tilted block.

    Turned about its length counter-clockwise as seen from its start, then its far end raised; of a
    standing block the first tilts it to its left, the second forwards.
    """
    a, b = math.radians(about_length_deg), math.radians(end_up_deg)
    if standing:
        return math.sin(a) * math.cos(b), math.sin(b), math.cos(a) * math.cos(b)
    return math.sin(a) * math.cos(b), math.cos(a) * math.cos(b), math.sin(b)


def _other_sprue(void: Void, up: XYZ, pockets: list[Pocket], now: float) -> XYZ | None:
    """Return the high point at which a sprue would leave the least air; None without a gain."""
    tried = []
    for pocket in [p for p in pockets if p.kind == "high point"][:6]:
        outlets = void.nearest(pocket.at_mm)
        labels, _ = open_parts(void.filled)
        own = labels == labels[outlets][0]
        held = caught(own, void.height(up), outlets, void.grid_mm)
        tried.append((float(held.sum()) * void.cell_mm3, pocket.at_mm))
    if not tried:
        return None
    volume, at = min(tried)
    return at if volume < now / 2 else None
