"""What a plan of bands says, in plain sentences."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from squeeze.mold.forces.bands import WORKING_STRETCH
from squeeze.solve.along.pitch import KEEPS
from squeeze.solve.outcome import Outcome
from squeeze.verdict.bands.layout import SLACK, BandLayout
from squeeze.verdict.bands.layout_words import (
    say_between,
    say_count,
    say_given,
    say_other,
    say_places,
    say_worst,
)
from squeeze.verdict.bands.plan import BandPlan
from squeeze.verdict.bands.plan_remarks import plan_remarks
from squeeze.verdict.cause import shorter_band
from squeeze.verdict.figures import times
from squeeze.verdict.grade import GOOD, SHUT_IN, VERBS
from squeeze.verdict.head import Head
from squeeze.verdict.remarks import MORE_BANDS
from squeeze.verdict.section_verdict import say_unreached
from squeeze.verdict.words import length

CRADLES = "A stiff cradle with a round back can do what bands alone cannot: see squeeze cradle."

NOT_HELD = "A piece of the block is held by nothing and will shift, whatever the number of bands."

NOTHING_CUT = "Nothing is cut here, so no band is needed."

NO_KIND = (
    "There is no band to try: name one in the mold file (a trade size, its measures, or its pull"
    " weighed with a scale)."
)

WHERE = {
    "cavity": "at the cavities",
    "middle": "in the middle of the lands",
    "outside": "at the outside",
}


@dataclass(frozen=True)
class PlanWords:
    """A plan in words.

    Attributes
    ----------
    say : str
        One plain sentence.
    lines : tuple of str
        What else to know: places, one band more or less, the rule of thumb.
    remarks : tuple of str
        What limits the answer.
    """

    say: str
    lines: tuple[str, ...]
    remarks: tuple[str, ...]


def say_plan(plan: BandPlan, inches: bool = False) -> PlanWords:
    """Return what a plan says; lengths in inches when asked."""
    if plan.nothing_cut:
        return PlanWords(NOTHING_CUT, (), ())
    if plan.unreached:
        head = plan.head
        if head is None or head.grade != SHUT_IN:
            return PlanWords(say_unreached(plan.unreached), (), ())
        return PlanWords(head.say, (f"What to do: {head.do}",), ())
    if plan.best is None:
        say, lines = _no_number(plan, inches)
        if plan.head is not None:
            say, lines = _ungraded(plan.head, say, lines)
    else:
        say, lines = _number(plan, plan.best, inches)
        if plan.head is not None:
            say, more = _graded(plan.head, say)
            lines = [*more, *lines]
        lines += _stretched(plan, plan.best, inches)
    lines += [*_given(plan, inches), *_rules(plan, inches)]
    return PlanWords(say, tuple(lines), tuple(plan_remarks(plan, inches)))


def _graded(head: Head, say: str) -> tuple[str, list[str]]:
    """Return the answer with the grade of the castings first, and what that leaves to do.

    No number of bands mends what the shape leaves open, so that comes before the number.
    """
    if head.good:
        return f"{head.grade}: {say}", []
    fewest = re.sub(r" (?:is|are) the fewest", ", the fewest", _small(say), count=1)
    return head.say, [f"What to do: {head.do}", f"That is with {fewest}"]


def _ungraded(head: Head, say: str, lines: list[str]) -> tuple[str, list[str]]:
    """Return the answer where no number is enough: what the mold does now, and what to do."""
    if head.good or head.grade in GOOD:  # it seals now, but not over the whole length
        return say, lines
    reason = head.say.removeprefix(f"{head.grade}: ")
    now = f"As the mold file has it: {_small(reason)}"
    return f"{head.grade}: {_small(say)}", [f"What to do: {head.do}", now, *lines]


def _small(say: str) -> str:
    return say[0].lower() + say[1:]


def _number(plan: BandPlan, best: BandLayout, inches: bool) -> tuple[str, list[str]]:
    count, kind = len(best.at_mm), _kind(best)
    lands = sum(len(closing.lands) for closing in best.closings)
    does = ("is", "makes") if count == 1 else ("are", "make")
    every = "the land hold" if lands == 1 else "every land hold"
    say = f"{say_count(count)} of {kind} {does[0]} the fewest that {does[1]} {every} all along."
    lines = [
        f"Put {'it' if count == 1 else 'them'} at {say_places(best, inches)}.",
        say_worst(best, inches),
    ]
    if plan.even is not None and plan.even.at_mm != best.at_mm:
        lines.append(
            f"Spread evenly, the same bands press {times(plan.even.margin)} times as hard as the"
            " resin at the worst place."
        )
    lines += [say_other(other, inches) for other in (plan.less, plan.more) if other is not None]
    return say, lines


def _stretched(plan: BandPlan, best: BandLayout, inches: bool) -> list[str]:
    """Say how far the bands are stretched, and what that means where it is unusual."""
    kind = best.kind
    if kind is None or kind.stretch is None:
        return []
    low, high = WORKING_STRETCH
    if low <= kind.stretch <= high:
        return [f"They are stretched {kind.stretch:.2f} times."]
    fact = f"They are stretched {kind.stretch:.2f} times:"
    if kind.stretch < low:
        wrap = max(stretch.block.wrap_mm for stretch in plan.stretches)
        return [
            f"{fact} below {low:g} times bands pull little, and how much is uncertain."
            f" Take {shorter_band(kind.band, wrap, inches)}."
        ]
    return [f"{fact} over {high:g} times bands creep and may snap."]


def say_table(plan: BandPlan) -> str:
    """Say which bands the table of lands is for."""
    shown = plan.shown
    if shown is None:
        return ""
    if shown is plan.best:
        count = len(shown.at_mm)
        return f"The table is for {'this' if count == 1 else 'these'} {say_count(count)}."
    tried = next((each for each in plan.tried if each.limit is shown), None)
    if tried is None:
        return "The table is for the mold file's own bands."
    return (
        f"The table is for the most that fit: {say_count(tried.most)} of {tried.kind.name}, side by"
        " side, not for the bands in the mold file."
    )


def _no_number(plan: BandPlan, inches: bool) -> tuple[str, list[str]]:
    if not plan.tried:
        return NO_KIND, []
    best = max(plan.tried, key=lambda each: each.limit.margin)
    if best.stopped_at is not None:
        most = say_count(best.stopped_at) if best.stopped_at else "no band at a place"
        return (
            f"No number of bands was found that holds. The search ended early: of"
            f" {best.kind.name} it tried {most} at most, of {best.most} that fit.",
            [],
        )
    if best.limit.outcome is Outcome.PIECE_NOT_HELD:
        return f"No number of bands is enough. {NOT_HELD}", []
    hold = best.limit.slack[best.limit.worst]
    if plan.shape_leaves_open:
        say = f"No number of bands is enough: the shape leaves the cut open {say_between(hold)}."
        return say, [MORE_BANDS, CRADLES]
    say = (
        f"No number of these bands is enough: even {best.most} of {best.kind.name}, side by side,"
        f" press only {times(hold.margin)} times as hard as the resin {say_between(hold)} once they"
        f" pull {100 * (1 - SLACK):.0f} % less than reckoned."
    )
    return say, [
        "Twice the resin's pressure is needed: use stronger bands, or change the shape.",
        CRADLES,
    ]


def _given(plan: BandPlan, inches: bool) -> list[str]:
    """Say what the mold's own bands do, and what they leave; nothing where it names none."""
    said = [] if plan.given is None else say_given(plan.given, inches)
    if plan.own is not None:
        what = plan.own.brief.removeprefix(f"{plan.own.grade}: ")
        said.append(f"With its own bands the mold {VERBS[plan.own.grade]}: {what}")
    return said


