"""Kinds of band to try: those of a mold file, or the trade sizes that stretch well."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from squeeze.mold.forces.band_sizes import SIZES
from squeeze.mold.forces.bands import WORKING_STRETCH, strand_n, stretch_of
from squeeze.mold.tables.loads import BandTable
from squeeze.mold.tables.mold import Mold
from squeeze.solve.along.loads import BandAt, lying_width_mm


@dataclass(frozen=True)
class BandKind:
    """A kind of band round a given block.

    Attributes
    ----------
    name : str
        E.g. ``size 64``, or how it was given.
    band : BandTable
    pull_n : float
        Pull of a strand, once round the block.
    width_mm : float
        As it lies on the block.
    stretch : float or None
        None when its pull was given.
    """

    name: str
    band: BandTable
    pull_n: float
    width_mm: float
    stretch: float | None

    def layout(self, places_mm: Sequence[float], wrap_mm: float) -> tuple[BandAt, ...]:
        """Return bands at `places_mm` along a block of `wrap_mm` once round [mm]."""
        pull = strand_n(self.band, wrap_mm) or 0.0
        width = lying_width_mm(self.band, wrap_mm)
        return tuple(BandAt(float(z), pull, width) for z in sorted(places_mm))


def band_kinds(mold: Mold, wrap_mm: float) -> tuple[BandKind, ...]:
    """Return the kinds that a mold names, without slack ones and those given as a pull per mm.

    `wrap_mm` is the length once round the block [mm].
    """
    found = [
        _kind(_name(band, number), band, wrap_mm)
        for number, band in enumerate(mold.band, start=1)
        if band.tension_n_per_mm is None
    ]
    return tuple(kind for kind in found if kind.pull_n > 0)


def kinds_in_stock(wrap_mm: float) -> tuple[BandKind, ...]:
    """Return the trade sizes that stretch 1.5 to 3 times round `wrap_mm` [mm], strongest first."""
    low, high = WORKING_STRETCH
    found = [_kind(f"size {size}", BandTable(stock=size), wrap_mm) for size in SIZES]
    fit = [kind for kind in found if kind.stretch is not None and low <= kind.stretch <= high]
    return tuple(sorted(fit, key=lambda kind: -kind.pull_n))


def _kind(name: str, band: BandTable, wrap_mm: float) -> BandKind:
    pull = strand_n(band, wrap_mm) or 0.0
    return BandKind(
        name, band, pull, float(lying_width_mm(band, wrap_mm)), stretch_of(band, wrap_mm)
    )


def _name(band: BandTable, number: int) -> str:
    if band.stock is not None:
        return f"size {band.stock}"
    if band.name:
        return f"'{band.name}'"
    if band.tension_n is not None:
        return f"the band of {band.tension_n:g} N"
    return f"band {number}"
