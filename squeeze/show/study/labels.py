"""Names of columns and measures as figures write them, and their values."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from squeeze.study.measure_errors import ERROR

UNITS = {
    "mm": "mm",
    "mm2": "mm²",
    "kpa": "kPa",
    "mpa": "MPa",
    "n": "N",
    "pct": "%",
    "deg": "degrees",
    "g": "g",
    "s": "s",
    "in": "in",
    "in2": "in²",
    "psi": "psi",
    "lbf": "lbf",
}
WHOLE = {
    "band.count": "number of bands",
}
"""Names that are no sum of their parts."""

WORDS = {
    "width_to_height": "width : height",
    "cut_deg": "direction of the cut [degrees]",
    "closed_share": "closed share of the cuts",
    "least_closed_share": "closed share of the worst land",
    "seals": "seals",
    "shore_a": "Shore A",
}


def label_of(name: str, names: Mapping[str, str] | None = None) -> str:
    """Return a column's or measure's name with its unit in brackets.

    Parameters
    ----------
    name : str
    names : mapping, optional
        What some are called, in place of their keys.

    Examples
    --------
    >>> label_of("block.bevel_mm"), label_of("force_n_per_mm"), label_of("gap_mm at 0, 40")
    ('bevel of the block [mm]', 'force [N/mm]', 'gap at 0, 40 [mm]')
    >>> label_of("cut.across the barrels.friction"), label_of("resin.head_mm")
    ("friction of the cut 'across the barrels'", 'head of the resin [mm]')
    >>> label_of("error.largest_gap_mm")
    'error of: largest gap [mm]'
    """
    known = {**WHOLE, **(names or {})}
    if name in known:
        return known[name]
    if name.startswith(ERROR):
        return f"error of: {label_of(name.removeprefix(ERROR), names)}"
    name, _, place = name.partition(" at ")
    head, _, last = name.rpartition(".")
    text, unit = _parted(last)
    of = _owner(head)
    where = f" at {place}" if place else ""
    return f"{text}{of}{where}" + (f" [{unit}]" if unit else "")


def _owner(head: str) -> str:
    kind, _, which = head.partition(".")
    if kind in ("", "own"):
        return ""
    if not which:
        return f" of the {kind}"
    if which == "*":
        return f" of every {kind}"
    if kind == "land":
        name, _, number = which.rpartition(".")
        return f" of land {int(number) + 1} of the cut '{name}'"
    return f" of {kind} {which}" if which.isdigit() else f" of the {kind} '{which}'"


def _parted(last: str) -> tuple[str, str]:
    if last in WORDS:
        return WORDS[last], ""
    words = last.split("_")
    for unit, ending in (("N/mm", ["n", "per", "mm"]), ("lbf/in", ["lbf", "per", "in"])):
        if words[-3:] == ending:
            return " ".join(words[:-3]), unit
    if words[-1] in UNITS and len(words) > 1:
        return " ".join(words[:-1]), UNITS[words[-1]]
    return " ".join(words), ""


def said(name: str, value: Any, names: Mapping[str, str] | None = None) -> str:
    """Return a column with its value, the unit behind it.

    Parameters
    ----------
    name : str
        Of the column.
    value : object
    names : mapping, optional
        The study's own words for its columns.

    Examples
    --------
    >>> said("block.bevel_mm", 3), said("band.count", 2), said("outline", "round")
    ('bevel of the block 3 mm', 'number of bands 2', 'round')
    """
    if isinstance(value, str):
        return value
    label, _, unit = label_of(name, names).partition(" [")
    return f"{label} {value_of(value)}" + (f" {unit[:-1]}" if unit else "")


def value_of(value: Any) -> str:
    """Return a value as a figure writes it: three figures of a number.

    Examples
    --------
    >>> [value_of(v) for v in (0.12345, 1234.5, 3, True, "round", None)]
    ['0.123', '1234', '3', 'yes', 'round', '-']
    """
    if value is None:
        return "-"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.3g}"
    return str(value)


def is_number(value: Any) -> bool:
    """Return whether a value is a number and no truth value."""
    return isinstance(value, int | float) and not isinstance(value, bool)
