"""Air pockets of a mold: where, how large, what the pot leaves of them, and what mends them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import shapely
from shapely.geometry import LineString

from squeeze.mold import Mold, section_of, stations_of
from squeeze.mold.model.on_disk import models_on_disk
from squeeze.mold.section.records import Section
from squeeze.verdict.air.flood import behind_necks, caught, open_parts
from squeeze.verdict.air.remedy import WORTH_TELLING, OtherSprue, Tilt, best_sprue, best_tilt
from squeeze.verdict.air.void import (
    MOST_PLACES,
    XYZ,
    Flags,
    MakeVoid,
    Outlets,
    Void,
    outlets_of,
    top_of,
    up_of,
    void_of,
    void_of_models,
)

ATMOSPHERE_KPA = 101.325
NECK_MM = 3.0
"""Resin that fills a neck narrower than this leaves no room for air to come back; a judgement."""

LEAST_MM3 = 1.0


@dataclass(frozen=True)
class Pocket:
    """Air that is caught at one place.

    Attributes
    ----------
    cavity : str
    at_mm : (x, y, along)
        Its highest place: x and y in the section, and along the block.
    volume_mm3 : float
        When it is cut off, at the pressure of the air.
    in_pot_mm3 : float or None
        What the pot's pressure leaves of it; None when the mold gives no pressure.
    kind : str
        "high point" or "neck".
    crosses : tuple of str
        Cuts that a vent straight up from it would cross.
    through : tuple of str
        Other cavities that such a vent would run into.
    """

    cavity: str
    at_mm: XYZ
    volume_mm3: float
    in_pot_mm3: float | None
    kind: str
    crosses: tuple[str, ...]
    through: tuple[str, ...] = ()


@dataclass(frozen=True)
class Air:
    """All air that a filling catches.

    Attributes
    ----------
    pockets : tuple of Pocket
        The largest first.
    sprues_mm : tuple of (x, y, along)
        Where resin comes in and air goes out, as by the vents of the mold.
    tilt : Tilt or None
        The tilt that leaves the least air, when it lets out a tenth or more.
    other_sprue : OtherSprue or None
        The place for the sprue that leaves the least air, when it lets out a tenth or more.
    grid_mm : float
        Size of the places that were looked at.
    source : str
        What it was looked for in: "models", "stations" or "section".
    note : str
        Why it was not looked for in the models that the mold names; else empty.
    """

    pockets: tuple[Pocket, ...]
    sprues_mm: tuple[XYZ, ...]
    tilt: Tilt | None
    other_sprue: OtherSprue | None
    grid_mm: float
    source: str = "section"
    note: str = ""

    @property
    def volume_mm3(self) -> float:
        """All of it, at the pressure of the air."""
        return sum(pocket.volume_mm3 for pocket in self.pockets)


@dataclass(frozen=True, eq=False)
class Filling:
    """What fills, and where that was taken from.

    Attributes
    ----------
    make_void : callable
        Returns it on a grid of at most so many places, or a few more.
    source, note : str
        As in `Air`.
    """

    make_void: MakeVoid
    source: str
    note: str


def filling_of(mold: Mold, folder: Path | None = None, inside: bool = False) -> Filling:
    """Return what of a mold fills: its models where their files are there, else its stations.

    Parameters
    ----------
    mold : Mold
    folder : Path or None
        The folder of its file; None = no model is read.
    inside : bool
        Whether models outside of the folder are left alone.
    """
    found = models_on_disk(mold, folder, inside)
    if found.placed:
        return Filling(partial(void_of_models, found.placed), "models", "")
    n = len(mold.station)
    note = found.missing and (
        f"{found.missing}: air is looked for in {n} stations, each for its part of the length"
        if n
        else f"{found.missing}: air is looked for in the section alone"
    )
    return Filling(partial(void_of, mold), "stations" if n else "section", note)


def air_of(mold: Mold, folder: Path | None = None) -> Air:
    """Return where air is caught when a mold is filled.

    The block lies with y up, or stands on its start where the resin says so. Resin comes in where
    the sprue's place says; each cavity that it does not lead to has a sprue at its highest place.

    Parameters
    ----------
    mold : Mold
    folder : Path, optional
        The folder of its file, where the models are that it names; without it they are not read.

    Raises
    ------
    BadInput
        When the mold's geometry cannot be built, or a vent begins at no cavity.
    """
    return air_in(mold, filling_of(mold, folder))


def air_in(mold: Mold, filling: Filling) -> Air:
    """Return where air is caught when that of a mold which fills is filled.

    Parameters
    ----------
    mold : Mold
        For its sprue, its vents and its cuts.
    filling : Filling

    Raises
    ------
    BadInput
        When the mold's geometry cannot be built, or a vent begins at no cavity.
    """
    void = filling.make_void(MOST_PLACES)
    if not void.filled.any():
        return Air((), (), None, None, void.grid_mm, filling.source, filling.note)
    standing = mold.resin is not None and mold.resin.standing
    up = up_of(0.0, 0.0, standing)
    outlets = outlets_of(mold, void, up)
    held = caught(void.filled, void.height(up), outlets.flags, void.grid_mm)
    thin = behind_necks(void.filled, outlets.flags, round(NECK_MM / 2 / void.grid_mm)) & ~held
    pockets = [
        *_pockets(mold, void, held, up, "high point"),
        *_pockets(mold, void, thin, up, "neck"),
    ]
    pockets.sort(key=lambda pocket: -pocket.volume_mm3)
    high = [pocket.at_mm for pocket in pockets if pocket.kind == "high point"]
    tilt = best_tilt(mold, filling.make_void, standing) if high else None
    tilt = None if tilt is None else _told_on(void, tilt, mold, outlets)
    other = best_sprue(void, up, outlets, high) if high else None
    return Air(
        tuple(pockets), outlets.sprues_mm, tilt, other, void.grid_mm, filling.source, filling.note
    )


def _told_on(void: Void, tilt: Tilt, mold: Mold, outlets: Outlets) -> Tilt | None:
    """Return a tilt with the air that it leaves on this grid; None when that is no gain.

    It was found on a coarser grid, where a third less air may stay.
    """

    def left(about_deg: float, end_deg: float) -> float:
        up = up_of(about_deg, end_deg, tilt.standing)
        held = caught(void.filled, void.height(up), outlets.flags, void.grid_mm)
        return sum(each.volume_mm3 for each in _pockets(mold, void, held, up, "high point"))

    volume = left(tilt.about_length_deg, tilt.end_up_deg)
    return replace(tilt, volume_mm3=volume) if volume < WORTH_TELLING * left(0.0, 0.0) else None


def pockets_at(
    mold: Mold, filling: Filling, about_length_deg: float = 0.0, end_up_deg: float = 0.0
) -> tuple[tuple[Pocket, ...], tuple[XYZ, ...]]:
    """Return the air that is caught while the block is held tilted, and where the sprues are.

    The sprues are where they are in the block that is not tilted: they are cut before it is poured.

    Parameters
    ----------
    mold : Mold
    filling : Filling
    about_length_deg, end_up_deg : float
        The tilt, as in `Tilt` [degrees].

    Returns
    -------
    pockets : tuple of Pocket
        The largest first.
    sprues_mm : tuple of (x, y, along)

    Raises
    ------
    BadInput
        When the mold's geometry cannot be built, or a vent begins at no cavity.
    """
    void = filling.make_void(MOST_PLACES)
    if not void.filled.any():
        return (), ()
    standing = mold.resin is not None and mold.resin.standing
    outlets = outlets_of(mold, void, up_of(0.0, 0.0, standing))
    up = up_of(about_length_deg, end_up_deg, standing)
    held = caught(void.filled, void.height(up), outlets.flags, void.grid_mm)
    found = _pockets(mold, void, held, up, "high point")
    return tuple(sorted(found, key=lambda pocket: -pocket.volume_mm3)), outlets.sprues_mm


def _pockets(mold: Mold, void: Void, held: Flags, up: XYZ, kind: str) -> list[Pocket]:
    labels, count = open_parts(held)
    height, found = void.height(up), []
    cell = void.cell_mm3
    pressure = mold.pot.pressure_kpa if mold.pot else None
    stations = [(at, section_of(each)) for at, each in stations_of(mold)]
    for number in range(1, count + 1):
        own = labels == number
        volume = float(own.sum()) * cell
        if volume < LEAST_MM3:
            continue
        top = top_of(void, own, height)
        x, y, z = (float(v) for v in void.places[top])
        left = None if pressure is None else boyle(volume, pressure)
        section = min(stations, key=lambda station: abs(station[0] - z))[1]
        cavity = _cavity_at((x, y), section)
        crosses, through = met_straight_up((x, y), up, section, cavity)
        found.append(Pocket(cavity, (x, y, z), volume, left, kind, crosses, through))
    return found


def boyle(volume: float, pressure_kpa: float) -> float:
    """Return what a pressure over that of the air leaves of a volume of air: p1 V1 = p2 V2.

    `pressure_kpa` is that over the air's [kPa]; the result has the unit of `volume`.

    Examples
    --------
    >>> boyle(100.0, 3 * ATMOSPHERE_KPA)
    25.0
    """
    return volume * ATMOSPHERE_KPA / (ATMOSPHERE_KPA + pressure_kpa)


def _cavity_at(at: tuple[float, float], section: Section) -> str:
    away = [(float(c.loop.polygon.distance(shapely.Point(at))), c.name) for c in section.cavities]
    return min(away)[1] if away else ""


def met_straight_up(
    at: tuple[float, float], up: XYZ, section: Section, own: str
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the cuts and the other cavities that a vent straight up meets in its section.

    One along the block meets none.

    Parameters
    ----------
    at : (x, y)
        Where it leaves its own cavity [mm].
    up : (x, y, along)
        The direction that points up.
    section : Section
    own : str
        Name of its cavity.
    """
    if up[0] == up[1] == 0:
        return (), ()
    far = (at[0] + 4000 * up[0], at[1] + 4000 * up[1])
    vent = LineString([at, far])
    cuts = tuple(
        cut.name
        for cut in section.cuts
        if any(vent.intersects(LineString(s.points)) for s in cut.stretches)
    )
    others = (c for c in section.cavities if c.name != own)
    return cuts, tuple(c.name for c in others if vent.intersects(c.loop.polygon))
