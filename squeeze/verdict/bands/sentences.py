"""What a plan of bands says, in plain sentences."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from squeeze.mold.forces.bands import WORKING_STRETCH
from squeeze.mold.tables.loads import RESIN_DENSITY_G_CM3
from squeeze.solve.along.pitch import KEEPS
from squeeze.solve.along.record import AlongClosing
from squeeze.solve.outcome import Outcome
from squeeze.verdict.bands.barriers_along import SealAlong, resin_along_kpa
from squeeze.verdict.bands.layout import SLACK, BandLayout, is_enough
from squeeze.verdict.bands.plan import BandPlan
from squeeze.verdict.cause import shorter_band
from squeeze.verdict.figures import times
from squeeze.verdict.grade import GOOD, SHUT_IN
from squeeze.verdict.head import Head
from squeeze.verdict.remarks import MORE_BANDS, STRAIN_LIMIT_PCT
from squeeze.verdict.seal.barrier import YARDSTICK_KPA
from squeeze.verdict.section_verdict import say_unreached
from squeeze.verdict.words import MM_PER_INCH, length, place, pressure

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
    return PlanWords(say, tuple(lines), tuple(_remarks(plan, inches)))


def _graded(head: Head, say: str) -> tuple[str, list[str]]:
    """Return the answer with the grade of the castings first, and what that leaves to do.

    No number of bands mends what the shape leaves open, so that comes before the number.
    """
    if head.good:
        return f"{head.grade}: {say}", []
    return head.say, [f"What to do: {head.do}", f"Against the resin alone, {_small(say)}"]


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
    say = f"{_bands(count)} of {kind} {does[0]} the fewest that {does[1]} {every} all along."
    lines = [
        f"Put {'it' if count == 1 else 'them'} at {_places(best, inches)}.",
        _worst(best, inches),
    ]
    if plan.even is not None and plan.even.at_mm != best.at_mm:
        lines.append(
            f"Spread evenly, the same bands press {times(plan.even.margin)} times as hard as the"
            " resin at the worst place."
        )
    lines += [_other(other, inches) for other in (plan.less, plan.more) if other is not None]
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
            f" {shorter_band(wrap, inches)}"
        ]
    return [f"{fact} over {high:g} times bands creep and may snap."]


def _slack(layout: BandLayout) -> str:
    """Say what bands that pull less than reckoned still hold."""
    return f"{times(layout.slack_margin)} times with {100 * (1 - SLACK):.0f} % less pull"


def say_table(plan: BandPlan) -> str:
    """Say which bands the table of lands is for."""
    shown = plan.shown
    if shown is None:
        return ""
    if shown is plan.best:
        count = len(shown.at_mm)
        return f"The table is for {'this' if count == 1 else 'these'} {_bands(count)}."
    tried = next((each for each in plan.tried if each.limit is shown), None)
    if tried is None:
        return "The table is for the mold file's own bands."
    return (
        f"The table is for the most that fit: {_bands(tried.most)} of {tried.kind.name}, side by"
        " side, not for the bands in the mold file."
    )


def _other(layout: BandLayout, inches: bool) -> str:
    """Say what another number of bands does."""
    count = len(layout.at_mm)
    if count == 0:
        return "Without it nothing holds."
    press = "it presses" if count == 1 else "they press"
    hard = f"{times(layout.margin)} times as hard as the resin at the worst place"
    if layout.holds_well:
        return f"With {_bands(count)} it holds: {press} {hard}."
    hold = layout.holds[layout.worst]
    if is_enough(layout.margin):
        return (
            f"With {_bands(count)} it holds until they slacken: {press} {hard}, {_slack(layout)}."
        )
    if times(layout.margin) == times(0):
        return f"With {_bands(count)} it leaks {_between(hold)}: nothing presses there."
    return (
        f"With {_bands(count)} it leaks {_between(hold)}, {_along(hold, inches)}:"
        f" {press} only {hard}."
    )


def _no_number(plan: BandPlan, inches: bool) -> tuple[str, list[str]]:
    if not plan.tried:
        return NO_KIND, []
    best = max(plan.tried, key=lambda each: each.limit.margin)
    if best.stopped_at is not None:
        most = _bands(best.stopped_at) if best.stopped_at else "no band at a place"
        return (
            f"No number of bands was found that holds. The search ended early: of"
            f" {best.kind.name} it tried {most} at most, of {best.most} that fit.",
            [],
        )
    if best.limit.outcome is Outcome.PIECE_NOT_HELD:
        return f"No number of bands is enough. {NOT_HELD}", []
    hold = best.limit.slack[best.limit.worst]
    if plan.shape_leaves_open:
        say = f"No number of bands is enough: the shape leaves the cut open {_between(hold)}."
        return say, [MORE_BANDS, CRADLES]
    say = (
        f"No number of these bands is enough: even {best.most} of {best.kind.name}, side by side,"
        f" press only {times(hold.margin)} times as hard as the resin {_between(hold)} once they"
        f" pull {100 * (1 - SLACK):.0f} % less than reckoned."
    )
    return say, [
        "Twice the resin's pressure is needed: use stronger bands, or change the shape.",
        CRADLES,
    ]


def _given(plan: BandPlan, inches: bool) -> list[str]:
    """Say what the mold's own bands do; nothing where it names none."""
    return [] if plan.given is None else say_given(plan.given, inches)


