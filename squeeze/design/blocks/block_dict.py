"""Complete mold files about the models: outline, models in it, cuts, boards, bands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from squeeze.design.models.group import Models, trimmed
from squeeze.mold import Mold, dict_of
from squeeze.mold.shapes.outline import loop_of
from squeeze.mold.tables.shape import BlockTable

OF_ANOTHER_BLOCK = (
    "block", "cavity", "cut", "station", "cradle", "filler", "push", "design", "vent", "model"
)  # fmt: skip
"""Tables that are made anew, or that belonged to the block of the file or to its models' places."""

BOARD_MM = 4.5
"""Thickness that is left of a board at the ends of its rounded back [mm]."""

MOST_RISE = 0.15
"""Largest rise of a board's back, over the block's width."""


@dataclass(frozen=True)
class Cradle:
    """Boards on some sides, with rounded backs.

    Attributes
    ----------
    sides : tuple of str
    material : str
    """

    sides: tuple[str, ...]
    material: str

    @property
    def words(self) -> str:
        """What it is called."""
        where = " and ".join(self.sides) if len(self.sides) < 4 else "on all four sides"
        return f"round-backed boards {where}"

    def most_mm(self, width_mm: float) -> float:
        """Return the thickness of the thickest board on a block `width_mm` wide [mm]."""
        return BOARD_MM + max(0.5, MOST_RISE * width_mm)

    def girth_mm(self, width_mm: float, height_mm: float, bevel_mm: float, rise_mm: float) -> float:
        """Return about how long a band is round a block with the boards on it [mm].

        Parameters
        ----------
        width_mm, height_mm, bevel_mm : float
            Of the block.
        rise_mm : float
            Of the boards' backs.
        """
        half = np.array([width_mm, height_mm]) / 2
        t = np.linspace(-1.0, 1.0, 17)
        found = []
        for axis, sign in (("left", -1), ("right", 1), ("bottom", -1), ("top", 1)):
            across = 0 if axis in ("left", "right") else 1
            at = np.zeros((len(t), 2))
            at[:, 1 - across] = t * (half[1 - across] - bevel_mm)
            thick = BOARD_MM + rise_mm * (1 - t**2) if axis in self.sides else 0.0
            at[:, across] = sign * (half[across] + thick)
            found.append(at)
        points = shapely.multipoints(np.vstack(found))
        return float(shapely.length(shapely.convex_hull(points)))

    def tables(self, rise_mm: float) -> list[dict[str, Any]]:
        """Return the tables of a mold file for boards whose backs rise by `rise_mm` [mm]."""
        rise = round(rise_mm, 1)
        board = {
            "back": "round",
            "seat": "flat",
            "thickness_mm": round(rise + BOARD_MM, 1),
            "rise_mm": rise,
            "material": self.material,
        }
        return [{"name": side, "covers": side} | board for side in self.sides]


def mold_dict(
    base: Mold,
    block: dict[str, Any],
    models: Models,
    bands: list[dict[str, Any]],
    cradle: list[dict[str, Any]] | None = None,
) -> dict[str, Any]:
    """Return a whole mold about models that stand where they belong in the block.

    Parameters
    ----------
    base : Mold
        What all blocks share: rubber, resin, length, pot, prices.
    block : dict
    models : Models
    bands, cradle : list of dict
    """
    data = {k: v for k, v in dict_of(base).items() if k not in OF_ANOTHER_BLOCK}
    outside = loop_of(BlockTable.model_validate(block)).polygon
    made = [
        {
            "cavity": [dict(each) for each in part.cavities],
            "cut": [line.table | {"path_mm": trimmed(line, outside)} for line in part.cuts],
        }
        for part in models.sections
    ]
    data |= {"block": block, **made[0], "band": bands}
    if len(made) > 1:
        places = [station.at_mm for station in base.station]
        data["station"] = [{"at_mm": at, **part} for at, part in zip(places, made[1:], strict=True)]
    if cradle:
        data["cradle"] = cradle
    if "sprue" in data:  # its place belonged to the models as they stood
        data["sprue"] = {k: v for k, v in data["sprue"].items() if k != "at_mm"}
    return data
