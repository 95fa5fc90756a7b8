"""One piece of advice: a change, what it does and what it costs, before and after."""

from __future__ import annotations

from dataclasses import dataclass, field

from squeeze.mold.tables.mold import Mold
from squeeze.verdict.advice.rubber_cost import RubberCost, rubber_of
from squeeze.verdict.advice.trial import Trial
from squeeze.verdict.casting.flash import HAIRLINE_MM
from squeeze.verdict.figures import BY_NAME, Figures, in_words, reaches
from squeeze.verdict.grade import GRADES, STEP_SEEN_MM
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


WORSE_BY_MM = {
    "largest_gap_mm": HAIRLINE_MM,
    "flash_thickness_mm": HAIRLINE_MM,
    "largest_shift_mm": STEP_SEEN_MM,
    "step_mm": STEP_SEEN_MM,
}
"""What a change must not make worse, and from how much on that shows; judgements."""


def makes_worse(change: Change) -> tuple[str, ...]:
    """Return the names of the figures of `WORSE_BY_MM` that a change makes worse."""
    a, b = change.before, change.after
    if not a.solved or not b.solved:
        return ()
    return tuple(name for name, by in WORSE_BY_MM.items() if b.values[name] > a.values[name] + by)


def change_of(kind: str, say: str, now: Trial, then: Trial) -> Change:
    """Return the advice that a trial amounts to.

    `kind` is the kind of change, `say` tells what to do.
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
    )


def ranked(found: list[Change]) -> list[Change]:
    """Return what is better, best first.

    First the changes that reach the aim; among them those that leave no flash, then those that leak
    less, then those that make nothing else worse, then the least work, then the larger margin.
    Where none reaches the aim, the changes that at least improve the mold.
    """

    def order(change: Change) -> tuple[bool, bool, int, bool, int, float]:
        after = change.after
        return (
            not reaches(change.before, after),
            not after.good,
            after.leaks,
            bool(makes_worse(change)),
            EFFORT.index(change.kind),
            -after.margin,
        )

    good = sorted((a for a in found if a.after.solved and a.better), key=order)
    reach = [change for change in good if reaches(change.before, change.after)]
    return reach or good


SHOWN = ("margin", "largest_gap_mm", "flash_thickness_mm", "largest_shift_mm")
"""The figures that the advice gives for a change; others only where they get worse."""


def say_figures(change: Change, inches: bool = False) -> str:
    """Return what a change does, in one line; figures that look the same after it are left out."""
    a, b = change.before, change.after
    parts = [_sealing(a, b)]
    for name in (*SHOWN, *(name for name in makes_worse(change) if name not in SHOWN)):
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
    return "; ".join(parts)


def instead(after: str, before: str) -> str:
    """Return two values as a comparison; a unit that both share is given once.

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
