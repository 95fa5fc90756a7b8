"""A model on disk that a mold was sliced from, and where it lies in the block."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from squeeze.mold.file.units import MM_PER_INCH
from squeeze.mold.tables.table import KeyFaults, Table
from squeeze.mold.tables.values import XY, number, point, quote, text, word

MM_PER: Mapping[str, float] = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH, "m": 1000.0}
LAID_ALONG = ("x", "y", "z", "own")


class ModelFileTable(Table):
    """A model on disk. Air is looked for in its mesh, not in the sections that were taken of it.

    Attributes
    ----------
    file : str
        Its path, from the folder of the mold file.
    units : str or None
        What one unit of it is: ``"mm"``, ``"cm"``, ``"in"`` or ``"m"``; None = its file says so.
    axis : str
        Which axis of it lies along the block: ``"x"``, ``"y"``, ``"z"`` or ``"own"``.
    turn_deg : float
        Turn about the block's axis, counter-clockwise as seen from the block's start.
    at_mm : (x, y)
        Left lower corner of its box in the section.
    along_mm : float
        Where along the block its box begins.
    """

    file: Annotated[str, text(400)]
    units: Annotated[str | None, word(*MM_PER)] = None
    axis: Annotated[str, word(*LAID_ALONG)] = "z"
    turn_deg: Annotated[float, number(-360, 360, "degrees")] = 0.0
    at_mm: Annotated[XY, point]
    along_mm: Annotated[float, number(0, 2000, "mm")] = 0.0

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield a path of the raw table `given` that leads to another machine."""
        file = given.get("file")
        if isinstance(file, str) and ("://" in file or file.startswith(("//", "\\\\"))):
            yield "file", f"{quote(file)} given; allowed is a file on this machine"
