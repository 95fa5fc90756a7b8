"""Computing the cases of a chunk: one block, meshed and factorised once, closed under each load."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import Any

from squeeze.mold import BadInput, Mold, NotSolved, SqueezeError, loads_of, mold_of
from squeeze.solve import Block, Closing, Pressing
from squeeze.study.measure import measures, of_faces
from squeeze.study.plan import section_of_case
from squeeze.study.records import Answer, Chunk, Data, State
from squeeze.verdict import Verdict, judge


@dataclass
class Bench:
    """The block that lies on the bench: a worker keeps the last one for the chunk that follows."""

    section: str = ""
    block: Block | None = None

    def block_for(self, chunk: Chunk) -> Block:
        """Return the block of a chunk's section."""
        if self.block is None or self.section != chunk.section:
            self.block = None
            self.block = Block(mold_of(section_of_case(chunk.cases[0][1])), chunk.fineness)
            self.section = chunk.section
        return self.block


def answers(chunk: Chunk, bench: Bench) -> Iterator[Answer]:
    """Yield the answer to each case of a chunk as soon as it is there."""
    for identity, data in chunk.cases:
        yield answer(identity, data, chunk, bench)


def answer(identity: str, data: Data, chunk: Chunk, bench: Bench) -> Answer:
    """Return the answer to one case; whatever goes wrong with it stands in the answer."""
    clock = [time.perf_counter()]
    try:
        block, mold = bench.block_for(chunk), mold_of(data)
        clock.append(time.perf_counter())
        told, verdict = tell_case(block, mold, of_faces(chunk.keep))
        kept = measures(chunk.keep, told, verdict, mold)
    except BadInput as error:
        return Answer(identity, State.REFUSED, error=str(error))
    except (SqueezeError, NotSolved) as error:
        return Answer(identity, State.FAILED, error=str(error))
    except Exception as error:
        return Answer(identity, State.FAILED, error=f"{type(error).__name__}: {error}")
    clock.append(time.perf_counter())
    times = clock[1] - clock[0], clock[2] - clock[1]
    return Answer(identity, State.DONE, str(told.outcome), kept, None, *times)


def tell_case(
    block: Block, mold: Mold, faces_alone: bool
) -> tuple[Closing | Pressing, Callable[[], Verdict] | None]:
    """Close a block and say what gives the verdict; or where that will do press its faces alone."""
    if faces_alone:
        return block.press(loads_of(mold, block.section), **_faces(mold), check=False), None
    closing = close_case(block, mold)
    return closing, partial(judge, closing, mold=mold)


def close_case(block: Block, mold: Mold) -> Closing:
    """Close a block under loads, friction and unloaded gaps of a mold that shares its section."""
    return block.close(loads_of(mold, block.section), **_faces(mold), check=False)


def _faces(mold: Mold) -> dict[str, Any]:
    return {
        "friction": {cut.name: cut.friction for cut in mold.cut},
        "gap_mm": {cut.name: cut.gap_mm for cut in mold.cut},
    }
