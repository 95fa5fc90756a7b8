"""A place along the block with a section of its own."""

from __future__ import annotations

from typing import Annotated, Any

from squeeze.mold.tables.cut import CutTable
from squeeze.mold.tables.entries import named, twice
from squeeze.mold.tables.shape import BlockTable, CavityTable
from squeeze.mold.tables.table import KeyFaults, Table
from squeeze.mold.tables.values import AtMost, number


class StationTable(Table):
    """A place along the block with a section of its own; what it does not name is the mold's.

    Attributes
    ----------
    at_mm : float
        Where along the block.
    """

    at_mm: Annotated[float, number(0, 2000, "mm")]
    block: BlockTable | None = None
    cavity: Annotated[tuple[CavityTable, ...] | None, AtMost(300, "cavities")] = None
    cut: Annotated[tuple[CutTable, ...] | None, AtMost(200, "cuts")] = None

    @classmethod
    def prepare(cls, given: dict[str, Any]) -> dict[str, Any]:
        """Return the raw table `given` with a name for every cavity and cut without one."""
        return given | named(given, ("cavity", "cut"))

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield names that stand twice in the raw table `given`."""
        for kind in ("cavity", "cut"):
            yield from twice(kind, given.get(kind))
