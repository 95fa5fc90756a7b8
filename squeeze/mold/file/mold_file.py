"""Mold files: reading with every fault reported at once, and writing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import tomlkit
from pydantic import ValidationError

from squeeze.mold.drawing.band_path import check_band_paths
from squeeze.mold.drawing.tables import with_drawings
from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.file.toml import dotted, tables_of, text_of, with_lines
from squeeze.mold.file.units import with_plain_numbers
from squeeze.mold.section.build import section_of
from squeeze.mold.stations import stations_of
from squeeze.mold.tables.mold import Mold
from squeeze.mold.vents import vents_of


def load(path: str | Path) -> Mold:
    """Read a mold file and check its geometry.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    Mold

    Raises
    ------
    BadInput
        With every fault that was found, each with its line.
    """
    file = str(path)
    return parse(text_of(file, "mold file"), file, Path(file).parent)


def parse(text: str, file: str | None = None, folder: Path | None = None) -> Mold:
    """Read a mold from TOML text and check its geometry.

    Parameters
    ----------
    text : str
    file : str, optional
        What faults call the text.
    folder : Path, optional
        Where drawings that it names lie; without it they are refused.

    Returns
    -------
    Mold

    Raises
    ------
    BadInput
        With every fault that was found, each with its line.
    """
    data = with_plain_numbers(tables_of(text, file, "mold file"))
    if "mold" in data and not {"block", "rubber"} & set(data):
        said = f"is a study file, not a mold file; run it: squeeze study {file or 'FILE'}"
        raise BadInput([Fault("file", said)], file)
    try:
        mold = mold_of(data if folder is None else with_drawings(data, folder))
        section = section_of(mold)
        _check_stations(mold)
        vents_of(mold)
        if folder is not None:
            check_band_paths(data, section, folder)
    except BadInput as error:
        raise BadInput(with_lines(error.faults, text, Mold.prepare(data)), file) from None
    return mold


def _check_stations(mold: Mold) -> None:
    for number, (_, other) in enumerate(stations_of(mold) if mold.station else (), start=1):
        try:
            section_of(other)
        except BadInput as error:
            raise BadInput(
                [Fault(f"station.{number}.{each.key}", each.text) for each in error.faults]
            ) from None


def mold_of(data: dict[str, Any]) -> Mold:
    """Return the mold that a dict describes; its geometry is checked when it is closed.

    Parameters
    ----------
    data : dict
        The keys of a mold file. Values may be NumPy numbers and arrays, and text with its unit
        where a length or a pressure is asked for; None means not given.

    Returns
    -------
    Mold

    Raises
    ------
    BadInput
        With every fault that was found.

    Examples
    --------
    >>> block = {"shape": "square", "width_mm": 120}
    >>> mold_of({"length_mm": 140, "rubber": {"shore_a": 20}, "block": block}).block.width_mm
    120.0
    """
    given = with_plain_numbers(_bare(data, depth=8))
    try:
        return Mold.model_validate(given)
    except ValidationError as error:
        named = Mold.prepare(given) if isinstance(given, dict) else {}
        raise BadInput([_fault(entry, named) for entry in error.errors()]) from None


def dict_of(mold: Mold) -> dict[str, Any]:
    """Return the dict of which `mold_of` makes the same mold: what was given, no defaults."""
    return mold.model_dump(exclude_unset=True)


def dump(mold: Mold) -> str:
    """Return a TOML text from which `parse` makes the same mold, with exact values.

    Parameters
    ----------
    mold : Mold

    Returns
    -------
    str
    """
    return tomlkit.dumps(dict_of(mold))


def _bare(value: Any, depth: int) -> Any:
    """Return `value` with NumPy numbers and arrays turned into Python's own, None left out.

    What is nested more deeply than `depth` stands in no mold and is left as it is.
    """
    if depth == 0:
        return value
    if isinstance(value, dict):
        return {key: _bare(entry, depth - 1) for key, entry in value.items() if entry is not None}
    if isinstance(value, list | tuple):
        return [_bare(entry, depth - 1) for entry in value]
    return value.tolist() if hasattr(value, "tolist") else value


def _fault(entry: Any, data: dict[str, Any]) -> Fault:
    return Fault(dotted(entry["loc"], data) or "mold", entry["msg"])
