"""What a mold takes: rubber, resin, and room in the pot. Pure geometry, in plain sentences.

Each station stands for its part of the length, from halfway to the one before to halfway to the
next. A mold without stations has one section all along; a cavity that is shorter than the block
says so with its ``models``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from squeeze.mold.section.build import section_of
from squeeze.mold.section.records import Section
from squeeze.mold.stations import stations_of
from squeeze.mold.tables.loads import RESIN_DENSITY_G_CM3, PotTable
from squeeze.mold.tables.mold import Mold
from squeeze.mold.tables.shape import ModelTable


@dataclass(frozen=True)
class Fit:
    """What a mold takes and whether it goes into its pot.

    Attributes
    ----------
    rubber_cm3, rubber_g : float
        Volume and mass of the block's fresh rubber; what fillers take is left out.
    rubber_price : float or None
        What that costs, in the currency of the price.
    resin_cm3, resin_g : float
        Volume and mass of the resin in the cavities; the mass is for the resin's own density,
        1.05 g/cm3 when the mold names no resin.
    widest_mm : float
        Diameter of the narrowest tube that the block goes into, its cradle with it.
    goes_in : bool or None
        Whether the block stands in the pot; None when the mold names no pot.
    say : tuple of str
        The same in plain sentences.
    """

    rubber_cm3: float
    rubber_g: float
    rubber_price: float | None
    resin_cm3: float
    resin_g: float
    widest_mm: float
    goes_in: bool | None
    say: tuple[str, ...]


def widest_mm(section: Section) -> float:
    """Return the diameter of the least circle round a block and its cradle pieces [mm]."""
    loops = (section.outline, *(piece.loop for piece in section.cradles))
    whole = shapely.multipolygons([loop.polygon for loop in loops])
    return 2 * float(shapely.minimum_bounding_radius(whole))


def old_rubber_mm2(section: Section) -> float:
    """Return how much of the section is filler [mm2]."""
    cavities = shapely.union_all([cavity.loop.polygon for cavity in section.cavities])
    fillers = shapely.union_all([filler.loop.polygon for filler in section.fillers])
    block = section.outline.polygon.difference(cavities)
    return float(fillers.intersection(block).area)


@dataclass(frozen=True)
class Volumes:
    """What is where in a block, over its whole length [cm3].

    Attributes
    ----------
    rubber : float
        Fresh rubber: without cavities, and without fillers.
    cavities, fillers : float
    box : float
        The box that the widest section fits into.
    """

    rubber: float
    cavities: float
    fillers: float
    box: float


def volumes_of(mold: Mold) -> Volumes:
    """Return what is where in a block; each station stands for its part of the length."""
    stations = [(at, section_of(each)) for at, each in stations_of(mold)]
    places = [at for at, _ in stations]
    bounds = [0.0, *((a + b) / 2 for a, b in pairwise(places)), mold.length_mm]
    total = np.zeros(3)
    named = dict(zip(places, (each for _, each in stations_of(mold)), strict=True))
    for (at, section), (begin, end) in zip(stations, pairwise(bounds), strict=True):
        long = end - begin
        models = {table.name: table.models for table in named[at].cavity}
        void = sum(
            c.loop.area * taken_mm(models.get(c.name, ()), begin, end) for c in section.cavities
        )
        old = old_rubber_mm2(section) * long
        total += np.array([section.outline.area * long - void - old, void, old]) / 1000.0
    wide, high = box_mm([section for _, section in stations])
    rubber, cavities, fillers = (float(each) for each in total)
    return Volumes(rubber, cavities, fillers, wide * high * mold.length_mm / 1000.0)


def taken_mm(models: Sequence[ModelTable], begin: float, end: float) -> float:
    """Return how much of the block's length from `begin` to `end` models take [mm].

    Without models all of it.

    Examples
    --------
    >>> knobs = [ModelTable(at_mm=20, length_mm=16), ModelTable(at_mm=50, length_mm=16)]
    >>> taken_mm(knobs, 0.0, 50.0), taken_mm([], 0.0, 50.0)
    (24.0, 50.0)
    """
    if not models:
        return end - begin
    spans = ((m.at_mm - m.length_mm / 2, m.at_mm + m.length_mm / 2) for m in models)
    return sum(max(0.0, min(high, end) - max(low, begin)) for low, high in spans)


def box_mm(sections: Sequence[Section]) -> tuple[float, float]:
    """Return width and height of the box that all outlines fit into [mm]."""
    bounds = np.array([section.outline.polygon.bounds for section in sections])
    wide, high = bounds[:, 2:].max(axis=0) - bounds[:, :2].min(axis=0)
    return float(wide), float(high)


def fit_of(mold: Mold, section: Section) -> Fit:
    """Return what the mold takes and whether it goes into its pot."""
    volumes = volumes_of(mold)
    rubber, resin = volumes.rubber, volumes.cavities
    grams = rubber * mold.rubber.density_g_cm3
    price = mold.rubber.price_per_kg
    cost = None if price is None else grams / 1000 * price
    density = mold.resin.density_g_cm3 if mold.resin else RESIN_DENSITY_G_CM3
    widest = widest_mm(section)
    goes_in, sentence = _in_pot(mold.pot, widest, mold.length_mm)
    say = [
        _rubber(rubber, grams, cost),
        f"The cavities take {resin:.0f} cm3 of resin, {resin * density:.0f} g.",
        *sentence,
    ]
    return Fit(rubber, grams, cost, resin, resin * density, widest, goes_in, tuple(say))


def _rubber(volume_cm3: float, grams: float, cost: float | None) -> str:
    price = "" if cost is None else f", which costs {cost:.2f}"
    return f"The block takes {volume_cm3:.0f} cm3 of rubber, {grams:.0f} g{price}."


def _in_pot(
    pot: PotTable | None, widest: float, length_mm: float
) -> tuple[bool | None, tuple[str, ...]]:
    if pot is None:
        return None, ()
    wide, long = pot.bore_mm - widest, pot.depth_mm - length_mm
    faults = []
    if wide < 0:
        faults.append(
            f"it is {widest:.1f} mm across at its widest and the bore is {pot.bore_mm:g} mm"
        )
    if long < 0:
        faults.append(f"it is {length_mm:g} mm long and the pot is {pot.depth_mm:g} mm deep")
    if faults:
        return False, (f"The block does not stand in the pot: {', and '.join(faults)}.",)
    return True, (
        f"The block stands in the pot with {wide:.0f} mm to spare across and {long:.0f} mm in"
        " height; bands and the vessel for the resin need room too.",
    )
