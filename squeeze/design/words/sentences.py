"""What is said of each block, of what was dropped, and of what the search showed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from typing import Any

from squeeze.design.answer import DesignFigures, Dropped
from squeeze.design.blocks.work import PLAIN_BEVEL_MM, PLAIN_ROUND_MM
from squeeze.design.certified.choose import CLEAN_ENOUGH, Certified, beaten_by
from squeeze.design.search.drafts import Draft, Found
from squeeze.mold import Mold
from squeeze.verdict.words import length

COUNTED = {1: "one", 2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight"}

ENOUGH = 3
"""Blocks that have to show a rule before it is said."""


def name_of(mold: Mold, inches: bool = False) -> str:
    """Return outline and size of a block, e.g. ``round, 92 mm``.

    Bevels and radii so small that a knife takes them off afterwards are left out.
    """
    block = mold.block
    sizes = [block.diameter_mm] if block.diameter_mm is not None else [block.width_mm]
    sizes += [] if block.height_mm is None else [block.height_mm]
    said = f"{block.shape}, {_sizes([size or 0.0 for size in sizes], inches)}"
    if block.bevel_mm > PLAIN_BEVEL_MM:
        said += f", bevels of {_sizes([block.bevel_mm], inches)}"
    elif (block.round_mm or 0.0) > PLAIN_ROUND_MM:
        said += f", corners of radius {_sizes([block.round_mm or 0.0], inches)}"
    boards = len(mold.cradle)
    return said + (f", {COUNTED.get(boards, boards)} boards" if boards else "")


def _sizes(values_mm: Sequence[float], inches: bool) -> str:
    if inches:
        return " x ".join(length(value, True).removesuffix(" in") for value in values_mm) + " in"
    return " x ".join(f"{value:g}" for value in values_mm) + " mm"


def bands_words(mold: Mold) -> str:
    """Return which bands lie on a block, e.g. ``five bands of size 64``."""
    parts = []
    for band in mold.band:
        if band.tension_n_per_mm is not None:
            parts.append(f"bands of {band.tension_n_per_mm:g} N/mm together")
            continue
        count = COUNTED.get(band.strands, str(band.strands))
        noun = "band" if band.strands == 1 else "bands"
        if band.stock is not None:
            parts.append(f"{count} {noun} of size {band.stock}")
        elif band.tension_n is not None:
            parts.append(f"{count} {noun} of {band.tension_n:g} N")
        else:
            parts.append(f"{count} {noun}")
    return " and ".join(parts) or "no bands"


def say_best(block: Certified) -> str:
    """Return the block in a few words, for the line of progress."""
    return f"{name_of(block.mold)}, {block.figures.rubber_g:.0f} g, {bands_words(block.mold)}"


BEST_IN: tuple[tuple[str, Callable[[DesignFigures], float], float], ...] = (
    ("the least rubber", lambda f: f.rubber_g, 0.01),
    ("the least work", lambda f: f.steps, 0.0),
    ("the fewest bands", lambda f: f.bands, 0.0),
    ("the largest margin of seal", lambda f: -f.margin, 0.01),
    ("the castings least squashed", lambda f: f.shift_mm, 0.02),
    ("the least flash", lambda f: f.flash_mm, 0.02),
)

WORST_IN: tuple[tuple[str, Callable[[DesignFigures], float]], ...] = (
    ("it takes the most rubber", lambda f: f.rubber_g),
    ("it is the most work", lambda f: f.steps),
    ("it squashes the castings most", lambda f: f.shift_mm),
    ("its margin is the thinnest", lambda f: -f.margin),
    ("it wants the most bands", lambda f: f.bands),
)


def say_design(number: int, block: Certified, all_blocks: Sequence[Certified]) -> str:
    """Return the sentence on one block: what speaks for it, and what against.

    Parameters
    ----------
    number : int
        From 1, as it is named.
    block : Certified
    all_blocks : sequence of Certified
        Those that it is compared with.
    """
    figures = [each.figures for each in all_blocks]
    own = block.figures
    best = [words for words, of, near in BEST_IN if _is_best(own, figures, of, near)]
    worst = [words for words, of in WORST_IN if _is_worst(own, figures, of)]
    start = f"{name_of(block.mold)}: "
    held = f"with {bands_words(block.mold)}"
    praise = _listed(best[:2]) if best else "a middle course"
    if len(all_blocks) == 1:
        praise = "the only block that holds"
    against = f"; {worst[0]}" if worst and len(all_blocks) > 1 else ""
    said = f"{start}{praise}, {held}{against}."
    if number > 1:
        return said + _unclean(own)
    return f"We would pour this one. {said[0].upper()}{said[1:]}{_why_first(own, all_blocks)}"


def _why_first(own: DesignFigures, all_blocks: Sequence[Certified]) -> str:
    if own.clean_in < CLEAN_ENOUGH:
        return _unclean(own)
    rest = "all 12" if own.clean_in == 12 else f"{own.clean_in} of 12"
    said = f" It comes out clean in {rest} variations of rubber, friction and bands"
    if len(all_blocks) > 1:
        said += ", and of those that do it takes the least rubber and work together"
    return said + "."


def _unclean(own: DesignFigures) -> str:
    if own.clean_in >= CLEAN_ENOUGH:
        return ""
    if own.good_in >= CLEAN_ENOUGH:
        return (
            f" It seals in all 12 variations and is clean in {own.clean_in}; in the others a fine"
            f" line shows: a step of up to {length(own.step_mm)}."
        )
    return f" It seals in all 12 variations, but is clean in only {own.clean_in}."


def _is_best(
    own: DesignFigures,
    others: Sequence[DesignFigures],
    of: Callable[[DesignFigures], float],
    near: float,
) -> bool:
    values = [of(each) for each in others]
    least, most = min(values), max(values)
    return most > least and of(own) <= least + near * abs(least) + 1e-9


def _is_worst(
    own: DesignFigures, others: Sequence[DesignFigures], of: Callable[[DesignFigures], float]
) -> bool:
    values = [of(each) for each in others]
    return max(values) > min(values) and of(own) >= max(values) - 1e-9


def _listed(words: Sequence[str]) -> str:
    return " and ".join(words)


def dropped_of(found: Sequence[Found], failed: Sequence[tuple[Draft, str]]) -> tuple[Dropped, ...]:
    """Return what was given up, by the reason, the most frequent first.

    `failed` has the blocks that the fine mesh did not confirm, each with the reason.
    """
    by_reason: dict[str, Counter[str]] = {}
    for each in found:
        for reason, count in each.dropped.items():
            by_reason.setdefault(reason, Counter())[each.kind] += count
    for draft, reason in failed:
        by_reason.setdefault(reason, Counter())[draft.kind] += 1
    said = [
        Dropped(
            reason, sum(kinds.values()), tuple(sorted(kinds.items(), key=lambda p: (-p[1], p[0])))
        )
        for reason, kinds in by_reason.items()
    ]
    return tuple(sorted(said, key=lambda each: (-each.count, each.reason)))


def remarks_of(
    found: Sequence[Found],
    known: Sequence[Certified],
    given: DesignFigures | None,
    mold: Mold,
    is_complete: bool,
) -> tuple[str, ...]:
    """Return what else the search showed, in sentences; `is_complete` if it came to its end."""
    said = [*_left_open(found), *_beside_the_file(known, given)]
    left = [name for name in ("filler", "push") if getattr(mold, name)]
    if left:
        plural = {"filler": "fillers", "push": "pushes"}
        said.append(
            f"The {' and '.join(plural[name] for name in left)} of the file belong to its own block"
            " and were left out."
        )
    if not is_complete and not known:
        drafts = [draft for each in found for draft in each.drafts]
        if drafts:
            best = min(drafts, key=lambda draft: draft.rubber_g)
            said.append(f"Held on a coarse mesh so far: {best.kind}, {best.rubber_g:.0f} g.")
    return tuple(said)


def _left_open(found: Sequence[Found]) -> list[str]:
    """Say what blocks that stay open have in common, where that divides what was tried in two."""
    said = []
    for each in found:
        count = len(each.open_shapes)
        if count < ENOUGH:
            continue
        start = f"All {count} blocks of the kind '{each.kind}'"
        if not each.held_shapes:
            said.append(f"{start} leave a land open, however hard the bands pull.")
            continue
        (corner, held_corner), (high, held_high) = (
            (max(shape[k] for shape in each.open_shapes), min(s[k] for s in each.held_shapes))
            for k in (0, 1)
        )
        if corner < held_corner:
            said.append(
                f"{start} with less than {length(held_corner)} off their corners leave a land open."
            )
        elif high < held_high:
            said.append(
                f"{start} that are lower than {held_high:.2f} of their width leave a land open,"
                f" even with {length(corner)} off their corners."
            )
    return said


def _beside_the_file(known: Sequence[Certified], given: DesignFigures | None) -> list[str]:
    if given is None or not known:
        return []
    first = known[0].figures
    if given.seals_in == 12:
        does = f"seals in all 12 variations and is clean in {given.clean_in}"
    else:
        does = f"seals in {given.seals_in} of 12 variations"
    less = 100.0 * (1 - first.rubber_g / given.rubber_g)
    saves = f"the first here takes {abs(less):.0f} % {'less' if less > 0 else 'more'}"
    said = [f"The block of the file takes {given.rubber_g:.0f} g and {does}; {saves}."]
    if not beaten_by(given, [each.figures for each in known]) and given.seals_in == 12:
        said.append("None of these is better than the file's block in everything.")
    return said


def tried_words(answer: Any) -> str:
    """Return how many blocks were tried for the design `answer`, and what became of them."""
    start = f"{answer.tried} blocks tried on a coarse mesh, {answer.certified} computed in full"
    parts = [f"{each.count}: {each.reason}" for each in answer.dropped]
    return f"{start}. Given up: {'; '.join(parts)}." if parts else f"{start}."
