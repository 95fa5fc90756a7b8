"""What acts on a section, and what a mold file says of it: bands, pushes, pressure, resin."""

from __future__ import annotations

from dataclasses import dataclass, replace

import shapely
from shapely.geometry import Point
from shapely.ops import nearest_points

from squeeze.mold.forces.bands import line_tension, size_of, tension_n_per_mm
from squeeze.mold.geometry.tolerance import ON_MM
from squeeze.mold.section.records import Section
from squeeze.mold.tables.loads import GRAVITY, PushTable, ResinTable
from squeeze.mold.tables.mold import Mold


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
class Grip:
    """Bands that rub on the block.

    Attributes
    ----------
    share : float
        Their part of the whole tension, 0..1; the tension is that where they were pulled.
    friction : float
        Coulomb's coefficient of the band on what it lies on.
    pulled_at_mm : (x, y) or None
        Where they were pulled: the nearest place of the wrap. None = the middle of the top.
    """

    share: float
    friction: float
    pulled_at_mm: tuple[float, float] | None = None


@dataclass(frozen=True)
class ElasticBands:
    """Bands whose pull grows as they are stretched.

    Attributes
    ----------
    share : float
        Their part of the whole tension at the length `wrap_mm`, 0..1.
    flat_length_mm : float
        Half of an unstretched loop.
    wrap_mm : float
        Once round the block as poured.
    """

    share: float
    flat_length_mm: float
    wrap_mm: float

    def times(self, length_mm: float) -> float:
        """Return the pull at `length_mm` [mm] once round, over that at `wrap_mm`: s - 1/s^2."""
        return self._law(length_mm) / self._law(self.wrap_mm)

    def _law(self, length_mm: float) -> float:
        stretch = length_mm / (2 * self.flat_length_mm)
        return stretch - stretch**-2 if stretch > 1 else 0.0


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
    enters_cuts : bool
        Whether the resin presses inside open lands too.
    grips : tuple of Grip
        Bands that rub on what they lie on; the rest of the tension is free of friction.
    elastic : tuple of ElasticBands
        Bands whose pull changes with their length, at large deformation; the rest of the tension
        is constant.
    """

    tension_n_per_mm: float = 0.0
    pushes: tuple[Push, ...] = ()
    all_round_mpa: float = 0.0
    cavity_mpa: float = 0.0
    enters_cuts: bool = True
    grips: tuple[Grip, ...] = ()
    elastic: tuple[ElasticBands, ...] = ()

    @property
    def is_pushed(self) -> bool:
        """Whether something other than bands and resin presses on the block."""
        return bool(self.pushes) or self.all_round_mpa != 0

    def scaled(self, times: float) -> Loads:
        """Return all loads `times` as high.

        Parameters
        ----------
        times : float
            Over these loads [-].

        Returns
        -------
        Loads
        """
        return replace(
            self,
            tension_n_per_mm=times * self.tension_n_per_mm,
            pushes=tuple(replace(p, pressure_mpa=times * p.pressure_mpa) for p in self.pushes),
            all_round_mpa=times * self.all_round_mpa,
            cavity_mpa=times * self.cavity_mpa,
        )

    def pull_n_per_mm(self, length_mm: float) -> float:
        """Return the pull of all bands at large deformation.

        Parameters
        ----------
        length_mm : float
            Once round the deformed block.

        Returns
        -------
        float
            Their tension [N per mm of block length].
        """
        times = 1.0 - sum(band.share for band in self.elastic)
        times += sum(band.share * band.times(length_mm) for band in self.elastic)
        return self.tension_n_per_mm * times


def loads_of(mold: Mold, section: Section) -> Loads:
    """Return what acts on the section, per mm of block length.

    Of a block that stands it is the section at its foot, where the resin presses hardest.
    Pushes are centred at the place of the outside, of the block or of a cradle piece, that is
    nearest to where they were put.
    """
    patches = [push for push in mold.push if push.at_mm is not None]
    wrap = wrap_mm(section)
    return Loads(
        tension_n_per_mm=tension_n_per_mm(mold, wrap),
        grips=_grips(mold, wrap),
        elastic=_elastic(mold, wrap),
        pushes=tuple(_patch(push, section) for push in patches),
        all_round_mpa=sum(push.pressure_kpa or 0.0 for push in mold.push) / 1000,
        cavity_mpa=resin_ends_mpa(mold)[0],
        enters_cuts=mold.resin is None or mold.resin.enters_cuts,
    )


def _elastic(mold: Mold, wrap: float) -> tuple[ElasticBands, ...]:
    """Bands of known size, by their share of the tension."""
    pull = [line_tension(band, wrap, mold.length_mm) for band in mold.band]
    sizes = [size_of(band) for band in mold.band]
    return tuple(
        ElasticBands(own / sum(pull), size.flat_length_mm, wrap)
        for own, size in zip(pull, sizes, strict=True)
        if own and size is not None
    )


def _grips(mold: Mold, wrap: float) -> tuple[Grip, ...]:
    """Bands with friction, by their share of the tension."""
    pull = [line_tension(band, wrap, mold.length_mm) for band in mold.band]
    return tuple(
        Grip(own / sum(pull), band.friction, band.pulled_at_mm)
        for own, band in zip(pull, mold.band, strict=True)
        if own and band.friction
    )


def wrap_mm(section: Section) -> float:
    """Return the length of one turn of a band [mm].

    That is the perimeter of the convex hull of the block and its cradle pieces.
    """
    return float(section.hull.length)


def resin_mpa(resin: ResinTable | None) -> float:
    """Return the pressure of the resin at the section: rho g h, or as given [MPa]."""
    if resin is None:
        return 0.0
    if resin.head_mm is None:
        return (resin.pressure_kpa or 0.0) / 1000
    return resin.density_g_cm3 * GRAVITY * resin.head_mm * 1e-6


def resin_ends_mpa(mold: Mold) -> tuple[float, float]:
    """Return the pressure of the resin at the block's start and at its end [MPa].

    It is the same at both unless the block stands on its start.
    """
    at_end = resin_mpa(mold.resin)
    if mold.resin is None or not mold.resin.standing:
        return at_end, at_end
    return at_end + mold.resin.density_g_cm3 * GRAVITY * mold.length_mm * 1e-6, at_end


def _patch(push: PushTable, section: Section) -> Push:
    assert push.at_mm is not None  # reading the file makes sure of all three
    assert push.width_mm is not None
    assert push.force_n_per_mm is not None
    x, y = _on_the_outside(push.at_mm, section)
    return Push((x, y), push.width_mm, push.force_n_per_mm / push.width_mm)


def _on_the_outside(at: tuple[float, float], section: Section) -> tuple[float, float]:
    """Return the place nearest to `at` where neither block nor cradle piece is covered."""
    loops = (section.outline, *(piece.loop for piece in section.cradles))
    if section.cradles:
        whole = shapely.union_all([loop.polygon.buffer(ON_MM) for loop in loops])
        near = nearest_points(whole.boundary, Point(at))[0]
        at = (near.x, near.y)
    loop = min(loops, key=lambda loop: loop.nearest(at)[2])
    k, t, _ = loop.nearest(at)
    x, y = loop.pieces[k].at(t)[0]
    return float(x), float(y)
