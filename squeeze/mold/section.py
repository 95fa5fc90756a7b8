"""The cross-section that the solver takes: curves, materials, cuts and loads, all checked."""

from __future__ import annotations

from dataclasses import dataclass

from squeeze.mold.curve import Loop


@dataclass(frozen=True)
class Material:
    """Isotropic linear elastic material [MPa].

    Attributes
    ----------
    youngs_modulus_mpa : float
        E.
    poisson : float
        nu, less than 0.5.
    """

    youngs_modulus_mpa: float
    poisson: float


@dataclass(frozen=True)
class Cavity:
    """A void that the model left."""

    name: str
    loop: Loop


@dataclass(frozen=True)
class Stretch:
    """A cut's path where it lies in rubber: from edge to edge, or to where it ends inside.

    Attributes
    ----------
    points : tuple of (x, y)
        At least two; the ends lie on the block's outline, on a cavity's edge or in the rubber [mm].
    start_mm : float
        How far along the cut's path, as given, the stretch begins [mm]; negative when its
        beginning was carried back to an edge that the path, as given, stops short of.
    """

    points: tuple[tuple[float, float], ...]
    start_mm: float


@dataclass(frozen=True)
class Cut:
    """A knife line: its stretches in rubber, in the order of its path.

    Attributes
    ----------
    friction : float
        Coulomb's coefficient between the two faces.
    gap_mm : tuple of float
        Unloaded gap, spread evenly along the path of length `length_mm`; one number = constant.
    length_mm : float
        Length of the path as given.
    """

    name: str
    stretches: tuple[Stretch, ...]
    length_mm: float
    friction: float = 0.0
    gap_mm: tuple[float, ...] = (0.0,)


@dataclass(frozen=True)
class Push:
    """A patch of even pressure on the outside, normal to the outline.

    Attributes
    ----------
    at_mm : (x, y)
        Its middle, on the outline.
    width_mm : float
        Its width, measured along the outline.
    pressure_mpa : float
        Positive presses inwards.
    """

    at_mm: tuple[float, float]
    width_mm: float
    pressure_mpa: float


@dataclass(frozen=True)
class Loads:
    """What acts on the section, per mm of block length.

    Attributes
    ----------
    tension_n_per_mm : float
        Tension of all strands together: bands, spread over the block's length [N/mm].
    pushes : tuple of Push
        Pressure patches on the outside.
    all_round_mpa : float
        The same pressure all round the outline.
    cavity_mpa : float
        Pressure of the resin on the cavities' edges.
    """

    tension_n_per_mm: float = 0.0
    pushes: tuple[Push, ...] = ()
    all_round_mpa: float = 0.0
    cavity_mpa: float = 0.0


@dataclass(frozen=True)
class Section:
    """One cross-section of a block, ready for the solver."""

    outline: Loop
    material: Material
    cavities: tuple[Cavity, ...] = ()
    cuts: tuple[Cut, ...] = ()
