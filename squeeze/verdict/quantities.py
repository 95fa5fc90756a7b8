"""What a mold takes: rubber, resin, money, strength of hand; and what cure shrinkage does."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from squeeze.mold import section_of, stations_of
from squeeze.mold.fit import box_mm, volumes_of
from squeeze.mold.section.records import Section
from squeeze.mold.tables.channels import SprueTable
from squeeze.mold.tables.loads import RESIN_DENSITY_G_CM3, WASTE_PERCENT, ResinTable
from squeeze.mold.tables.mold import Mold
from squeeze.mold.vents import vents_of

VACUUM_RISE = 4.0
"""Mixing vessel over what is mixed, where air is drawn out under vacuum (common practice: rubber
rises to three or four times its height)."""


@dataclass(frozen=True)
class Amount:
    """So much of a material.

    Attributes
    ----------
    volume_cm3, mass_g : float
    price : float or None
        In the currency of the mold file; None when it gives none.
    parts_g : tuple of float
        What to weigh of each part; empty when the mixing ratio is not given.
    """

    volume_cm3: float
    mass_g: float
    price: float | None
    parts_g: tuple[float, ...]


@dataclass(frozen=True)
class Shrinkage:
    """What cure shrinkage makes of a mold.

    Attributes
    ----------
    percent : float
        Linear, as the data sheet gives it.
    sizes : tuple of (str, float, float)
        Name of each cavity, how much narrower and how much lower it gets [mm].
    bow_mm : tuple of (str, float)
        Name of each cut, and the most that it bows open in the middle of its longest land [mm].
    """

    percent: float
    sizes: tuple[tuple[str, float, float], ...]
    bow_mm: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class Quantities:
    """What a mold takes.

    Attributes
    ----------
    box_mm : (float, float, float)
        Inside of the mold box: width, height, length.
    rubber : Amount
        Fresh rubber in the block.
    rubber_mixed : Amount
        That and the waste: what to weigh out.
    filler_cm3 : float
        Older rubber in the block, which is saved.
    saved_by_outline_cm3 : float
        What the outline leaves out of its box.
    cavities_cm3, sprue_cm3, vents_cm3 : float
        Of one filling.
    castings : int
        How many times the mold is filled.
    resin : Amount
        Of one filling: cavities, sprue and vents.
    resin_mixed : Amount
        Of all fillings, with the waste.
    lifted_g : float
        What the closed, filled block weighs; cradle and bands come on top.
    price : float or None
        Of rubber and all resin, with waste, as far as prices are given.
    shrinkage : Shrinkage or None
        None when the mold file does not say how much the rubber shrinks.
    """

    box_mm: tuple[float, float, float]
    rubber: Amount
    rubber_mixed: Amount
    filler_cm3: float
    saved_by_outline_cm3: float
    cavities_cm3: float
    sprue_cm3: float
    vents_cm3: float
    castings: int
    resin: Amount
    resin_mixed: Amount
    lifted_g: float
    price: float | None
    shrinkage: Shrinkage | None

    @property
    def vessel_cm3(self) -> float:
        """Mixing vessel for the rubber when air is drawn out under vacuum."""
        return VACUUM_RISE * self.rubber_mixed.volume_cm3


def quantities_of(mold: Mold) -> Quantities:
    """Return what a mold takes.

    Raises
    ------
    BadInput
        When its geometry cannot be built, or a vent begins at no cavity.
    """
    sections = [section_of(each) for _, each in stations_of(mold)]
    volumes = volumes_of(mold)
    wide, high = box_mm(sections)
    rubber = _amount(volumes.rubber, mold.rubber.density_g_cm3, mold.rubber)
    rubber_mixed = _more(rubber, 1 + mold.rubber.waste_percent / 100)
    sprue = _sprues_cm3(mold.sprue)
    vents = sum(vent.volume_mm3 for vent in vents_of(mold)) / 1000.0
    resin_table = mold.resin
    density = resin_table.density_g_cm3 if resin_table else RESIN_DENSITY_G_CM3
    resin = _amount(volumes.cavities + sprue + vents, density, resin_table)
    castings = resin_table.castings if resin_table else 1
    waste = resin_table.waste_percent if resin_table else WASTE_PERCENT
    resin_mixed = _more(resin, castings * (1 + waste / 100))
    outlines = volumes.rubber + volumes.fillers + volumes.cavities
    old = volumes.fillers * mold.rubber.density_g_cm3
    prices = [each.price for each in (rubber_mixed, resin_mixed) if each.price is not None]
    return Quantities(
        box_mm=(wide, high, mold.length_mm),
        rubber=rubber,
        rubber_mixed=rubber_mixed,
        filler_cm3=volumes.fillers,
        saved_by_outline_cm3=max(0.0, volumes.box - outlines),
        cavities_cm3=volumes.cavities,
        sprue_cm3=sprue,
        vents_cm3=vents,
        castings=castings,
        resin=resin,
        resin_mixed=resin_mixed,
        lifted_g=rubber.mass_g + old + resin.mass_g,
        price=sum(prices) if prices else None,
        shrinkage=shrinkage_of(mold),
    )


def _amount(volume_cm3: float, density: float, table: object) -> Amount:
    """Return so much of the rubber or the resin that a table of the mold file describes."""
    mass = volume_cm3 * density
    price: float | None = getattr(table, "price_per_kg", None)
    ratio: tuple[float, ...] = getattr(table, "mix_by_weight", None) or ()
    parts = tuple(mass * part / sum(ratio) for part in ratio)
    return Amount(volume_cm3, mass, None if price is None else price * mass / 1000.0, parts)


def _more(amount: Amount, times: float) -> Amount:
    price = None if amount.price is None else amount.price * times
    parts = tuple(part * times for part in amount.parts_g)
    return Amount(amount.volume_cm3 * times, amount.mass_g * times, price, parts)


def _sprues_cm3(sprue: SprueTable | None) -> float:
    """Return the volume of all sprues [cm3]."""
    if sprue is None:
        return 0.0
    return sprue.count * math.pi / 4 * sprue.diameter_mm**2 * sprue.height_mm / 1000.0


def shrinkage_of(mold: Mold) -> Shrinkage | None:
    """Return what cure shrinkage makes of a mold; None when the file does not say how much.

    Notes
    -----
    Even shrinkage makes everything smaller alike and leaves cuts fitting. A cut bows where one
    half of the rubber beside it has shrunk and the other half has not. Two equal layers of one
    material, h thick together and e apart in strain, bend to the curvature 3 e / (2 h)
    (S. Timoshenko, J. Opt. Soc. Am. 11 (1925) 233, from memory); a chord of length L then stands
    off by 3 e L^2 / (16 h). Both faces may bow away from each other. This is the most that a free
    land bows.
    """
    percent = mold.rubber.shrinkage_percent
    if percent is None:
        return None
    e, section = percent / 100.0, section_of(mold)
    sizes = []
    for cavity in section.cavities:
        x0, y0, x1, y1 = cavity.loop.polygon.bounds
        sizes.append((cavity.name, e * (x1 - x0), e * (y1 - y0)))
    bows = tuple(
        (cut.name, max(_bows(cut.stretches, e, section), default=0.0)) for cut in section.cuts
    )
    return Shrinkage(percent, tuple(sizes), bows)


def _bows(stretches: Sequence, e: float, section: Section) -> list[float]:
    """Return how far each stretch of a cut may bow: both faces, 3 e L^2 / (16 h) each [mm]."""
    x0, y0, x1, y1 = section.outline.polygon.bounds
    found = []
    for stretch in stretches:
        (ax, ay), (bx, by) = stretch.points[0], stretch.points[-1]
        chord = math.hypot(bx - ax, by - ay)
        if chord == 0:
            continue
        across = (x1 - x0) * abs(by - ay) / chord + (y1 - y0) * abs(bx - ax) / chord
        found.append(2 * 3 * e * chord**2 / (16 * across / 2))
    return found


def shrunk(mold: Mold) -> Mold:
    """Return the mold whose cuts start with the bow that cure shrinkage leaves at most.

    The same mold where the file does not say how much the rubber shrinks.
    """
    percent = mold.rubber.shrinkage_percent
    shrinkage = shrinkage_of(mold)
    if not percent or shrinkage is None:
        return mold
    bows = dict(shrinkage.bow_mm)
    cuts = tuple(
        cut.model_copy(update={"bow_mm": cut.bow_mm + bows.get(cut.name, 0.0)}) for cut in mold.cut
    )
    return mold.model_copy(update={"cut": cuts})


def under_bands(resin: ResinTable | None, strain_pct: float | None = None) -> str:
    """Return the sentences on how long the block lies under its bands, and how much strained.

    What stress is left after that time is not computed.

    Parameters
    ----------
    resin : ResinTable or None
        How long a casting stays in, and how many there are.
    strain_pct : float, optional
        Largest strain of the closed block [%].
    """
    lies = "Under its bands"
    if strain_pct is not None and strain_pct >= 0.5:
        lies = f"Under its bands, strained by up to {strain_pct:.0f} %"
    off = (
        "Take the bands off after demolding: rubber that stays pressed keeps a set"
        " (common practice)."
    )
    if resin is None or resin.demold_min is None:
        return off if lies == "Under its bands" else f"{lies}. {off}"
    once = _time(resin.demold_min)
    if resin.castings > 1:
        whole = _time(resin.demold_min * resin.castings)
        return f"{lies}: {once} a filling, {whole} in all for {resin.castings}. {off}"
    return f"{lies}: {once}. {off}"


def _time(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes < 120 else f"{minutes / 60:.1f} h"
