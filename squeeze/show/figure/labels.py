"""Where numbers and names stand in the section, clear of lands and of one another."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry import LineString, Point, box
from shapely.geometry.base import BaseGeometry

from squeeze.show.figure.outlines import Pose, normals
from squeeze.solve.closing import Closing
from squeeze.solve.land import Land

Array = NDArray[np.float64]

LETTER_IN, LINE_IN = 0.065, 0.125


@dataclass(frozen=True, eq=False)
class Labels:
    """Places for the labels of a closing.

    Attributes
    ----------
    closing : Closing
    pose : Pose
    mm_per_inch : float
        Millimetres of the section to an inch of paper.
    """

    closing: Closing
    pose: Pose
    mm_per_inch: float

    def lands(self) -> list[Array]:
        """Return a place beside the middle of each land for its number (x, y) [mm]."""
        return [self._beside(land) for land in self.closing.lands]

    def cavities(self) -> list[tuple[str, Array]]:
        """Return each cavity's name and where it stands (2,), inside or else beside it."""
        taken: list[BaseGeometry] = [_line(land) for land in self.closing.lands]
        taken += [Point(p).buffer(self.mm_per_inch * 0.1) for p in self.lands()]
        taken += [cavity.loop.polygon for cavity in self.closing.section.cavities]
        found = []
        for cavity in self.closing.section.cavities:
            point, size = self._name(cavity.name, cavity.loop.polygon, taken)
            taken.append(_box(point, size))
            found.append((cavity.name, point))
        return found

    def _beside(self, land: Land) -> Array:
        left, right = self.pose.faces(land)
        middle = 0.5 * (left + right)
        k = int(np.argmin(np.abs(land.s_mm - 0.5 * land.length_mm)))
        normal = normals(middle)[k]
        up = normal if (normal[1], normal[0]) > (0.1, 0) else -normal
        away = up * (0.24 * self.mm_per_inch + 0.5 * self.pose.gap_factor * land.gap_mm[k])
        block = self.closing.section.outline.polygon.buffer(-0.13 * self.mm_per_inch)
        return middle[k] + (away if block.contains(Point(middle[k] + away)) else -away)

    def _name(
        self, name: str, edge: Polygon, taken: list[BaseGeometry]
    ) -> tuple[Array, tuple[float, float]]:
        size = (LETTER_IN * len(name) * self.mm_per_inch, LINE_IN * self.mm_per_inch)
        middle = np.array([edge.centroid.x, edge.centroid.y])
        if edge.contains(_box(middle, size)):
            return middle, size
        return _freest(middle, _round_about(edge, size), size, taken), size


def _round_about(edge: Polygon, size: tuple[float, float]) -> list[Array]:
    x0, y0, x1, y1 = edge.bounds
    x, y, gap = 0.5 * (x0 + x1), 0.5 * (y0 + y1), 0.8 * size[1]
    beside = 0.5 * size[0] + gap
    places = [(x, y0 - gap), (x, y1 + gap), (x1 + beside, y), (x0 - beside, y)]
    places += [(x, y0 - 2.6 * gap), (x, y1 + 2.6 * gap)]
    return [np.array(p) for p in places]


def _freest(
    middle: Array, places: list[Array], size: tuple[float, float], taken: list[BaseGeometry]
) -> Array:
    def room(point: Array) -> float:
        return min(float(_box(point, size).distance(other)) for other in taken)

    clear = [p for p in places if room(p) > 0.1 * size[1]]
    return clear[0] if clear else max(places, key=room)


def _box(point: Array, size: tuple[float, float]) -> Polygon:
    x, y = point
    return box(x - size[0] / 2, y - size[1] / 2, x + size[0] / 2, y + size[1] / 2)


def _line(land: Land) -> LineString:
    return LineString(np.column_stack([land.x_mm, land.y_mm]))
