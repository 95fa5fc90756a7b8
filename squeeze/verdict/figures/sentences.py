"""A figure and its range as a sentence gives them."""

from __future__ import annotations

import math
from typing import Any

from squeeze.verdict.figures.table import BY_NAME
from squeeze.verdict.words import length, pressure


def in_words(name: str, value: Any, inches: bool = False) -> str:
    """Return a figure's value with its unit, as a sentence gives it.

    Parameters
    ----------
    name : str
        Of a row of the table of figures.
    value : object
    inches : bool

    Examples
    --------
    >>> in_words("largest_gap_mm", 0.957), in_words("margin", 2.34), in_words("leaks", 2)
    ('0.96 mm', "2.3 times the resin's pressure", '2 leaks')
    >>> in_words("largest_gap_mm", math.inf)
    'no limit'
    """
    figure = BY_NAME[name]
    if value is None or math.isnan(value):
        return "not known"
    if math.isinf(value):
        return "no limit"
    if figure.unit == "mm":
        return length(value, inches)
    if figure.unit == "kPa":
        return pressure(value)
    if figure.unit == "share":
        return f"{100 * value:.0f} %"
    if figure.unit == "times":
        return f"{times(value)} times the resin's pressure"
    if figure.unit:
        return f"{value:.{figure.digits}f} {figure.unit}"
    if figure.plural:
        return f"{value:.0f} {figure.words if value == 1 else figure.plural}"
    return f"{value:.{figure.digits}f}"


def times(value: float) -> str:
    """Return a ratio `value` as a sentence gives it: one decimal below ten, none above."""
    return f"{value:.1f}" if value < 10 else f"{value:.0f}"


def range_in_words(name: str, low: float, high: float, inches: bool = False) -> str:
    """Return the range of a figure `name` from `low` to `high` [its unit].

    One value where both ends read alike.

    Examples
    --------
    >>> range_in_words("largest_gap_mm", 0.021, 0.4), range_in_words("largest_gap_mm", 0.05, 0.05)
    ('0.02 to 0.40 mm', '0.05 mm')
    >>> range_in_words("margin", 0.0, 3.1)
    "0.0 to 3.1 times the resin's pressure"
    """
    ends = [in_words(name, value, inches) for value in (low, high)]
    if ends[0] == ends[1]:
        return ends[0]
    first, _, unit = ends[0].partition(" ")
    same = ends[1].endswith(f" {unit}") and not ends[0].startswith("under")
    return f"{first if same else ends[0]} to {ends[1]}"
