"""The tables of a mold file that describe closed shapes: the block and its cavities."""

from __future__ import annotations

from typing import Annotated, Any

from squeeze.mold.shapes.registry import DIAMETER, FIGURES, HEIGHT, SHAPES, WIDTH, Dimension
from squeeze.mold.tables.table import KeyFaults, Table
from squeeze.mold.tables.values import XY, Entry, Name, came, listed, number, point, points, word


def _size(figure: Dimension) -> Entry:
    return number(figure.least_mm, figure.most_mm, "mm")


class ShapeTable(Table):
    """A closed shape: the outline of a block, or of a cavity.

    Attributes
    ----------
    shape : str
        A word of `squeeze.mold.shapes.registry`; drawn when only ``points_mm`` is given.
    bevel_mm : float
        Leg, along both sides, of the flat taken off each outward corner [mm].
    round_mm : float or None
        Radius on every corner that is left [mm], 0 = sharp. When it is not given: 2 mm, or on
        corners whose sides are short for it as much as half of the shorter side carries. Where a
        drawn outline turns by less than 15 degrees it is a curve and follows its points.
    """

    shape: Annotated[str, word(*SHAPES)] = "drawn"
    diameter_mm: Annotated[float | None, _size(DIAMETER)] = None
    width_mm: Annotated[float | None, _size(WIDTH)] = None
    height_mm: Annotated[float | None, _size(HEIGHT)] = None
    points_mm: Annotated[tuple[XY, ...] | None, points(3)] = None
    bevel_mm: Annotated[float, number(0, 500, "mm")] = 0.0
    round_mm: Annotated[float | None, number(0, 500, "mm")] = None

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield missing and surplus figures of the shape."""
        shape = given.get("shape", "drawn" if "points_mm" in given else None)
        if shape is None:
            yield "shape", f"is missing; allowed are {listed(SHAPES)}"
        elif isinstance(shape, str) and shape in SHAPES:
            yield from _figures(shape, given)
            if not SHAPES[shape].has_corners:
                yield from _no_corners(shape, given)


def _figures(shape: str, given: dict[str, Any]) -> KeyFaults:
    wanted = SHAPES[shape].keys
    takes = f"the shape {shape} takes {listed(wanted, 'and')}"
    for key in FIGURES:
        if key in given and key not in wanted:
            yield key, f"does not go with this shape; {takes}"
        elif key in wanted and key not in given:
            yield key, f"is missing; {takes}"


def _no_corners(shape: str, given: dict[str, Any]) -> KeyFaults:
    value = given.get("bevel_mm", 0)
    if value != 0:
        yield (
            "bevel_mm",
            f"{came(value)} came, but the shape {shape} has no corner to bevel; leave"
            " it out or give 0",
        )


class BlockTable(ShapeTable):
    """The rubber body's outline, round the middle (0, 0) of the section unless drawn."""


class CavityTable(ShapeTable):
    """A void that the model left.

    Attributes
    ----------
    centre_mm : (x, y)
        Where its middle is; points of a drawn cavity are counted from here [mm].
    """

    name: Name = ""
    centre_mm: Annotated[XY, point] = (0.0, 0.0)
