"""Flash: resin that enters an open land, and what of it has to be cleaned off the casting."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from squeeze.mold.fit import taken_mm
from squeeze.mold.tables.loads import RESIN_DENSITY_G_CM3, ResinTable
from squeeze.mold.tables.mold import Mold
from squeeze.solve.closing import Closing
from squeeze.verdict.casting.resin_flow import capacity, fluid_time_s, spent
from squeeze.verdict.seal.barrier import MARGIN, resin_kpa
from squeeze.verdict.seal.land_graph import LandPart, Node, parts_of

Array = NDArray[np.float64]

HAIRLINE_MM = 0.01
"""Film of resin where faces touch and do not seal, and the thinnest flash that is seen [mm]; a
judgement."""

FINE_MM, HEAVY_MM = 0.05, 0.1
"""Flash becomes a nuisance at about 0.05 to 0.1 mm (common practice, from memory)."""

GRADES = (
    (HAIRLINE_MM, "clean"),
    (FINE_MM, "fine line"),
    (HEAVY_MM, "flash"),
    (np.inf, "heavy flash"),
)
"""Thickness at the cavity below which a grade holds [mm]."""


@dataclass(frozen=True)
class PartingLine:
    """The parting line where one land meets a cavity.

    Attributes
    ----------
    cavity : str
    land : int
        Number of the land in the closing.
    thickness_mm : float
        Gap at the cavity.
    reach_mm : float
        How far along the cuts resin gets from here.
    stopped_by : str
        ``"seal"`` (a sealed place), ``"setting"`` (the resin set before), ``"end"`` (the cut
        ends in the rubber) or ``"out"`` (it got to the outside or to another cavity).
    area_mm2 : float
        Section of the flash.
    """

    cavity: str
    land: int
    thickness_mm: float
    reach_mm: float
    stopped_by: str
    area_mm2: float


@dataclass(frozen=True)
class CastingFlash:
    """What one casting carries along its whole length.

    Attributes
    ----------
    cavity : str
    grade : str
        clean, fine line, flash, or heavy flash.
    thickness_mm, reach_mm : float
        The largest of its lines.
    mass_g : float or None
        None when the block's length is not known.
    parting_line_mm : float or None
        All of its parting lines together.
    """

    cavity: str
    grade: str
    thickness_mm: float
    reach_mm: float
    mass_g: float | None
    parting_line_mm: float | None


@dataclass(frozen=True)
class Flash:
    """Flash of all castings.

    Attributes
    ----------
    lines : tuple of PartingLine
    castings : tuple of CastingFlash
        In the order of the cavities.
    grade : str
        The worst one.
    thickness_mm, reach_mm : float
        The largest; 0 without a parting line.
    mass_g : float or None
        Of all castings together.
    parting_line_mm, to_clean_mm : float or None
        Length of all parting lines, and of those with flash of `FINE_MM` or more.
    timed : bool
        Whether viscosity and pot life limit the reach; else it ends at the first sealed place.
    """

    lines: tuple[PartingLine, ...]
    castings: tuple[CastingFlash, ...]
    grade: str
    thickness_mm: float
    reach_mm: float
    mass_g: float | None
    parting_line_mm: float | None
    to_clean_mm: float | None
    timed: bool


def flash_of(
    closing: Closing, mold: Mold | None = None, parts: Sequence[LandPart] | None = None
) -> Flash:
    """Return the flash of a closing.

    Parameters
    ----------
    closing : Closing
    mold : Mold, optional
        For the block's length, and the resin's density, viscosity and pot life.
    parts : sequence of LandPart, optional
        Those of its lands, where they are known already.

    Notes
    -----
    Flash is as thick as the gap. Its reach is the first sealed place or, when the resin's viscosity
    and pot life are given, the viscous reach if that is less. The viscosity grows e-fold in half of
    the pot life, which is a judgement. Where cuts meet the resin goes on along each of them as if
    the others were not there, which is an upper bound.
    """
    resin = None if mold is None else mold.resin
    most = flow_limit(closing, resin)
    parts = parts_of(closing.lands, closing.section) if parts is None else parts
    needed = MARGIN * resin_kpa(closing.loads)
    lines = tuple(_lines(parts, needed, most))
    length = None if mold is None else mold.length_mm
    density = RESIN_DENSITY_G_CM3 if resin is None else resin.density_g_cm3
    own = _lengths(mold)
    castings = tuple(
        _casting(
            cavity.name,
            [line for line in lines if line.cavity == cavity.name],
            own.get(cavity.name, length),
            density,
        )
        for cavity in closing.section.cavities
    )
    thickness = max((line.thickness_mm for line in lines), default=0.0)
    long = [own.get(line.cavity, length) or 0.0 for line in lines]
    nuisance = [mm for line, mm in zip(lines, long, strict=True) if line.thickness_mm >= FINE_MM]
    return Flash(
        lines=lines,
        castings=castings,
        grade=flash_grade(thickness),
        thickness_mm=thickness,
        reach_mm=max((line.reach_mm for line in lines), default=0.0),
        mass_g=None if length is None else sum(c.mass_g or 0.0 for c in castings),
        parting_line_mm=None if length is None else sum(long),
        to_clean_mm=None if length is None else sum(nuisance),
        timed=bool(np.isfinite(most)),
    )


def _lengths(mold: Mold | None) -> dict[str, float]:
    """Return how much of the block's length each cavity takes that says so [mm]."""
    if mold is None:
        return {}
    return {
        table.name: taken_mm(table.models, 0.0, mold.length_mm)
        for table in mold.cavity
        if table.models
    }


