"""A mesh from a file: its unit, its holes, its sections."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.file.units import MM_PER_INCH
from squeeze.mold.tables.model import MM_PER

Points = NDArray[np.float64]
AXES = {"x": (1, 2, 0), "y": (2, 0, 1), "z": (0, 1, 2)}
"""For each axis that the block may lie along: what is right, what is up, what is along."""

OWN_AXIS = "own"
"""The axis that a model itself is long in, whichever way it lies in its file."""

ENDINGS = (".stl", ".obj", ".ply", ".3mf", ".off", ".glb")
LARGEST_BYTES = 300_000_000
_SAME = 1e-6


@dataclass(frozen=True, eq=False)
class Model:
    """A closed surface in the block's axes: x right, y up, z along, in mm, its box at (0, 0, 0).

    Attributes
    ----------
    name : str
    mesh : trimesh.Trimesh
    size_mm : (float, float, float)
    holes : tuple of (x, y, z)
        Places on the edges of holes in the surface, a few of them.
    drawn : trimesh.Trimesh
        As it lies in its file, in mm.
    axis : str
        The axis of the file that runs along the block, or "own".
    turn_deg : float
        How far it is turned about the block's axis.
    path : Path or None
        The file that it was read from.
    units : str or None
        What one unit of the file is, where that was given.
    """

    name: str
    mesh: Any
    size_mm: tuple[float, float, float]
    holes: tuple[tuple[float, float, float], ...]
    drawn: Any
    axis: str
    turn_deg: float = 0.0
    path: Path | None = None
    units: str | None = None

    @cached_property
    def spans_mm(self) -> Points:
        """Where each face begins and ends along the block, (2, n) [mm]."""
        along = np.asarray(self.mesh.vertices)[:, 2][np.asarray(self.mesh.faces)]
        return np.array([along.min(axis=1), along.max(axis=1)])


def read_model(path: Path, axis: str | None, units: str | None, turn_deg: float = 0.0) -> Model:
    """Return the model in a file, turned so that `axis` runs along the block.

    Parameters
    ----------
    path : Path
    axis : str or None
        "x", "y" or "z" of the file, or "own", its own long axis; the longest of the first three
        unless given.
    units : str or None
        What one unit of the file is.
    turn_deg : float
        Turn about the block's axis, counter-clockwise as seen from the block's start [degrees].

    Raises
    ------
    BadInput
        When it cannot be read, holds no surface, or does not state its unit.
    """
    mesh = _loaded(path)
    scale = MM_PER[units] if units else _unit_of(mesh, path)
    mesh.apply_scale(scale)
    extents = np.ptp(mesh.bounds, axis=0)
    along = axis or "xyz"[int(np.argmax(extents))]
    laid = laid_along(mesh, along, turn_deg)
    size, holes = box_size_mm(laid), _holes(laid)
    return Model(path.stem, laid, size, holes, mesh, along, turn_deg, path, units)


def laid_along(mesh: Any, axis: str, turn_deg: float = 0.0) -> Any:
    """Return a mesh that lies along `axis` of the given one, its box at (0, 0, 0).

    Parameters
    ----------
    mesh : trimesh.Trimesh
    axis : str
        "x", "y", "z" or "own".
    turn_deg : float
        About the block's axis [degrees].
    """
    vertices = np.asarray(mesh.vertices)
    vertices = vertices @ own_axes(mesh).T if axis == OWN_AXIS else vertices[:, list(AXES[axis])]
    if turn_deg:
        a = np.radians(turn_deg)
        turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
        vertices = np.column_stack([vertices[:, :2] @ turn.T, vertices[:, 2]])
    return type(mesh)(vertices - vertices.min(axis=0), mesh.faces, process=True)


def box_size_mm(mesh: Any) -> tuple[float, float, float]:
    """Return the width, height and length of a mesh's box [mm]."""
    wide, high, long = (float(v) for v in np.ptp(np.asarray(mesh.vertices), axis=0))
    return wide, high, long


def own_axes(mesh: Any) -> Points:
    """Return the axes that a surface spreads least, less and most along, (3, 3), a row each.

    The principal axes of the second moments of its area, right-handed; the last row is the axis
    that it is long in.

    `mesh` is the surface, as trimesh holds it.
    """
    weight = np.asarray(mesh.area_faces)
    middles = np.asarray(mesh.triangles_center)
    away = middles - weight @ middles / weight.sum()
    _, rows = np.linalg.eigh((away * weight[:, None]).T @ away)
    along, right = rows[:, 2], rows[:, 1]
    along = along * np.sign(along[np.argmax(np.abs(along))])
    right = right * np.sign(right[np.argmax(np.abs(right))])
    return np.array([right, np.cross(along, right), along])


