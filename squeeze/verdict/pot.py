"""Whether a closed block goes into its pot, with cradle and bands on, or with which bevel."""

from __future__ import annotations

import math
from dataclasses import dataclass

from squeeze.mold import BadInput, section_of, stations_of
from squeeze.mold.fit import widest_mm
from squeeze.mold.forces.bands import size_of
from squeeze.mold.tables.mold import Mold

FINE_BEVEL_MM = 0.5
"""Step of the bevels [mm]."""


@dataclass(frozen=True)
class PotFit:
    """How a closed block goes into its pot.

    Attributes
    ----------
    widest_mm : float
        Narrowest tube that block, cradle and bands go into: the diagonal of a square block.
    high_mm : float
        The block's length: it stands in the pot.
    bore_mm, depth_mm : float
    bevel_mm : float or None
        The bevel with which it goes in, when it does not and a bevel mends that.
    """

    widest_mm: float
    high_mm: float
    bore_mm: float
    depth_mm: float
    bevel_mm: float | None

    @property
    def goes_in(self) -> bool:
        """Whether it stands in the pot."""
        return self.widest_mm <= self.bore_mm and self.high_mm <= self.depth_mm


def with_bands_mm(mold: Mold) -> float:
    """Return the narrowest tube that block, cradle and bands go into [mm].

    A band lies once round the outside, as thick as it was unstretched; where its size is not known
    it counts as nothing.
    """
    thick = max((size.thickness_mm for band in mold.band if (size := size_of(band))), default=0.0)
    widest = max(widest_mm(section_of(each)) for _, each in stations_of(mold))
    return widest + 2 * thick


def pot_fit(mold: Mold) -> PotFit | None:
    """Return how a mold goes into its pot; None when it names none.

    Raises
    ------
    BadInput
        When its geometry cannot be built.
    """
    if mold.pot is None:
        return None
    widest, bore = with_bands_mm(mold), mold.pot.bore_mm
    bevel = _bevel_for(mold, bore) if widest > bore and not mold.cradle else None
    return PotFit(widest, mold.length_mm, bore, mold.pot.depth_mm, bevel)


def _bevel_for(mold: Mold, bore_mm: float) -> float | None:
    """Return the least bevel that lets the block in; None when none does.

    Steps of half a millimetre, upwards: what a bevel does to cuts and cavities is not monotone.
    """
    width, height = mold.block.width_mm, mold.block.height_mm
    if width is None:
        return None
    most = min(width, height or width) / 2
    for k in range(math.ceil(mold.block.bevel_mm / FINE_BEVEL_MM), int(most / FINE_BEVEL_MM) + 1):
        bevel = k * FINE_BEVEL_MM
        block = mold.block.model_copy(update={"bevel_mm": bevel})
        try:
            if with_bands_mm(mold.model_copy(update={"block": block})) <= bore_mm:
                return bevel
        except BadInput:
            continue
    return None
