"""Certifying a block: as it deforms, in twelve variations, along its length, with wall and pot."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from squeeze.design.answer import DesignFigures
from squeeze.design.blocks.work import bands_on, steps_of
from squeeze.mold import Mold, section_of, stations_of
from squeeze.mold.tables.design import DesignTable
from squeeze.solve import Closing, refined
from squeeze.solve.along.loads import bands_of, smeared_of
from squeeze.solve.along.stations import station_blocks
from squeeze.verdict.advice.rubber_cost import wall_mm
from squeeze.verdict.bands.barriers_along import seal_along
from squeeze.verdict.figures import Figures, figures_of
from squeeze.verdict.grade import CLEAN, GOOD, GRADES
from squeeze.verdict.pot import with_bands_mm
from squeeze.verdict.quantities import quantities_of
from squeeze.verdict.uncertainty import PULL, Uncertainty, uncertainty, varies


def certify(mold: Mold, wishes: DesignTable, fineness: float | None = None) -> DesignFigures:
    """Return what a block costs and does.

    Parameters
    ----------
    mold : Mold
    wishes : DesignTable
        For the prices.
    fineness : float, optional
        Of the section's mesh; that of `squeeze close`, with its accuracy, unless given.

    Raises
    ------
    BadInput
        When it cannot be computed as given.
    """
    sections = [_section(each, fineness) for _, each in stations_of(mold)]
    given = [figures for figures, _, _ in sections]
    varied = [_each(found, figures) for figures, found, _ in sections]
    worst = [_worst(list(cases)) for cases in zip(*varied, strict=True)]
    margin_along = along(mold, fineness or 1.0)
    margin = min(min(_number(each.margin, 0.0) for each in worst), margin_along)
    everything = [*given, *(figures for cases in varied for figures in cases)]
    closings = [closing for _, _, closing in sections]
    walls = [wall_mm(section_of(each)) for _, each in stations_of(mold)]
    return DesignFigures(
        rubber_g=quantities_of(mold).rubber.mass_g,
        price=price_of(mold, wishes),
        steps=steps_of(mold),
        bands=bands_on(mold),
        margin=margin,
        flash_mm=_most(everything, "flash_thickness_mm"),
        shift_mm=_most(everything, "largest_shift_mm"),
        step_mm=_most(everything, "step_mm"),
        grade=_worst(given).grade,
        clean_in=sum(each.grade == CLEAN for each in worst),
        good_in=sum(each.grade in GOOD for each in worst),
        seals_in=sum(bool(each.seals) for each in worst),
        margin_along=margin_along,
        wall_mm=min((wall for wall in walls if wall is not None), default=math.inf),
        widest_mm=with_bands_mm(mold),
        strain_pct=max(closing.trust.largest_strain_pct for closing in closings),
        is_large=any(closing.deformation.is_large for closing in closings),
    )


def _section(mold: Mold, fineness: float | None) -> tuple[Figures, Uncertainty | None, Closing]:
    found = refined(mold, fineness=fineness)
    closing = found.closing
    varied = None
    if varies(closing):
        varied = uncertainty(found.block, closing, coarse=found.coarse)
    return figures_of(closing, mold), varied, closing


def _each(found: Uncertainty | None, given: Figures) -> list[Figures]:
    """Return the figures of the twelve variations; those of the file where nothing was varied."""
    if found is None:
        return [given] * VARIATIONS
    return [each.figures for each in found.variations]


VARIATIONS = 12


def _worst(figures: Sequence[Figures]) -> Figures:
    """Return the figures of the worst section."""
    return max(figures, key=lambda each: (GRADES.index(each.grade), -_number(each.margin, 0.0)))


def _number(value: float, lost: float) -> float:
    return lost if value is None or math.isnan(value) else float(value)


def _most(figures: Sequence[Figures], name: str) -> float:
    return max(_number(each.values[name], math.inf) for each in figures)


def along(mold: Mold, fineness: float = 1.0) -> float:
    """Return the least margin along the block with its bands where they are, a fifth too slack.

    `fineness` is that of each station's mesh.
    """
    smeared = PULL[0] * smeared_of(mold)
    least = math.inf
    for station in station_blocks(mold, None, fineness):
        block = station.block
        bands = tuple(
            replace(band, tension_n=PULL[0] * band.tension_n)
            for band in bands_of(mold, block.wrap_mm)
        )
        closing = block.close(bands, smeared_n_per_mm=smeared, check=False)
        least = min(least, seal_along(closing, station.from_mm, station.to_mm).margin)
    return least


def price_of(mold: Mold, wishes: DesignTable) -> float | None:
    """Return what rubber with its waste, bands, boards and work cost; None without any price."""
    rubber = quantities_of(mold).rubber_mixed.price
    parts = [
        rubber,
        _times(wishes.band_price, bands_on(mold)),
        _times(wishes.board_price, len(mold.cradle)),
        _times(wishes.step_price, steps_of(mold)),
    ]
    known = [part for part in parts if part is not None]
    return sum(known) if known else None


def _times(price: float | None, count: int) -> float | None:
    return None if price is None else price * count
