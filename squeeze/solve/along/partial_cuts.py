"""Cuts over a part of the block's length: beyond it the rubber is whole."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.mold import Mold
from squeeze.solve.block import Block

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class CutExtent:
    """Where faces may part and slide, by places of the section and along the block.

    Attributes
    ----------
    held : array (h,) of int
        Places on cuts that take a part of the length.
    faces, slides : mask (M, c + 2 h)
        Rows of gaps inside a cut; rows of sliding inside a cut.
    by_land : array (lands, M) of bool
        Where along the block each land is cut.
    """

    held: Whole
    faces: Mask
    slides: Mask
    by_land: Mask


def cut_extent(block: Block, mold: Mold, z_mm: Array, length_mm: float) -> CutExtent:
    """Return where the cuts of a mold are along the block.

    Parameters
    ----------
    block : Block
    mold : Mold
    z_mm : array (M,)
        Places along the block, midway between M + 1 even steps.
    length_mm : float
    """
    c, M = len(block.contact_rows.weight), len(z_mm)
    spans = {cut.name: cut.along_mm for cut in mold.cut if cut.along_mm is not None}
    spans = {name: span for name, span in spans.items() if span[0] > 0 or span[1] < length_mm}
    by_land = np.ones((len(block.mesh.lands), M), bool)
    gaps, is_held = np.ones((M, c), bool), np.zeros(c, bool)
    for k, land in enumerate(block.mesh.lands):
        span = spans.get(block.section.cuts[land.cut].name)
        if span is None:
            continue
        places = slice(block.contact_rows.begins[k], block.contact_rows.begins[k + 1])
        by_land[k] = (z_mm > span[0]) & (z_mm < span[1])
        gaps[:, places] = by_land[k][:, None]
        is_held[places] = True
    held = np.flatnonzero(is_held)
    nowhere = np.zeros((M, 2 * len(held)), bool)
    along = gaps[:, held]
    axial = along & np.roll(along, 1, axis=0)
    axial[0] = False
    faces = np.hstack([gaps, nowhere])
    slides = np.hstack([np.zeros((M, c), bool), along, axial])
    return CutExtent(held, faces, slides, by_land)
