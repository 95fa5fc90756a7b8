"""Choosing: which blocks are worth computing in full, and which few are named in the end."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from squeeze.design.answer import DesignFigures
from squeeze.design.blocks.work import PLAIN_BEVEL_MM, PLAIN_ROUND_MM
from squeeze.design.search.drafts import Draft, dominates, front
from squeeze.mold import Mold

KINDS_FIRST = 4
"""Kinds of block, the best of each, that are computed in full first."""

ALIKE_RUBBER, ALIKE_BANDS = 0.12, 2
"""Blocks of one kind are alike unless their rubber or their bands differ by more than this."""

UNNOTICED = 0.005
"""Share by which a figure may be worse without anybody noticing."""

CLEAN_ENOUGH = 11
"""Of twelve variations: in so many a block has to be clean to be poured first."""


@dataclass(frozen=True)
class Certified:
    """A block that was computed in full."""

    draft: Draft
    mold: Mold
    figures: DesignFigures

    def costs(self) -> tuple[float, ...]:
        """Return what blocks are compared by."""
        return self.figures.costs()


def to_certify(drafts: Sequence[Draft], step_g: float) -> list[Draft]:
    """Return the blocks worth computing in full, the most promising first.

    The best of the kinds that cost least, then what is best in one figure, then the best of the
    other kinds, then all the rest of the front. What is like one before it comes last.

    `step_g` is the rubber that one step of work counts for [g].
    """
    if not drafts:
        return []
    ahead = front(sorted(drafts, key=lambda d: _order(d, step_g)))
    by_kind: dict[str, Draft] = {}
    for draft in ahead:
        by_kind.setdefault(draft.kind, draft)
    clean = [draft for draft in ahead if draft.is_clean] or ahead
    best_in: list[Callable[[Draft], Any]] = [
        lambda d: (d.rubber_g, d.steps),
        lambda d: (d.steps, d.rubber_g),
        lambda d: (d.bands, d.rubber_g),
        lambda d: (d.shift_mm, d.rubber_g),
        lambda d: -d.margin,
    ]
    kinds = list(by_kind.values())
    named = [min(clean, key=key) for key in best_in]
    found: list[Draft] = []
    like: list[Draft] = []
    for draft in (*kinds[:KINDS_FIRST], *named, *kinds[KINDS_FIRST:], *ahead):
        if any(draft is other for other in (*found, *like)):
            continue
        is_like = any(
            _are_alike(draft.data, draft, other.data, other)
            or stands_in(other.costs(), draft.costs())
            for other in found
        )
        (like if is_like else found).append(draft)
    return [*found, *like]


def _order(draft: Draft, step_g: float) -> tuple[bool, float, float]:
    return not draft.is_clean, draft.rubber_g + step_g * draft.steps, -draft.margin


def order_of(each: Certified, step_g: float) -> tuple[bool, float, float]:
    """Return what the answer is ordered by: clean first, then rubber and work together.

    Of blocks that are the same in both, the one with the larger margin comes first.

    `step_g` is the rubber that one step of work counts for [g].
    """
    figures = each.figures
    unclean = figures.clean_in < CLEAN_ENOUGH
    return unclean, figures.rubber_g + step_g * figures.steps, -figures.margin


def stands_in(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    """Return whether `a` is nowhere worse than `b` by more than a share that nobody would notice.

    Parameters
    ----------
    a, b : tuple of float
        Costs, each the less the better.
    """
    return all(x <= y + UNNOTICED * max(abs(y), 1.0) for x, y in zip(a, b, strict=True))


def chosen(blocks: Sequence[Certified], most: int, step_g: float) -> list[Certified]:
    """Return the few to name: on the front, different, the one to pour first.

    Parameters
    ----------
    blocks : sequence of Certified
        All of them seal.
    most : int
    step_g : float
        What a step of work counts for [g].
    """
    ahead = sorted(front(list(blocks)), key=lambda each: order_of(each, step_g))
    found: list[Certified] = []
    for each in ahead:
        if len(found) == most:
            break
        if not any(_alike(each, o) or stands_in(o.costs(), each.costs()) for o in found):
            found.append(each)
    return found


def _alike(a: Certified, b: Certified) -> bool:
    return _are_alike(a.draft.data, a.figures, b.draft.data, b.figures)


def is_like_one(draft: Draft, blocks: Sequence[Certified]) -> bool:
    """Return whether a block is like one that was computed in full, or no better than one."""
    return any(
        _are_alike(draft.data, draft, b.draft.data, b.figures)
        or stands_in(b.draft.costs(), draft.costs())
        for b in blocks
    )


def _are_alike(
    a_data: dict[str, Any],
    a: Draft | DesignFigures,
    b_data: dict[str, Any],
    b: Draft | DesignFigures,
) -> bool:
    if _built_as(a_data) != _built_as(b_data):
        return False
    rubber = abs(a.rubber_g - b.rubber_g) / max(b.rubber_g, 1e-9)
    return rubber <= ALIKE_RUBBER and abs(a.bands - b.bands) <= ALIKE_BANDS


def _built_as(data: dict[str, Any]) -> tuple[Any, ...]:
    """Return what distinguishes blocks for who builds them: outline, corners, boards, models."""
    block = data["block"]
    corner = ""
    if block.get("bevel_mm", 0.0) > PLAIN_BEVEL_MM:
        corner = "bevel"
    elif block.get("round_mm", 0.0) > PLAIN_ROUND_MM:
        corner = "radius"
    boards = tuple(board["covers"] for board in data.get("cradle", ()))
    places = [cavity.get("centre_mm", (0.0, 0.0)) for cavity in data["cavity"]]
    first, last = places[0], places[-1]
    apart = (round(abs(last[0] - first[0])), round(abs(last[1] - first[1])))
    return block["shape"], corner, boards, len(data["cut"]), apart


def beaten_by(figures: DesignFigures, others: Sequence[DesignFigures]) -> bool:
    """Return whether one of the others is better in everything, or as good and better."""
    return any(dominates(other.costs(), figures.costs()) for other in others)
