"""A study's columns in inches: its table and charts say them so, its files stay in mm and kPa."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from squeeze.mold.file.units import MM_PER_INCH
from squeeze.study.plan.tables import FigureTable
from squeeze.verdict.words import IMPERIAL

Row = dict[str, Any]
ENDINGS = (
    ("_n_per_mm", "_lbf_per_in", IMPERIAL["N/mm"][1]),
    ("_mm2", "_in2", MM_PER_INCH**-2),
    ("_mm", "_in", 1 / MM_PER_INCH),
    ("_kpa", "_psi", IMPERIAL["kPa"][1]),
    ("_mpa", "_psi", IMPERIAL["MPa"][1]),
    ("_n", "_lbf", IMPERIAL["N"][1]),
)
"""How a column's name ends, how it ends in inches, and what its values are multiplied by."""
UNITS = {f"[{metric}]": f"[{word}]" for metric, (word, _) in IMPERIAL.items()}
UNITS |= {"[mm²]": "[in²]", "[mm]": "[in]"}
BRACKETS = re.compile("|".join(map(re.escape, UNITS)))
PLACE = " at "
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def imperial_name(name: str) -> str:
    """Return what a column `name` is called in inches; a name without such a unit stays.

    Examples
    --------
    >>> imperial_name("block.bevel_mm"), imperial_name("error.gap_mm at 0, 50.8")
    ('block.bevel_in', 'error.gap_in at 0, 2')
    >>> imperial_name("force_n_per_mm"), imperial_name("band.count")
    ('force_lbf_per_in', 'band.count')
    """
    bare, at, place = name.partition(PLACE)
    for metric, imperial, _ in ENDINGS:
        if bare.endswith(metric):
            bare = bare.removesuffix(metric) + imperial
            break
    turned = NUMBER.sub(lambda found: f"{float(found.group()) / MM_PER_INCH:.3g}", place)
    return f"{bare}{at}{turned}"


def imperial_value(name: str, value: Any) -> Any:
    """Return a column's value in inches, psi or pounds of force.

    Parameters
    ----------
    name : str
        Of the column, as the study has it: its ending is the unit.
    value : object
        Numbers, or those of a list, are multiplied; all else stays.

    Examples
    --------
    >>> imperial_value("block.bevel_mm", 50.8), imperial_value("seals", True)
    (2.0, True)
    """
    if isinstance(value, list):
        return [imperial_value(name, each) for each in value]
    if isinstance(value, bool) or not isinstance(value, int | float):
        return value
    bare = name.partition(PLACE)[0]
    for metric, _, times in ENDINGS:
        if bare.endswith(metric):
            return float(f"{value * times:.12g}")
    return value


def imperial_row(row: Mapping[str, Any]) -> Row:
    """Return a `row` of the table, a case, with its columns in inches."""
    return {imperial_name(name): imperial_value(name, value) for name, value in row.items()}


def imperial_words(names: Mapping[str, str]) -> dict[str, str]:
    """Return what some columns are called, by their names in inches.

    Parameters
    ----------
    names : mapping
        Words by columns, as a study file gives them; a unit in brackets is turned as well.

    Examples
    --------
    >>> imperial_words({"block.bevel_mm": "leg of the flat [mm]"})
    {'block.bevel_in': 'leg of the flat [in]'}
    """
    return {
        imperial_name(name): BRACKETS.sub(lambda found: UNITS[found.group()], words)
        for name, words in names.items()
    }


def imperial_figure(figure: FigureTable) -> FigureTable:
    """Return what a `figure` draws, its columns in inches."""
    one = {key: getattr(figure, key) for key in ("x", "each", "value")}
    turned: dict[str, Any] = {k: v if v is None else imperial_name(v) for k, v in one.items()}
    turned["y"] = tuple(map(imperial_name, figure.y))
    turned["where"] = imperial_row(figure.where)
    return figure.model_copy(update=turned)
