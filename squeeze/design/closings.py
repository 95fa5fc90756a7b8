"""The closings of the blocks of a design, for pictures."""

from __future__ import annotations

from collections.abc import Iterator

from squeeze.design.answer import Design, DesignAnswer
from squeeze.solve import Closing, close

DRAWN = 0.6
"""Fineness of the mesh of a small picture."""


def closings_of(answer: DesignAnswer) -> Iterator[tuple[Design, Closing]]:
    """Yield each block with its closing, on a mesh that is fine enough for a small picture."""
    for each in answer.designs:
        yield each, close(each.mold, fineness=DRAWN, check=False)
