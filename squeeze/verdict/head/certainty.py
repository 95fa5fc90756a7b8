"""How sure a grade is, from the variations."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from squeeze.verdict.casting.flash import FINE_MM
from squeeze.verdict.figures import Figures
from squeeze.verdict.film import MOST_MM
from squeeze.verdict.grade import (
    APART,
    CLEAN,
    GOOD,
    GRADES,
    LEAKS,
    VERBS,
)
from squeeze.verdict.head.record import Head
from squeeze.verdict.uncertainty import NOT_ONE, Uncertainty, in_common, say_left_out
from squeeze.verdict.words import length


def with_variations(head: Head, varied: Uncertainty, inches: bool) -> Head:
    """Add how sure the grade is; where variations have no answer a good one does not stand."""
    each = [one.figures for one in varied.variations]
    count, lost = len(each), varied.unsolved
    sure = _sure(head.grade, varied)
    if varied.film_limit_mm is not None:
        sure += f" {_film(varied.film_limit_mm, inches)}"
    sure = f"{head.sure} {sure}" if head.sure else sure
    if lost and head.grade in GOOD:
        which = in_common(varied, lambda figures: not figures.solved)
        with_it = f", those with {which}" if which else ""
        say = f"{APART} in {lost} of {count} variations{with_it}. As given: {head.say}"
        do = "Press on every piece with bands, a push or a cradle, or give the cut a key."
        return replace(head, grade=APART, say=say, do=do, sure=sure, good=False)
    bad = [figures for figures in each if figures.grade not in GOOD]
    do = head.do
    if bad and head.good:
        do = _margin(in_common(varied, lambda figures: figures.grade not in GOOD))
    return replace(head, do=do, sure=sure, good=head.good and not bad)


MARGINS = {
    "slack bands": "Pull a little harder: with slack bands it no longer holds.",
    "tight bands": "Do not pull harder: with tight bands it gets worse.",
    "low friction": "Do not count on grip: keep release agent and talc off, or press harder.",
    "high friction": "Let the faces slide: talc or a little release agent helps here.",
    "soft rubber": "Measure the rubber's hardness: with softer rubber it no longer holds.",
    "stiff rubber": "Measure the rubber's hardness: with stiffer rubber it no longer holds.",
}
"""What to do where some variations lose the good grade, by what these have in common."""


def _margin(common: str) -> str:
    """Return what to do where a good grade does not hold in all variations."""
    known = [text for word, text in MARGINS.items() if word in common]
    return known[0] if known else "Leave more margin: pull a little harder, or bevel more."


def _film(limit_mm: float, inches: bool) -> str:
    """Say how thick the film may be."""
    if limit_mm >= MOST_MM:
        return f"No film up to {length(MOST_MM, inches)} makes a land leak."
    return f"The film may be {length(limit_mm, inches)} thick before a land leaks."


def _sure(grade: str, varied: Uncertainty) -> str:
    each = [one.figures for one in varied.variations]
    count = len(each)
    if not count:
        return NOT_ONE
    left = say_left_out(varied)
    if friction := _friction_decides(varied):
        return friction + left
    alike = sum(_kind(figures.grade) == _kind(grade) for figures in each)
    if alike == count:
        return f"The same in all {count} variations of rubber, friction and bands.{left}"
    other = [f.grade for f in each if _kind(f.grade) != _kind(grade)]
    worst = max(other, key=GRADES.index)
    which = in_common(varied, lambda figures: _kind(figures.grade) != _kind(grade))
    tips = f", with {which}" if which else ""
    return (
        f"How sure: the same in {alike} of {count} variations of rubber, friction and bands; it"
        f" {VERBS[worst]} in {_many(other, worst)}{tips}.{left}"
    )


def _many(grades: Sequence[str], worst: str) -> str:
    same = grades.count(worst)
    return f"{same}" if same == len(grades) else f"{same} of the {len(grades)} others"


def _kind(grade: str) -> str:
    """Return the grade; a fine line counts as clean."""
    return CLEAN if grade in GOOD else grade


def _friction_decides(varied: Uncertainty) -> str:
    """Say what slippery and what gripping faces give, where that is what differs; else nothing."""
    low, high = (
        [one.figures for one in varied.variations if one.friction == word]
        for word in ("low", "high")
    )
    kinds = [{_kind(f.grade) for f in side} for side in (low, high)]
    if not low or not high or kinds[0] & kinds[1]:
        return ""
    ends = [max((f.grade for f in side), key=GRADES.index) for side in (low, high)]
    slippery = f"{VERBS[ends[0]]} when the faces are slippery (release agent, talc)"
    if ends[1] == LEAKS:
        grips = "is shut, but not sealed," if _shut(high) else "leaks"
    else:
        grips = VERBS[ends[1]]
    return f"Friction decides: it {slippery}; it {grips} when they grip (clean, dry faces)."


def _shut(figures: Sequence[Figures]) -> bool:
    return all(each.largest_gap_mm < FINE_MM for each in figures)
