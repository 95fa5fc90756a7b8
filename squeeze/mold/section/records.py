"""The cross-section that the solver takes: curves, materials, cuts and loads, all checked."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import Polygon

from squeeze.mold.geometry.loop import Loop


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
    """A void that the model left.

    Attributes
    ----------
    name : str
    loop : Loop
        Its edge.
    """

    name: str
    loop: Loop


@dataclass(frozen=True)
class CutStretch:
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
    name : str
    stretches : tuple of CutStretch
    friction : float
        Coulomb's coefficient between the two faces.
    gap_mm : tuple of float
        Unloaded gap, spread evenly along the path of length `length_mm`; one number = constant.
    length_mm : float
        Length of the path as given.
    bow_mm : float
        Unloaded gap in the middle of every stretch, a parabola over its length, on top of `gap_mm`.
    film_mm : tuple of float
        Thickness of what lies in the cut, spread evenly over `film_at_mm`; one number = constant.
        It acts as an overlap of the unloaded faces, so gaps count from the film.
    film_at_mm : (from, to) or None
        Stretch of the path that the film lies on; None = all of it.
    friction_range : (low, high) or None
        Between which the friction lies, where it was given in words.
    """

    name: str
    stretches: tuple[CutStretch, ...]
    length_mm: float
    friction: float = 0.0
    gap_mm: tuple[float, ...] = (0.0,)
    bow_mm: float = 0.0
    film_mm: tuple[float, ...] = (0.0,)
    film_at_mm: tuple[float, float] | None = None
    friction_range: tuple[float, float] | None = None


@dataclass(frozen=True)
class Filler:
    """Older, cured rubber cast in: bonded to the rubber round it, with a stiffness of its own.

    Attributes
    ----------
    name : str
    loop : Loop
        Its edge. What of it lies in a cavity or outside the block is not there.
    material : Material
    """

    name: str
    loop: Loop
    material: Material


@dataclass(frozen=True)
class CradlePiece:
    """A stiff piece between block and band: a body of its own that touches the block at its seat.

    Attributes
    ----------
    name : str
    loop : Loop
        Its edge, outside the block. Where it coincides with the block's outline is the seat; where
        it coincides with an earlier piece's edge the two pieces touch.
    material : Material
    friction : float
        Coulomb's coefficient at the seat, and where it touches an earlier piece.
    gap_mm : tuple of float
        Unloaded gap of the seat, spread evenly along `length_mm`; one number = constant.
    length_mm : float
        Length of the seat along the outline, from its beginning counter-clockwise.
    """

    name: str
    loop: Loop
    material: Material
    friction: float = 0.0
    gap_mm: tuple[float, ...] = (0.0,)
    length_mm: float = 0.0


@dataclass(frozen=True)
class Section:
    """One cross-section of a block, ready for the solver.

    Attributes
    ----------
    outline : Loop
        The block's outside.
    material : Material
        The block's rubber.
    cavities : tuple of Cavity
    cuts : tuple of Cut
    fillers : tuple of Filler
    cradles : tuple of CradlePiece
    """

    outline: Loop
    material: Material
    cavities: tuple[Cavity, ...] = ()
    cuts: tuple[Cut, ...] = ()
    fillers: tuple[Filler, ...] = ()
    cradles: tuple[CradlePiece, ...] = ()

    @property
    def seams(self) -> tuple[Cut | CradlePiece, ...]:
        """What faces meet along: cuts, seats, and cradle pieces where they touch earlier ones."""
        joints = (replace(piece, gap_mm=(0.0,)) for piece in self.cradles)
        return (*self.cuts, *self.cradles, *joints)

    @property
    def materials(self) -> tuple[Material, ...]:
        """Materials of the bodies: block, fillers, cradle pieces."""
        return (self.material, *(body.material for body in (*self.fillers, *self.cradles)))

    @cached_property
    def hull(self) -> Polygon:
        """The convex hull of the block and its cradle pieces [mm]: a taut band lies on it."""
        loops = (self.outline, *(piece.loop for piece in self.cradles))
        places = np.vstack([loop.points(0.001) for loop in loops])
        hull = shapely.convex_hull(shapely.multipoints(places))
        assert isinstance(hull, Polygon)  # an outline has an area
        return hull

    @property
    def loops(self) -> tuple[Loop, ...]:
        """All closed curves: outline, cavities, fillers, cradle pieces."""
        inner = (*self.cavities, *self.fillers, *self.cradles)
        return (self.outline, *(entry.loop for entry in inner))