def _rules(plan: BandPlan, inches: bool) -> list[str]:
    """State the rule of thumb, of the station that asks most."""
    rules = [rule for rule in plan.rules if not np.isnan(rule.widest_mm("cavity"))]
    rules = rules or [rule for rule in plan.rules if not np.isnan(rule.widest_mm("middle"))]
    if not rules:
        return []
    first = "cavity" if not np.isnan(rules[0].widest_mm("cavity")) else "middle"
    rule = min(rules, key=lambda each: each.widest_mm(first))
    reach = {where: rule.widest_mm(where) for where in WHERE}
    kept = [f"{WHERE[w]} up to a pitch of {length(v, inches)}" for w, v in reach.items() if v > 0]
    sags = [WHERE[where] for where, value in reach.items() if value == 0]
    lines = []
    if kept:
        lines.append(
            "Rule of thumb for this block, cuts closed: midway between bands the pressure keeps"
            f" {100 * KEEPS:.0f} % of its mean {'; '.join(kept)}."
        )
    if sags:
        least = length(float(rule.pitch_mm[0]), inches)
        where = " and ".join(sags)
        lines.append(
            f"{where[0].upper()}{where[1:]} the pressure sags sooner: from a pitch of {least}."
        )
    return lines


def _kind(layout: BandLayout) -> str:
    return layout.kind.name if layout.kind else ""
