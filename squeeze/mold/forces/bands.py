"""Rubber bands: how hard a strand pulls, and what all of them pull per mm of block."""

from __future__ import annotations

import numpy as np

from squeeze.mold.forces.band_sizes import SIZES, BandSize
from squeeze.mold.tables.loads import BandTable, Weighed
from squeeze.mold.tables.mold import Mold

SHEAR_MODULUS_MPA = 0.4
"""G of band rubber unless measured [MPa]; see `strand_tension` for how far the law holds."""

WORKING_STRETCH = (1.5, 3.0)
"""Stretch at which bands are used (common practice)."""

GOOD_STRETCH = 2.0
"""Stretch that is advised for a band; the middle of what is used (common practice)."""


def strand_tension(area_mm2: float, stretch: float, shear_mpa: float = SHEAR_MODULUS_MPA) -> float:
    """Return the pull of one strand [N]: F = A0 G (s - 1/s^2), 0 for a slack one.

    Uniaxial stretch of a neo-Hookean solid. Against L. R. G. Treloar's natural rubber (Trans.
    Faraday Soc. 40 (1944) 59, from memory) the law with this G pulls 16 % too hard at a stretch of
    1.6, and 30 to 35 % too hard at stretches of 1.9 to 3.

    Parameters
    ----------
    area_mm2 : float
        Unstretched cross-section of the strand [mm2].
    stretch : float
        Stretched over unstretched length, s.
    shear_mpa : float
        Shear modulus G [MPa].
    """
    return area_mm2 * shear_mpa * (stretch - stretch**-2) if stretch > 1 else 0.0


def size_of(band: BandTable) -> BandSize | None:
    """Return the size of a band; None when its pull is given instead."""
    if band.stock is not None:
        return SIZES[band.stock]
    if band.flat_length_mm is None or band.width_mm is None or band.thickness_mm is None:
        return None
    return BandSize(band.flat_length_mm, band.width_mm, band.thickness_mm)


def stretch_of(band: BandTable, wrap_mm: float) -> float | None:
    """Return the stretch of a band laid once round `wrap_mm`; None when its pull is given."""
    size = size_of(band)
    return None if size is None else wrap_mm / (2 * size.flat_length_mm)


def strand_n(band: BandTable, wrap_mm: float) -> float | None:
    """Return the pull of one strand [N]; None when only the pull per mm of block is given.

    `wrap_mm` is the length once round the block [mm], to which the band is stretched.
    """
    if band.weighed is not None:
        return _weighed_n(band.weighed, 0.5 * wrap_mm)
    size, stretch = size_of(band), stretch_of(band, wrap_mm)
    if size is None or stretch is None:
        return band.tension_n
    return strand_tension(size.width_mm * size.thickness_mm, stretch)


def _weighed_n(weighed: Weighed, hooks_mm: float) -> float:
    """Return the pull of one strand [N], of the two that a scale weighs; linear between places.

    Outside of what was weighed the nearest reading counts, and `band_notes` says so.
    """
    distance, both_n = zip(*weighed, strict=True)
    return float(np.interp(hooks_mm, distance, both_n)) / 2


def stretching_well(size: BandSize, wrap_mm: float) -> tuple[str, BandSize]:
    """Return a band as wide and thick as `size` that stretches well round a wrap, and its number.

    Of the trade sizes that stretch 1.5 to 3 times the one nearest to `GOOD_STRETCH`; where there is
    none, a band of any whole length [mm], with an empty number.

    Parameters
    ----------
    size : BandSize
    wrap_mm : float
        Length of one turn round the block [mm].

    Examples
    --------
    >>> stretching_well(SIZES["33"], 250)[0]
    '31'
    """
    low, high = WORKING_STRETCH
    section = size.width_mm, size.thickness_mm
    found = {
        number: wrap_mm / (2 * each.flat_length_mm)
        for number, each in SIZES.items()
        if np.allclose(section, (each.width_mm, each.thickness_mm), rtol=0.02)
    }
    well = {number: s for number, s in found.items() if low <= s <= high}
    if well:
        number = min(well, key=lambda each: abs(well[each] - GOOD_STRETCH))
        return number, SIZES[number]
    flat = max(round(wrap_mm / (2 * GOOD_STRETCH)), 5)
    return "", BandSize(float(flat), *section)


def tension_n_per_mm(mold: Mold, wrap_mm: float) -> float:
    """Return the line tension of all bands, spread over the block's length [N/mm].

    A band goes once round the block, so it crosses the section with one strand on every side; the
    tension in the line that wraps the section is the sum over the kinds of band of
    number of bands x pull of one strand / length of the block.

    Parameters
    ----------
    mold : Mold
        Its bands and its length.
    wrap_mm : float
        Length of one turn round the block [mm].
    """
    return sum(line_tension(band, wrap_mm, mold.length_mm) for band in mold.band)


def line_tension(band: BandTable, wrap_mm: float, length_mm: float) -> float:
    """Return the line tension of one kind of band, spread over the block's length [N/mm].

    Parameters
    ----------
    band : BandTable
    wrap_mm : float
        Once round the block.
    length_mm : float
        Of the block.
    """
    pull = strand_n(band, wrap_mm)
    if pull is None:
        return band.tension_n_per_mm or 0.0
    return band.strands * pull / length_mm


def band_notes(mold: Mold, wrap_mm: float) -> list[str]:
    """Return plain sentences on bands that are stretched too little or too much.

    `wrap_mm` is the length once round the block [mm].
    """
    found = [_note(i, band, wrap_mm) for i, band in enumerate(mold.band, start=1)]
    return [note for note in found if note]


def _note(i: int, band: BandTable, wrap_mm: float) -> str | None:
    if band.weighed is not None:
        low, high = band.weighed[0][0], band.weighed[-1][0]
        if low <= 0.5 * wrap_mm <= high:
            return None
        return (
            f"Band {i}{band.called} was weighed from {low:g} to {high:g} mm between the hooks; on"
            f" this block they would be {0.5 * wrap_mm:.0f} mm apart, so the nearest reading"
            " is taken."
        )
    stretch, (low, high) = stretch_of(band, wrap_mm), WORKING_STRETCH
    if stretch is None or low <= stretch <= high:
        return None
    which = f"Band {i}{band.called}"
    limit, side = (low, "just under") if stretch < low else (high, "just over")
    said = f"{side} {limit:g}" if abs(stretch - limit) < 0.005 else f"{stretch:.2f}"
    is_so = f"is stretched to {said} times its length round {wrap_mm:.0f} mm"
    if stretch <= 1:
        return f"{which} hangs loose round {wrap_mm:.0f} mm and does not pull; take a shorter one."
    if stretch < low:
        poor = f"below {low:g} times it pulls little, and how much is uncertain"
        return f"{which} {is_so}; {poor}; take a shorter one."
    return f"{which} {is_so}; over {high:g} times it creeps and may snap; take a longer one."
