"""The verdict on one section: does it seal, where is it worst, in one plain sentence."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from squeeze.mold.tables.loads import RESIN_DENSITY_G_CM3
from squeeze.mold.tables.mold import Mold
from squeeze.solve.closing import Closing
from squeeze.verdict.casting.distortion import CavityVerdict, cavities_of
from squeeze.verdict.casting.flash import Flash, flash_of
from squeeze.verdict.head import Head, head_of, said_in_inches
from squeeze.verdict.place import land_name, where_on, widest_place
from squeeze.verdict.remarks import closing_remarks, open_inside
from squeeze.verdict.seal.barrier import MARGIN, Seal, resin_kpa, seal_of
from squeeze.verdict.seal.land_graph import parts_of
from squeeze.verdict.uncertainty import Uncertainty
from squeeze.verdict.words import in_inches, length, pressure


@dataclass(frozen=True)
class LandVerdict:
    """What one land does.

    Attributes
    ----------
    name : str
        Where it lies, e.g. ``left outside to 'barrel 1'``.
    seals : bool
        No leak runs along it.
    open_inside : bool
        It stands open somewhere away from its ends.
    barrier_kpa : float
        The hardest stretch that keeps its ends apart; the weakest one, where it has parts [kPa].
        NaN without an answer.
    sealed_share : float
        Share of its length that presses as hard as a barrier has to, 0..1; NaN without an answer.
    fed : bool
        Some path leads to it from a cavity, however tight.
    """

    name: str
    seals: bool
    open_inside: bool
    barrier_kpa: float
    sealed_share: float
    fed: bool = True


@dataclass(frozen=True)
class WorstPlace:
    """The worst place: the widest gap, or where nothing is open, the least pressure.

    Attributes
    ----------
    cut : str
        Name of the cut.
    land : int
        Number of the land along the cut, from 0.
    place : int
        Number of the place along the land, from 0.
    x_mm, y_mm, gap_mm, pressure_kpa : float
    words : str
        Where it is, e.g. ``12 mm in from the left outside``.
    """

    cut: str
    land: int
    place: int
    x_mm: float
    y_mm: float
    gap_mm: float
    pressure_kpa: float
    words: str


@dataclass(frozen=True)
class Verdict:
    """What a closing means.

    Attributes
    ----------
    seals : bool
        A cut opens every cavity, nothing leaks, and the answer can be relied on.
    head : Head
        Grade and reason, what to do first, how sure that is.
    lands : tuple of LandVerdict
        In the order of the closing's lands.
    worst : WorstPlace or None
        None when there is no land or no answer to rely on.
    needed_kpa : float
        Pressure that a barrier has to reach [kPa].
    yardstick : str
        Where that number comes from, in words.
    advice : tuple of str
        What to do about it; may be empty.
    seal : Seal
        Barriers and leaks.
    flash : Flash
    cavities : tuple of CavityVerdict
        What the castings will be off by.
    """

    seals: bool
    head: Head
    lands: tuple[LandVerdict, ...]
    worst: WorstPlace | None
    needed_kpa: float
    yardstick: str
    advice: tuple[str, ...]
    seal: Seal
    flash: Flash
    cavities: tuple[CavityVerdict, ...]

    def __repr__(self) -> str:
        return f"Verdict: {self.say}"

    @property
    def grade(self) -> str:
        """The grade in a word or two, such as ``Leaks``."""
        return self.head.grade

    @property
    def say(self) -> str:
        """The grade with its reason."""
        return self.head.say

    @property
    def do(self) -> str:
        """What to do first."""
        return self.head.do


def judge(
    closing: Closing,
    inches: bool = False,
    mold: Mold | None = None,
    varied: Uncertainty | None = None,
) -> Verdict:
    """Return the verdict on a closing.

    Parameters
    ----------
    closing : Closing
    inches : bool
        Give lengths in inches.
    mold : Mold, optional
        For the mass of the flash, how far the resin runs before it sets, and what to do first.
    varied : Uncertainty, optional
        How the figures vary, for the line on how sure the grade is.

    Returns
    -------
    Verdict

    Notes
    -----
    A land keeps its ends apart where its pressure is at least twice the resin's on an unbroken
    stretch of 1 mm. Resin leaks along lands that do not, from a cavity to the outside or to another
    cavity; a land along which it does does not seal. Where no resin is given the yardstick is
    100 mm of liquid of 1.05 g/cm3, 1.03 kPa.
    """
    converged = closing.outcome.has_answer
    parts = parts_of(closing.lands, closing.section)
    seal = seal_of(closing, parts)
    lands = tuple(_land(k, closing, seal, converged) for k in range(len(closing.lands)))
    worst = _worst(closing, inches) if converged and closing.lands else None
    flash = flash_of(closing, mold, parts)
    head = head_of(closing, seal, flash, mold, varied, inches)
    say = in_inches if inches else str
    return Verdict(
        seals=converged and seal.seals,
        head=said_in_inches(head) if inches else head,
        lands=lands,
        worst=worst,
        needed_kpa=seal.needed_kpa,
        yardstick=say(_yardstick(closing, inches, mold)),
        advice=tuple(map(say, closing_remarks(closing, seal, inches))),
        seal=seal,
        flash=flash,
        cavities=cavities_of(closing, parts),
    )


def _land(number: int, closing: Closing, seal: Seal, converged: bool) -> LandVerdict:
    land = closing.lands[number]
    return LandVerdict(
        name=land_name(land, closing.section),
        seals=converged and not seal.leaky[number],
        open_inside=converged and open_inside(land),
        barrier_kpa=seal.barrier_kpa[number],
        sealed_share=seal.sealed_share[number],
        fed=seal.fed[number],
    )


def _worst(closing: Closing, inches: bool) -> WorstPlace:
    least = [land.least_pressure_kpa for land in closing.lands]
    if max(land.largest_gap_mm for land in closing.lands) > 0:
        land, k = widest_place(closing.lands)
    else:
        land = closing.lands[int(np.argmin(least))]
        k = int(np.argmin(land.pressure_kpa))
    return WorstPlace(
        cut=land.cut,
        land=land.land,
        place=k,
        x_mm=float(land.x_mm[k]),
        y_mm=float(land.y_mm[k]),
        gap_mm=float(land.gap_mm[k]),
        pressure_kpa=float(land.pressure_kpa[k]),
        words=where_on(land, k, closing, inches),
    )


def _yardstick(closing: Closing, inches: bool, mold: Mold | None) -> str:
    resin = resin_kpa(closing.loads)
    asked = f"A land seals where it presses {pressure(MARGIN * resin)} or more: twice "
    if closing.loads.cavity_mpa > 0:
        at_foot = " at the foot of the block" if mold and mold.resin and mold.resin.standing else ""
        return asked + f"the resin's {pressure(resin)}{at_foot}."
    column = f"{length(100.0, inches)} of resin of {RESIN_DENSITY_G_CM3:g} g/cm3"
    return asked + f"the {pressure(resin)} under {column}, since the file gives no resin."


def say_unreached(names: tuple[str, ...]) -> str:
    """Return the sentence on the cavities `names` that no cut opens.

    Examples
    --------
    >>> say_unreached(("vent",))
    "Cannot be opened: no cut leads from 'vent' to the outside. Lead one there."
    """
    quoted = [f"'{name}'" for name in names]
    said = quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} or {quoted[-1]}"
    return f"Cannot be opened: no cut leads from {said} to the outside. Lead one there."
