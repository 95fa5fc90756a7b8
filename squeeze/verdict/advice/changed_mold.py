"""Changed molds: another outline, another cut, other bands; all else as it was."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Point

from squeeze.mold import section_of
from squeeze.mold.file.mold_file import dict_of, mold_of
from squeeze.mold.section.records import Section
from squeeze.mold.tables.mold import Mold

XY = tuple[float, float]


def with_tables(mold: Mold, **tables: Any) -> Mold:
    """Return a mold with whole tables exchanged; None leaves one out."""
    return mold_of(dict_of(mold) | tables)


def with_block(mold: Mold, **keys: Any) -> Mold:
    """Return a mold with keys of its block exchanged."""
    return with_tables(mold, block=dict_of(mold)["block"] | keys)


def with_entry(mold: Mold, table: str, number: int, **keys: Any) -> Mold:
    """Return a mold with keys of one entry of a list of tables exchanged; None leaves one out.

    Parameters
    ----------
    mold : Mold
    table : str
        Name of the list, such as ``cut``.
    number : int
        Of the entry, from 0.
    **keys : object
    """
    entries = list(dict_of(mold)[table])
    entries[number] = entries[number] | keys
    return with_tables(mold, **{table: entries})


def with_outline(mold: Mold, block: dict[str, Any], middle: Sequence[float] = (0.0, 0.0)) -> Mold:
    """Return a mold with another outline, whose middle lies where `middle` was [mm].

    Cuts that open at the outside are made longer, so that they open at the new outline too.
    Fillers, cradle pieces and pushes belong to an outline: a mold with such has to keep its own
    (`keeps_outline`).

    Parameters
    ----------
    mold : Mold
    block : dict
        The table of the new outline.
    middle : (x, y)
    """
    x, y = round(float(middle[0]), 2), round(float(middle[1]), 2)
    far = reach_of(mold)
    data = dict_of(mold)
    outside = section_of(mold).outline.polygon
    for cut in data.get("cut", ()):
        path = lengthened(cut["path_mm"], outside, far)
        cut["path_mm"] = [(round(a - x, 4), round(b - y, 4)) for a, b in path]
    for cavity in data.get("cavity", ()):
        a, b = cavity.get("centre_mm", (0.0, 0.0))
        cavity["centre_mm"] = (a - x, b - y)
    for band in data.get("band", ()):
        if band.get("pulled_at_mm") is not None:
            band["pulled_at_mm"] = (band["pulled_at_mm"][0] - x, band["pulled_at_mm"][1] - y)
    return mold_of(data | {"block": block})


def keeps_outline(mold: Mold) -> bool:
    """Return whether something in a mold was made for its outline, or for the length of a cut."""
    data = dict_of(mold)
    patches = any("at_mm" in push for push in data.get("push", ()))
    spread = any(
        isinstance(cut.get(key), list | tuple)
        for cut in data.get("cut", ())
        for key in ("gap_mm", "film_mm", "film_at_mm")
    )
    return patches or spread or bool(data.get("filler")) or bool(data.get("cradle"))


def reach_of(mold: Mold) -> float:
    """Return a length that leads out of the block from anywhere in it [mm]."""
    x0, y0, x1, y1 = section_of(mold).outline.polygon.bounds
    return math.ceil(math.hypot(x1 - x0, y1 - y0))


def lengthened(path: Sequence[XY], outside: shapely.Polygon, far: float) -> list[XY]:
    """Return a path whose ends that open at the outside are carried on by `far` [mm]."""
    path = [(float(x), float(y)) for x, y in path]
    inner = outside.buffer(-1.05)  # an end is carried to an edge within 1 mm
    for end, before in ((0, 1), (-1, -2)):
        if not inner.contains(Point(path[end])):
            along = np.subtract(path[end], path[before])
            x, y = np.array(path[end]) + far * along / np.hypot(*along)
            path[end] = (float(x), float(y))
    return path


def cavities_middle(section: Section) -> tuple[XY, float]:
    """Return the smallest circle about all cavities: its middle and radius [mm]."""
    holes = shapely.union_all([cavity.loop.polygon for cavity in section.cavities])
    middle = shapely.minimum_bounding_circle(holes).centroid
    return (middle.x, middle.y), float(shapely.minimum_bounding_radius(holes))


def round_about(mold: Mold, wall_mm: float) -> Mold:
    """Return the mold in the smallest round block with a wall of `wall_mm` about all cavities."""
    middle, radius = cavities_middle(section_of(mold))
    diameter = math.ceil(2 * (radius + wall_mm) - 1e-6)
    return with_outline(mold, {"shape": "round", "diameter_mm": diameter}, middle)