def say_given(given: BandLayout, inches: bool = False) -> list[str]:
    """Return what the bands do that a mold names, and where it leaks; lengths in inches if asked.

    Parameters
    ----------
    given : BandLayout
        From `squeeze.verdict.bands.given.given_layout`, or of a plan.
    inches : bool
    """
    if given.outcome is Outcome.PIECE_NOT_HELD:
        return ["The mold file's own bands do not hold the block: a piece of it comes loose."]
    count = len(given.at_mm)
    own = f"The mold file's own {_bands(count).lower()}" if count else "The mold file's own pull"
    hold = given.holds[given.worst]
    if hold.margin == 0:
        return [f"{own} leave{'s' if count < 2 else ''} a path without a barrier {_between(hold)}."]
    press = "presses" if count < 2 else "press"
    hard = f"{times(given.margin)} times as hard as the resin at the worst place"
    if given.holds_well:
        return [f"{own} {press} {hard}."]
    if is_enough(given.margin):
        return [f"{own} {press} {hard}, but only {_slack(given)}: leave a margin for slack bands."]
    return [f"{own} {press} only {hard}: it leaks {_between(hold)}, {_along(hold, inches)}."]


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


def _remarks(plan: BandPlan, inches: bool) -> list[str]:
    shown = plan.shown
    found = [doubt for stretch in plan.stretches for doubt in stretch.doubts]
    if shown is not None:
        found += [*_ends(shown.closings[0], inches), *_yardstick(shown.closings[0])]
    if plan.stretches and not plan.nothing_cut:
        waves = min(stretch.block.count for stretch in plan.stretches)
        found.append(_lip(plan.mold.length_mm / waves, inches))
    if plan.strain_pct > STRAIN_LIMIT_PCT:
        found.append(
            f"The rubber is strained by {plan.strain_pct:.0f} % under these bands; over 10 % a"
            " linear calculation is only a rough guide, and the castings are squashed."
        )
    found += _left_out(plan)
    if any(cut.coefficient for cut in plan.mold.cut):
        found.append(
            "Friction between the faces is that of one section under the bands' mean pull."
        )
    return list(dict.fromkeys(found))


def _left_out(plan: BandPlan) -> list[str]:
    """Say what was not tried because the work allowed was used up."""
    left = [
        f"more than {_bands(each.stopped_at)} of {each.kind.name}"
        for each in plan.tried
        if each.stopped_at is not None
    ]
    left += [kind.name for kind in plan.untried]
    if not left:
        return []
    return [
        f"Not tried, because this block takes long to compute: {', '.join(left)}. Name one kind of"
        " band in the mold file to have it tried first."
    ]


NEAR_LIP_MM = 2.0
"""Nearer than this to the outside pressures are less sure; deeper in they are good to 5 %."""


def _lip(cell_mm: float, inches: bool) -> str:
    """Say what the pressures along the block are means of, and how good they are at the lip.

    Against four times as many waves, taken together four at a time, they are off by up to 6 % of
    the largest right at the lip, and by 3 % from 4 mm on.
    """
    return (
        f"Pressures are means over {length(cell_mm, inches)} along the block. Within"
        f" {length(NEAR_LIP_MM, inches)} of the outside they are good to a tenth of the largest"
        " there, deeper in to 5 %."
    )


def _ends(closing: AlongClosing, inches: bool) -> list[str]:
    ends = closing.ends
    if not ends.doubtful_mm:
        return []
    return [
        f"A last band lies {length(ends.overhang_mm, inches)} from an end, over half a pitch:"
        f" within {length(ends.doubtful_mm, inches)} of the end the pressure may be off by a"
        " quarter, and a round block may open."
    ]


def _yardstick(closing: AlongClosing) -> list[str]:
    asked = "A land holds where it presses twice as hard as "
    if not closing.resin_kpa.any():
        resin = (
            f"100 mm of resin of {RESIN_DENSITY_G_CM3:g} g/cm3, {pressure(YARDSTICK_KPA)}; the file"
            " gives no resin."
        )
    elif np.ptp(closing.resin_kpa) > 1e-9:
        low, high = resin_along_kpa(closing)[[-1, 0]]
        resin = f"the resin, {pressure(high)} at the foot to {pressure(low)} at the top."
    else:
        resin = f"the resin, {pressure(float(closing.resin_kpa[0]))}."
    return [asked + resin]


def _worst(layout: BandLayout, inches: bool) -> str:
    hold = layout.holds[layout.worst]
    if not np.isfinite(hold.margin):
        return "No cut leads from a cavity to the outside."
    return (
        f"The weakest barrier presses {times(hold.margin)} times as hard as the resin"
        f" ({pressure(hold.pressure_kpa)}), {_between(hold)}, {_along(hold, inches)};"
        f" {_slack(layout)}. Twice is needed."
    )


def _between(hold: SealAlong) -> str:
    if not hold.start:
        return "somewhere"
    return f"between {hold.start} and {hold.end}"


def _along(hold: SealAlong, inches: bool) -> str:
    return f"{place(hold.z_mm, inches)} along the block"


def _places(layout: BandLayout, inches: bool) -> str:
    places = [f"{z / MM_PER_INCH:.2f}" if inches else f"{round(z, 1):g}" for z in layout.at_mm]
    unit = "in" if inches else "mm"
    listed = places[0] if len(places) == 1 else f"{', '.join(places[:-1])} and {places[-1]}"
    return f"{listed} {unit} from the start of the block"


def _bands(count: int) -> str:
    return "1 band" if count == 1 else f"{count} bands"


def _kind(layout: BandLayout) -> str:
    return layout.kind.name if layout.kind else ""