def flash_grade(thickness_mm: float) -> str:
    """Return the grade of flash `thickness_mm` [mm] thick at the cavity; not known where it is NaN.

    Examples
    --------
    >>> flash_grade(0.0), flash_grade(0.02), flash_grade(0.07), flash_grade(0.4)
    ('clean', 'fine line', 'flash', 'heavy flash')
    """
    return next((name for below, name in GRADES if thickness_mm < below), "not known")


def flow_limit(closing: Closing, resin: ResinTable | None) -> float:
    """Return dp t / mu until the resin sets; infinite when viscosity or pot life are not given."""
    if resin is None or resin.viscosity_mpa_s is None or resin.pot_life_min is None:
        return np.inf
    life = 60.0 * resin.pot_life_min
    time = fluid_time_s(life, life / 2)
    return capacity(resin_kpa(closing.loads), resin.viscosity_mpa_s, time)


def _lines(parts: Sequence[LandPart], needed: float, most: float) -> Iterator[PartingLine]:
    for part in parts:
        for node, first in ((part.start, 0), (part.end, -1)):
            if node.kind == "cavity":
                thickness = float(part.gap_mm[first])
                reach, stopped, area = _run(part, node, parts, needed, most)
                yield PartingLine(node.name, part.land, thickness, reach, stopped, area)


def _run(
    part: LandPart, node: Node, parts: Sequence[LandPart], needed: float, most: float
) -> tuple[float, str, float]:
    """Return (reach, what stops it, section of the flash) of resin that enters `part` at `node`."""
    whole = area = 0.0
    said = "seal"
    seen = {id(part)}
    todo = [(part, node, 0.0, 0.0, 0.0)]
    while todo:
        each, begin, length, used, drag = todo.pop()
        reach, stopped, more, spent_here, drag = _along(each, begin, needed, most - used, drag)
        area += more
        if length + reach >= whole:
            whole, said = length + reach, stopped
        end = each.other(begin)
        if stopped == "on" and end.terminal:
            said = "out"
            area -= more / 2 if end.kind == "cavity" else 0.0  # half is that cavity's
        elif stopped == "on" and end.kind == "rubber":
            said = "end"
        elif stopped == "on":
            for other in parts:
                if id(other) not in seen and end in (other.start, other.end):
                    seen.add(id(other))
                    todo.append((other, end, length + reach, used + spent_here, drag))
    return whole, "seal" if said == "on" else said, area


def _along(
    part: LandPart, begin: Node, needed: float, left: float, drag: float
) -> tuple[float, str, float, float, float]:
    """Return (reach, what stops it, area, spent, drag) along one part; "on" = to its far end."""
    turned = begin != part.start
    s, gap, p = (v[::-1] if turned else v for v in (part.s_mm, part.gap_mm, part.pressure_kpa))
    s = np.abs(s - s[0])
    s, gap, sealed = _until_sealed(s, gap, p, needed)
    film = np.maximum(gap, HAIRLINE_MM)
    stopped = "seal" if sealed else "on"
    used, drag = spent(s, film, drag) if len(s) > 1 else (np.zeros(len(s)), drag)
    if np.isfinite(left) and used[-1] > left:
        stop = _place_of(s, used, left)
        keep = s < stop
        gap, s = np.append(gap[keep], np.interp(stop, s, gap)), np.append(s[keep], stop)
        stopped = "setting"
    return float(s[-1]), stopped, float(np.trapezoid(gap, s)), float(used[-1]), drag


def _until_sealed(s: Array, gap: Array, p: Array, needed: float) -> tuple[Array, Array, bool]:
    """Cut a path off where its pressure, linear between places, reaches `needed`."""
    over = np.flatnonzero(p >= needed)
    if not len(over):
        return s, gap, False
    k = int(over[0])
    if k == 0:
        return s[:1], gap[:1], True
    stop = s[k - 1] + (s[k] - s[k - 1]) * (needed - p[k - 1]) / (p[k] - p[k - 1])
    end = np.interp(stop, s[k - 1 : k + 1], gap[k - 1 : k + 1])
    return np.append(s[:k], stop), np.append(gap[:k], end), True


def _place_of(s: Array, used: Array, left: float) -> float:
    """Return where `left` is used up: it goes about as the square of the distance."""
    return float(np.interp(np.sqrt(left), np.sqrt(used), s))


def _casting(
    name: str, lines: Sequence[PartingLine], length: float | None, density: float
) -> CastingFlash:
    thickness = max((line.thickness_mm for line in lines), default=0.0)
    area = sum(line.area_mm2 for line in lines)
    return CastingFlash(
        cavity=name,
        grade=flash_grade(thickness),
        thickness_mm=thickness,
        reach_mm=max((line.reach_mm for line in lines), default=0.0),
        mass_g=None if length is None else area * length * density / 1000.0,
        parting_line_mm=None if length is None else length * len(lines),
    )
