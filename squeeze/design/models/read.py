"""Reading what a design starts from: a mold file that may leave its block out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from squeeze.mold import BadInput, Fault, Mold, mold_of, parse
from squeeze.mold.drawing.tables import with_drawings
from squeeze.mold.file.toml import tables_of, text_of, with_lines
from squeeze.mold.file.units import with_plain_numbers
from squeeze.mold.section.build import section_of

ROOMY_MM = 1000.0 - 2.0**-10
"""Diameter of the block that stands in for one that the file leaves out: one that no file gives."""


def load_models(path: str | Path) -> Mold:
    """Read a mold file; one without ``[block]`` gets a round one that stands in for it.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    Mold
        `has_block` says whether its block is its own.

    Raises
    ------
    BadInput
        With every fault that was found, each with its line.
    """
    file = str(path)
    text = text_of(file, "mold file")
    data = with_plain_numbers(tables_of(text, file, "mold file"))
    if "block" in data or "mold" in data:
        mold = parse(text, file, Path(file).parent)
        return _with_models(mold, text, file)
    try:
        mold = models_mold(with_drawings(data, Path(file).parent))
        section_of(mold)
    except BadInput as error:
        raise BadInput(with_lines(error.faults, text, Mold.prepare(data)), file) from None
    return _with_models(mold, text, file)


def models_mold(data: dict[str, Any]) -> Mold:
    """Return the mold of the dict `data`, which may leave its block out.

    Raises
    ------
    BadInput
        With every fault that was found.
    """
    if data.get("block") is None:
        data = data | {"block": {"shape": "round", "diameter_mm": ROOMY_MM}}
    return mold_of(data)


def has_block(mold: Mold) -> bool:
    """Return whether the block of a mold is its own, not one that stands in."""
    return mold.block.diameter_mm != ROOMY_MM


def _with_models(mold: Mold, text: str, file: str) -> Mold:
    try:
        check_models(mold)
    except BadInput as error:
        raise BadInput(with_lines(error.faults, text, mold.model_dump()), file) from None
    return mold


def check_models(mold: Mold) -> None:
    """Check that there is something to pour a block about.

    Raises
    ------
    BadInput
        When there is no cavity, or the file's cuts are wanted and there are none.
    """
    stations = [station.cavity for station in mold.station]
    if not mold.cavity and not any(stations):
        said = "there is none, so there is nothing to pour a block about; give a [[cavity]]"
        raise BadInput([Fault("cavity", said)])
    if mold.design is not None and mold.design.cut == "given" and not mold.cut:
        said = '"given" needs a cut, and the file has none; give a [[cut]], or cut = "free"'
        raise BadInput([Fault("design.cut", said)])
