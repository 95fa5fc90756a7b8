"""What differs between two closings of a mold, in words."""

from __future__ import annotations

from collections.abc import Callable

from squeeze.solve import Closing
from squeeze.verdict import Verdict, length, pressure

SAME_SHARE = 0.02
"""Figures that differ by less than this count as the same."""

Tell = Callable[[float], str]


def difference(
    before: tuple[Closing, Verdict], after: tuple[Closing, Verdict], inches: bool = False
) -> list[str]:
    """Return what is better or worse in `after` than in `before`, one sentence each."""
    if any(not closing.outcome.has_answer for closing, _ in (before, after)):
        return ["One of the two has no answer, so they cannot be compared."]
    if not before[0].lands or not after[0].lands:
        return ["One of the two has no cut with rubber on both sides."]
    said = [
        _sealing(before[1], after[1]),
        _gap(before[0], after[0], inches),
        _pressure(before[0], after[0]),
    ]
    if before[0].cavities or after[0].cavities:
        said.append(_castings(before[0], after[0], inches))
    return said


def _sealing(before: Verdict, after: Verdict) -> str:
    counts = [sum(not land.seals for land in each.lands) for each in (before, after)]
    each_leaks = [
        _leaking(leaks, len(each.lands))
        for leaks, each in zip(counts, (before, after), strict=True)
    ]
    if counts[0] == counts[1] and each_leaks[0] == each_leaks[1]:
        return f"As before, {each_leaks[0]}."
    return f"Before, {each_leaks[0]}; now, {each_leaks[1]}."


def _leaking(leaks: int, lands: int) -> str:
    if not leaks:
        return "the land seals" if lands == 1 else f"all {lands} lands seal"
    if lands == 1:
        return "the land does not seal"
    return f"{leaks} of {lands} lands {'does' if leaks == 1 else 'do'} not seal"


def _gap(before: Closing, after: Closing, inches: bool) -> str:
    old, new = (max(land.largest_gap_mm for land in each.lands) for each in (before, after))
    if not old and not new:
        return "Both close all along."
    if not new:
        return f"The widest gap, {length(old, inches)}, is closed."
    if not old:
        return f"A gap of {length(new, inches)} opens that was not there."
    return _moved("The widest gap", old, new, lambda mm: length(mm, inches), ("shrinks", "grows"))


def _pressure(before: Closing, after: Closing) -> str:
    old, new = (
        sum(land.force_n_per_mm for land in each.lands)
        / sum(land.length_mm for land in each.lands)
        * 1000.0
        for each in (before, after)
    )
    return _moved("The mean pressure on the lands", old, new, pressure, ("falls", "rises"))


def _castings(before: Closing, after: Closing, inches: bool) -> str:
    old, new = (
        max((cavity.largest_shift_mm for cavity in each.cavities), default=0.0)
        for each in (before, after)
    )
    if _same(old, new, lambda mm: length(mm, inches)):
        return f"The castings are off by {length(new, inches)}, as before."
    word = "truer" if new < old else "less true"
    said = f"{length(new, inches)} off instead of {length(old, inches)}"
    return f"The castings come out {word}: {said}."


def _moved(what: str, old: float, new: float, tell: Tell, words: tuple[str, str]) -> str:
    if _same(old, new, tell):
        return f"{what} stays at {tell(new)}.".replace(" at under ", " under ")
    return f"{what} {words[new > old]} from {tell(old)} to {tell(new)}."


def _same(old: float, new: float, tell: Tell) -> bool:
    """Return whether two figures differ by nothing that matters, or read the same."""
    return abs(new - old) <= SAME_SHARE * max(abs(old), abs(new)) or tell(old) == tell(new)
