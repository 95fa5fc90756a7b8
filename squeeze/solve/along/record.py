"""What a solve along the length returns: pressure and gap over the whole parting plane."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.section.records import Section
from squeeze.solve.along.loads import BandAt
from squeeze.solve.array_record import ArrayRecord, LandRecord, short
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, eq=False, repr=False)
class LandMap(LandRecord):
    """A land over the length of the block.

    Attributes
    ----------
    cut : str
        Name of the cut it belongs to.
    land : int
        Its number along the cut, from 0.
    s_mm : array (n,)
        Distance along the cut from the land's start.
    x_mm, y_mm : array (n,)
        Where the places are in the section.
    z_mm : array (M,)
        Places along the block, from its start.
    is_cut : array (M,) of bool
        Where along the block the cut is; elsewhere the rubber is whole.
    pressure_kpa : array (n, M)
        Contact pressure (the resin's where it has entered); in whole rubber the traction across the
        cut's plane.
    gap_mm : array (n, M)
        How far the faces stand apart; 0 where closed.
    """

    cut: str
    land: int
    s_mm: Array
    x_mm: Array
    y_mm: Array
    z_mm: Array
    is_cut: Mask
    pressure_kpa: Array
    gap_mm: Array

    @property
    def length_mm(self) -> float:
        """Length along the cut [mm]."""
        return float(self.s_mm[-1])

    @property
    def is_open(self) -> Mask:
        """Where the faces stand apart, (n, M)."""
        return self.gap_mm > 0

    @property
    def closed_share(self) -> float:
        """Share of the cut's area that presses, 0..1."""
        return self._over_cut(np.where(np.isnan(self.gap_mm), np.nan, ~self.is_open))

    @property
    def mean_pressure_kpa(self) -> float:
        """Mean pressure over the cut's area [kPa]."""
        return self._over_cut(self.pressure_kpa)

    @property
    def least_pressure_kpa(self) -> float:
        """Least pressure anywhere on the cut [kPa]; 0 where it stands open."""
        p = np.where(self.is_open, 0.0, self.pressure_kpa)[:, self.is_cut]
        return float(p.min()) if p.size else 0.0

    @property
    def evenness(self) -> float:
        """Least over mean pressure, 0..1; 0 for a land without pressure."""
        mean = self.mean_pressure_kpa
        return self.least_pressure_kpa / mean if mean > 0 else 0.0

    @property
    def largest_gap_mm(self) -> float:
        """Largest gap [mm]."""
        return float(self.gap_mm.max(initial=0.0))

    def ripple(self) -> Array:
        """Return least over mean pressure along the block at each place of the land, shape (n,).

        1 = even along the length, 0 = open somewhere; NaN where there is no pressure at all.
        """
        p = self.pressure_kpa[:, self.is_cut]
        mean = p.mean(axis=1)
        return np.divide(p.min(axis=1), mean, out=np.full(len(mean), np.nan), where=mean > 0)

    def _over_cut(self, value: Array) -> float:
        along = np.trapezoid(value[:, self.is_cut], self.s_mm, axis=0) / self.length_mm
        return float(along.mean()) if along.size else 0.0


@dataclass(frozen=True)
class EndEffects:
    """How far the ends of the block may differ from the mirror ends of the cosine series.

    Attributes
    ----------
    overhang_mm : float
        From the last band to the end of the block, the larger of both ends.
    pitch_mm : float
        Distance with which an overhang is compared: the larger one of those between the last two
        bands at either end; with one band, the block's length.
    doubtful_mm : float
        How much of the block at an end is doubtful: 0 where no overhang is more than half a pitch
        (1 % grace), or there is no band.
    """

    overhang_mm: float
    pitch_mm: float
    doubtful_mm: float


def end_effects(bands: Sequence[BandAt], length_mm: float, depth_mm: float) -> EndEffects:
    """Return the end effects of a layout of bands; `depth_mm` is the depth of the walls.

    Parameters
    ----------
    bands : sequence of BandAt
    length_mm : float
        Of the block.
    depth_mm : float
    """
    if not bands:
        return EndEffects(0.0, length_mm, 0.0)
    at = sorted(band.at_mm for band in bands)
    overhangs = (at[0], length_mm - at[-1])
    pitches = (at[1] - at[0], at[-1] - at[-2]) if len(at) > 1 else (length_mm, length_mm)
    is_long = any(o > 0.505 * p for o, p in zip(overhangs, pitches, strict=True))
    return EndEffects(max(overhangs), max(pitches), depth_mm if is_long else 0.0)


def wall_depth_mm(section: Section) -> float:
    """Return the depth of the walls: the longest land, or half of a block without one [mm]."""
    lengths = [
        float(np.hypot(*np.diff(np.array(stretch.points), axis=0).T).sum())
        for cut in section.cuts
        for stretch in cut.stretches
    ]
    x0, y0, x1, y1 = section.outline.polygon.bounds
    return max(lengths, default=0.5 * min(x1 - x0, y1 - y0))


@dataclass(frozen=True, eq=False)
class AlongClosing(ArrayRecord):
    """How the cuts of a block close along its whole length.

    Attributes
    ----------
    title : str
    section : Section
    length_mm : float
    bands : tuple of BandAt
    smeared_n_per_mm : float
        Tension without a place, spread over the length.
    resin_kpa : array (M,)
        The resin's pressure along the block.
    lands : tuple of LandMap
    ends : EndEffects
    outcome : Outcome
    force_balance : float
        Largest out-of-balance force of a piece over the sum of the forces.
    complementarity : float
        Largest violation of any contact condition, over its own scale.
    steps, products : int
        Steps that the contact solve took, and products with the compliance.
    seconds : float
        Wall time [s].
    """

    title: str
    section: Section
    length_mm: float
    bands: tuple[BandAt, ...]
    smeared_n_per_mm: float
    resin_kpa: Array
    lands: tuple[LandMap, ...]
    ends: EndEffects
    outcome: Outcome
    force_balance: float
    complementarity: float
    steps: int
    products: int
    seconds: float

    def __repr__(self) -> str:
        size = f"{len(self.bands)} bands on {self.length_mm:g} mm"
        return short(f"AlongClosing: {self.outcome}, {size}", self.lands)
