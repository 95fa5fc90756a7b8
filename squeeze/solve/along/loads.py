"""Loads along the block as cosine series: bands of real width at their places, the resin's head."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.forces.bands import size_of, strand_n, stretch_of
from squeeze.mold.tables.loads import BandTable
from squeeze.mold.tables.mold import Mold

Array = NDArray[np.float64]

WIDTH_MM = 6.0
"""Width of a band that is given by its pull alone [mm]; a common size, stretched."""


@dataclass(frozen=True)
class BandAt:
    """One band round the block.

    Attributes
    ----------
    at_mm : float
        Its middle, along the block.
    tension_n : float
        Pull of its strand.
    width_mm : float
        Its width as it lies on the block.
    """

    at_mm: float
    tension_n: float
    width_mm: float = WIDTH_MM


def even_places(count: int, length_mm: float) -> tuple[float, ...]:
    """Return where bands stand that are spread evenly: the middles of equal parts of the length.

    Parameters
    ----------
    count : int
        How many bands.
    length_mm : float
        Of the block.

    Returns
    -------
    tuple of float
        Places along the block, from its start [mm].

    Examples
    --------
    >>> even_places(2, 100.0)
    (25.0, 75.0)
    """
    return tuple((k + 0.5) * length_mm / count for k in range(count))


def lying_width_mm(band: BandTable, wrap_mm: float) -> float:
    """Return how wide a band lies on a block of `wrap_mm` once round [mm].

    Stretched rubber keeps its volume, so its width falls with the square root of the stretch.
    """
    size, stretch = size_of(band), stretch_of(band, wrap_mm)
    if size is None or stretch is None:
        return WIDTH_MM
    return size.width_mm / np.sqrt(max(stretch, 1.0))


def bands_of(mold: Mold, wrap_mm: float) -> tuple[BandAt, ...]:
    """Return every band of a mold at its place, stretched round `wrap_mm` [mm].

    Bands given as a pull per mm of block have none and are left out.
    """
    found = []
    for band in mold.band:
        pull = strand_n(band, wrap_mm)
        if pull is None:
            continue
        places = even_places(band.count, mold.length_mm) if band.at_mm is None else band.at_mm
        found += [BandAt(float(at), pull, lying_width_mm(band, wrap_mm)) for at in places]
    return tuple(sorted(found, key=lambda each: each.at_mm))


def smeared_of(mold: Mold) -> float:
    """Return the pull that is given per mm of block, without places [N/mm]."""
    return sum(band.tension_n_per_mm or 0.0 for band in mold.band)


def band_series(bands: Sequence[BandAt], length_mm: float, waves: int) -> Array:
    """Return the amplitudes of the tension per mm of block, T(z) = sum a_n cos(n pi z / L).

    The tension of a band is spread evenly over its width. What hangs over an end is mirrored back,
    as all else is.

    Parameters
    ----------
    bands : sequence of BandAt
    length_mm : float
    waves : int
        Number of amplitudes, from n = 0.

    Returns
    -------
    array (waves,)
        [N/mm].
    """
    k = np.pi * np.arange(waves) / length_mm
    if not bands:
        return np.zeros(waves)
    at, T, b = np.array([(each.at_mm, each.tension_n, each.width_mm) for each in bands]).T
    spread = np.sinc(k[:, None] * b / (2 * np.pi))
    a = (2.0 / length_mm) * (np.cos(k[:, None] * at) * spread) @ T
    a[0] *= 0.5
    return a


def head_series(at_start: float, at_end: float, waves: int) -> Array:
    """Return the amplitudes (waves,) of a value that is linear along the block [its unit].

    Parameters
    ----------
    at_start, at_end : float
        The value at both ends of the block [its unit].
    waves : int
        Number of waves, the mean among them.
    """
    n = np.arange(1, waves)
    a = np.empty(waves)
    a[0] = 0.5 * (at_start + at_end)
    a[1:] = (at_start - at_end) * 2.0 * (1.0 - (-1.0) ** n) / (np.pi * n) ** 2
    return a
