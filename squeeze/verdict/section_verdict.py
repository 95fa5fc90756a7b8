"""The verdict on one section: does it seal, where is it worst, in one plain sentence."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from squeeze.mold.tables.loads import RESIN_DENSITY_G_CM3
from squeeze.mold.tables.mold import Mold
from squeeze.solve.closing import Closing, Land
from squeeze.solve.outcome import Outcome
from squeeze.verdict.casting.distortion import CavityVerdict, cavities_of
from squeeze.verdict.casting.flash import Flash, flash_of
from squeeze.verdict.figures import closes
from squeeze.verdict.place import End, ends_of, name_of
from squeeze.verdict.remarks import advice, open_inside
from squeeze.verdict.seal.barrier import MARGIN, Seal, resin_kpa, seal_of
from squeeze.verdict.unheld import say_unheld
from squeeze.verdict.words import length, pressure


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
        The hardest stretch that keeps its ends apart; the weakest one, where it has parts.
    sealed_share : float
        Share of its length that presses as hard as a barrier has to, 0..1.
    fed : bool
        Some way leads to it from a cavity, however tight.
    """

    name: str
    seals: bool
    open_inside: bool
    barrier_kpa: float
    sealed_share: float
    fed: bool = True


@dataclass(frozen=True)
class Worst:
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
        A cut reaches every cavity, nothing leaks, and the answer can be relied on.
    say : str
        One plain sentence.
    lands : tuple of LandVerdict
        In the order of the closing's lands.
    worst : Worst or None
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
    say: str
    lands: tuple[LandVerdict, ...]
    worst: Worst | None
    needed_kpa: float
    yardstick: str
    advice: tuple[str, ...]
    seal: Seal
    flash: Flash
    cavities: tuple[CavityVerdict, ...]

    def __repr__(self) -> str:
        return f"Verdict: {self.say}"


