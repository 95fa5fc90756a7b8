"""Trying a changed mold: meshed, closed, certified, and its figures taken."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from squeeze.mold import loads_of, section_of
from squeeze.mold.errors import BadInput
from squeeze.mold.progress import Progress, silent
from squeeze.mold.tables.mold import Mold
from squeeze.solve.accuracy.errors import errors_of
from squeeze.solve.allowance import Allowance
from squeeze.solve.block import Block
from squeeze.solve.closing import Closing
from squeeze.solve.load_case import LEAST_FINENESS
from squeeze.solve.trust import Trust
from squeeze.verdict.advice.rubber_cost import wall_mm
from squeeze.verdict.figures import Figures, figures_of, reaches
from squeeze.verdict.grade import GOOD
from squeeze.verdict.uncertainty import pulled, uncertainty, varies


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


MOST_UNKNOWNS = 12_000
"""Where the block has more, changes are tried on a coarser mesh; what is advised is closed again on
the usual one."""

MOST_MESHED = 400_000
"""Unknowns of all blocks that are made for changes, some twenty seconds."""

MOST_WORK = 1_200_000
"""Unknowns times tangents of all changes that are closed again as they deform, some twenty
seconds."""

SHARE = 0.25
"""Of both that a block with more than `MOST_UNKNOWNS` may take: all else takes long there too."""


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
    left_out : int
        How many were not tried because the work allowed was used up.
    usual : float
        Fineness of the usual mesh.
    fineness : float or None
        Of the meshes on which changes are tried, where it is not the usual one.
    meshed, most_meshed : float
        Unknowns of all blocks that were made for changes, and beyond which no more are made.
    large : Allowance
        What it may still cost to close changes again as they deform.
    coarsened : tuple of (Block, Block), optional
        A large block, and the same on the coarser mesh on which its changes are tried.
    """

    say: Progress = silent
    tried: int = 0
    refused: int = 0
    left_out: int = 0
    usual: float = 1.0
    fineness: float | None = None
    meshed: int = 0
    most_meshed: float = field(default_factory=lambda: MOST_MESHED)
    large: Allowance = field(default_factory=lambda: Allowance(MOST_WORK))
    coarsened: tuple[Block, Block] | None = None

    def block(self, mold: Mold, words: str, fineness: float | None = None) -> Block | None:
        """Return the block of a mold; None when its geometry cannot be had.

        Parameters
        ----------
        mold : Mold
        words : str
            What is tried, for whoever follows.
        fineness : float, optional
            Of its mesh.
        """
        self.say(words)
        try:
            return Block(mold, self.usual if fineness is None else fineness)
        except BadInput:
            self.refused += 1
            return None

    def coarse_enough(self, block: Block) -> Block:
        """Return the block on the mesh on which changes of it are tried."""
        if block.mesh.points.size <= MOST_UNKNOWNS:
            return block
        coarse = coarse_block(block)
        self.coarsened = block, coarse
        self.fineness = coarse.fineness
        self.most_meshed, self.large = SHARE * MOST_MESHED, Allowance(int(SHARE * MOST_WORK))
        return coarse

    def close(
        self,
        block: Block,
        mold: Mold,
        deformation: str = "small",
        start: Closing | None = None,
        vary: bool = False,
        within: Allowance | None = None,
        pull: float = 1.0,
        and_again: bool = False,
    ) -> Trial:
        """Close a block as `mold` says, which may differ in its bands from what it was made of.

        Trials keep to small deformation, which is quick; what is advised is closed again with
        ``"auto"``. Large deformation begins where a coarser mesh has ended, or from `start`: a
        closing of this block under much the same loads. `vary` closes the variations as well, where
        the mold itself has nothing to mend; where not all of them are computed it counts as not
        varied. Bands and pushes pull `pull` times as hard as it says. It stays `within` an
        allowance, that of all trials unless given. Where the coarser mesh says that the rest of it
        will not do, or with `and_again` will not do twice, the block stays at small deformation.
        """
        within = self.large if within is None else within
        self.tried += 1
        loads = pulled(loads_of(mold, block.section), pull)
        coarse, errors = block, None
        if deformation != "small" and start is None:
            kept = self.coarsened
            coarse = kept[1] if kept is not None and kept[0] is block else coarse_block(block)
            if coarse is not block:
                start = within.close(coarse, loads, deformation=deformation)
                if not within.suffices(start, (1 + and_again) * block.mesh.points.size):
                    within.ran_out, deformation, start = True, "small", None
        closing = within.close(block, loads, deformation=deformation, start=start)
        if start is not None and coarse is not block:
            errors = errors_of(closing, start, block.fineness, coarse.fineness)
        closing = replace(closing, errors=errors)
        figures = figures_of(closing, mold)
        trial = Trial(mold, closing, figures, wall_mm(block.section))
        if not vary or figures.grade not in GOOD or not varies(closing):
            return trial
        begun = (coarse, start) if start is not None and coarse is not block else None
        found = uncertainty(block, closing, coarse=begun, allowance=within)
        if found.left_out:
            return trial
        grades = [each.figures.grade for each in found.variations]
        clean = sum(grade in GOOD for grade in grades)
        return replace(trial, clean_in=clean, varied=len(grades))

    def again(self, mold: Mold, words: str, vary: bool = False) -> Trial | None:
        """Close an advised mold once more, at large deformation where it matters.

        None when its geometry cannot be had. `words` tell the change; `vary` closes its variations
        as well. Once the work allowed has run out, small deformation has to do.
        """
        block = self.block(mold, f"once more: {words}")
        theory = "small" if self.large.ran_out else "auto"
        return None if block is None else self.close(block, mold, theory, vary=vary)

    def try_out(
        self,
        make: Callable[[], Mold],
        words: str,
        least_wall_mm: float = 0.0,
        vary: bool = False,
    ) -> Trial | None:
        """Make a mold and close it; None when it is no mold, or leaves less than the wall.

        `words` tell the change; `least_wall_mm` [mm] is left round each cavity; `vary` closes
        the variations as well. None as well where the work allowed is used up: `left_out` counts
        those.
        """
        if self.meshed > self.most_meshed:
            self.left_out += 1
            return None
        try:
            mold = make()
            wall = wall_mm(section_of(mold))
        except BadInput:
            self.refused += 1
            return None
        if wall is not None and wall < least_wall_mm - 1e-6:
            return None
        block = self.block(mold, words, self.fineness)
        if block is None:
            return None
        self.meshed += block.mesh.points.size
        return self.close(block, mold, vary=vary)
