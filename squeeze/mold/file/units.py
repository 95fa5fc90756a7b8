"""Lengths and pressures that a file gives as text with their unit: "4 1/2 in", "25 psi".

Keys carry the unit that plain numbers are in. Text says its own unit and becomes such a number.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

MM_PER_INCH = 25.4
KPA_PER_PSI = 6.894757293168361

_INCHES = dict.fromkeys(("in", "in.", "inch", "inches", '"'), MM_PER_INCH)
UNITS: dict[str, dict[str, float]] = {
    "_mm": {"mm": 1.0, "cm": 10.0, **_INCHES},
    "_kpa": {"kpa": 1.0, "psi": KPA_PER_PSI},
    "_mpa": {"mpa": 1.0, "psi": KPA_PER_PSI / 1000.0},
}
"""What one of each unit is, in the unit of keys that end so."""

NOT_LENGTHS = "_per_mm"
"""Ending of keys that name a force, not a length."""

_TEXT = re.compile(r'\s*([-+]?[\d./ -]*?[\d.])\s*([A-Za-z]+\.?|")\s*')
_NUMBER = re.compile(r"([-+]?)\s*(\d+\.?\d*|\.\d+|\d+/\d+)(?:[ -]\s*(\d+/\d+))?")


def read_fraction(text: str) -> float | None:
    """Return the number typed as `text`, decimal or with a fraction; None where it is none.

    Examples
    --------
    >>> read_fraction("4 1/2"), read_fraction("3/4"), read_fraction("-1-1/4"), read_fraction("1/0")
    (4.5, 0.75, -1.25, None)
    """
    match = _NUMBER.fullmatch(text.strip())
    if match is None:
        return None
    sign, whole, part = match.groups()
    try:
        value = Fraction(whole) + (Fraction(part) if part else 0)
    except ZeroDivisionError:
        return None
    if part and not whole.isdigit():
        return None
    return -float(value) if sign == "-" else float(value)


DEEPEST = 8
"""No figure of a mold is nested more deeply."""


def with_plain_numbers(value: Any, key: str = "", depth: int = DEEPEST) -> Any:
    """Return what a file holds with a number for each text that gives a length or a pressure.

    Parameters
    ----------
    value : object
        Tables, lists and values as they are read.
    key : str
        The key that holds it; its ending says which unit a plain number has.
    depth : int
        What is nested more deeply is left as it is.

    Returns
    -------
    object
        Text that cannot be read stays, for the check of its key to refuse.

    Examples
    --------
    >>> with_plain_numbers({"width_mm": "4 1/2 in", "path_mm": [["-1 in", 0], [25.4, 0]]})
    {'width_mm': 114.3, 'path_mm': [[-25.4, 0], [25.4, 0]]}
    >>> with_plain_numbers({"pressure_kpa": "2 psi", "title": "2 in"})
    {'pressure_kpa': 13.789514586, 'title': '2 in'}
    """
    if depth == 0:
        return value
    if isinstance(value, dict):
        return {k: with_plain_numbers(entry, str(k), depth - 1) for k, entry in value.items()}
    if isinstance(value, list | tuple):
        return [with_plain_numbers(entry, key, depth - 1) for entry in value]
    return _number(value, key) if isinstance(value, str) else value


def _number(text: str, key: str) -> float | str:
    units = next((known for ending, known in UNITS.items() if key.endswith(ending)), {})
    match = _TEXT.fullmatch(text)
    if match is None or key.endswith(NOT_LENGTHS):
        return text
    value, times = read_fraction(match[1]), units.get(match[2].lower())
    return text if value is None or times is None else round(value * times, 9)
