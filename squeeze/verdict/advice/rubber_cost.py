"""What an outline costs: rubber of the block, of others round the same cavities, and its price."""

from __future__ import annotations

from dataclasses import dataclass

from squeeze.mold import section_of
from squeeze.mold.errors import BadInput
from squeeze.mold.fit import volumes_of
from squeeze.mold.section.records import Section
from squeeze.mold.tables.mold import Mold
from squeeze.verdict.advice.changed_mold import round_about, with_tables

FINE_MM = 0.001
"""Points on a curve lie so close that a chord between them strays no farther [mm]."""


@dataclass(frozen=True)
class RubberCost:
    """Rubber of one block, and its price.

    Attributes
    ----------
    what : str
        Which block, in words.
    volume_cm3, mass_g : float
        Of fresh rubber: without cavities, and without fillers.
    price : float or None
        In the currency of the mold file; None when it gives none.
    """

    what: str
    volume_cm3: float
    mass_g: float
    price: float | None


def rubber_of(mold: Mold, what: str = "this block") -> RubberCost:
    """Return the fresh rubber that a mold takes; each station stands for its part of the length.

    `what` names the block in a sentence on its cost.
    """
    volume = volumes_of(mold).rubber
    mass = volume * mold.rubber.density_g_cm3
    price = mold.rubber.price_per_kg
    return RubberCost(what, volume, mass, None if price is None else price * mass / 1000.0)


def wall_mm(section: Section) -> float | None:
    """Return the least rubber between a cavity and the outside [mm]; None without a cavity."""
    outline = section.outline
    walls = [
        min(
            float(outline.distances(cavity.loop.points(FINE_MM)).min()),
            float(cavity.loop.distances(outline.points(FINE_MM)).min()),
        )
        for cavity in section.cavities
    ]
    return min(walls, default=None)


def costs(
    mold: Mold, beveled: Mold | None = None, rounder: Mold | None = None
) -> tuple[RubberCost, ...]:
    """Return what the present block takes, a beveled one, and a round one.

    Parameters
    ----------
    mold : Mold
    beveled : Mold, optional
        The same mold with the bevels that make it seal, when it is known.
    rounder : Mold, optional
        The round block that the advice offers, when it offers one.

    Notes
    -----
    Where none is offered, the round block has the smallest circle about all cavities with the least
    wall of the present block round it, all of fresh rubber. It is left out where there is no
    cavity, the block is round already, or its section changes along it.
    """
    found = [rubber_of(mold)]
    if beveled is not None:
        found.append(rubber_of(beveled, f"with bevels of {beveled.block.bevel_mm:g} mm it"))
    if rounder is not None:
        what = f"the round one of {rounder.block.diameter_mm:.0f} mm"
        return (*found, rubber_of(rounder, what))
    wall = wall_mm(section_of(mold))
    if wall is not None and mold.block.shape != "round" and not mold.station:
        found += _round(mold, wall)
    return tuple(found)


def _round(mold: Mold, wall: float) -> list[RubberCost]:
    try:
        made = round_about(with_tables(mold, filler=None, cradle=None, push=None), wall)
        what = f"a round one of {made.block.diameter_mm:.0f} mm with the same least wall"
        return [rubber_of(made, what)]
    except BadInput:  # a cut that does not go with the round outline
        return []
