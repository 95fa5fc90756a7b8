"""Figures in words: as many digits as a bench can use."""

from __future__ import annotations

import math
import re

from squeeze.mold.file.units import MM_PER_INCH, read_fraction

PSI_PER_KPA = 0.145037738
N_PER_LBF = 4.4482216152605
LBF_PER_IN = MM_PER_INCH / N_PER_LBF
"""Pounds of force per inch of length in one N per mm."""


def length(mm: float, inches: bool = False) -> str:
    """Return a length with its unit, as many digits as matter at the bench.

    Examples
    --------
    >>> length(0.957), length(3.24), length(44.7), length(0.003), length(0.0)
    ('0.96 mm', '3.2 mm', '45 mm', 'under 0.01 mm', '0 mm')
    >>> length(50.8, inches=True)
    '2.00 in'
    """
    if mm == 0:
        return "0 in" if inches else "0 mm"
    if inches:
        value = mm / MM_PER_INCH
        if 0 < value < 0.001:
            return "under 0.001 in"
        return f"{value:.3f} in" if value < 1 else f"{value:.2f} in"
    if 0 < mm < 0.01:
        return "under 0.01 mm"
    digits = 2 if mm < 1 else 1 if mm < 10 else 0
    return f"{mm:.{digits}f} mm"


def read_length(text: str, inches: bool = False) -> float:
    """Return the length that a person typed as `text` [mm]; not a number where it is none.

    Inches may be whole, decimal or fractions.

    Examples
    --------
    >>> read_length("18"), read_length("4 1/2", inches=True), read_length("3/4", inches=True)
    (18.0, 114.3, 19.05)
    >>> read_length("a thumb")
    nan
    """
    try:
        value = read_fraction(text) if inches else float(text)
    except ValueError:
        return math.nan
    if value is None:
        return math.nan
    return round(value * MM_PER_INCH, 9) if inches else value


def length_with_error(mm: float, error_mm: float, inches: bool = False) -> str:
    """Return a length with its error, where that shows in these digits.

    Parameters
    ----------
    mm, error_mm : float
    inches : bool

    Examples
    --------
    >>> length_with_error(0.412, 0.011), length_with_error(0.412, 0.001)
    ('0.41 mm ± 0.01', '0.41 mm')
    >>> length_with_error(3.24, 0.2), length_with_error(2.0, 0.02, inches=True)
    ('3.2 mm ± 0.2', '0.079 in ± 0.001')
    """
    value = mm / MM_PER_INCH if inches else mm
    error = error_mm / MM_PER_INCH if inches else error_mm
    digits = (3 if value < 1 else 2) if inches else (2 if value < 1 else 1 if value < 10 else 0)
    text = length(mm, inches)
    return text if round(error, digits) == 0 else f"{text} ± {error:.{digits}f}"


def place(mm: float, inches: bool = False) -> str:
    """Return a coordinate with its unit.

    Examples
    --------
    >>> place(-59.4), place(25.4, inches=True), place(-0.01, inches=True)
    ('-59 mm', '1.00 in', '0.00 in')
    """
    return f"{round(mm / MM_PER_INCH, 2) + 0.0:.2f} in" if inches else f"{round(mm)} mm"


def pressure(kpa: float) -> str:
    """Return a pressure of `kpa` [kPa] with its unit.

    Examples
    --------
    >>> pressure(9.76), pressure(22.46), pressure(0.0), pressure(0.004)
    ('9.8 kPa', '22 kPa', '0 kPa', 'under 0.01 kPa')
    """
    if kpa == 0:
        return "0 kPa"
    if 0 < kpa < 0.01:
        return "under 0.01 kPa"
    digits = 2 if kpa < 3 else 1 if kpa < 20 else 0
    return f"{kpa:.{digits}f} kPa"


_NUMBER = r"-?\d+(?:\.\d+)?"
_METRIC = re.compile(
    rf"'[^']*'|(?<![\w.])(?:{_NUMBER}(?: to| x| and| or| instead of) )*{_NUMBER}"
    r" (mm(?: ± \d+(?:\.\d+)?)?|kPa|MPa|N/mm|N per mm|N)(?![\w/])"
    rf"|\({_NUMBER}, {_NUMBER}\) mm"
)
IMPERIAL = {
    "kPa": ("psi", PSI_PER_KPA),
    "MPa": ("psi", 1000 * PSI_PER_KPA),
    "N/mm": ("lbf/in", LBF_PER_IN),
    "N per mm": ("lbf per inch", LBF_PER_IN),
    "N": ("lbf", 1 / N_PER_LBF),
}
"""What stands for a unit in inches, and what values are multiplied by."""


def reached(share: float) -> str:
    """Return how far a solve at large deformation came, to stand after "the calculation".

    `share` is the share of the load that it carried, 0 to 1.

    Examples
    --------
    >>> reached(0.31), reached(0.0)
    ('reached only 31 % of the load', 'found no balance under the load')
    """
    if share < 0.005:
        return "found no balance under the load"
    return f"reached only {100 * share:.0f} % of the load"


def in_inches(text: str) -> str:
    """Return the sentence `text` in inches, psi and pounds of force; names stay.

    Some sentences are made where nobody knows what was asked for; this turns them all.

    Examples
    --------
    >>> in_inches("'rod 12 mm' lies 12 mm in and presses 8 to 20 kPa, at 0.5 N/mm.")
    "'rod 12 mm' lies 0.472 in in and presses 1.2 to 2.9 psi, at 2.9 lbf/in."
    >>> in_inches("Size 64, 12 mm wide, against resin of 1.05 g/cm3, 10 kPa.")
    'Size 64, 0.472 in wide, against resin of 1.05 g/cm3, 1.5 psi.'
    >>> in_inches("Pour an oval block of 90 x 64 mm instead; move it by (-3.0, 4.5) mm.")
    'Pour an oval block of 3.54 x 2.52 in instead; move it by (-0.118, 0.177) in.'
    >>> in_inches("It is 0.41 mm ± 0.01 open. E = 0.73 MPa. A clamp of 90 N.")
    'It is 0.016 in ± 0.0004 open. E = 106 psi. A clamp of 20 lbf.'
    """
    return _METRIC.sub(_turned, text)


def _turned(found: re.Match[str]) -> str:
    said, unit = found.group(), found.group(1)
    if said.startswith("'"):
        return said
    if unit in IMPERIAL:
        word, times = IMPERIAL[unit]
        bare = said.removesuffix(unit)
        return re.sub(_NUMBER, lambda n: _short(float(n.group()) * times), bare) + word
    return re.sub(
        _NUMBER, lambda n: _inch(float(n.group()) / MM_PER_INCH), said.replace(" mm", " in")
    )


def _inch(value: float) -> str:
    if 0 < abs(value) < 0.001:
        return f"{value:.1g}"
    return "0" if value == 0 else f"{value:.3f}" if abs(value) < 1 else f"{value:.2f}"


def _short(value: float) -> str:
    """Return two digits that count, and all before the point."""
    return f"{value:.2g}" if abs(value) < 100 else f"{value:.0f}"
