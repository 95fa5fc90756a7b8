"""How much work a block is, in steps: boards of the box, strips, knife strokes, bands, boards.

The numbers are a judgement. A step is one thing that is marked out, made and fitted.
"""

from __future__ import annotations

from squeeze.mold import section_of
from squeeze.mold.shapes.registry import SHAPES
from squeeze.mold.tables.design import DesignTable
from squeeze.mold.tables.mold import Mold
from squeeze.mold.tables.shape import BlockTable

CURVED_BOX = {"round": 6, "oval": 8}
"""Parts of a pouring box without corners; others have a board a side. A round one is a sheet wound
round two sawn discs; the discs of an oval are drawn with string and pins first."""

STRIP, FILLET = 1, 2
"""For one corner: a strip for a bevel; a hollow fillet for a radius."""

PLAIN_BEVEL_MM, PLAIN_ROUND_MM = 3.0, 2.0
"""Smaller bevels and radii are taken off with a knife afterwards and are no step."""

FLAT_BOARD, ROUND_BOARD = 2, 3
"""A cradle board: sawn and fitted; with a rounded back."""

STEP_SHARE = 0.02
"""What a step of work counts for, over the rubber of the lightest block, where it has no price."""


def steps_of(mold: Mold) -> int:
    """Return how many steps of work a mold is, from the box to the bands.

    Raises
    ------
    BadInput
        When its geometry cannot be built.
    """
    return box_steps(mold.block) + _knife(mold) + _boards(mold) + bands_on(mold)


def bands_on(mold: Mold) -> int:
    """Return how many bands lie on a mold; a pull per mm of length counts as one."""
    return sum(1 if band.tension_n_per_mm is not None else band.strands for band in mold.band)


def box_steps(block: BlockTable) -> int:
    """Return how many steps the box of a block is, with its strips and fillets."""
    if block.shape in CURVED_BOX:
        return CURVED_BOX[block.shape]
    sides = len(block.points_mm or SHAPES[block.shape].corners) or 4
    if block.bevel_mm > PLAIN_BEVEL_MM:
        return sides + STRIP * sides
    if (block.round_mm or 0.0) > PLAIN_ROUND_MM:
        return sides + FILLET * sides
    return sides


def _knife(mold: Mold) -> int:
    """Count straight strokes of the knife."""
    cuts = section_of(mold).cuts
    return sum(len(stretch.points) - 1 for cut in cuts for stretch in cut.stretches)


def _boards(mold: Mold) -> int:
    return sum(ROUND_BOARD if board.back != "flat" else FLAT_BOARD for board in mold.cradle)


def weight_of(wishes: DesignTable, price_per_kg: float | None, lightest_g: float) -> float:
    """Return what a step of work counts for, in grams of rubber.

    Parameters
    ----------
    wishes : DesignTable
    price_per_kg : float, optional
        Of the rubber.
    lightest_g : float
        Rubber of the lightest block that was found.
    """
    if wishes.step_price is not None and price_per_kg:
        return 1000.0 * wishes.step_price / price_per_kg
    return STEP_SHARE * lightest_g
