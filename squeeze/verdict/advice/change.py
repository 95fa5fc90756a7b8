"""One piece of advice: a change, what it does and what it costs, before and after."""

from __future__ import annotations

from dataclasses import dataclass, field

from squeeze.mold.tables.mold import Mold
from squeeze.verdict.advice.harm import Harm, harms_of
from squeeze.verdict.advice.rubber_cost import RubberCost, rubber_of
from squeeze.verdict.advice.trial import Trial
from squeeze.verdict.casting.flash import HAIRLINE_MM
from squeeze.verdict.figures import BY_NAME, Figures, in_words, reaches
from squeeze.verdict.grade import GRADES
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
    harms : tuple of Harm
        What it makes worse.
    clean_in, varied : int
        Of so many variations of rubber, friction and bands, in how many it has nothing to mend;
        0 of 0 where nobody varied it.
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
    harms: tuple[Harm, ...] = ()
    clean_in: int = 0
    varied: int = 0

    @property
    def better(self) -> bool:
        """Whether the mold seals, or at least leaks less or squashes its castings less.

        A change that makes the grade worse is never better; fewer bands must open no land.
        """
        if GRADES.index(self.after.grade) > GRADES.index(self.before.grade):
            return False
        if self.kind == "fewer bands":
            opens = self.after.largest_gap_mm > max(self.before.largest_gap_mm, HAIRLINE_MM)
            less = self.after.largest_shift_mm < self.before.largest_shift_mm
            return self.after.seals and less and not opens
        if self.after.seals != self.before.seals:
            return self.after.seals
        if self.after.seals:
            return self.after.flash_thickness_mm < 0.5 * self.before.flash_thickness_mm
        less = 0.8 * self.before.largest_gap_mm
        return self.after.leaks < self.before.leaks or self.after.largest_gap_mm < less


def change_of(kind: str, say: str, now: Trial, then: Trial) -> Change:
    """Return the advice that a trial amounts to.

    `kind` is the kind of change, `say` what to do.
    """
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
        harms=harms_of(now, then),
        clean_in=then.clean_in,
        varied=then.varied,
    )


def ranked(found: list[Change]) -> list[Change]:
    """Return what is better, best first.

    First the changes that make nothing else worse; among them those that leave no flash, then those
    that leak less, then the least work, then the larger margin. Changes that reach the aim leave no
    room for others; where none does, the changes that at least improve the mold.
    """

    def order(change: Change) -> tuple[bool, bool, int, int, float]:
        after = change.after
        return (
            bool(change.harms),
            not after.good,
            after.leaks,
            EFFORT.index(change.kind),
            -after.margin,
        )

    good = sorted((a for a in found if a.after.solved and a.better), key=order)
    reach = [change for change in good if reaches(change.before, change.after)]
    return reach or good


SHOWN = ("margin", "largest_gap_mm", "flash_thickness_mm", "largest_shift_mm")
"""The figures that the advice gives for a change; its harms say what else gets worse."""


def say_figures(change: Change, inches: bool = False) -> str:
    """Return what a change does, in one line; figures that look the same after it are left out."""
    a, b = change.before, change.after
    parts = [_sealing(a, b)]
    for name in SHOWN:
        before, after = (in_words(name, each.values[name], inches) for each in (a, b))
        if not a.solved:
            parts.append(f"{BY_NAME[name].words} {after}")
        elif after != before:
            parts.append(f"{BY_NAME[name].words} {instead(after, before)}")
    if change.wall_mm is not None and change.wall_before_mm is not None:
        before, after = (length(w, inches) for w in (change.wall_before_mm, change.wall_mm))
        parts += [f"least wall {instead(after, before)}"] if after != before else []
    before, after = (f"{each.mass_g:.0f} g" for each in (change.rubber_before, change.rubber))
    parts += [f"rubber {instead(after, before)}"] if after != before else []
    if change.varied:
        parts.append(f"clean in {change.clean_in} of {change.varied} variations")
    return "; ".join(parts)


def say_harms(change: Change, inches: bool = False) -> str:
    """Return what a change makes worse, in one sentence; empty where that is nothing.

    `inches` gives lengths in inches.
    """
    return f"Worse: {'; '.join(_harm(each, inches) for each in change.harms)}." * bool(change.harms)


def _harm(harm: Harm, inches: bool) -> str:
    if harm.before_mm is None or harm.after_mm is None:
        return harm.words
    return f"{harm.words} {instead(*(length(v, inches) for v in (harm.after_mm, harm.before_mm)))}"


def instead(after: str, before: str) -> str:
    """Return `after` instead of `before`, two values with units; a unit of both is given once.

    Examples
    --------
    >>> instead("0.02 mm", "0.96 mm"), instead("under 0.01 mm", "0.96 mm")
    ('0.02 instead of 0.96 mm', 'under 0.01 mm instead of 0.96 mm')
    """
    first, _, unit = after.partition(" ")
    same = before.endswith(f" {unit}") and not after.startswith(("under", "no"))
    return f"{first if same else after} instead of {before}"


def _sealing(before: Figures, after: Figures) -> str:
    words = "seals" if after.seals else in_words("leaks", after.leaks)
    if not before.solved:
        return f"{words}; as it is, there is no answer"
    if after.seals == before.seals and (after.seals or after.leaks == before.leaks):
        return f"still {words}"
    return f"{words} instead of {'sealing' if before.seals else in_words('leaks', before.leaks)}"
