"""What cradle pieces are made of: stiffness by the name of the material.

Young's modulus varies a lot within one name: the remarks give its range. Where a piece is much
stiffer than the rubber, the closing hardly depends on how much; `squeeze cradle` shows it.
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
    poisson : float
    """

    youngs_modulus_mpa: float
    poisson: float


MATERIALS = {
    # 1.5 to 10.3 MPa: least compressive resistance at 1 % in ASTM D6817, EPS12 to EPS39
    "soft foam": Stiff(5.0, 0.1),
    # 10 to 60 MPa: extruded or tooling foam board; from memory
    "rigid foam": Stiff(20.0, 0.3),
    # 2 to 9 GPa: bending along the face, a third of it across; USDA Wood Handbook 2010, chapter
    # 12, from memory
    "plywood": Stiff(4000.0, 0.3),
    # 2 to 3.6 GPa: USDA Wood Handbook 2010, chapter 12, from memory
    "MDF": Stiff(3000.0, 0.3),
    # 2 to 10 GPa: cast gypsum, dry; from memory
    "plaster": Stiff(5000.0, 0.24),
    # 0.3 to 3 GPa: PLA, from sparse filling to solid; from memory
    "printed plastic": Stiff(1000.0, 0.35),
}
"""Materials by name."""
