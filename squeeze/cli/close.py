"""The command `squeeze close`: how the cuts close, what that means, what would help."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from squeeze.cli.preamble import (
    BAD_INPUT,
    DONE,
    LEAKS,
    FigureFile,
    Inches,
    Json,
    MoldFile,
    Voice,
    form_of,
    length_given,
    progress,
    writable,
)

if TYPE_CHECKING:
    from squeeze.mold import Mold
    from squeeze.show.write import Writers
    from squeeze.solve import Closing, Refined
    from squeeze.verdict import Verdict
    from squeeze.verdict.advice.advice import Advice
    from squeeze.verdict.advice.rubber_cost import RubberCost
    from squeeze.verdict.uncertainty import Uncertainty

NOTHING_TO_CHANGE = "There is nothing to write to {path}: no change that was tried is better."


def close(
    mold: MoldFile,
    figure: FigureFile = None,
    deformed: Annotated[
        bool,
        typer.Option("--deformed", metavar="", help="Draw the block as it deforms."),
    ] = False,
    json: Json = None,
    vtu: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write the finite-element field as VTU."),
    ] = None,
    strict: Annotated[
        bool,
        typer.Option("--strict", metavar="", help="Exit with status 1 when the mold leaks."),
    ] = False,
    inches: Inches = False,
    small: Annotated[
        bool,
        typer.Option(
            "--small",
            metavar="",
            help="Use small deformation only: the model of sweeps and lessons.",
        ),
    ] = False,
    shrinkage: Annotated[
        bool,
        typer.Option(
            "--shrinkage",
            metavar="",
            help="Start each cut with the largest bow that shrinkage_percent can leave.",
        ),
    ] = False,
    accuracy: Annotated[
        float | None,
        typer.Option(
            metavar="PERCENT",
            help="Error that pressures may have, in percent of the largest; 1 unless given.",
        ),
    ] = None,
    more: Annotated[
        bool,
        typer.Option(
            "--more",
            metavar="",
            help="Print everything: all figures of lands and castings, leaks, variations, rubber.",
        ),
    ] = False,
    advise: Annotated[
        bool,
        typer.Option(
            "--advise", metavar="", help="Try changes and say what each one does (some seconds)."
        ),
    ] = False,
    changed: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write the mold with the best change that was tried."),
    ] = None,
    least_wall: Annotated[
        str | None,
        typer.Option(
            metavar="MM",
            help="Rubber that changes leave round a cavity; 10 mm unless given (or inches, with"
            " --inches).",
        ),
    ] = None,
) -> int:
    """Compute how the cuts of a mold close: the verdict, a table of lands, flash, castings."""
    can_write = writable([figure, json, vtu, changed], mold)
    wall = length_given(least_wall, "--least-wall", 0.5, 1000.0, inches)
    from squeeze.mold import load
    from squeeze.solve import refined
    from squeeze.verdict import judge
    from squeeze.verdict.advice.rubber_cost import costs
    from squeeze.verdict.quantities import shrunk

    with progress("Closing the cuts") as report:
        read = shrunk(load(mold)) if shrinkage else load(mold)
        theory = "small" if small else "auto"
        found_on = refined(read, accuracy_pct=accuracy, deformation=theory, progress=report)
        closing = found_on.closing
    varied = _varied(found_on)
    verdict = judge(closing, inches, read, varied)
    advice = _advised(read, wall) if advise or changed else None
    rubber = costs(read) if advice is None else advice.costs
    found = CloseReport(read, closing, verdict, varied, advice, rubber, mold.parent)
    voice = Voice(figure, json, vtu, changed, inches=inches)
    _print_answer(found, voice, inches, more)
    if changed and not (advice and advice.changes):
        voice.say(NOTHING_TO_CHANGE.format(path=changed))
        changed = None
    if can_write:
        from squeeze.show.write import write_all

        write_all(_writers(found, figure, deformed, inches, json, vtu, changed, mold))
    if not can_write:
        return BAD_INPUT
    return LEAKS if strict and not verdict.seals else DONE


@dataclass(frozen=True)
class CloseReport:
    """All that was worked out on a mold."""

    mold: Mold
    closing: Closing
    verdict: Verdict
    varied: Uncertainty | None
    advice: Advice | None
    rubber: tuple[RubberCost, ...]
    folder: Path


def _varied(found: Refined) -> Uncertainty | None:
    """Close the block in all variations; None when there is no answer to vary."""
    from squeeze.verdict.uncertainty import uncertainty, varies

    if not varies(found.closing):
        return None
    with progress("Varying rubber, friction and bands") as report:
        return uncertainty(found.block, found.closing, report, found.coarse)


def _advised(mold: Mold, least_wall_mm: float | None) -> Advice:
    from squeeze.verdict.advice.advice import advise

    with progress("Trying changes") as report:
        return advise(mold, least_wall_mm, report)


def _print_answer(found: CloseReport, voice: Voice, inches: bool, more: bool) -> None:
    """Print the head, then a line a land and a casting; all else when asked for."""
    from squeeze.show.start import CAUTION
    from squeeze.show.text.errors import missed_lines
    from squeeze.show.text.lands import table
    from squeeze.show.text.verdict import advice_lines, short_castings
    from squeeze.verdict.grade import SHUT_IN

    closing, verdict = found.closing, found.verdict
    first, *rest = verdict.head.lines
    voice.say(first, style="bold")
    voice.say_all((*rest, *missed_lines(closing, inches)))
    if more:
        _print_more(found, voice, inches)
    else:
        if closing.lands:
            voice.show(table(closing, verdict, inches, short=True))
        if closing.outcome.has_answer and verdict.cavities and verdict.grade != SHUT_IN:
            made = short_castings(verdict, inches)
            voice.say(made) if isinstance(made, str) else voice.show(made)
    if found.advice is not None:
        voice.gap()
        voice.say_all(advice_lines(found.advice, inches, verdict.advice if more else ()))
        voice.gap()
    voice.say(CAUTION if more else f"{CAUTION} All figures: --more")


def _print_more(found: CloseReport, voice: Voice, inches: bool) -> None:
    """Print all figures, and what limits them."""
    from squeeze.mold.notes import notes_of
    from squeeze.show.text.errors import error_lines
    from squeeze.show.text.lands import notes, seats, table
    from squeeze.show.text.verdict import (
        area_lines,
        castings,
        cost_lines,
        flash_line,
        seal_lines,
        shrinkage_lines,
        variation_lines,
    )

    closing, verdict = found.closing, found.verdict
    solved = closing.outcome.has_answer
    voice.say_all(verdict.advice)
    if closing.lands:
        voice.show(table(closing, verdict, inches), gap=True)
    if closing.seats and solved:
        voice.show(seats(closing, inches))
    if solved:
        voice.say_all((*seal_lines(closing, verdict, inches), *flash_line(verdict.flash, inches)))
        if verdict.cavities:
            voice.show(castings(verdict, inches), gap=True)
            voice.say_all(area_lines(closing, verdict))
    if found.varied is not None:
        voice.say_all(variation_lines(found.varied, inches))
    voice.say_all((*cost_lines(found.rubber), *shrinkage_lines(found.mold, inches)))
    remarks = [*notes_of(found.mold, closing.section), *notes(closing, inches, castings=False)]
    voice.say_all((verdict.yardstick, *error_lines(closing, inches), *remarks))


def _writers(
    found: CloseReport,
    figure: Path | None,
    deformed: bool,
    inches: bool,
    json: Path | None,
    vtu: Path | None,
    changed: Path | None,
    mold: Path,
) -> Writers:
    """Return what writes each file that was asked for."""
    writers = {
        figure: lambda part: _draw(part, form_of(figure), found, deformed, inches),
        json: lambda part: _put_json(part, found),
        vtu: lambda part: _put_vtu(part, found.closing),
        changed: lambda part: _put_changed(part, found.advice, mold),
    }
    return {path: write for path, write in writers.items() if path is not None}


def _draw(part: Path, form: str, found: CloseReport, deformed: bool, inches: bool) -> None:
    from squeeze.mold.vents import vents_of
    from squeeze.show.figure.closing import figure, save

    vents = vents_of(found.mold)
    save(figure(found.closing, found.verdict, deformed, inches, vents), part, form)


def _put_json(part: Path, found: CloseReport) -> None:
    """Write everything as JSON; lengths are in mm."""
    from squeeze.show.export import as_text
    from squeeze.show.text.verdict import decision_json
    from squeeze.verdict import judge
    from squeeze.verdict.air.pockets import air_of
    from squeeze.verdict.quantities import quantities_of

    verdict = judge(found.closing, mold=found.mold, varied=found.varied)
    more = decision_json(verdict, found.varied, found.advice, found.rubber)
    more["quantities"] = asdict(quantities_of(found.mold))
    more["air"] = asdict(air_of(found.mold, found.folder))
    part.write_text(as_text(found.closing, verdict, more, found.mold) + "\n", encoding="utf-8")


def _put_vtu(part: Path, closing: Closing) -> None:
    from squeeze.show.export import write_vtu

    write_vtu(closing, part)


def _put_changed(part: Path, advice: Advice | None, mold: Path) -> None:
    """Write the mold file with the first change of the list; the rest stays as it was written."""
    from squeeze.mold.file.kept_comments import rewritten
    from squeeze.mold.file.toml import text_of

    assert advice is not None
    best = advice.changes[0]
    text = rewritten(text_of(str(mold), "mold file"), best.mold, mold.parent)
    part.write_text(f"# {best.say}.\n{text}", encoding="utf-8")
