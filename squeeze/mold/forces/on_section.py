"""What acts on a section: bands, pushes, pressure all round, resin."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import MultiPoint, Point
from shapely.ops import nearest_points

from squeeze.mold.forces.bands import line_tension, size_of, tension_n_per_mm
from squeeze.mold.geometry.tolerance import ON_MM
from squeeze.mold.section.records import ElasticBands, Grip, Loads, Push, Section
from squeeze.mold.tables.loads import PushTable, ResinTable
from squeeze.mold.tables.mold import Mold

GRAVITY = 9.80665
"""Standard acceleration of free fall [m/s2]."""


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
    loops = (section.outline, *(piece.loop for piece in section.cradles))
    return float(MultiPoint(np.vstack([loop.points(0.001) for loop in loops])).convex_hull.length)


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
    assert push.at_mm is not None  # a patch has all three; the model has seen to it
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
