"""What `squeeze close` does after the closing: variations, advice, and telling it all."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console
from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn

from squeeze.mold import Mold
from squeeze.mold.file.mold_file import dump
from squeeze.show.export import as_text
from squeeze.show.text.verdict import (
    advice_lines,
    castings,
    cost_lines,
    decision_json,
    flash_line,
    seal_lines,
    variation_lines,
)
from squeeze.show.write import CannotWrite
from squeeze.solve import Block, Closing
from squeeze.solve.closing import Outcome
from squeeze.verdict import Verdict, judge
from squeeze.verdict.advice.advice import Advice, advise
from squeeze.verdict.advice.rubber_cost import RubberCost, costs
from squeeze.verdict.fineness import MeshError, mesh_error
from squeeze.verdict.uncertainty import Uncertainty, uncertainty
from squeeze.verdict.words import length, pressure

NOTABLE = 0.1  # change of the widest gap or the least pressure that is worth telling


def varied(block: Block, closing: Closing) -> Uncertainty | None:
    """Close the block in all variations, with a bar on stderr; None when there is no answer."""
    told = closing.trust.outcome is Outcome.CONVERGED and closing.lands
    if not told or not any(land.mean_pressure_kpa > 0 for land in closing.lands):
        return None
    columns = (TextColumn("Varying rubber, friction and bands"), BarColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=None)
        return uncertainty(block, closing, lambda n, of: bar.update(task, completed=n, total=of))


def advised(mold: Mold, least_wall_mm: float | None) -> Advice:
    """Try changes, telling each on stderr."""
    columns = (SpinnerColumn(), TextColumn("{task.description}"))
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("Trying changes")
        return advise(
            mold, least_wall_mm, lambda what: bar.update(task, description=f"Trying {what}")
        )


def followed(block: Block, closing: Closing, follow: bool) -> Closing | None:
    """Close once more with bands that follow the deformed block.

    None when that is done already, or changes little.
    """
    wrap, told = closing.wrap, closing.trust.outcome is Outcome.CONVERGED
    if follow or wrap is None or not told or not closing.lands:
        return None
    with Console(stderr=True).status("Laying the bands round the deformed block ..."):
        after = block.close(closing.loads, follow=True)
    if after.trust.outcome is not Outcome.CONVERGED:
        return None
    gaps = [max(land.largest_gap_mm for land in each.lands) for each in (closing, after)]
    least = [min(land.least_pressure_kpa for land in each.lands) for each in (closing, after)]
    changed = any(abs(a - b) > NOTABLE * max(a, b) for a, b in (gaps, least))
    return after if changed else None


def followed_lines(closing: Closing, after: Closing | None, inches: bool) -> tuple[str, ...]:
    """Say what bands that follow the deformed block change."""
    if closing.followed:
        return ("Variations are computed with bands laid round the block as poured.",)
    if after is None:
        return ()
    gap, least = (
        [f(getattr(land, key) for land in each.lands) for each in (closing, after)]
        for f, key in ((max, "largest_gap_mm"), (min, "least_pressure_kpa"))
    )
    said = (
        f"the widest gap is {length(gap[1], inches)} instead of {length(gap[0], inches)}"
        if max(gap) > 0
        else f"the least pressure is {pressure(least[1])} instead of {pressure(least[0])}"
    )
    return (
        f"Where a flat bulges, the bands press back on it: laid round the deformed block, {said}"
        " (--follow computes everything so). What is said on more bands holds for small"
        " deformations.",
    )


def finer(mold: Mold, closing: Closing, follow: bool) -> MeshError:
    """Solve again on a finer mesh, telling so on stderr."""
    with Console(stderr=True).status("Solving again on a finer mesh ..."):
        return mesh_error(mold, closing, follow)


def mesh_line(error: MeshError) -> str:
    """Say what the finer mesh changes."""
    return (
        f"A mesh with edges half as long ({error.unknowns} unknowns) changes mean pressures by up"
        f" to {error.pressure_pct:.2g} % and gaps by up to {error.gap_mm:.2g} mm."
    )


def rubber(mold: Mold, advice: Advice | None) -> tuple[RubberCost, ...]:
    """Return what the block and others round the same cavities cost."""
    return costs(mold) if advice is None else advice.costs


def put_json(
    part: Path,
    closing: Closing,
    mold: Mold,
    found: Uncertainty | None,
    advice: Advice | None,
    price: tuple[RubberCost, ...],
) -> None:
    """Write everything as JSON; lengths are told in mm."""
    verdict = judge(closing, mold=mold)
    text = as_text(closing, verdict, decision_json(verdict, found, advice, price))
    part.write_text(text + "\n", encoding="utf-8")


def put_changed(part: Path, advice: Advice | None) -> None:
    """Write the mold with the first change of the list."""
    if advice is None or not advice.changes:
        raise CannotWrite("there is no change to write: none that was tried makes it better")
    text = f"# {advice.changes[0].say}.\n{dump(advice.changes[0].mold)}"
    part.write_text(text, encoding="utf-8")


def tell_seal(screen: Console, closing: Closing, verdict: Verdict, inches: bool) -> None:
    """Print leaks or the weakest barrier, flash, and the table of castings."""
    if closing.trust.outcome is not Outcome.CONVERGED:
        return
    for line in (*seal_lines(closing, verdict, inches), *flash_line(verdict.flash, inches)):
        _say(screen, line)
    if verdict.cavities:
        screen.print()
        screen.print(castings(verdict, inches))


def tell_decision(
    verdict: Verdict,
    found: Uncertainty | None,
    advice: Advice | None,
    price: tuple[RubberCost, ...],
    more: tuple[str, ...],
    screen: Console,
    inches: bool,
) -> None:
    """Print what following bands change, variations, advice and rubber."""
    for line in more:
        _say(screen, line)
    if found is not None:
        for line in variation_lines(found, inches):
            _say(screen, line)
    if advice is not None:
        screen.print()
        for line in advice_lines(advice, inches, verdict.advice):
            _say(screen, line)
        screen.print()
    for line in cost_lines(price):
        _say(screen, line)


def _say(screen: Console, line: str) -> None:
    screen.print(line, markup=False, soft_wrap=not screen.is_terminal)
