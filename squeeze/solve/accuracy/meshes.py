"""Put one question to one mesh after another, each fine where the last one says that it pays."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from squeeze.mold import BadInput
from squeeze.mold.forces.loads import Loads
from squeeze.mold.progress import Progress
from squeeze.solve.accuracy.fine_spots import fine_spots
from squeeze.solve.accuracy.lips import lip_spots
from squeeze.solve.allowance import Allowance
from squeeze.solve.block import Block
from squeeze.solve.closing import Closing
from squeeze.solve.load_case import LEAST_FINENESS
from squeeze.solve.mesh.size import FineSpot
from squeeze.solve.outcome import Outcome

FINER_AT_ENDS = 2.0**0.5
"""As fine are ends of contact on meshes finer than the default one, and on the coarser meshes that
their errors come from. Where an end falls within its edge is by chance: the place next to it is off
by chance too, and so by half as much."""
COARSER = 2.0  # times as long are the edges of the mesh that errors come from
MOVED_EDGES = 4.0
"""Edges beyond which an end of contact counts as moved. All of a mesh moves it a little, beside the
short edges that were made for it."""
SEARCHES = 2  # meshes at most on which ends of contact are looked for
FINER_SEARCHES = 4  # for a mesh finer than the default one, and as many for its own ends


def coarser(fineness: float) -> float:
    """Return the fineness of the mesh that the errors of a finer one come from."""
    return max(fineness / COARSER, LEAST_FINENESS)


@dataclass(eq=False)
class Question:
    """The same question on one mesh after another, within a bound of work."""

    loads: Loads | None
    case: dict[str, Any]
    progress: Progress
    first: Block
    allowance: Allowance
    finer_at_ends: float = 1.0

    def on(
        self, fineness: float, near: Closing, at_ends: float | None = None
    ) -> tuple[Block, Closing]:
        """Answer it on a mesh that is fine where a near answer says that contact ends.

        Parameters
        ----------
        fineness : float
            1 = the default mesh; 2 halves every edge.
        near : Closing
        at_ends : float, optional
            The fineness at ends of contact and lips [1 = the default mesh]; the mesh's own by
            default.

        Returns
        -------
        (Block, Closing)
        """
        spots = self.spots(near, at_ends or fineness)
        try:
            block = self.first.remeshed(fineness, spots)
        except BadInput:
            if not spots:
                raise
            block = self.first.remeshed(fineness)  # an even mesh, rather than no answer
        return self.of(block, near)

    def spots(self, near: Closing, fineness: float) -> tuple[FineSpot, ...]:
        """Return where a mesh of a fineness has to be fine."""
        if not near.outcome.has_answer:
            return ()
        return self._ends(near, fineness) + lip_spots(near, fineness)

    def _ends(self, near: Closing, fineness: float) -> tuple[FineSpot, ...]:
        more = 1.0 if near.deformation.is_large else self.finer_at_ends
        return fine_spots(near, fineness * more)

    def widest(self, near: Closing, fineness: float) -> float:
        """Return the longest edge that ends of contact get at a `fineness`, 0 without any [mm]."""
        if not near.outcome.has_answer:
            return 0.0
        return max((size for _, _, size in self._ends(near, fineness)), default=0.0)

    def of(self, block: Block, near: Closing | None = None) -> tuple[Block, Closing]:
        """Answer it on the mesh of a block."""
        if near is not None and near.deformation.outcome is Outcome.UNSTABLE:
            # a finer mesh is softer: it gives way no later
            case: dict[str, Any] = {**self.case, "deformation": "small"}
            small = block.close(self.loads, check=False, **case)
            return block, replace(small, deformation=near.deformation)
        case = {"start": near, "progress": self.progress} | self.case
        return block, self.allowance.close(block, self.loads, **case)


def on_both_meshes(
    asked: Question, fineness: float
) -> tuple[tuple[Block, Closing], tuple[Block, Closing]]:
    """Return the answer on the coarser mesh and on that of a fineness.

    The finer a mesh, the shorter are its edges where contact ends, and the better it has to know
    the place. Above fineness 1 more coarse meshes look for it.
    """
    is_fine = fineness > 1.0
    if is_fine:
        asked.finer_at_ends = FINER_AT_ENDS
    coarse = _ends_found(asked, coarser(fineness), FINER_SEARCHES if is_fine else SEARCHES)
    asked.first = coarse[0]  # the factor of a third block would fill memory
    known = _ends_found_well(asked, coarse[1], fineness) if is_fine else coarse[1]
    fine = asked.on(fineness, known)
    if is_fine and _have_moved(asked, known, fine[1], fineness):
        fine = asked.on(fineness, fine[1])
    return of_one_theory(asked, coarse, fine[1]), fine


def of_one_theory(
    asked: Question, coarse: tuple[Block, Closing], fine: Closing
) -> tuple[Block, Closing]:
    """Return the coarser answer by the theory of the finer one, for the two to be compared.

    Where large deformation changes the figures by just what lets the small answer stand, "auto" may
    take one theory on the coarser mesh and the other on the finer one.
    """
    block, closing = coarse
    if fine.deformation.is_large == closing.deformation.is_large:
        return coarse
    if fine.deformation.is_given_up or closing.deformation.is_given_up:
        return coarse
    if closing.deformation.small is not None:
        return block, closing.deformation.small
    case: dict[str, Any] = {**asked.case, "deformation": "large"}
    large = asked.allowance.close(block, asked.loads, progress=asked.progress, **case)
    return (block, large) if large.deformation.is_large else coarse


def _have_moved(asked: Question, known: Closing, fine: Closing, fineness: float) -> bool:
    """Return whether a mesh finds an end of contact beside where it was made fine for it.

    Small deformation alone, as in `_ends_found_well`.
    """
    if not fine.outcome.has_answer or fine.deformation.is_large or fine.deformation.is_given_up:
        return False
    before = np.array(asked.spots(known, fineness)).reshape(-1, 3)
    return any(
        np.hypot(before[:, 0] - x, before[:, 1] - y).min(initial=np.inf) > MOVED_EDGES * size
        for x, y, size in asked.spots(fine, fineness)
    )


def _ends_found(asked: Question, fineness: float, searches: int) -> tuple[Block, Closing]:
    """Return the answer on a mesh that is fine where contact ends, as well as that is known."""
    coarse, widest = asked.of(asked.first), float("inf")
    for number in range(searches):
        if number >= SEARCHES and coarse[1].deformation.is_large:
            break
        now = asked.widest(coarse[1], fineness)
        has_lips = number == 0 and bool(asked.spots(coarse[1], fineness))
        if not (now or has_lips) or now > 0.9 * widest or coarse[1].deformation.is_given_up:
            break
        found = asked.on(fineness, coarse[1])
        if not found[1].outcome.has_answer:
            break
        coarse, widest = found, now
    return coarse


def _ends_found_well(asked: Question, known: Closing, fineness: float) -> Closing:
    """Return an answer on the coarser mesh that knows ends of contact well enough for a finer one.

    Small deformation alone: at large one, faces that turn ask for no shorter edges.
    """
    widest = float("inf")
    for _ in range(FINER_SEARCHES):
        now = asked.widest(known, fineness)
        how = known.deformation
        if not now or now > 0.9 * widest or how.is_large or how.is_given_up:
            break
        found = asked.on(coarser(fineness), known, fineness)[1]
        if not found.outcome.has_answer:
            break
        known, widest = found, now
    return known
