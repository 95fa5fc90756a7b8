"""Round holes from the cavities to the outside: sprues let the resin in, vents let the air out."""

from __future__ import annotations

from typing import Annotated

from squeeze.mold.tables.table import Table
from squeeze.mold.tables.values import XY, Name, number, point, whole


class SprueTable(Table):
    """Sprues that let the resin in.

    Attributes
    ----------
    diameter_mm, height_mm : float
        Of one sprue; `count` of them, 1 unless given.
    at_mm : (x, y) or None
        Where it leads into a cavity; at the highest place of each cavity unless given.
    along_mm : float or None
        Where along the block; in its middle unless given.
    """

    diameter_mm: Annotated[float, number(0.5, 200, "mm")]
    height_mm: Annotated[float, number(0.5, 2000, "mm")]
    count: Annotated[int, whole(1, 100)] = 1
    at_mm: Annotated[XY | None, point] = None
    along_mm: Annotated[float | None, number(0, 2000, "mm")] = None


class VentTable(Table):
    """A vent that lets air out of a cavity.

    Attributes
    ----------
    at_mm : (x, y)
        Where it leaves the cavity.
    along_mm : float or None
        Where along the block; in its middle unless given.
    diameter_mm : float
        Its bore; 2 unless given.
    height_mm : float or None
        How far it rises from the cavity; straight up to the outside of the block unless given.
    """

    name: Name = ""
    at_mm: Annotated[XY, point]
    along_mm: Annotated[float | None, number(0, 2000, "mm")] = None
    diameter_mm: Annotated[float, number(0.5, 50, "mm")] = 2.0
    height_mm: Annotated[float | None, number(0.5, 2000, "mm")] = None
