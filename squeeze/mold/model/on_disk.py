"""The models that a mold was sliced from, read again from disk and laid where they lie in it."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import shapely
from shapely.affinity import translate
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from squeeze.mold.errors import BadInput
from squeeze.mold.model.mesh import read_model, section_at
from squeeze.mold.model.placed import Placed
from squeeze.mold.section.build import section_of
from squeeze.mold.stations import stations_of
from squeeze.mold.tables.model import ModelFileTable
from squeeze.mold.tables.mold import Mold

STRAY_MM, STRAY_SHARE = 1.0, 0.01
"""A cavity is that of its model where no more of it than this share, and 1 mm2, lies farther off
than this [mm]; corners are rounded, so it may differ a little."""


@dataclass(frozen=True, eq=False)
class ModelsOnDisk:
    """The models of a mold.

    Attributes
    ----------
    placed : tuple of Placed
        All of them, or none.
    missing : str
        Why there are none, where the mold names some; else empty.
    """

    placed: tuple[Placed, ...]
    missing: str = ""


def model_tables(placed: Sequence[Placed], folder: Path) -> list[dict[str, object]]:
    """Return the ``[[model]]`` tables of a mold file that lies in a folder.

    Parameters
    ----------
    placed : sequence of Placed
        Those that were not read from a file are left out.
    folder : Path
    """
    tables = []
    for each in placed:
        model = each.model
        if model.path is None:
            continue
        left, lower, start = (round(v, 4) for v in each.at_mm)
        table: dict[str, object] = {"file": _path_from(folder, model.path)}
        table |= {"units": model.units} if model.units else {}
        table |= (
            {"axis": model.axis, "turn_deg": model.turn_deg}
            if model.turn_deg
            else {"axis": model.axis}
        )
        tables.append(table | {"at_mm": [left, lower], "along_mm": start})
    return tables


def _path_from(folder: Path, path: Path) -> str:
    try:
        return Path(os.path.relpath(path.resolve(), folder.resolve())).as_posix()
    except ValueError:  # on another drive
        return path.resolve().as_posix()


def models_on_disk(mold: Mold, folder: Path | None, inside: bool = False) -> ModelsOnDisk:
    """Return the models of a mold where they lie in its block, as far as they are its models yet.

    Parameters
    ----------
    mold : Mold
    folder : Path or None
        The folder of its file; None = no file is read.
    inside : bool
        Whether files outside of the folder are left alone.
    """
    if not mold.model:
        return ModelsOnDisk(())
    if folder is None:
        return ModelsOnDisk((), "The models are not read here")
    paths = [folder / table.file for table in mold.model]
    for path, table in zip(paths, mold.model, strict=True):
        if inside and not path.resolve().is_relative_to(folder.resolve()):
            return ModelsOnDisk((), f"The model '{table.file}' lies outside of the mold's folder")
        if not path.is_file():
            return ModelsOnDisk((), f"The model '{table.file}' is not there any more")
    try:
        stamps = tuple((str(path), path.stat().st_mtime_ns, path.stat().st_size) for path in paths)
        placed = _placed(mold.model, stamps)
        strange = _strange(mold, placed)
    except (BadInput, OSError) as error:
        said = error.faults[0].text if isinstance(error, BadInput) else str(error)
        return ModelsOnDisk((), f"A model cannot be used: {said}")
    return ModelsOnDisk((), strange) if strange else ModelsOnDisk(placed)


@lru_cache(maxsize=4)
def _placed(
    tables: tuple[ModelFileTable, ...], stamps: tuple[tuple[str, int, int], ...]
) -> tuple[Placed, ...]:
    return tuple(
        Placed(
            read_model(Path(path), table.axis, table.units, table.turn_deg),
            (*table.at_mm, table.along_mm),
        )
        for table, (path, _, _) in zip(tables, stamps, strict=True)
    )


def _strange(mold: Mold, placed: Sequence[Placed]) -> str:
    """Return where the cavities are not those of the models; empty where all are."""
    for at, each in stations_of(mold):
        own = shapely.union_all([c.loop.polygon for c in section_of(each).cavities])
        read = _section(placed, at)
        off = [one.difference(two.buffer(STRAY_MM)).area for one, two in ((own, read), (read, own))]
        if max(off) > 1.0 + STRAY_SHARE * own.area:
            return f"The cavities at {at:g} mm along the block are not those of the model any more"
    return ""


def _section(placed: Sequence[Placed], along_mm: float) -> BaseGeometry:
    """Return the outlines of all models at a place along the block, without their holes."""
    found = []
    for each in placed:
        left, lower, start = each.at_mm
        if 0 < along_mm - start < each.model.size_mm[2]:
            shapes = section_at(each.model, along_mm - start)
            found += [translate(Polygon(shape.exterior), left, lower) for shape in shapes]
    return shapely.union_all(found)
