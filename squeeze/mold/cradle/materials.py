"""What cradle pieces are made of: stiffness by the name of the material.

Young's modulus varies a lot within one name, so each has a range. Where a piece is much stiffer
than the rubber, the closing hardly depends on how much; `squeeze cradle` shows it.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Stiff:
    """A material for cradle pieces.

    Attributes
    ----------
    youngs_modulus_mpa : float
        What is reckoned with [MPa].
    range_mpa : (float, float)
        From where to where it is found [MPa].
    poisson : float
    source : str
        Where the range comes from.
    """

    youngs_modulus_mpa: float
    range_mpa: tuple[float, float]
    poisson: float
    source: str


MATERIALS = {
    "soft foam": Stiff(
        5.0,
        (1.5, 10.3),
        0.1,
        "white bead foam: least compressive resistance at 1 % in ASTM D6817, EPS12 to EPS39",
    ),
    "rigid foam": Stiff(20.0, (10.0, 60.0), 0.3, "extruded or tooling foam board; from memory"),
    "plywood": Stiff(
        4000.0,
        (2000.0, 9000.0),
        0.3,
        "bending 7 to 9 GPa along the face, a third of it across; USDA Wood Handbook 2010,"
        " chapter 12, from memory",
    ),
    "MDF": Stiff(3000.0, (2000.0, 3600.0), 0.3, "USDA Wood Handbook 2010, chapter 12, from memory"),
    "plaster": Stiff(5000.0, (2000.0, 10000.0), 0.24, "cast gypsum, dry; from memory"),
    "printed plastic": Stiff(
        1000.0, (300.0, 3000.0), 0.35, "PLA, from sparse filling to solid; from memory"
    ),
}
"""Materials by name."""
