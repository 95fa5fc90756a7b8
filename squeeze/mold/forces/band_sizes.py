"""Trade sizes of rubber bands.

Common practice, from memory: a number names flat length and width in inches; all are 1/32 inch
thick. The flat length is half of the loop.
"""

from __future__ import annotations

from dataclasses import dataclass

from squeeze.mold.file.units import MM_PER_INCH


@dataclass(frozen=True)
class BandSize:
    """Size of one band [mm]."""

    flat_length_mm: float
    width_mm: float
    thickness_mm: float = MM_PER_INCH / 32


_INCHES = {
    "16": (2.5, 1 / 16),
    "18": (3.0, 1 / 16),
    "19": (3.5, 1 / 16),
    "30": (2.0, 1 / 8),
    "31": (2.5, 1 / 8),
    "32": (3.0, 1 / 8),
    "33": (3.5, 1 / 8),
    "62": (2.5, 1 / 4),
    "63": (3.0, 1 / 4),
    "64": (3.5, 1 / 4),
    "84": (3.5, 1 / 2),
    "105": (5.0, 5 / 8),
    "107": (7.0, 5 / 8),
    "117B": (7.0, 1 / 8),
}

SIZES = {
    name: BandSize(MM_PER_INCH * flat, MM_PER_INCH * width)
    for name, (flat, width) in _INCHES.items()
}
"""Band sizes by their trade number."""
