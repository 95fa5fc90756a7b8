"""One piece of advice: a change, what it does and what it costs, before and after."""

from __future__ import annotations

from dataclasses import dataclass, field

from squeeze.mold.tables.mold import Mold
from squeeze.verdict.advice.rubber_cost import RubberCost, rubber_of
from squeeze.verdict.advice.trial import Trial
from squeeze.verdict.figures import Figures, reaches
from squeeze.verdict.words import length

EFFORT = ("bands", "fewer bands", "cradle", "cut", "bevel", "outline")
"""Kinds of change, from the least work to the most: bands and cradles go on a block that is there;
another cut needs a block not yet cut; bevels and outlines another pouring box."""


@dataclass(frozen=True)
class Change:
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
    rubber_before, rubber : RubberCost
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
    rubber_before: RubberCost
    rubber: RubberCost
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


def change_of(kind: str, say: str, now: Trial, then: Trial) -> Change:
    """Return the advice that a trial amounts to."""
    return Change(
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


def ranked(found: list[Change]) -> list[Change]:
    """Return what is better, best first.

    First what gets what is wanted, of that first what leaves no flash, then what leaks less; among
    these the least work; then the larger margin. What only betters things is told when nothing gets
    what is wanted.
    """

    def order(change: Change) -> tuple[bool, bool, int, int, float]:
        after = change.after
        return (
            not reaches(change.before, after),
            not after.good,
            after.leaks,
            EFFORT.index(change.kind),
            -after.margin,
        )

    good = sorted((a for a in found if a.after.solved and a.better), key=order)
    reach = [change for change in good if reaches(change.before, change.after)]
    return reach or good


def say_figures(change: Change, inches: bool = False) -> str:
    """Return the figures before and after, in one line."""
    a, b = change.before, change.after

    def moved(name: str) -> str:
        before, after = (length(getattr(each, name), inches) for each in (a, b))
        return f"{before} -> {after}" if a.solved else after

    parts = [
        f"{_seals(a)} -> {_seals(b)}",
        f"weakest barrier {_margin(a)} -> {_margin(b)} times the resin",
        f"widest gap {moved('largest_gap_mm')}",
        f"flash {moved('flash_mm')}",
        f"castings off by {moved('shift_mm')}",
    ]
    if change.wall_mm is not None and change.wall_before_mm is not None:
        walls = [length(wall, inches) for wall in (change.wall_before_mm, change.wall_mm)]
        parts += [f"least wall {walls[0]} -> {walls[1]}"] if walls[0] != walls[1] else []
    if change.rubber.mass_g != change.rubber_before.mass_g:
        parts.append(f"rubber {change.rubber_before.mass_g:.0f} -> {change.rubber.mass_g:.0f} g")
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
