"""The faces of a mesh by seam, and which of the two faces of a cut measures.

The face on the far side of the cut from the middle of the section measures: the lid's, where a cut
takes off a lid. So a mold drawn in the other direction, or its mirror image, gives the same answer.
On a seat the block's face measures.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.solve.contact.rows import Seam
from squeeze.solve.mesh.parting import FacePair, Mesh

Array = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class SeamFaces:
    """The faces of one seam; "left" is the measuring one, seen along its edges.

    Attributes
    ----------
    left : array (e, 3) of int
        Edges of the measuring face, with the other face to their right.
    place : array (e, 2) of int
        Places at the start and the end of each.
    along : array (e, 2)
        Distances of start and end along the cut [mm].
    right : array (f, 3) of int
        Edges of the other face.
    seam : Seam
    """

    left: Whole
    place: Whole
    along: Array
    right: Whole
    seam: Seam

    def at(self, edge: Whole, r: Array) -> tuple[Array, Array]:
        """Return distances along the cut and lengths of edges, (k,) each [mm].

        Parameters
        ----------
        edge : array (k,) of int
            Edges of either face: both have the same.
        r : array (k,)
            Parameter on each, from its start to its end.
        """
        start, end = self.along[edge].T
        return start + r * (end - start), end - start

    def turned(self) -> SeamFaces:
        """Return the same faces with the other one measuring."""
        return SeamFaces(
            self.right[:, ::-1],
            self.place[:, ::-1],
            self.along[:, ::-1],
            self.left[:, ::-1],
            self.seam,
        )


@dataclass(frozen=True, eq=False)
class Pairing:
    """The faces of a mesh by seam, worked out once.

    Attributes
    ----------
    seams : tuple of SeamFaces
    rest : array (c,)
        Unloaded weight of each place [mm].
    places, unknowns : int
    """

    seams: tuple[SeamFaces, ...]
    rest: Array
    places: int
    unknowns: int


def pairing(mesh: Mesh, seams: tuple[Seam, ...]) -> Pairing:
    """Return the faces of a mesh by seam."""
    begins = np.cumsum([0, *(len(land.left) // 2 + 1 for land in mesh.faces)])
    of_seam: dict[int, list[tuple[FacePair, int]]] = {}
    rest = np.zeros(begins[-1])
    for land, first in zip(mesh.faces, begins, strict=False):
        of_seam.setdefault(land.cut, []).append((land, int(first)))
    made = []
    cuts = {land.cut for land in mesh.lands}
    middle = _middle(mesh)
    for cut, lands in of_seam.items():
        left, place, along, right = [], [], [], []
        for land, first in lands:
            step = np.hypot(*np.diff(mesh.points[land.left[::2]], axis=0).T)
            places = first + np.arange(len(step))
            np.add.at(rest, places, step / 2)
            np.add.at(rest, places + 1, step / 2)
            left.append(_edges(land.left))
            right.append(_edges(land.right))
            place.append(np.column_stack([places, places + 1]))
            ends = land.start_mm + np.concatenate([[0.0], np.cumsum(step)])
            along.append(np.column_stack([ends[:-1], ends[1:]]))
        faces = SeamFaces(
            np.vstack(left), np.vstack(place), np.vstack(along), np.vstack(right), seams[cut]
        )
        made.append(faces.turned() if cut in cuts and _is_near(mesh, faces, middle) else faces)
    return Pairing(tuple(made), rest, int(begins[-1]), 2 * len(mesh.points))


def _middle(mesh: Mesh) -> Array:
    """Middle of the area of the whole section (2,)."""
    corners = mesh.points[mesh.triangles[:, :3]]
    (ax, ay), (bx, by) = (corners[:, 1] - corners[:, 0]).T, (corners[:, 2] - corners[:, 0]).T
    return np.average(corners.mean(axis=1), axis=0, weights=np.abs(ax * by - ay * bx))


def _is_near(mesh: Mesh, faces: SeamFaces, middle: Array) -> bool:
    """Whether the middle of the section lies to the left of the chord of a cut."""
    start, end = mesh.points[faces.left[0, 0]], mesh.points[faces.left[-1, 2]]
    chord, away = end - start, middle - start
    side = chord[0] * away[1] - chord[1] * away[0]
    return bool(side > 1e-6 * np.hypot(*chord) * np.ptp(mesh.points, axis=0).max())


def _edges(chain: Whole) -> Whole:
    return np.column_stack([chain[:-2:2], chain[1::2], chain[2::2]])
