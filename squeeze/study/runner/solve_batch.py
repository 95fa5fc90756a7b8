"""Computing the cases of a batch: one block, meshed and factorised once, closed under each load."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import Any

from squeeze.mold import BadInput, Mold, NotSolved, SqueezeError, loads_of, mold_of
from squeeze.solve import Block, Closing, Pressing, refined
from squeeze.study.measure_errors import measure_errors
from squeeze.study.measures import measures, need_faces_only, outcome_of
from squeeze.study.own_measures import OwnMeasures
from squeeze.study.plan.sections import section_of_case
from squeeze.study.records import Batch, CaseAnswer, CaseState, Data
from squeeze.verdict import Verdict, judge


@dataclass
class BlockCache:
    """Keeps the last block: the batch that follows often has the same section."""

    section: str = ""
    block: Block | None = None

    def block_for(self, batch: Batch) -> Block:
        """Return the block of a batch's section."""
        if self.block is None or self.section != batch.section:
            self.block = None
            self.block = Block(mold_of(section_of_case(batch.cases[0][1])), batch.fineness)
            self.section = batch.section
        return self.block


def solve_batch(batch: Batch, blocks: BlockCache) -> Iterator[CaseAnswer]:
    """Yield the answer to each case of a batch as soon as it is there."""
    for identity, data in batch.cases:
        yield solve_case(identity, data, batch, blocks)


def solve_case(identity: str, data: Data, batch: Batch, blocks: BlockCache) -> CaseAnswer:
    """Return the answer to one case; whatever goes wrong with it stands in the answer.

    `identity` names the case, `data` is its mold as tables.
    """
    clock = [time.perf_counter()]
    try:
        if batch.compute is not None:
            kept = batch.compute(data)
            spent = time.perf_counter() - clock[0]
            return CaseAnswer(identity, CaseState.DONE, None, kept, None, 0.0, spent)
        if batch.accuracy_pct is not None:
            clock.append(time.perf_counter())
            closing, kept = close_with_errors(mold_of(data), batch)
        else:
            block, mold = blocks.block_for(batch), mold_of(data)
            clock.append(time.perf_counter())
            faces_only = batch.own is None and need_faces_only(batch.keep)
            closing, verdict = close_or_press(block, mold, faces_only, batch.deformation)
            kept = measures(batch.keep, closing, verdict, mold)
        if batch.own is not None:
            kept |= _own_values(batch.own, closing)
    except BadInput as error:
        return CaseAnswer(identity, CaseState.REFUSED, error=str(error))
    except (SqueezeError, NotSolved) as error:
        return CaseAnswer(identity, CaseState.FAILED, error=str(error))
    except Exception as error:
        return CaseAnswer(identity, CaseState.FAILED, error=f"{type(error).__name__}: {error}")
    clock.append(time.perf_counter())
    times = clock[1] - clock[0], clock[2] - clock[1]
    return CaseAnswer(identity, CaseState.DONE, str(outcome_of(closing)), kept, None, *times)


def _own_values(own: OwnMeasures, closing: Closing | Pressing) -> Data:
    """Return the values of one's own measures; None where there is no answer for the case."""
    if isinstance(closing, Closing) and outcome_of(closing).has_answer:
        return own.values(closing)
    return own.none()


def close_with_errors(mold: Mold, batch: Batch) -> tuple[Closing, Data]:
    """Close a mold to an accuracy; return its measures with the error of each.

    Contact ends elsewhere under other loads, so each case has meshes of its own.
    """
    case = refined(mold, accuracy_pct=batch.accuracy_pct, deformation=batch.deformation)
    closing, verdict = case.closing, partial(judge, case.closing, mold=mold)
    kept = measures(batch.keep, closing, verdict, mold)
    return closing, kept | measure_errors(batch.keep, closing, mold)


def close_or_press(
    block: Block, mold: Mold, faces_only: bool, deformation: str = "small"
) -> tuple[Closing | Pressing, Callable[[], Verdict] | None]:
    """Close a block and return what gives the verdict; or press its faces alone.

    `faces_only` says whether the faces will do, `deformation` is as for `Block.close`.
    """
    if faces_only and deformation == "small":
        return block.press(loads_of(mold, block.section), **_faces(mold), check=False), None
    closing = close_case(block, mold, deformation)
    return closing, partial(judge, closing, mold=mold)


def close_case(block: Block, mold: Mold, deformation: str = "small") -> Closing:
    """Close a block under loads, friction and unloaded gaps of a mold that shares its section.

    Parameters
    ----------
    block : Block
    mold : Mold
    deformation : str
        As for `Block.close`.
    """
    loads = loads_of(mold, block.section)
    return block.close(loads, **_faces(mold), deformation=deformation, check=False)


def _faces(mold: Mold) -> dict[str, Any]:
    return {
        "friction": {cut.name: cut.coefficient for cut in mold.cut},
        "gap_mm": {cut.name: cut.gap_mm for cut in mold.cut},
    }
