"""What a block has to keep to: wall, size, pot, bands at hand, boards; and the wishes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from squeeze.mold import Mold, dict_of, strand_n, stretch_of
from squeeze.mold.forces.band_sizes import SIZES
from squeeze.mold.forces.bands import WORKING_STRETCH, size_of
from squeeze.mold.tables.design import DesignTable
from squeeze.mold.tables.loads import BandTable
from squeeze.solve.along.loads import lying_width_mm

MOST_BANDS = 12
"""Bands on a block where neither file nor wish names a number."""

BAND_KEYS = ("stock", "width_mm", "thickness_mm", "flat_length_mm", "tension_n", "weighed_g")


@dataclass(frozen=True)
class BandAtHand:
    """A kind of band that may go on the block.

    Attributes
    ----------
    name : str
        What it is called, e.g. ``size 64``.
    table : dict
        Its keys in a mold file, without count and places.
    most : int
        How many there are; 0 for a pull per mm of length, which is taken as it is.
    """

    name: str
    table: dict[str, Any]
    most: int

    @cached_property
    def band(self) -> BandTable:
        """The table of a mold file, for one band."""
        return BandTable.model_validate(self.table)

    def pull_n(self, wrap_mm: float) -> float:
        """Return the pull of a strand stretched round `wrap_mm` [mm] of block [N]."""
        return strand_n(self.band, wrap_mm) or 0.0

    def stretch(self, wrap_mm: float) -> float | None:
        """Return its stretch round `wrap_mm` [mm]; None where its pull was given."""
        return stretch_of(self.band, wrap_mm)

    def wraps_mm(self) -> tuple[float, float] | None:
        """Return the shortest and the longest wrap that stretch it as bands are used [mm]."""
        size = size_of(self.band)
        if size is None:
            return None
        low, high = (2 * size.flat_length_mm * stretch for stretch in WORKING_STRETCH)
        return low, high

    def width_mm(self, wrap_mm: float) -> float:
        """Return how wide it lies on a block of `wrap_mm` once round [mm]."""
        return float(lying_width_mm(self.band, wrap_mm))

    def on_block(self, count: int, length_mm: float) -> dict[str, Any]:
        """Return the table of `count` bands, evenly spread over a block of `length_mm` [mm]."""
        if not self.most:
            return dict(self.table)
        places = [round((k + 0.5) * length_mm / count, 1) for k in range(count)]
        return self.table | {"at_mm": places}


@dataclass(frozen=True)
class Limits:
    """Limits of a search.

    Attributes
    ----------
    wishes : DesignTable
    bands : tuple of BandAtHand
    length_mm : float
    has_own_cuts : bool
        Whether the cuts of the file go with the models.
    """

    wishes: DesignTable
    bands: tuple[BandAtHand, ...]
    length_mm: float
    has_own_cuts: bool

    @property
    def allows_boards(self) -> bool:
        """Whether boards may lie under the bands."""
        longest = self.wishes.most_board_mm
        return self.wishes.cradle and (longest is None or longest >= self.length_mm)


def limits_of(mold: Mold, wishes: DesignTable | None = None) -> Limits:
    """Return the limits that a mold and wishes set; wishes stand in for the mold's own."""
    wishes = wishes or mold.design or DesignTable()
    own = bool(mold.cut) or any(station.cut for station in mold.station)
    given = own if wishes.cut is None else wishes.cut == "given"
    given = given and wishes.arrange == "kept"
    return Limits(wishes, bands_at_hand(mold, wishes), mold.length_mm, given)


def bands_at_hand(mold: Mold, wishes: DesignTable) -> tuple[BandAtHand, ...]:
    """Return the kinds of band to try: the file's own, those in stock; all sizes without either."""
    found = []
    own = sum(band.strands for band in mold.band if band.tension_n_per_mm is None)
    most = wishes.most_bands or own or MOST_BANDS
    together = sum(band.tension_n_per_mm or 0.0 for band in mold.band)
    if together:
        found.append(BandAtHand("the bands", {"tension_n_per_mm": together}, 0))
    for number, table in enumerate(dict_of(mold).get("band", ()), start=1):
        if "tension_n_per_mm" not in table:
            bare = {key: table[key] for key in (*BAND_KEYS, "friction") if key in table}
            found.append(BandAtHand(_name(bare, number), bare, most))
    named = [each.table.get("stock") for each in found]
    stock = wishes.band_stock if wishes.band_stock is not None else () if found else tuple(SIZES)
    for size in stock:
        if size not in named:
            found.append(BandAtHand(f"size {size}", {"stock": size}, most))
    return tuple(found)


def _name(table: dict[str, Any], number: int) -> str:
    if "stock" in table:
        return f"size {table['stock']}"
    if "tension_n" in table:
        return f"the band of {table['tension_n']:g} N"
    return f"band {number}"
