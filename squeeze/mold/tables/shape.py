"""The tables of a mold file that describe closed shapes: the block and its cavities."""

from __future__ import annotations

import math
from typing import Annotated, Any

from squeeze.mold.shapes.registry import DIAMETER, FIGURES, HEIGHT, SHAPES, WIDTH, Dimension
from squeeze.mold.tables.table import KeyFaults, Table
from squeeze.mold.tables.values import (
    XY,
    AtMost,
    Entry,
    Name,
    listed,
    number,
    numbers,
    point,
    points,
    quote,
    text,
    word,
)

DRAWING_KEYS = ("drawing", "layer", "units", "scale", "origin_mm")
"""Keys that say where something is drawn; points take their place when a file is read."""

READ_WITH_ITS_FILE = (
    "a drawing is read together with the mold file that lies beside it; load that file, or give"
    " the points"
)


class DrawnTable(Table):
    """What may be drawn in a file of its own.

    Attributes
    ----------
    drawing : str or None
        Name of an SVG or DXF file, from the mold file's folder.
    layer : str or None
        Id or label in an SVG file, layer in a DXF file; all of it unless given.
    units : str or None
        What one unit of the drawing is, where the file does not say.
    scale : float
        Times which the drawing is taken.
    origin_mm : (x, y)
        The place of the scaled drawing that is (0, 0) in the section [mm].
    """

    drawing: Annotated[str | None, text(200)] = None
    layer: Annotated[str | None, text(200)] = None
    units: Annotated[str | None, word("mm", "cm", "in", "px", "pt")] = None
    scale: Annotated[float, number(1e-4, 1e4)] = 1.0
    origin_mm: Annotated[XY, point] = (0.0, 0.0)

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield what is left of a drawing in the raw table `given`: loading puts points there."""
        if "drawing" in given:
            yield "drawing", READ_WITH_ITS_FILE
        for key in DRAWING_KEYS[1:]:
            if key in given and "drawing" not in given:
                yield key, "goes with drawing only"


def _size(figure: Dimension) -> Entry:
    return number(figure.least_mm, figure.most_mm, "mm")


class ShapeTable(DrawnTable):
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
    bulges : tuple of float or None
        With `points_mm`: how the line from each point to the next bulges, the tangent of a quarter
        of its turning; 0 = straight, 1 = a half circle counter-clockwise.
    """

    shape: Annotated[str, word(*SHAPES)] = "drawn"
    diameter_mm: Annotated[float | None, _size(DIAMETER)] = None
    width_mm: Annotated[float | None, _size(WIDTH)] = None
    height_mm: Annotated[float | None, _size(HEIGHT)] = None
    points_mm: Annotated[tuple[XY, ...] | None, points(3)] = None
    bulges: Annotated[tuple[float, ...] | None, numbers(-100, 100, "")] = None
    bevel_mm: Annotated[float, number(0, 500, "mm")] = 0.0
    round_mm: Annotated[float | None, number(0, 500, "mm")] = None

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield missing and surplus figures of the shape in the raw table `given`."""
        yield from super().rules(given)
        yield from _bulges(given)
        shape = given.get("shape", "drawn" if "points_mm" in given else None)
        if shape is None:
            if "drawing" not in given:
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


def _bulges(given: dict[str, Any]) -> KeyFaults:
    bulges, points = given.get("bulges"), given.get("points_mm")
    if bulges is None:
        return
    if not isinstance(points, list | tuple) or not isinstance(bulges, list | tuple):
        yield "bulges", "goes with points_mm: one number for each point"
        return
    if len(bulges) != len(points):
        yield "bulges", f"{len(bulges)} given for {len(points)} points; give one for each"
    for key in ("bevel_mm", "round_mm"):
        if given.get(key):
            yield key, "goes with straight lines; outlines with arcs are taken as they are drawn"


def _no_corners(shape: str, given: dict[str, Any]) -> KeyFaults:
    value = given.get("bevel_mm", 0)
    if value != 0:
        yield (
            "bevel_mm",
            f"{quote(value)} given, but the shape {shape} has no corner to bevel; leave"
            " it out or give 0",
        )


class BlockTable(ShapeTable):
    """The rubber body's outline, round the middle (0, 0) of the section unless drawn."""


class ModelTable(Table):
    """A model along the block: where its middle lies, and how long it is [mm]."""

    at_mm: Annotated[float, number(0, 2000, "mm")]
    length_mm: Annotated[float, number(0.5, 2000, "mm")]


class PlacedTable(ShapeTable):
    """A shape with a name, at a place of the section.

    Attributes
    ----------
    centre_mm : (x, y)
        Where its middle is; points of a drawn one are counted from here [mm].
    """

    name: Name = ""
    centre_mm: Annotated[XY, point] = (0.0, 0.0)


class CavityTable(PlacedTable):
    """A void that the model left.

    Attributes
    ----------
    models : tuple of ModelTable
        What of the block's length it takes, model by model, such as knobs in a row; all of it
        unless given. The section counts as one through a model.
    """

    models: Annotated[tuple[ModelTable, ...], AtMost(300, "models")] = ()

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield models of the raw table `given` that lie in each other."""
        yield from super().rules(given)
        ends = -math.inf
        for i, (low, high) in enumerate(spans_of(given.get("models"))):
            if low < ends - 1e-9:
                yield (
                    ("models", i),
                    f"begins at {low:g} mm, before the one ahead of it ends at {ends:g} mm; give"
                    " models in order, none in another",
                )
            ends = high


def spans_of(models: object) -> list[tuple[float, float]]:
    """Return from where to where raw models lie along the block [mm], as far as they can be read.

    Examples
    --------
    >>> spans_of([{"at_mm": 20, "length_mm": 16}])
    [(12.0, 28.0)]
    """
    tables = models if isinstance(models, list | tuple) else []
    found = []
    for table in tables:
        sizes = (
            [table.get(key) for key in ("at_mm", "length_mm")] if isinstance(table, dict) else []
        )
        if len(sizes) == 2 and all(type(size) in (int, float) for size in sizes):
            at, long = (float(size) for size in sizes)  # type: ignore[arg-type]
            found.append((at - long / 2, at + long / 2))
    return found
