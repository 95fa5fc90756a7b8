"""One piece of advice: a change, what it does and what it costs, before and after."""

from __future__ import annotations

from dataclasses import dataclass, field

from squeeze.mold.tables.mold import Mold
from squeeze.verdict.advice.rubber_cost import Rubber, rubber_of
from squeeze.verdict.advice.trial import Trial
from squeeze.verdict.figures import Figures, reaches
from squeeze.verdict.words import length

EFFORT = ("bands", "fewer bands", "cradle", "cut", "bevel", "outline")
"""Kinds of change, from the least work to the most: bands and cradles go on a block that is there;
another cut needs a block not yet cut; bevels and outlines another pouring box."""


@dataclass(frozen=True)
class Advice:
    """A change that was tried.

    Attributes
    ----------
    kind : str
        One of `EFFORT`.
    say : str
        The change, in a few words.
    mold : Mold
        The mold with the change.
    before, after : Figures
    wall_before_mm, wall_mm : float or None
        Least rubber between a cavity and the outside.
    rubber_before, rubber : Rubber
    force_balance, complementarity : float
        How well the answer after the change keeps equilibrium and contact conditions.
    """

    kind: str
    say: str
    mold: Mold = field(repr=False)
    before: Figures
    after: Figures
    wall_before_mm: float | None
    wall_mm: float | None
    rubber_before: Rubber
    rubber: Rubber
    force_balance: float
    complementarity: float

    @property
    def better(self) -> bool:
        """Whether it does what advice is for: seal, or at least leak less, or squash less."""
        if self.kind == "fewer bands":
            return self.after.seals and self.after.shift_mm < self.before.shift_mm
        if self.after.seals != self.before.seals:
            return self.after.seals
        if self.after.seals:
            return self.after.flash_mm < 0.5 * self.before.flash_mm
        less = 0.8 * self.before.largest_gap_mm
        return self.after.leaks < self.before.leaks or self.after.largest_gap_mm < less


def advice_of(kind: str, say: str, now: Trial, then: Trial) -> Advice:
    """Return the advice that a trial amounts to."""
    return Advice(
        kind=kind,
        say=say,
        mold=then.mold,
        before=now.figures,
        after=then.figures,
        wall_before_mm=now.wall_mm,
        wall_mm=then.wall_mm,
        rubber_before=rubber_of(now.mold),
        rubber=rubber_of(then.mold),
        force_balance=then.trust.force_balance,
        complementarity=then.trust.complementarity,
    )


def ranked(found: list[Advice]) -> list[Advice]:
    """Return what is better, best first.

    First what gets what is wanted, of that first what leaves no flash, then what leaks less; among
    these the least work; then the larger margin. What only betters things is told when nothing gets
    what is wanted.
    """

    def order(advice: Advice) -> tuple[bool, bool, int, int, float]:
        after = advice.after
        return (
            not reaches(advice.before, after),
            not after.good,
            after.leaks,
            EFFORT.index(advice.kind),
            -after.margin,
        )

    good = sorted((a for a in found if a.after.solved and a.better), key=order)
    reach = [advice for advice in good if reaches(advice.before, advice.after)]
    return reach or good


def say_figures(advice: Advice, inches: bool = False) -> str:
    """Return the figures before and after, in one line."""
    a, b = advice.before, advice.after

    def change(name: str) -> str:
        before, after = (length(getattr(each, name), inches) for each in (a, b))
        return f"{before} -> {after}" if a.solved else after

    parts = [
        f"{_seals(a)} -> {_seals(b)}",
        f"weakest barrier {_margin(a)} -> {_margin(b)} times the resin",
        f"widest gap {change('largest_gap_mm')}",
        f"flash {change('flash_mm')}",
        f"castings off by {change('shift_mm')}",
    ]
    if advice.wall_mm is not None and advice.wall_before_mm is not None:
        walls = [length(wall, inches) for wall in (advice.wall_before_mm, advice.wall_mm)]
        parts += [f"least wall {walls[0]} -> {walls[1]}"] if walls[0] != walls[1] else []
    if advice.rubber.mass_g != advice.rubber_before.mass_g:
        parts.append(f"rubber {advice.rubber_before.mass_g:.0f} -> {advice.rubber.mass_g:.0f} g")
    return "; ".join(parts)


def _seals(figures: Figures) -> str:
    if not figures.solved:
        return "no answer"
    if figures.seals:
        return "seals"
    return "1 leak" if figures.leaks == 1 else f"{figures.leaks} leaks"


def _margin(figures: Figures) -> str:
    if not figures.solved:
        return "none"
    return f"{figures.margin:.1f}" if figures.margin < 10 else f"{figures.margin:.0f}"
