"""Screening: a block on a coarse mesh, at small deformation, with the least friction that counts.

At small deformation all that bands press grows in proportion to their pull, and what the resin
takes away does not depend on it. So two pulls tell every number of bands: figures between them are
linear. The worst of the twelve variations is then known, too: bands a fifth slacker for the margin,
bands a fifth tighter round rubber a quarter softer for everything that deforms.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from squeeze.design.blocks.limits import BandAtHand, Limits
from squeeze.design.blocks.work import bands_on, steps_of
from squeeze.design.search.given_up import (
    APART,
    FITS_NOT,
    LOOSE,
    NOT_MADE,
    OVERSIZE,
    OVERSTRETCHED,
    SHUT_IN,
    TOO_LONG,
    UNSOLVED,
    Unfit,
)
from squeeze.mold import BadInput, Mold, loads_of, mold_of, section_of, stations_of, wrap_mm
from squeeze.mold.fit import volumes_of
from squeeze.mold.forces.bands import WORKING_STRETCH
from squeeze.solve import Block, Closing, Outcome
from squeeze.verdict.advice.rubber_cost import wall_mm
from squeeze.verdict.casting.flash import HAIRLINE_MM
from squeeze.verdict.figures import figures_of
from squeeze.verdict.grade import STEP_SEEN_MM
from squeeze.verdict.pot import with_bands_mm
from squeeze.verdict.seal.barrier import MARGIN, resin_kpa
from squeeze.verdict.uncertainty import PULL, STIFFNESS, friction_bounds

Array = NDArray[np.float64]

COARSE = 0.4
"""Fineness of the mesh."""

SLACK, TIGHT = PULL[0], PULL[-1]
SOFTER = 1 / STIFFNESS[0]

HEADROOM = 1.1
"""A margin on the coarse mesh has to be so many times what is asked for: the fine mesh, the block's
deformation and the places between the bands take some of it."""

SHARP = 12.0
"""How sharply the smooth least and most tell values apart, over their scale."""

PITCH = 0.5
"""Bands stand no farther apart than this share of the block's lesser side: between bands as far
apart as the block is high, the margin falls to a third."""

LINES = ("margin", "flash_mm", "shift_mm", "step_mm", "smooth")
"""Figures of a block that are linear in the pull."""


@dataclass(frozen=True)
class Linear:
    """A figure at two pulls; between and beyond them it is linear in the pull."""

    at: tuple[float, float]
    values: tuple[float, float]

    def __call__(self, pull: float) -> float:
        """Return the figure at a pull."""
        (a, b), (p, q) = self.at, self.values
        return p + (q - p) * (pull - a) / (b - a)

    def pull_for(self, value: float) -> float:
        """Return the pull [N/mm] at which it reaches `value` [own unit]; infinite where never."""
        (a, b), (p, q) = self.at, self.values
        return a + (value - p) * (b - a) / (q - p) if q > p else math.inf


@dataclass(frozen=True)
class Screened:
    """What a coarse mesh says of a block.

    Attributes
    ----------
    rubber_g, wall_mm, widest_mm, wrap_mm : float
    margin, flash_mm, shift_mm, step_mm : Linear
        By the pull of all bands [N/mm].
    smooth : Linear
        The margin as a smooth figure, which goes below zero where a land stands open.
    bands : tuple of (BandAtHand, most)
        Kinds that stretch well round this block, and how many of each may lie on it.
    most_pull : float
        The most that any of them pulls together [N/mm].
    least_bands : int
        So many at least, or they stand too far apart.
    steps : int
        Of work, without the bands.
    """

    rubber_g: float
    wall_mm: float
    widest_mm: float
    wrap_mm: float
    margin: Linear
    flash_mm: Linear
    shift_mm: Linear
    step_mm: Linear
    smooth: Linear
    bands: tuple[tuple[BandAtHand, int], ...]
    most_pull: float
    least_bands: int
    steps: int

    def worst_margin(self, pull: float) -> float:
        """Return the margin with slack bands, at a `pull` as planned [N/mm]."""
        return self.margin(SLACK * pull)

    def worst(self, name: str, pull: float) -> float:
        """Return the figure `name`, bands tight and rubber soft; `pull` as planned [N/mm]."""
        return max(0.0, SOFTER * getattr(self, name)(TIGHT * pull))

    def is_clean(self, pull: float) -> bool:
        """Whether neither flash nor a step would show, at a `pull` as planned [N/mm]."""
        flash, step = (self.worst(name, pull) for name in ("flash_mm", "step_mm"))
        return flash < HAIRLINE_MM and step < STEP_SEEN_MM


def check_fit(mold: Mold, limits: Limits) -> None:
    """Give a block up that is too large.

    Raises
    ------
    Unfit
    """
    x0, y0, x1, y1 = section_of(mold).outline.polygon.bounds
    most = limits.wishes.most_width_mm, limits.wishes.most_height_mm
    for size, limit in zip((x1 - x0, y1 - y0), most, strict=True):
        if limit is not None and size > limit + 1e-6:
            raise Unfit(OVERSIZE, size)
    if mold.pot is not None:
        if mold.length_mm > mold.pot.depth_mm:
            raise Unfit(TOO_LONG, mold.length_mm)
        widest = with_bands_mm(mold)
        if widest > mold.pot.bore_mm:
            raise Unfit(FITS_NOT, widest)


def bands_for(wrap: float, limits: Limits) -> tuple[tuple[BandAtHand, int], ...]:
    """Return the kinds of band that stretch well round a path, and how many fit side by side.

    Parameters
    ----------
    wrap : float
        Girth of the block [mm].
    limits : Limits

    Raises
    ------
    Unfit
        When all of them hang loose, or all that do not are overstretched.
    """
    low, high = WORKING_STRETCH
    found, why = [], Unfit(LOOSE)
    for kind in limits.bands:
        stretch = kind.stretch(wrap)
        if stretch is not None and not low - 1e-3 <= stretch <= high + 1e-3:
            reason = LOOSE if stretch < low else OVERSTRETCHED
            why = Unfit(reason, wrap)
            continue
        fit = int(limits.length_mm / kind.width_mm(wrap)) if kind.most else 1
        most = min(kind.most or 1, fit)
        if most >= 1 and kind_pull(kind, most, wrap, limits.length_mm) > 0:
            found.append((kind, most))
    if not found:
        raise why
    return tuple(found)


def kind_pull(kind: BandAtHand, count: int, wrap: float, length_mm: float) -> float:
    """Return the pull [N/mm] of `count` bands of a kind, `wrap` once round the block [mm].

    It is spread over `length_mm` of block.
    """
    if not kind.most:
        return kind.band.tension_n_per_mm or 0.0
    return count * kind.pull_n(wrap) / length_mm


def screen(data: dict[str, Any], limits: Limits, fineness: float = COARSE) -> Screened:
    """Return what a coarse mesh says of a block.

    Parameters
    ----------
    data : dict
        A whole mold; how many bands it has does not matter.
    limits : Limits
    fineness : float

    Raises
    ------
    Unfit
        When it is given up before or after it is computed.
    """
    try:
        mold = mold_of(data)
        walls = [wall_mm(section_of(each)) for _, each in stations_of(mold)]
        wall = min((w for w in walls if w is not None), default=math.inf)
        check_fit(mold, limits)
        bands = bands_for(wrap_mm(section_of(mold)), limits)
        block = Block(mold, fineness)
    except BadInput as error:
        raise Unfit(NOT_MADE) from error
    wrap = wrap_mm(block.section)
    most = max(kind_pull(kind, n, wrap, mold.length_mm) for kind, n in bands)
    pulls, closings = _at_two_pulls(block, mold, most)
    figures = [figures_of(each, mold) for each in closings]
    if figures[0].grade == "Cannot be opened":
        raise Unfit(SHUT_IN, is_computed=True)
    E = block.section.material.youngs_modulus_mpa

    def linear(name: str) -> Linear:
        return Linear(pulls, (float(figures[0].values[name]), float(figures[1].values[name])))

    smooth = Linear(pulls, (smooth_margin(closings[0], E), smooth_margin(closings[1], E)))
    x0, y0, x1, y1 = block.section.outline.polygon.bounds
    side = (max if mold.cradle else min)(x1 - x0, y1 - y0)  # boards spread what bands press
    return Screened(
        rubber_g=volumes_of(mold).rubber * mold.rubber.density_g_cm3,
        wall_mm=wall,
        widest_mm=with_bands_mm(mold),
        wrap_mm=wrap,
        margin=linear("margin"),
        flash_mm=linear("flash_thickness_mm"),
        shift_mm=linear("largest_shift_mm"),
        step_mm=linear("step_mm"),
        smooth=smooth,
        bands=bands,
        most_pull=most,
        least_bands=max(1, math.ceil(mold.length_mm / (PITCH * side) - 1e-9)),
        steps=steps_of(mold) - bands_on(mold),
    )


def _at_two_pulls(
    block: Block, mold: Mold, most: float
) -> tuple[tuple[float, float], list[Closing]]:
    """Return two pulls, the larger one `most` [N/mm], and how the block closes under each.

    Raises
    ------
    Unfit
        When it has no answer, or comes apart under bands a fifth too slack.
    """
    low = {
        cut.name: (cut.friction_range or friction_bounds(cut.friction))[0]
        for cut in block.section.cuts
    }
    loads = loads_of(mold, block.section)

    def at(share: float) -> Closing:
        pulled = replace(loads, tension_n_per_mm=share * most)
        closing = block.close(pulled, friction=low, check=False)
        if not (closing.outcome.has_answer or closing.outcome is Outcome.PIECE_NOT_HELD):
            raise Unfit(UNSOLVED, is_computed=True)
        return closing

    share, few = 0.5, at(0.5)
    if not few.outcome.has_answer:  # half of the bands are too few against the resin
        share, few = SLACK, at(SLACK)
    if not few.outcome.has_answer:
        raise Unfit(APART, is_computed=True)
    return (share * most, most), [few, at(1.0)]


def smooth_margin(closing: Closing, E: float) -> float:
    """Return the margin as a smooth figure: the smooth least over lands of their smooth most.

    A place counts with its pressure, or where it is open with minus E gap / length of the land, the
    stress that would close it. So the figure says how far an open land is from closing.

    Parameters
    ----------
    closing : Closing
    E : float
        Young's modulus of the rubber [MPa].
    """
    values = []
    for land in closing.lands:
        q = land.pressure_kpa - 1000.0 * E * land.gap_mm / land.length_mm
        values.append(_smooth(q, SHARP))
    if not values:
        return 0.0
    return _smooth(np.array(values), -SHARP) / resin_kpa(closing.loads)


def _smooth(values: Array, sharp: float) -> float:
    """Return the smooth most of values, or with a negative `sharp` the smooth least."""
    scale = max(float(np.abs(values).max()), 1e-9)
    t = sharp * values / scale
    top = float(t.max())
    return scale / sharp * (top + math.log(float(np.mean(np.exp(t - top)))))


def needed_margin(limits: Limits) -> float:
    """Return the margin that a block has to have on the coarse mesh, with slack bands."""
    return max(limits.wishes.least_margin, MARGIN) * HEADROOM
