"""Trying a changed mold: meshed, closed, certified, and its figures taken."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from squeeze.mold import loads_of, section_of
from squeeze.mold.errors import BadInput
from squeeze.mold.progress import Progress, silent
from squeeze.mold.tables.mold import Mold
from squeeze.solve.accuracy.errors import errors_of
from squeeze.solve.block import Block
from squeeze.solve.closing import Closing
from squeeze.solve.load_case import LEAST_FINENESS
from squeeze.solve.trust import Trust
from squeeze.verdict.advice.rubber_cost import wall_mm
from squeeze.verdict.figures import Figures, figures_of, reaches
from squeeze.verdict.grade import GOOD
from squeeze.verdict.uncertainty import uncertainty, varies


@dataclass(frozen=True)
class Trial:
    """A mold that was tried.

    Attributes
    ----------
    mold : Mold
    closing : Closing
    figures : Figures
    wall_mm : float or None
        Least rubber between a cavity and the outside.
    clean_in, varied : int
        Of so many variations of rubber, friction and bands, in how many there is nothing to mend;
        0 of 0 where it was not varied.
    """

    mold: Mold
    closing: Closing = field(repr=False)
    figures: Figures
    wall_mm: float | None
    clean_in: int = 0
    varied: int = 0

    @property
    def is_clean_throughout(self) -> bool:
        """Whether it was varied, and every variation has nothing to mend."""
        return 0 < self.varied == self.clean_in

    @property
    def trust(self) -> Trust:
        """How far its answer can be relied on."""
        return self.closing.trust


def reaches_aim(now: Trial, then: Trial | None) -> bool:
    """Return whether a trial gets what is wanted of a change; none does not."""
    return then is not None and reaches(now.figures, then.figures)


def wanted(now: Trial) -> str:
    """Return what is wanted of a change, in words."""
    return "seals without flash" if now.figures.seals else "makes every land seal"


def coarse_block(block: Block) -> Block:
    """Return a block on a mesh with edges twice as long; the block itself where there is none."""
    try:
        return block.remeshed(max(block.fineness / 2, LEAST_FINENESS))
    except BadInput:
        return block


@dataclass
class Trials:
    """Where molds are tried: it reports what it does, and counts.

    Attributes
    ----------
    say : Progress
        Called with a line of words before each trial.
    tried : int
        How many solves there were.
    refused : int
        How many molds could not be meshed or drawn as asked.
    """

    say: Progress = silent
    tried: int = 0
    refused: int = 0

    def block(self, mold: Mold, words: str) -> Block | None:
        """Return the block of a mold; None when its geometry cannot be had."""
        self.say(words)
        try:
            return Block(mold)
        except BadInput:
            self.refused += 1
            return None

    def close(
        self,
        block: Block,
        mold: Mold,
        deformation: str = "small",
        start: Closing | None = None,
        vary: bool = False,
    ) -> Trial:
        """Close a block as `mold` says, which may differ in its bands from what it was made of.

        Trials keep to small deformation, which is quick; what is advised is closed again with
        ``"auto"``. Large deformation begins where a coarser mesh has ended, or from `start`: a
        closing of this block under much the same loads. `vary` closes the variations as well, where
        the mold itself has nothing to mend.
        """
        self.tried += 1
        loads = loads_of(mold, block.section)
        coarse, errors = block, None
        if deformation != "small" and start is None:
            coarse = coarse_block(block)
            if coarse is not block:
                start = coarse.close(loads, deformation=deformation, check=False)
        closing = block.close(loads, deformation=deformation, start=start, check=False)
        if start is not None and coarse is not block:
            errors = errors_of(closing, start, block.fineness, coarse.fineness)
        closing = replace(closing, errors=errors)
        figures = figures_of(closing, mold)
        trial = Trial(mold, closing, figures, wall_mm(block.section))
        if not vary or figures.grade not in GOOD or not varies(closing):
            return trial
        begun = (coarse, start) if start is not None and coarse is not block else None
        grades = [
            each.figures.grade for each in uncertainty(block, closing, coarse=begun).variations
        ]
        clean = sum(grade in GOOD for grade in grades)
        return replace(trial, clean_in=clean, varied=len(grades))

    def again(self, mold: Mold, words: str, vary: bool = False) -> Trial | None:
        """Close an advised mold once more, at large deformation where it matters.

        None when its geometry cannot be had. `words` tell the change; `vary` closes its variations
        as well.
        """
        block = self.block(mold, f"once more: {words}")
        return None if block is None else self.close(block, mold, "auto", vary=vary)

    def try_out(
        self,
        make: Callable[[], Mold],
        words: str,
        least_wall_mm: float = 0.0,
        vary: bool = False,
    ) -> Trial | None:
        """Make a mold and close it; None when it is no mold, or leaves less than the wall.

        `words` tell the change; `least_wall_mm` [mm] is left round each cavity; `vary` closes
        the variations as well.
        """
        try:
            mold = make()
            wall = wall_mm(section_of(mold))
        except BadInput:
            self.refused += 1
            return None
        if wall is not None and wall < least_wall_mm - 1e-6:
            return None
        block = self.block(mold, words)
        return None if block is None else self.close(block, mold, vary=vary)
