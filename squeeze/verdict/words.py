"""Figures in words: as many digits as a bench can use."""

from __future__ import annotations

MM_PER_INCH = 25.4


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


def place(mm: float, inches: bool = False) -> str:
    """Return a coordinate with its unit.

    Examples
    --------
    >>> place(-59.4), place(25.4, inches=True)
    ('-59 mm', '1.00 in')
    """
    return f"{mm / MM_PER_INCH:.2f} in" if inches else f"{round(mm)} mm"


def pressure(kpa: float) -> str:
    """Return a pressure with its unit.

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
