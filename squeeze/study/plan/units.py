"""Lengths and pressures that a study file gives as text with their unit, as plain numbers."""

from __future__ import annotations

from typing import Any

from squeeze.mold.file.units import with_plain_numbers
from squeeze.study.plan.tables import StudyTable


def in_plain_numbers(file: StudyTable) -> StudyTable:
    """Return the study with a number for each text that gives a length or a pressure.

    So a range has ends, formulas can compute, a table sorts, and a figure has an axis.

    Parameters
    ----------
    file : StudyTable
        Whose values may say their unit: ``"3 1/2 in"``, ``"2 psi"``.

    Returns
    -------
    StudyTable
        Numbers are in the unit that the key's ending names [mm, kPa, MPa]. Text that cannot be
        read stays, for the mold to refuse.
    """
    sample = file.sample
    if sample is not None and isinstance(sample.get("over"), dict):
        sample = sample | {"over": _plain_values(sample["over"])}
    figures = tuple(
        each.model_copy(update={"where": _plain_values(each.where)}) for each in file.figure
    )
    return file.model_copy(
        update={
            "vary": _plain_values(file.vary),
            "paired": tuple(_plain_values(table) for table in file.paired),
            "sample": sample,
            "set": _plain_values(file.set),
            "figure": figures,
        }
    )


def _plain_values(given: dict[str, Any]) -> dict[str, Any]:
    return {key: _plain_value(value, key) for key, value in given.items()}


def _plain_value(value: Any, key: str) -> Any:
    """Return a list, a value or a range of a `key` of the mold with plain numbers."""
    if isinstance(value, dict) and "from" in value:
        return {part: with_plain_numbers(end, key) for part, end in value.items()}
    return with_plain_numbers(value, key)
