"""Closing a mold of the page: its block is kept, so that a change of loads needs no new factor."""

from __future__ import annotations

import json
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from squeeze.mold import Mold, dict_of, mold_of
from squeeze.mold.progress import Progress, silent
from squeeze.solve import Block, Closing, Refined, refined
from squeeze.study.plan.sections import section_of_case
from squeeze.study.runner.solve_batch import close_case
from squeeze.verdict import Verdict, judge
from squeeze.verdict.uncertainty import Uncertainty, uncertainty, varies

QUICK = 0.35
"""Fineness of the mesh while something is being moved."""

KEPT = 4

_blocks: OrderedDict[str, Block] = OrderedDict()
_answers: OrderedDict[str, Refined] = OrderedDict()


class Refused(Exception):
    """What was asked makes no sense; the text says why."""


@dataclass(frozen=True)
class ClosedMold:
    """A mold of the page with its closing, its verdict, and its variations where they were asked.

    Attributes
    ----------
    mold : Mold
    closing : Closing
    verdict : Verdict
    varied : Uncertainty or None
    """

    mold: Mold
    closing: Closing
    verdict: Verdict
    varied: Uncertainty | None = None


def mold_in(asked: dict[str, Any], key: str = "mold") -> Mold:
    """Return the mold that the request `asked` has under `key`.

    Raises
    ------
    BadInput
        When it is no mold.
    Refused
        When there is nothing that could be one.
    """
    data = asked.get(key)
    if not isinstance(data, dict):
        raise Refused(
            "There is no mold in what was asked: a JSON object with the keys of a mold"
            " file is needed."
        )
    return mold_of(data)


def closed(
    mold: Mold,
    fineness: float | None = None,
    inches: bool = False,
    sure: bool = False,
    progress: Progress = silent,
) -> ClosedMold:
    """Close a mold as `squeeze close` does; on a given mesh at small deformation.

    Parameters
    ----------
    mold : Mold
    fineness : float, optional
        Of the mesh, at small deformation; without it the answer is the command line's, refined.
    inches : bool
        Lengths in inches.
    sure : bool
        Vary rubber, friction and bands as well, which takes a dozen closings more.
    progress : Progress
        Called with what is being done.
    """
    progress("Closing the cuts")
    if fineness is not None:
        block = kept_block(mold, fineness)
        closing = replace(close_case(block, mold, "small"), title=mold.title)
        return ClosedMold(mold, closing, judge(closing, inches, mold))
    found = _refined(mold, progress)
    closing, varied = found.closing, None
    if sure and varies(closing):
        varied = uncertainty(found.block, closing, progress, found.coarse)
    return ClosedMold(mold, closing, judge(closing, inches, mold, varied), varied)


def _refined(mold: Mold, progress: Progress) -> Refined:
    """Return the answer of the command line; the last few are kept."""
    return _kept(_answers, json.dumps(dict_of(mold)), lambda: refined(mold, progress=progress))


T = TypeVar("T")


def _kept(known: OrderedDict[str, T], key: str, make: Callable[[], T]) -> T:
    """Return what is kept under a key, made where it is new; the last few are kept."""
    if key not in known:
        known[key] = make()
    known.move_to_end(key)
    while len(known) > KEPT:
        known.popitem(last=False)
    return known[key]


def kept_block(mold: Mold, fineness: float) -> Block:
    """Return the meshed and factorised block; the last few are kept, for loads need no new one.

    `fineness` is that of the mesh.
    """
    shape = section_of_case(dict_of(mold))
    key = json.dumps([fineness, shape])
    return _kept(_blocks, key, lambda: Block(mold_of(shape), fineness))
