"""The mesh of a section that is factorised for each wave: coarser where all waves take too much."""

from __future__ import annotations

import math
from contextlib import suppress

import numpy as np

from squeeze.mold import BadInput, Mold
from squeeze.solve.block import Block
from squeeze.solve.load_case import LEAST_FINENESS

MOST_ENTRIES = 25_000_000
"""Entries of the compliances of all waves, 200 MB of memory; their inverses take as much again."""


FEWEST_WAVES = 16


def coarse_enough(
    block: Block, mold: Mold, most_factorised: float, waves: int
) -> tuple[Block, int]:
    """Return a block and a number of waves that together take no more than is allowed.

    Parameters
    ----------
    block : Block
    mold : Mold
        Whose section it is.
    most_factorised : float
        Unknowns times waves that may be factorised; infinite where nothing is to be bounded.
    waves : int

    Returns
    -------
    block : Block
        The given one, or one with longer edges where it has too many unknowns or places.
    waves : int
        Fewer, down to `FEWEST_WAVES`, where longer edges do not suffice.
    """
    share = _share(block, mold, most_factorised, waves)
    if share >= 1 or np.isinf(most_factorised):
        return block, waves
    if block.fineness > LEAST_FINENESS:
        with suppress(BadInput):
            block = block.remeshed(max(share * block.fineness, LEAST_FINENESS))
    fewer = int(most_factorised / block.mesh.points.size)
    return block, min(waves, max(fewer, FEWEST_WAVES))


def _share(block: Block, mold: Mold, most_factorised: float, waves: int) -> float:
    """Return by how much the edges have to be longer; unknowns go with their inverse square."""
    unknowns, places = block.mesh.points.size, len(block.contact_rows.weight)
    rows = places * (3 if any(cut.along_mm for cut in mold.cut) else 1)  # at the most
    by_memory = math.sqrt(MOST_ENTRIES / waves) / max(rows, 1)
    return min(math.sqrt(most_factorised / waves / unknowns), by_memory)
