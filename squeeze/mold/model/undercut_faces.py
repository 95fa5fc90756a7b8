"""What of a model's surface is undercut against the parting lines of its mold, from its mesh."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from squeeze.mold.model.placed import Placed

Points = NDArray[np.float64]
Lines = Sequence[tuple[float, Sequence[Points]]]
"""For each section its place along the block, and its parting lines (n, 2) from left to right."""

LEAST_MM = 0.25
"""Undercuts less deep than this are left out. The parting line may leave the silhouette where the
model is no more than 0.1 mm narrower, and a bit more between two sections [mm]."""

ON_MM = 0.05
"""A face no farther beyond the parting line than this lies on it: either half lets it go [mm]."""

LEAN = 1e-3
"""A face that leans back by less than this share of its area counts as upright."""

SLIT_MM = 0.005
"""Slits that rounding leaves between neighbouring faces are no wider than twice this [mm]."""

FACES_ACROSS = 40
MOST_FACES = 40_000
"""Faces are broken up until so many lie across the model, or there are so many of them."""


@dataclass(frozen=True)
class UndercutPatch:
    """A patch of a model's surface that rubber lies behind when the halves part up and down.

    Attributes
    ----------
    model : str
    area_mm2 : float
    depth_mm : float
        How far rubber reaches in behind it: the patch's width, seen along the pull.
    at_mm : (x, y, along)
        A place in its widest part.
    """

    model: str
    area_mm2: float
    depth_mm: float
    at_mm: tuple[float, float, float]


def undercuts_of(placed: Sequence[Placed], lines: Lines) -> list[UndercutPatch]:
    """Return what of the models is undercut, the largest area first.

    Each face belongs to the parting line that is nearest above or below it. Rubber above the line
    is pulled up, rubber below it down. A face whose normal points back against that pull is
    undercut; one that the line crosses is so beyond it. Between two sections the line runs straight
    from one to the next.

    Parameters
    ----------
    placed : sequence of Placed
    lines : sequence of (float, sequence of arrays (n, 2))
    """
    lines = [(at, paths) for at, paths in lines if paths]
    found: list[UndercutPatch] = []
    for each in placed if lines else ():
        mesh = _finer(each.model.mesh, each.at_mm)
        beyond = _beyond(mesh, lines)
        found += _patches(each.model.name, mesh, beyond, np.flatnonzero(beyond.max(axis=1) > ON_MM))
    return sorted(found, key=lambda patch: -patch.area_mm2)


def _finer(mesh: Any, at_mm: tuple[float, float, float]) -> Any:
    """Return a mesh where it lies in the block, its large faces broken up."""
    from trimesh.remesh import subdivide_to_size

    vertices, faces = np.asarray(mesh.vertices) + np.array(at_mm), np.asarray(mesh.faces)
    longest = np.asarray(mesh.edges_unique_length)[np.asarray(mesh.faces_unique_edges)].max(axis=1)
    edge = float(np.ptp(vertices, axis=0).max()) / FACES_ACROSS
    while _parts(longest, edge) > max(MOST_FACES, len(faces)):
        edge *= 1.5
    parts = subdivide_to_size(vertices, faces, edge, max_iter=20)
    return type(mesh)(parts[0], parts[1], process=True)


def _parts(longest: Points, edge: float) -> float:
    """Return into how many faces those with some `longest` edges (n,) break up [mm]."""
    halvings = np.ceil(np.log2(np.maximum(longest / edge, 1.0)))
    return float(np.sum(4.0**halvings))


def _beyond(mesh: Any, lines: Lines) -> Points:
    """Return how far the corners of each face lie beyond its parting line, (n, 3) [mm].

    On the side where the face leans back against the pull; nowhere for an upright face.
    """
    vertices, faces = np.asarray(mesh.vertices), np.asarray(mesh.faces)
    middles, lean = np.asarray(mesh.triangles_center), np.asarray(mesh.face_normals)[:, 1]
    line = np.argmin(np.abs(_heights_of_lines(middles, lines) - middles[:, 1]), axis=0)
    above = vertices[:, 1] - _heights_of_lines(vertices, lines)
    side = np.where(np.abs(lean) > LEAN, -np.sign(lean), 0.0)
    return side[:, None] * above[line[:, None], faces]


def _heights_of_lines(points: Points, lines: Lines) -> Points:
    """Return how high each of m parting lines lies above or below each of n `points`, (m, n)."""
    places = np.array([at for at, _ in lines])
    most = max(len(paths) for _, paths in lines)
    after = np.clip(np.searchsorted(places, points[:, 2]), 0, len(places) - 1)
    before = np.clip(np.searchsorted(places, points[:, 2]) - 1, 0, len(places) - 1)
    heights = np.empty((most, len(points)))
    for i, j in {(int(a), int(b)) for a, b in zip(before, after, strict=True)}:
        own = (before == i) & (after == j)
        x, z = points[own, 0], points[own, 2]
        share = np.zeros(len(z)) if i == j else (z - places[i]) / (places[j] - places[i])
        one, two = _heights(x, lines[i][1]), _heights(x, lines[j][1])
        if len(one) == len(two):
            heights[:, own] = _padded((1 - share) * one + share * two, most)
        else:
            heights[:, own] = np.where(share <= 0.5, _padded(one, most), _padded(two, most))
    return heights


def _heights(x: Points, paths: Sequence[Points]) -> Points:
    """Return the height of each of m parting lines at each of n places, (m, n)."""
    return np.array([np.interp(x, path[:, 0], path[:, 1]) for path in paths])


def _padded(heights: Points, n: int) -> Points:
    return np.vstack([heights, np.repeat(heights[-1:], n - len(heights), axis=0)])


def _patches(name: str, mesh: Any, beyond: Points, faces: NDArray[np.int64]) -> list[UndercutPatch]:
    """Return the patches that some faces of a mesh make up, as far as they are `beyond` (n, 3)."""
    if not len(faces):
        return []
    number = np.full(len(mesh.faces), -1)
    number[faces] = np.arange(len(faces))
    pairs = number[np.asarray(mesh.face_adjacency)]
    pairs = pairs[(pairs >= 0).all(axis=1)]
    joined = coo_array((np.ones(len(pairs)), pairs.T), shape=(len(faces), len(faces)))
    count, label = connected_components(joined, directed=False)
    corners, normals = np.asarray(mesh.triangles), np.asarray(mesh.face_normals)
    cut = [_beyond_the_line(corners[face], beyond[face]) for face in faces]
    seen = _polygons([each[:, [0, 2]] for each in cut])
    flat = shapely.area(seen)
    areas = flat / np.maximum(np.abs(normals[faces, 1]), LEAN)
    # Too small in all for a circle as wide as the least.
    roomy = np.flatnonzero(np.bincount(label, flat, count) >= np.pi / 4 * LEAST_MM**2)
    found = []
    for k in roomy:
        own = label == k
        wide, (x, z) = _widest(_whole(seen[own]))
        if wide < LEAST_MM:
            continue
        middles = np.array([cut[i].mean(axis=0) for i in np.flatnonzero(own)])
        near = middles[np.argmin(np.hypot(middles[:, 0] - x, middles[:, 2] - z))]
        at = (float(near[0]), float(near[1]), float(near[2]))
        found.append(UndercutPatch(name, float(areas[own].sum()), wide, at))
    return found


def _polygons(rings: Sequence[Points]) -> Any:
    """Return a polygon for each ring (n, 2) of places, an array."""
    lines: Any = shapely.linearrings(
        np.vstack(rings), indices=np.repeat(np.arange(len(rings)), [len(ring) for ring in rings])
    )
    return shapely.polygons(lines)


def _whole(seen: Any) -> BaseGeometry:
    """Return what faces cover together, as they are `seen` along the pull, an array of polygons."""
    # Faces seen on edge are no valid shapes; a little wider all round, they are.
    return shapely.union_all(shapely.buffer(seen, SLIT_MM, quad_segs=1)).buffer(-SLIT_MM)


def _beyond_the_line(corners: Points, beyond: Points) -> Points:
    """Return the part of a face (3, 3) whose places lie `beyond` (3,) the line, (n, 3) [mm]."""
    if beyond.min() >= 0:
        return corners
    kept = []
    for k in range(3):
        a, b = beyond[k], beyond[(k + 1) % 3]
        if a >= 0:
            kept.append(corners[k])
        if a * b < 0:
            kept.append(corners[k] + a / (a - b) * (corners[(k + 1) % 3] - corners[k]))
    return np.array(kept)


def _widest(shape: BaseGeometry) -> tuple[float, tuple[float, float]]:
    """Return the diameter of the largest circle inside a shape, and its middle."""
    found = [(0.0, (0.0, 0.0))]
    for part in shapely.get_parts(shape):
        if isinstance(part, Polygon) and part.area > 0:
            radius = shapely.maximum_inscribed_circle(part, tolerance=0.01)
            x, y = radius.coords[0]
            found.append((2 * float(radius.length), (float(x), float(y))))
    return max(found)
