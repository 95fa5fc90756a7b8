"""What the variations say, in sentences."""

from __future__ import annotations

from collections.abc import Callable

from squeeze.verdict.figures import Figures
from squeeze.verdict.uncertainty.ranges import Uncertainty
from squeeze.verdict.uncertainty.varied_closings import PULL, STIFFNESS


def say_variations(found: Uncertainty) -> str:
    """Return the sentence on all variations."""
    count = len(found.variations)
    if not count:
        return NOT_ONE
    seals = _in(found.seals_in, count)
    closes = _in(found.closes_in, count)
    what = (
        "rubber 25 % softer to 25 % stiffer, friction low and high, bands 20 % slacker and tighter"
    )
    if found.seals_in == found.closes_in:
        said = f"It closes all along and seals {seals} ({what})"
    else:
        said = f"It seals {seals}, and closes all along {closes} ({what})"
    why = _why(found)
    mesh = " The variations are on a coarser mesh." if found.fineness < 1 else ""
    return f"{said}{'; ' + why if why else ''}.{_lost(found.unsolved)}{mesh}{say_left_out(found)}"


NOT_ONE = (
    "How sure that is was not computed: varying rubber, friction and bands takes too long here."
)


def say_left_out(found: Uncertainty) -> str:
    """Say how many variations were not computed, after a space; nothing when all were."""
    left = found.left_out
    if not left:
        return ""
    return f" {left} more {'was' if left == 1 else 'were'} not computed: this block takes too long."


def _lost(count: int) -> str:
    """Say how many variations have no answer; nothing when all have one."""
    if not count:
        return ""
    if count == 1:
        return " 1 variation has no answer and counts as a failure."
    return f" {count} variations have no answer and count as failures."


def _in(part: int, count: int) -> str:
    if part == count:
        return f"in all {count} variations"
    return f"in none of {count} variations" if part == 0 else f"in {part} of {count} variations"


_CALLED = {
    ("pull", PULL[0]): "slack bands",
    ("pull", PULL[1]): "tight bands",
    ("friction", "low"): "low friction",
    ("friction", "high"): "high friction",
    ("stiffness", STIFFNESS[0]): "soft rubber",
    ("stiffness", STIFFNESS[2]): "stiff rubber",
}


def _why(found: Uncertainty) -> str:
    """Say what all variations that do not seal have in common, when it is one thing."""
    common = in_common(found, lambda figures: not figures.seals)
    return f"the others have {common}" if common else ""


def in_common(found: Uncertainty, bad: Callable[[Figures], bool]) -> str:
    """Return what all variations of which `bad` is true have in common, e.g. ``slack bands``.

    Empty when they have nothing in common, when it is true of none or of all, or when some
    variations were not computed.
    """
    if found.left_out:
        return ""
    these = [each for each in found.variations if bad(each.figures)]
    if not these or len(these) == len(found.variations):
        return ""
    return " and ".join(
        words
        for (key, value), words in _CALLED.items()
        if all(getattr(each, key) == value for each in these)
    )
