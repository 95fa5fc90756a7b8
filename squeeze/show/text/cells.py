"""Heads and cells of tables of figures: each is written alike in every table."""

from __future__ import annotations

import math
from typing import Any

from squeeze.verdict.figures import Figure
from squeeze.verdict.words import LBF_PER_IN, MM_PER_INCH, PSI_PER_KPA

UNITS = {"share": "%", "times": "times"}
IMPERIAL = {
    "mm": ("in", 1 / MM_PER_INCH),
    "kPa": ("psi", PSI_PER_KPA),
    "N/mm": ("lbf/in", LBF_PER_IN),
}
"""Unit that stands for another where inches are asked for, and how many of it that is."""


def column_head(figure: Figure, table: str, inches: bool = False) -> str:
    """Return the head of a figure's column in a table: its word, and the unit a line below."""
    unit = UNITS.get(figure.unit, figure.unit)
    if inches and figure.unit in IMPERIAL:
        unit = IMPERIAL[figure.unit][0]
    word = figure.heads[table]
    return word if "\n" in word else f"{word}\n{unit}"


def cell(figure: Figure, value: Any, inches: bool = False) -> str:
    """Return a figure as a table writes it; a dash where there is none.

    A gap too small for the column's decimals is shown as less than its last one, since 0 means
    closed.

    Parameters
    ----------
    figure : Figure
    value : object
    inches : bool

    Examples
    --------
    >>> from squeeze.verdict.figures import BY_NAME
    >>> [cell(BY_NAME["largest_gap_mm"], gap) for gap in (0.0, 0.004, 0.957)]
    ['0.00', '<0.01', '0.96']
    >>> cell(BY_NAME["closed_share"], 0.64), cell(BY_NAME["length_mm"], 50.8, inches=True)
    ('64', '2.00')
    >>> cell(BY_NAME["force_n_per_mm"], 0.548, inches=True)
    '3.13'
    """
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        return "-"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    digits = figure.digits
    if figure.unit == "share":
        value = 100 * value
    if inches and figure.unit in IMPERIAL:
        times = IMPERIAL[figure.unit][1]
        value, digits = value * times, digits + (-1 if times > 1 else 1)
    least = 10.0**-digits
    if figure.name == "largest_gap_mm" and 0 < value < least:
        return f"<{least:.{digits}f}"
    return f"{value:.{digits}f}"
