"""How far each figure of an answer is off, from the same question on a coarser mesh.

Figures go to their limit as a power of the edge length, so the difference of two meshes says how
far the finer one is off (L. F. Richardson, Phil. Trans. R. Soc. A 210 (1911) 307; P. J. Roache,
J. Fluids Eng. 116 (1994) 405). Pressures, linear along the faces, go as the second power. What
hangs on displacements goes as the third in smooth rubber and as the second where contact ends; the
power between the two is taken. Pressures and gaps are compared place by place, so that two maxima
that happen to agree do not hide what lies between. Where resin stands between the faces, its
pressure is compared with theirs: their own alone jumps by the resin's where the resin ends, and no
mesh gets the place of a jump right.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from squeeze.solve.closing import Closing
    from squeeze.solve.field import CavityChange
    from squeeze.solve.land import Land

Array = NDArray[np.float64]

OF_PRESSURE = 2.0
OF_DISPLACEMENT = 2.5
OF_STRAIN = 1.0
LEAST_COARSER_BY = 1.2  # two meshes that are nearly alike say little of what both leave out
LIP_EDGES = 2  # of the coarser mesh, in which a lip's pressure is felt at large deformation
LIP_SHARE = 0.1
"""Share of the coarser mesh's last edge within which a place belongs to the lip. An ordinary fine
mesh has none there: its last edge is a half, or at a fine outlet a quarter, of the coarser one's. A
last edge that is a hundredth of it, as at a cut that leaves aslant, has places where the coarser
mesh knows nothing but a straight line."""
SETTLED = 0.1  # share by which the largest strain may change from mesh to mesh


@dataclass(frozen=True, eq=False)
class LandError:
    """How far the figures of a land are off, about.

    Attributes
    ----------
    cut : str
    land : int
    pressure_kpa : float
        At the inner place where it is most [kPa].
    lip_kpa : float
        At the lips, where it is most [kPa]: the ends of the land and a tenth of the coarser mesh's
        last edge there; at large deformation two of its edges, for lips that slide and turn press
        without limit at their edge.
    mean_pressure_kpa : float
    gap_mm : float
        At the place where it is most [mm].
    closed_share : float
    at_mm : (x, y)
        Where the pressure is off most.
    pressures_kpa, gaps_mm : (n,) array
        At each place of the land: the largest of it and its neighbours, for two curves that cross
        agree where they do.
    inner : (n,) array of bool
        Which places are not at its lips.
    """

    cut: str
    land: int
    pressure_kpa: float
    lip_kpa: float
    mean_pressure_kpa: float
    gap_mm: float
    closed_share: float
    at_mm: tuple[float, float]
    pressures_kpa: Array = field(repr=False)
    gaps_mm: Array = field(repr=False)
    inner: NDArray[np.bool_] = field(repr=False)

    def __post_init__(self) -> None:
        for array in (self.pressures_kpa, self.gaps_mm, self.inner):
            array.flags.writeable = False


@dataclass(frozen=True)
class CavityError:
    """How far the figures of a casting are off, about.

    Attributes
    ----------
    name : str
    area_change_pct, largest_shift_mm, step_mm : float
    """

    name: str
    area_change_pct: float
    largest_shift_mm: float
    step_mm: float


@dataclass(frozen=True, eq=False)
class Errors:
    """How far an answer is off because its mesh is not infinitely fine.

    Attributes
    ----------
    lands, seats : tuple of LandError
        In the order of the closing's.
    cavities : tuple of CavityError
    pressure_pct : float
        Largest error of a pressure at any inner place, over the largest pressure of all [%].
    gap_mm : float
        Largest error of a gap at any place of a land [mm].
    worst_at_mm : (x, y) or None
        Where the pressure is off most; None without lands.
    strain_pct : float
        Of the largest strain, in percent of length as the strain itself.
    strain_is_settled : bool
        The largest strain changes by less than a tenth from mesh to mesh. In a sharp corner and
        under a band's turn it never settles.
    fineness, coarser_fineness : float
        Of the two meshes.
    coarser_by : float
        How many times longer the edges of the coarser mesh are, on the average.
    is_enough : bool
        Both errors lie within what was asked for; True where nothing was.
    coarser : Closing
        The answer on the coarser mesh.
    """

    lands: tuple[LandError, ...]
    seats: tuple[LandError, ...]
    cavities: tuple[CavityError, ...]
    pressure_pct: float
    gap_mm: float
    worst_at_mm: tuple[float, float] | None
    strain_pct: float
    strain_is_settled: bool
    fineness: float
    coarser_fineness: float
    coarser_by: float
    is_enough: bool
    coarser: Closing = field(repr=False)

    def of(self, fine: float, coarse: float, power: float) -> float:
        """Return how far a figure is off, in its own unit.

        Parameters
        ----------
        fine, coarse : float
            What it is on the fine mesh and on the coarse one [its unit].
        power : float
            The power of the edge length as which its error falls.
        """
        return abs(fine - coarse) * _share(self.coarser_by, power)


def errors_of(
    closing: Closing, coarser: Closing, fineness: float, coarser_fineness: float
) -> Errors | None:
    """Return the errors of an answer.

    Parameters
    ----------
    closing, coarser : Closing
        The same question on two meshes.
    fineness, coarser_fineness : float
        Of the two meshes.

    Returns
    -------
    Errors or None
        None where one of them has no answer, the answers are not by the same theory, or one mesh
        is as coarse as the other.
    """
    both = closing, coarser
    if not all(each.outcome.has_answer for each in both):
        return None
    if closing.deformation.is_large != coarser.deformation.is_large:
        return None
    if fineness <= coarser_fineness:
        return None
    ratio = _coarser_by(closing, coarser, fineness / coarser_fineness)
    by_land = partial(
        _lands,
        ratio=ratio,
        is_large=closing.deformation.is_large,
        resin_kpa=1000.0 * closing.loads.cavity_mpa,
    )
    lands = by_land(closing.lands, coarser.lands)
    worst = max(lands, key=lambda land: land.pressure_kpa, default=None)
    peak = max((float(land.pressure_kpa.max()) for land in closing.lands), default=0.0)
    strains = [each.trust.largest_strain_pct for each in both]
    change = abs(strains[0] - strains[1])
    return Errors(
        lands=lands,
        seats=by_land(closing.seats, coarser.seats),
        cavities=tuple(
            _cavity(*pair, ratio) for pair in zip(closing.cavities, coarser.cavities, strict=True)
        ),
        pressure_pct=100.0 * worst.pressure_kpa / peak if worst and peak > 0 else 0.0,
        gap_mm=max((land.gap_mm for land in lands), default=0.0),
        worst_at_mm=worst.at_mm if worst else None,
        strain_pct=change * _share(ratio, OF_STRAIN),
        strain_is_settled=change <= SETTLED * max(strains),
        fineness=fineness,
        coarser_fineness=coarser_fineness,
        coarser_by=ratio,
        is_enough=True,
        coarser=coarser,
    )


def _coarser_by(closing: Closing, coarser: Closing, asked: float) -> float:
    """Return how many times longer the edges of the coarser mesh are, at the most as `asked` for.

    Unknowns go with the square of it. Corners, narrow webs and ends of contact set edges on both
    meshes alike; taken as `asked`, the two would differ less than the formula expects, and the
    errors told be too small.
    """
    by_number = math.sqrt(closing.trust.unknowns / coarser.trust.unknowns)
    return max(min(by_number, asked), LEAST_COARSER_BY)


def _share(ratio: float, power: float) -> float:
    """Return the share of the difference of two meshes by which the finer one is off."""
    return 1.0 / (ratio**power - 1.0)


def _lands(
    fine: tuple[Land, ...],
    coarse: tuple[Land, ...],
    ratio: float,
    is_large: bool,
    resin_kpa: float,
) -> tuple[LandError, ...]:
    return tuple(
        _land(*pair, ratio, is_large, resin_kpa) for pair in zip(fine, coarse, strict=True)
    )


def _land(fine: Land, coarse: Land, ratio: float, is_large: bool, resin_kpa: float) -> LandError:
    pressures, displacements = (_share(ratio, power) for power in (OF_PRESSURE, OF_DISPLACEMENT))
    between = [_between_faces(land, resin_kpa) for land in (fine, coarse)]
    off = np.abs(between[0] - _at_places(fine, coarse, between[1]))
    gap = np.abs(fine.gap_mm - _at_places(fine, coarse, coarse.gap_mm))
    inner = _inner(fine, coarse, is_large)
    k = int(np.argmax(np.where(inner, off, -1.0)))
    return LandError(
        fine.cut,
        fine.land,
        pressures * float(off[k]),
        pressures * float(off[~inner].max(initial=0.0)),
        pressures * abs(fine.mean_pressure_kpa - coarse.mean_pressure_kpa),
        displacements * float(gap.max()),
        pressures * abs(fine.closed_share - coarse.closed_share),
        (float(fine.x_mm[k]), float(fine.y_mm[k])),
        pressures * _with_neighbours(off),
        displacements * _with_neighbours(gap),
        inner,
    )


def _between_faces(land: Land, resin_kpa: float) -> Array:
    """Return the pressure between the faces, the resin's included.

    Next to the resin it is the resin's at least: what is below falls there by chance, as the place
    stands within an edge that ends in the resin.
    """
    beside = _with_neighbours(land.wet.astype(float)) > 0
    total = land.pressure_kpa + resin_kpa * land.wet
    return np.where(beside, np.maximum(total, resin_kpa), total)


def _with_neighbours(off: Array) -> Array:
    """Return the largest of each value and its neighbours."""
    ends = np.concatenate([off[:1], off, off[-1:]])
    return np.maximum(off, np.maximum(ends[:-2], ends[2:]))


def _inner(fine: Land, coarse: Land, is_large: bool) -> NDArray[np.bool_]:
    """Return which places of a land are not at its lips; all of them where nothing would be left.

    At least its middle is: a land has three places or more.
    """
    s = coarse.s_mm * (fine.length_mm / coarse.length_mm)
    lips = LIP_SHARE * float(s[1]), LIP_SHARE * float(s[-1] - s[-2])
    if is_large:
        lips = (
            float(s[min(LIP_EDGES, len(s) - 1)]),
            float(s[-1] - s[max(-1 - LIP_EDGES, -len(s))]),
        )
    inner = (fine.s_mm > lips[0]) & (fine.s_mm < fine.length_mm - lips[1])
    return inner if inner.any() else np.ones(len(inner), bool)


def _at_places(fine: Land, coarse: Land, values: Array) -> Array:
    """Return values of the coarser land at the places of the finer one."""
    along = fine.s_mm * (coarse.length_mm / fine.length_mm)
    return np.interp(along, coarse.s_mm, values)


def _cavity(fine: CavityChange, coarse: CavityChange, ratio: float) -> CavityError:
    share = _share(ratio, OF_DISPLACEMENT)
    area, shift, step = (
        share * abs(getattr(fine, name) - getattr(coarse, name))
        for name in ("area_change_pct", "largest_shift_mm", "step_mm")
    )
    return CavityError(fine.name, area, shift, step)
