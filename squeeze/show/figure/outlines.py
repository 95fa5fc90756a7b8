"""The bodies' edges as drawn: unloaded, or moved by a multiple of the displacement."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.show.figure.tint import round_down
from squeeze.solve.closing import Closing
from squeeze.solve.field import Field
from squeeze.solve.land import Land

Array = NDArray[np.float64]

LARGEST_MOVE = 0.06
LARGEST_GAP = 0.045
BAND_WIDTH = 0.022
"""Of a land as drawn, over the larger side of the section."""


@dataclass(frozen=True, eq=False)
class Pose:
    """How places of the section are put on paper.

    Attributes
    ----------
    factor : float
        Multiple of the displacement that is drawn; 0 = the unloaded shape.
    gap_factor : float
        Multiple of the gaps that is drawn.
    size_mm : float
        Larger side of the section.
    rigid : array (3,)
        Rigid motion that is taken off: shift in x and y [mm], turn [rad].
    """

    factor: float
    gap_factor: float
    size_mm: float
    rigid: Array

    def at(self, points: Array, moved: Array) -> Array:
        """Return where points (n, 2) with displacements `moved` (n, 2) are drawn [mm]."""
        if not self.factor:  # displacements of a solve without an answer are NaN
            return points
        return points + self.factor * (moved - _rigid_motion(points, self.rigid))

    def faces(self, land: Land, least_mm: float = 0.0) -> tuple[Array, Array]:
        """Return the drawn places of a land's left and right face, each (n, 2) [mm].

        Where the land is open they stand at least `least_mm` apart, so that it can be seen.
        """
        xy = np.column_stack([land.x_mm, land.y_mm])
        normal = normals(xy)
        left, right = (self.at(xy, land.faces_mm[:, k]) for k in (0, 1))
        apart = self.factor * land.gap_mm if self.factor else np.zeros(len(xy))
        wanted = self.gap_factor * land.gap_mm
        wanted = np.where(land.gap_mm > 0, np.maximum(wanted, least_mm), 0.0)
        more = 0.5 * (wanted - apart)[:, None] * normal
        return left + more, right - more


def pose_of(closing: Closing, deformed: bool) -> Pose:
    """Return how to draw a closing: unloaded with its gaps widened, or deformed.

    A closing without an answer is drawn unloaded.
    """
    field = closing.field
    size = float(np.ptp(field.points_mm, axis=0).max())
    if not closing.outcome.has_answer:
        return Pose(0.0, 1.0, size, np.zeros(3))
    rigid = _rigid_of(field)
    moved = field.displacement_mm - _rigid_motion(field.points_mm, rigid)
    largest = float(np.hypot(*moved.T).max())
    gap = max((land.largest_gap_mm for land in closing.lands), default=0.0)
    if deformed:
        factor = _times(LARGEST_MOVE * size, largest)
        return Pose(factor, factor, size, rigid)
    return Pose(0.0, _times(LARGEST_GAP * size, gap), size, rigid)


def gap_factor(closings: Iterable[Closing]) -> float:
    """Return one multiple of the gaps that suits all closings: that of the widest gap."""
    gaping = [c for c in closings if any(land.largest_gap_mm > 0 for land in c.lands)]
    return min((pose_of(closing, False).gap_factor for closing in gaping), default=1.0)


def _times(wanted: float, there: float) -> float:
    return max(1.0, round_down(wanted / there)) if there > 1e-6 * wanted else 1.0


def _rigid_of(field: Field) -> Array:
    """Return the rigid motion that fits all displacements best: along x, along y, turn about 0."""
    middle, moved = field.points_mm.mean(axis=0), field.displacement_mm.mean(axis=0)
    arm = field.points_mm - middle
    across = np.column_stack([-arm[:, 1], arm[:, 0]])
    turn = np.sum(across * field.displacement_mm) / np.sum(arm * arm)
    return np.array([moved[0] + turn * middle[1], moved[1] - turn * middle[0], turn])


def _rigid_motion(points: Array, rigid: Array) -> Array:
    return rigid[:2] + rigid[2] * np.column_stack([-points[:, 1], points[:, 0]])


def interpolated(values: Array, parts: int = 8) -> Array:
    """Return values (n, ...) with `parts` - 1 more, linear, between each two."""
    k = np.linspace(0, len(values) - 1, parts * (len(values) - 1) + 1)
    low = np.minimum(k.astype(int), len(values) - 2)
    share = (k - low).reshape(-1, *(1,) * (values.ndim - 1))
    return (1 - share) * values[low] + share * values[low + 1]


def normals(path: Array) -> Array:
    """Return unit normals (n, 2) to the left of a path (n, 2)."""
    t = np.asarray(np.gradient(path, axis=0))
    t = t / np.maximum(np.hypot(*t.T), 1e-300)[:, None]
    return np.column_stack([-t[:, 1], t[:, 0]])


def body_rings(field: Field) -> dict[int, list[list[int]]]:
    """Return the edges of every body as closed lists of nodes, the first one repeated."""
    return {
        int(body): _rings(field.triangles[field.body == body]) for body in np.unique(field.body)
    }


def _rings(triangles: NDArray[np.int64]) -> list[list[int]]:
    """Chain the edges that only one triangle has: closed lists of nodes, the first one repeated."""
    edges = np.vstack([triangles[:, [0, 3, 1]], triangles[:, [1, 4, 2]], triangles[:, [2, 5, 0]]])
    _, first, count = np.unique(edges[:, 1], return_index=True, return_counts=True)
    onward: dict[int, list[tuple[int, int]]] = {}
    for a, middle, b in edges[first[count == 1]].tolist():
        onward.setdefault(a, []).append((middle, b))
    rings = []
    while onward:
        ring = [next(iter(onward))]
        while ring[-1] in onward:
            middle, b = onward[ring[-1]].pop()
            if not onward[ring[-1]]:
                del onward[ring[-1]]
            ring += [middle, b]
        rings.append(ring)
    return rings
