"""How much work a block is, in steps: boards of the box, strips, knife strokes, bands, boards.

The numbers are a judgement. A step is one thing that is marked out, made and fitted.
"""

from __future__ import annotations

from squeeze.mold import section_of
from squeeze.mold.tables.mold import Mold
from squeeze.mold.tables.shape import BlockTable

BOX = {"square": 4, "rectangle": 4, "hexagon": 6, "round": 6, "oval": 8}
"""Parts of the pouring box. A round one is a sheet wound round two sawn discs; the discs of an oval
are drawn with string and pins first."""

CORNERS = {"hexagon": 6}
"""Corners of an outline; 4 unless it stands here."""

STRIP, FILLET = 1, 2
"""For one corner: a strip for a bevel; a hollow fillet for a radius."""

PLAIN_BEVEL_MM, PLAIN_ROUND_MM = 3.0, 2.0
"""Smaller bevels and radii are taken off with a knife afterwards and are no step."""

FLAT_BOARD, ROUND_BOARD = 2, 3
"""A cradle board: sawn and fitted; with a rounded back."""


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
    parts = BOX.get(block.shape, len(block.points_mm or ()) or 4)
    corners = CORNERS.get(block.shape, len(block.points_mm or ()) or 4)
    if block.shape in ("round", "oval"):
        return parts
    if block.bevel_mm > PLAIN_BEVEL_MM:
        return parts + STRIP * corners
    if (block.round_mm or 0.0) > PLAIN_ROUND_MM:
        return parts + FILLET * corners
    return parts


def _knife(mold: Mold) -> int:
    """Count straight strokes of the knife."""
    cuts = section_of(mold).cuts
    return sum(len(stretch.points) - 1 for cut in cuts for stretch in cut.stretches)


def _boards(mold: Mold) -> int:
    return sum(ROUND_BOARD if board.back != "flat" else FLAT_BOARD for board in mold.cradle)
