"""What a verdict says beyond the lands: leaks, flash, castings, variations, advice, rubber."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from rich.table import Table
from rich.text import Text

from squeeze.mold.file.mold_file import dict_of
from squeeze.mold.tables.mold import Mold
from squeeze.show.text.lands import empty_table
from squeeze.solve.closing import Closing
from squeeze.verdict import Verdict
from squeeze.verdict.advice.change import Change, say_figures, say_harms
from squeeze.verdict.advice.rubber_cost import RubberCost
from squeeze.verdict.casting.flash import FINE_MM, HAIRLINE_MM, HEAVY_MM, Flash
from squeeze.verdict.figures import BY_NAME, range_in_words, times
from squeeze.verdict.quantities import shrinkage_of
from squeeze.verdict.seal.barrier import Barrier
from squeeze.verdict.seal.leak import Leak
from squeeze.verdict.uncertainty import NOT_ONE, Uncertainty, say_variations
from squeeze.verdict.words import MM_PER_INCH, length, place, pressure

if TYPE_CHECKING:
    from squeeze.verdict.advice.advice import Advice

MOST_LEAKS = 4


def short_castings(verdict: Verdict, inches: bool = False) -> Table | str:
    """Return the castings in brief: a line each, or one line where they are all clean."""
    scale, digits, unit = (1 / MM_PER_INCH, 3, "in") if inches else (1.0, 2, "mm")
    if verdict.head.good:
        off, step = (
            length(max(getattr(each, name) for each in verdict.cavities), inches)
            for name in ("largest_shift_mm", "step_mm")
        )
        grade = verdict.flash.grade
        return f"Castings: {grade}, off by {off} at most; the largest step is {step}."
    made = empty_table(tight=True)
    made.add_column("casting", overflow="fold")
    made.add_column("flash", no_wrap=True)
    for head in ("thick", "off by", "step"):
        made.add_column(f"{head} {unit}", justify="right", no_wrap=True)
    for flash, cavity in zip(verdict.flash.castings, verdict.cavities, strict=True):
        sizes = (flash.thickness_mm, cavity.largest_shift_mm, cavity.step_mm)
        cells = (f"{size * scale:.{digits}f}" for size in sizes)
        made.add_row(Text(cavity.name), flash.grade, *cells)
    return made


def castings(verdict: Verdict, inches: bool = False) -> Table:
    """Return the table of castings: flash on them, and what they are off by."""
    scale, digits, unit = (1 / MM_PER_INCH, 3, "in") if inches else (1.0, 2, "mm")
    made = empty_table(tight=False)
    made.add_column("casting", overflow="fold")
    made.add_column("flash", no_wrap=True)
    for head in (
        f"thick\n{unit}",
        f"reach\n{unit}",
        "mass\ng",
        f"width\n{unit}",
        f"height\n{unit}",
    ):
        made.add_column(head, justify="right", no_wrap=True)
    for head in ("area\n%", f"off by\n{unit}", f"step\n{unit}"):
        made.add_column(head, justify="right", no_wrap=True)
    for flash, cavity in zip(verdict.flash.castings, verdict.cavities, strict=True):
        sizes = (cavity.width_change_mm, cavity.height_change_mm)
        made.add_row(
            Text(cavity.name),
            flash.grade,
            f"{flash.thickness_mm * scale:.{digits}f}",
            f"{flash.reach_mm * scale:.{digits - 1}f}",
            "-" if flash.mass_g is None else f"{flash.mass_g:.2f}",
            *(f"{size * scale:+.{digits}f}" for size in sizes),
            f"{cavity.area_change_pct:+.1f}",
            f"{cavity.largest_shift_mm * scale:.{digits}f}",
            f"{cavity.step_mm * scale:.{digits}f}",
        )
    return made


SECOND_PCT = 0.1
"""Second-order change of area from which on it has a line of its own [%]."""


def area_lines(closing: Closing, verdict: Verdict) -> list[str]:
    """Say what of a small-deformation change of area goes with the square of the displacement."""
    squashed = [each for each in verdict.cavities if abs(each.area_second_pct) >= SECOND_PCT]
    if closing.deformation.is_large or not squashed:
        return []
    worst = max(squashed, key=lambda each: abs(each.area_second_pct))
    return [
        f"Area of '{worst.name}': {worst.area_second_pct:+.1f} % of the"
        f" {worst.area_change_pct:+.1f} % go with the square of the shift. Small deformation does"
        " not vouch for that part."
    ]


def seal_lines(closing: Closing, verdict: Verdict, inches: bool = False) -> list[str]:
    """Return the leaks, and the barrier that gives first."""
    if not closing.outcome.has_answer:
        return []
    leaks, weakest = verdict.seal.leaks, verdict.seal.weakest
    lines = [_leak(leak) for leak in leaks[:MOST_LEAKS]]
    if len(leaks) > MOST_LEAKS:
        more = len(leaks) - MOST_LEAKS
        lines.append("There is one more leak." if more == 1 else f"There are {more} more leaks.")
    if weakest is not None and not leaks:
        lines += [_weakest(closing, weakest, inches), *_evenness(closing)]
    return lines


def _weakest(closing: Closing, weakest: Barrier, inches: bool) -> str:
    land = closing.lands[weakest.land]
    x, y = (place(float(v[weakest.place]), inches) for v in (land.x_mm, land.y_mm))
    return (
        f"The weakest barrier, between {weakest.start} and {weakest.end}, presses"
        f" {pressure(weakest.pressure_kpa)}, {times(weakest.margin)} times as hard as the resin"
        f" (land {weakest.land + 1}, at x = {x}, y = {y})."
    )


def _evenness(closing: Closing) -> list[str]:
    """Say which land presses least evenly; nothing where one stands open."""
    even = [land.evenness for land in closing.lands]
    if min(even) == 0:
        return []
    number = even.index(min(even)) + 1
    return [
        f"Land {number} presses least evenly: its least pressure is {min(even):.2f} of its mean."
    ]


def _leak(leak: Leak) -> str:
    numbers = [str(k + 1) for k in leak.lands]
    lands = f"land {numbers[0]}" if len(numbers) == 1 else f"lands {', '.join(numbers)}"
    only = pressure(leak.barrier_kpa)
    over = f": no place on its path presses harder than {only}" if leak.barrier_kpa else ""
    return f"Leak: resin gets from {leak.start} to {leak.end} along {lands}{over}."


def flash_line(flash: Flash, inches: bool = False) -> list[str]:
    """Return the sentence on flash with the thresholds of its grades."""
    if not flash.lines:
        return []
    if flash.thickness_mm == 0:
        return ["Flash: clean. No land stands open at a cavity."]
    limit = "the resin sets there" if flash.timed else "up to the first sealed place"
    thick, reach = (length(v, inches) for v in (flash.thickness_mm, flash.reach_mm))
    said = [f"Flash: {flash.grade}. It is {thick} thick at most and runs {reach} in ({limit})."]
    if flash.mass_g is not None:
        said.append(f"All castings together carry {flash.mass_g:.2g} g.")
    if flash.parting_line_mm is not None and flash.to_clean_mm is not None:
        clean, whole = (length(v, inches) for v in (flash.to_clean_mm, flash.parting_line_mm))
        said.append(f"{clean} of {whole} of parting line need cleaning.")
    bounds = [
        f"{mm / MM_PER_INCH:.4f} in" if inches else f"{mm:g} mm"
        for mm in (HAIRLINE_MM, FINE_MM, HEAVY_MM)
    ]
    said.append(
        f"Grades: clean under {bounds[0]}, fine line under {bounds[1]}, flash under {bounds[2]}."
    )
    return [" ".join(said)]


RANGED = ("margin", "largest_gap_mm", "flash_thickness_mm", "largest_shift_mm")
"""Figures whose range over the variations is printed."""


def variation_lines(found: Uncertainty, inches: bool = False) -> list[str]:
    """Return how sure the figures are: in how many variations it seals, and their ranges."""
    if not found.variations:
        return [NOT_ONE]
    ranges = [found.range_of(name) for name in RANGED]
    cells = [
        f"{BY_NAME[each.name].words} {range_in_words(each.name, each.low, each.high, inches)}"
        for each in ranges
    ]
    margin = ranges[0]
    cells[0] += f" ({times(margin.given)} as given)"
    count = len(found.variations)
    return [say_variations(found), f"Range over the {count} variations: {'; '.join(cells)}."]


def advice_lines(advice: Advice, inches: bool = False, printed: tuple[str, ...] = ()) -> list[str]:
    """Return the advice, each change with its figures before and after; not what was `printed`."""
    from squeeze.verdict.advice.advice import AT_A_PRICE  # with it comes all that tries changes

    lines = [AT_A_PRICE] if advice.at_a_price else []
    for number, change in enumerate(advice.changes, start=1):
        end = "" if change.after.seals else " (better, but it does not seal yet)"
        end = " (better, but flash is left)" if not end and not change.after.good else end
        lines += [f"{number}. {change.say}{end}.", f"   {say_figures(change, inches)}."]
        lines += [f"   {harms}"] if (harms := say_harms(change, inches)) else []
    if not advice.changes and advice.tried > 1 and not advice.before.good:
        lines.append("No single change that was tried makes it better.")
    if not advice.changes and advice.before.good:
        lines.append("Nothing to mend: it seals, and flash is no nuisance.")
    lines += [text for text in advice.say if text not in printed]
    wall = length(advice.least_wall_mm, inches)
    if advice.tried > 1:
        lines.append(
            f"{advice.tried} molds were tried for this; each keeps a wall of {wall} or more."
        )
    return lines


def cost_lines(costs: tuple[RubberCost, ...]) -> list[str]:
    """Return what round costs: rubber of each block, with its price when there is one."""
    return [f"Rubber: {'; '.join(_cost(each) for each in costs)}."]


def _cost(rubber: RubberCost) -> str:
    price = "" if rubber.price is None else f", price {rubber.price:.2f}"
    return f"{rubber.what} takes {rubber.volume_cm3:.0f} cm3, {rubber.mass_g:.0f} g{price}"


def shrinkage_lines(mold: Mold, inches: bool = False) -> list[str]:
    """Return what cure shrinkage does; nothing where the mold does not say how much there is."""
    found = shrinkage_of(mold)
    if not found or not found.percent:
        return []
    bows = max((bow for _, bow in found.bow_mm), default=0.0)
    sizes = max((max(size[1:]) for size in found.sizes), default=0.0)
    return [
        f"Cure shrinkage of {found.percent:g} % makes castings up to {length(sizes, inches)}"
        f" smaller and bows the cuts by {length(bows, inches)} at most; --shrinkage closes them so."
    ]


def decision_json(
    verdict: Verdict,
    varied: Uncertainty | None = None,
    advice: Advice | None = None,
    costs: tuple[RubberCost, ...] = (),
) -> dict[str, Any]:
    """Return all of this as plain data, beside what `as_json` holds."""
    said: dict[str, Any] = {
        "seal": asdict(verdict.seal),
        "flash": asdict(verdict.flash),
        "castings": [asdict(cavity) for cavity in verdict.cavities],
        "rubber": [asdict(each) for each in costs],
    }
    if varied is not None:
        counts = {"seals_in": varied.seals_in, "closes_in": varied.closes_in}
        counts |= {"unsolved": varied.unsolved, "left_out": varied.left_out}
        cells = {
            "given": varied.given.as_data(),
            "variations": [
                asdict(each) | {"figures": each.figures.as_data()} for each in varied.variations
            ],
            "ranges": [asdict(each) for each in varied.ranges],
            "friction": varied.friction,
        }
        said["variations"] = {**cells, **counts, "say": say_variations(varied)}
    if advice is not None:
        said["advice"] = {
            "changes": [_change(change) for change in advice.changes],
            "say": list(advice.say),
            "before": advice.before.as_data(),
            "least_wall_mm": advice.least_wall_mm,
            "tried": advice.tried,
            "refused": advice.refused,
            "left_out": advice.left_out,
        }
    return said


def _change(change: Change) -> dict[str, Any]:
    names = ("kind", "say", "wall_before_mm", "wall_mm", "force_balance", "complementarity")
    names += ("clean_in", "varied")
    records = ("rubber_before", "rubber")
    plain = {name: getattr(change, name) for name in names}
    plain |= {name: asdict(getattr(change, name)) for name in records}
    plain |= {"harms": [asdict(harm) for harm in change.harms]}
    plain |= {"before": change.before.as_data(), "after": change.after.as_data()}
    return plain | {"mold": dict_of(change.mold)}