def judge(closing: Closing, inches: bool = False, mold: Mold | None = None) -> Verdict:
    """Return the verdict on a closing.

    Parameters
    ----------
    closing : Closing
    inches : bool
        Lengths in the sentences are told in inches.
    mold : Mold, optional
        For the mass of the flash, and how far the resin runs before it sets.

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
    seal = seal_of(closing)
    lands = tuple(_land(k, closing, seal, converged) for k in range(len(closing.lands)))
    worst = _worst(closing, inches) if converged and closing.lands else None
    return Verdict(
        seals=converged and seal.seals,
        say=_say(closing, lands, worst, seal, inches),
        lands=lands,
        worst=worst,
        needed_kpa=seal.needed_kpa,
        yardstick=_yardstick(closing, inches),
        advice=advice(closing, seal, inches),
        seal=seal,
        flash=flash_of(closing, mold),
        cavities=cavities_of(closing),
    )


def _land(number: int, closing: Closing, seal: Seal, converged: bool) -> LandVerdict:
    land = closing.lands[number]
    return LandVerdict(
        name=name_of(land, closing.section),
        seals=converged and not seal.leaky[number],
        open_inside=converged and open_inside(land),
        barrier_kpa=seal.barrier_kpa[number] if converged else 0.0,
        sealed_share=seal.sealed_share[number] if converged else 0.0,
        fed=seal.fed[number],
    )


def _worst(closing: Closing, inches: bool) -> Worst:
    gaps = [land.largest_gap_mm for land in closing.lands]
    least = [land.least_pressure_kpa for land in closing.lands]
    if max(gaps) > 0:
        land = closing.lands[int(np.argmax(gaps))]
        k = int(np.argmax(land.gap_mm))
    else:
        land = closing.lands[int(np.argmin(least))]
        k = int(np.argmin(land.pressure_kpa))
    return Worst(
        cut=land.cut,
        land=land.land,
        place=k,
        x_mm=float(land.x_mm[k]),
        y_mm=float(land.y_mm[k]),
        gap_mm=float(land.gap_mm[k]),
        pressure_kpa=float(land.pressure_kpa[k]),
        words=_where(land, k, closing, inches),
    )


def _where(land: Land, k: int, closing: Closing, inches: bool) -> str:
    start, end = ends_of(land, closing.section)
    s, whole = float(land.s_mm[k]), land.length_mm
    near, far = (start, end) if s <= whole - s else (end, start)
    words = _along(min(s, whole - s), whole, near, far, inches)
    return f"{words}, cut '{land.cut}'" if len(closing.section.cuts) > 1 else words


def _along(d: float, whole: float, near: End, far: End, inches: bool) -> str:
    if d > 0.4 * whole:
        return f"midway between {near.text} and {far.text}"
    if d < max(0.5, 0.02 * whole):
        return f"at {near.text}" + ("" if near.kind == "outside" else f", towards {far.text}")
    if near.kind == "outside":
        return f"{length(d, inches)} in from {near.text}"
    return f"between {near.text} and {far.text}, {length(d, inches)} from {near.text}"


def _yardstick(closing: Closing, inches: bool) -> str:
    resin = resin_kpa(closing.loads)
    asked = f"A land seals where it presses {pressure(MARGIN * resin)} or more: twice "
    if closing.loads.cavity_mpa > 0:
        return asked + f"the resin's {pressure(resin)}."
    column = f"{length(100.0, inches)} of resin of {RESIN_DENSITY_G_CM3:g} g/cm3"
    return asked + f"the {pressure(resin)} under {column}, since the file gives no resin."


def _say(
    closing: Closing,
    lands: tuple[LandVerdict, ...],
    worst: Worst | None,
    seal: Seal,
    inches: bool,
) -> str:
    if closing.outcome is Outcome.PIECE_NOT_HELD:
        return say_unheld(closing.trust.pieces, inches, closing.section.cradles)
    if not closing.outcome.has_answer:
        return f"{closing.outcome.cause} So there is no answer to rely on. {closing.outcome.remedy}"
    if seal.unreached:
        return say_unreached(seal.unreached)
    if worst is None:
        return "There is no cut with rubber on both sides, so there is nothing to close."
    leaks = sum(not land.seals for land in lands)
    gaping = sum(not closes([land]) for land in closing.lands)
    gap = f"{length(worst.gap_mm, inches)}, {worst.words}"
    least = f"{pressure(worst.pressure_kpa)}, {worst.words}"
    if leaks and gaping:
        return f"{_no_seal(leaks, len(lands))}: the widest gap is {gap}."
    if leaks:
        needed = pressure(seal.needed_kpa)
        return f"{_no_seal(leaks, len(lands))}: {needed} is needed, the least is {least}."
    if gaping:
        return f"{_seal(len(lands))}, but {_stand(gaping, len(lands))} open in part, up to {gap}."
    if worst.gap_mm > 0:
        return f"{_seal(len(lands))} and closes to a hairline: the widest gap is {gap}."
    return f"{_seal(len(lands))} and closes all along: the least pressure is {least}."


def say_unreached(names: tuple[str, ...]) -> str:
    """Return the sentence on cavities that no cut reaches.

    Examples
    --------
    >>> say_unreached(("vent",))
    "No cut reaches 'vent', so what is cast there cannot be taken out. Lead a cut through it."
    """
    quoted = [f"'{name}'" for name in names]
    if len(quoted) == 1:
        said, it = quoted[0], "it"
    else:
        said, it = f"{', '.join(quoted[:-1])} or {quoted[-1]}", "each of them"
    out = "so what is cast there cannot be taken out"
    return f"No cut reaches {said}, {out}. Lead a cut through {it}."


def _no_seal(leaks: int, lands: int) -> str:
    if leaks == lands:
        return "The land does not seal" if lands == 1 else f"None of the {lands} lands seals"
    return f"{leaks} of {lands} lands {'does' if leaks == 1 else 'do'} not seal"


def _seal(lands: int) -> str:
    return "The land seals" if lands == 1 else "Every land seals"


def _stand(gaping: int, lands: int) -> str:
    if lands == 1:
        return "it stands"
    if gaping == lands:
        return "both stand" if lands == 2 else f"all {lands} stand"
    return f"{gaping} of {lands} {'stands' if gaping == 1 else 'stand'}"