def _loaded(path: Path) -> Any:
    import trimesh

    mesh: Any
    if path.suffix.lower() not in ENDINGS:
        raise _bad(path, f"is not a model that can be read; allowed are {', '.join(ENDINGS)}")
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise _bad(path, f"is larger than {LARGEST_BYTES // 1_000_000} MB")
        mesh = trimesh.load_mesh(str(path))
    except ImportError as error:
        raise _bad(path, f"needs a library: pip install 'squeeze-mold[scan]' ({error})") from None
    except OSError as error:
        raise _bad(path, f"cannot be read: {(error.strerror or str(error)).lower()}") from None
    except BadInput:
        raise
    except Exception as error:  # each format fails in its own way
        raise _bad(path, f"cannot be read as {path.suffix[1:].upper()}: {error}") from None
    if hasattr(mesh, "to_mesh") and not hasattr(mesh, "faces"):
        mesh = mesh.to_mesh()
    if not hasattr(mesh, "faces") or len(mesh.faces) == 0:
        raise _bad(path, "holds no surface")
    if not np.isfinite(np.asarray(mesh.vertices)).all():
        raise _bad(path, "has coordinates that are not numbers")
    return mesh


def _unit_of(mesh: Any, path: Path) -> float:
    """Return how many mm a unit of the file is; ask with a guess where it states none."""
    sizes = {"millimeter": 1.0, "mm": 1.0, "centimeter": 10.0, "inch": MM_PER_INCH, "meter": 1000.0}
    if mesh.units in sizes:
        return sizes[mesh.units]
    largest = float(np.ptp(mesh.bounds, axis=0).max())
    guess = "m" if largest < 0.5 else "in" if largest < 8 else "mm"
    size = " x ".join(f"{v:.4g}" for v in np.ptp(mesh.bounds, axis=0))
    raise _bad(
        path, f"does not state its unit; it is {size} units large, so probably: --units {guess}"
    )


def _bad(path: Path, text: str) -> BadInput:
    return BadInput([Fault(str(path), text)])


def _holes(mesh: Any) -> tuple[tuple[float, float, float], ...]:
    """Return places on edges that have a triangle on one side only."""
    edges = np.asarray(mesh.edges_unique)
    counts = np.bincount(np.asarray(mesh.edges_unique_inverse), minlength=len(edges))
    single = edges[counts == 1]
    middles = np.asarray(mesh.vertices)[single[:5]].mean(axis=1)
    return tuple((float(x), float(y), float(z)) for x, y, z in middles)


def section_at(model: Model, at_mm: float) -> list[Polygon]:
    """Return the closed outlines of a model's section at `at_mm` along it [mm].

    An outline inside another is a hole in it: rubber that stands inside the cavity.

    Raises
    ------
    BadInput
        Where a hole in the surface leaves the outline open, with its place.
    """
    from trimesh.intersections import mesh_plane

    low, high = model.spans_mm
    met = np.flatnonzero((low <= at_mm + _SAME) & (high >= at_mm - _SAME))
    if len(met) == 0:
        return []
    plane = (0.0, 0.0, 1.0), (0.0, 0.0, at_mm)
    cut = np.asarray(mesh_plane(model.mesh, *plane, local_faces=met))
    if len(cut) == 0:
        return []
    flat = np.round(cut[:, :, :2] / _SAME) * _SAME
    flat = flat[np.hypot(*(flat[:, 1] - flat[:, 0]).T) > _SAME / 2]
    lines: Any = shapely.linestrings(flat)
    merged = shapely.line_merge(shapely.multilinestrings(lines))
    rings = [np.asarray(part.coords) for part in shapely.get_parts(merged)]
    shapes = []
    for ring in rings:
        if len(ring) < 4 or np.hypot(*(ring[0] - ring[-1])) > 2 * _SAME:
            x, y = ring[0]
            raise BadInput(
                [
                    Fault(
                        model.name,
                        f"has a hole: its section at {at_mm:.4g} mm is open at ({x:.4g}, {y:.4g})",
                    )
                ]
            )
        shapes.append(Polygon(ring))
    whole: Any = Polygon()
    for shape in sorted(shapes, key=lambda each: -each.area):
        whole = whole.symmetric_difference(shape.buffer(0))
    return [part for part in shapely.get_parts(whole) if part.area > 0]
