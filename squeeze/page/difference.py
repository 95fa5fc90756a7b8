"""What differs between two closings of a mold, in words."""

from __future__ import annotations

from typing import Any

from squeeze.mold import Mold, dict_of
from squeeze.mold.tables.values import came
from squeeze.solve.closing import Closing
from squeeze.verdict import Verdict, length, pressure

SAME_SHARE = 0.02
"""Figures that differ by less than this are told as the same."""

MOST_CHANGES = 6


def difference(
    before: tuple[Closing, Verdict], after: tuple[Closing, Verdict], inches: bool = False
) -> list[str]:
    """Return what is better or worse in `after` than in `before`, one sentence each."""
    if any(not closing.outcome.has_answer for closing, _ in (before, after)):
        return ["One of the two has no answer, so they cannot be compared."]
    if not before[0].lands or not after[0].lands:
        return ["One of the two has no cut with rubber on both sides."]
    return [
        _sealing(before[1], after[1]),
        _gap(before[0], after[0], inches),
        _pressure(before[0], after[0]),
        _squash(before[0], after[0], inches),
    ]


def changes(before: Mold, after: Mold) -> list[str]:
    """Return what was changed in the mold itself, e.g. ``block.bevel_mm from 15 to 35``."""
    old, new = _leaves(dict_of(before)), _leaves(dict_of(after))
    told = [
        f"{key} from {_told(old.get(key))} to {_told(new.get(key))}"
        for key in dict.fromkeys([*old, *new])
        if old.get(key) != new.get(key)
    ]
    more = len(told) - MOST_CHANGES
    return told[:MOST_CHANGES] + ([f"and {more} more"] if more > 0 else [])


def _told(value: object) -> str:
    return "not given" if value is None else came(value)


def _leaves(value: Any, key: str = "") -> dict[str, Any]:
    if isinstance(value, dict):
        pairs = [(str(k), v) for k, v in value.items()]
    elif isinstance(value, list | tuple) and value and isinstance(value[0], dict):
        pairs = [(str(v.get("name", i)), v) for i, v in enumerate(value, start=1)]
    else:
        return {key: value}
    return {
        leaf: found
        for name, inner in pairs
        for leaf, found in _leaves(inner, f"{key}.{name}" if key else name).items()
    }


def _sealing(before: Verdict, after: Verdict) -> str:
    counts = [sum(not land.seals for land in each.lands) for each in (before, after)]
    told = [
        _leaking(leaks, len(each.lands))
        for leaks, each in zip(counts, (before, after), strict=True)
    ]
    if counts[0] == counts[1] and told[0] == told[1]:
        return f"Sealing is the same: {told[0]}."
    return f"Before, {told[0]}; now, {told[1]}."


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


def _squash(before: Closing, after: Closing, inches: bool) -> str:
    old, new = (
        max((cavity.largest_shift_mm for cavity in each.cavities), default=0.0)
        for each in (before, after)
    )
    words = ("is squashed less:", "is squashed more:")
    return _moved("The casting", old, new, lambda mm: length(mm, inches), words)


def _moved(what: str, old: float, new: float, tell: Any, words: tuple[str, str]) -> str:
    if abs(new - old) <= SAME_SHARE * max(abs(old), abs(new)):
        verb = "stays at" if ":" not in words[0] else "is squashed alike, by"
        return f"{what} {verb} {tell(new)}."
    word = words[0] if new < old else words[1]
    return f"{what} {word} from {tell(old)} to {tell(new)}."
