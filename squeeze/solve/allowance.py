"""What large deformation may still cost, over all closings that answer one question together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from squeeze.mold.forces.loads import Loads
from squeeze.solve.block import Block
from squeeze.solve.closing import Closing
from squeeze.solve.large.equilibrium import MOST_TANGENTS
from squeeze.solve.outcome import Outcome


@dataclass(eq=False)
class Allowance:
    """Work that closings at large deformation share.

    It counts work and not time, so that an answer does not hang on how busy a machine is.

    Attributes
    ----------
    most : int
        Unknowns times tangents, of all closings together.
    spent : int
        Of these.
    ran_out : bool
        Whether some closing ended because no more was left.
    """

    most: int
    spent: int = 0
    ran_out: bool = False

    def tangents(self, unknowns: int) -> int:
        """Return how many tangents a block with so many unknowns may still take."""
        return min(self._left(unknowns), MOST_TANGENTS)

    def _left(self, unknowns: int) -> int:
        return max(self.most - self.spent, 0) // max(unknowns, 1)

    def suffices(self, coarse: Closing, unknowns: int) -> bool:
        """Return whether what is left suffices for a mesh with so many unknowns.

        A mesh that starts from a coarser answer takes as many tangents as that one took, where
        faces rub; half as many where nothing rubs, for then it skips the path of the loads.

        Parameters
        ----------
        coarse : Closing
            Of the same block on a coarser mesh; one at small deformation says nothing.
        unknowns : int
            Of the finer mesh.
        """
        if not coarse.deformation.is_large:
            return True
        rubs = any(seam.friction > 0 for seam in coarse.section.seams)
        wanted = coarse.deformation.tangents if rubs else (coarse.deformation.tangents + 1) // 2
        return wanted <= self._left(unknowns)

    def close(self, block: Block, loads: Loads | None = None, **case: Any) -> Closing:
        """Close a block within what is left; what has no certified answer is returned as it is.

        Parameters
        ----------
        block : Block
        loads : Loads, optional
            Instead of the mold's.
        **case
            As for `Block.close`, without `check` and `most_tangents`.

        Returns
        -------
        Closing
            The one of small deformation, and `deformation.is_confirmed` is False, where what is
            left does not suffice.
        """
        size = block.mesh.points.size
        left = self._left(size)
        closing = block.close(loads, most_tangents=self.tangents(size), check=False, **case)
        how = closing.deformation
        self.spent += size * how.tangents
        if how.outcome is Outcome.NOT_SETTLED and how.tangents >= left:
            self.ran_out = True
        return closing
