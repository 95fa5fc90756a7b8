"""The command `squeeze bands`: how many bands, and where."""

from __future__ import annotations

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
    progress,
    writable,
)

if TYPE_CHECKING:
    from squeeze.show.write import Writers
    from squeeze.verdict.bands.plan import BandPlan
    from squeeze.verdict.bands.sentences import PlanWords


def bands(
    mold: MoldFile,
    stock: Annotated[
        bool,
        typer.Option(
            "--stock", metavar="", help="Try all trade sizes, not only the bands in the file."
        ),
    ] = False,
    figure: FigureFile = None,
    json: Json = None,
    strict: Annotated[
        bool,
        typer.Option(
            "--strict", metavar="", help="Exit with status 1 when no number of bands is enough."
        ),
    ] = False,
    inches: Inches = False,
) -> int:
    """Find how many bands the cuts need along the block, and where they go."""
    can_write = writable([figure, json], mold)
    from squeeze.mold import load
    from squeeze.show.write import write_all
    from squeeze.verdict.bands.plan import plan_bands
    from squeeze.verdict.bands.sentences import say_plan

    read = load(mold)
    with progress("Counting bands") as report:
        plan = plan_bands(read, stock, progress=report)
    said = say_plan(plan, inches)
    _print_answer(plan, said, inches, Voice(figure, json, inches=inches))
    if not can_write:
        return BAD_INPUT
    write_all(_writers(plan, said, figure, json, inches))
    return LEAKS if strict and not plan.holds else DONE


def _writers(
    plan: BandPlan, said: PlanWords, figure: Path | None, json: Path | None, inches: bool
) -> Writers:
    from squeeze.show.text.bands import bands_json

    writers = {}
    if json is not None:
        writers[json] = lambda part: part.write_text(bands_json(plan, said), encoding="utf-8")
    if figure is not None and plan.shown is not None and not plan.nothing_cut:
        writers[figure] = lambda part: _draw(part, form_of(figure), plan, said, inches)
    return writers


def _draw(part: Path, form: str, plan: BandPlan, said: PlanWords, inches: bool) -> None:
    from squeeze.show.figure.bands import bands_figure
    from squeeze.show.figure.closing import save

    save(bands_figure(plan, said, inches), part, form)


def _print_answer(plan: BandPlan, said: PlanWords, inches: bool, voice: Voice) -> None:
    from squeeze.show.start import CAUTION
    from squeeze.show.text.bands import bands_table
    from squeeze.verdict.bands.sentences import say_table

    voice.say(said.say, style="bold")
    voice.say_all(said.lines)
    if not plan.nothing_cut and not plan.unreached and plan.shown is not None:
        voice.gap()
        voice.say(say_table(plan))
        voice.show(bands_table(plan, inches))
        voice.say(
            "Ripple: least over mean pressure along the block. 1 is even; at 0 a land opens"
            " between the bands."
        )
    voice.say_all((*said.remarks, CAUTION))
