"""The command `squeeze design`: which block to pour about the models, and how to close it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from squeeze.cli.preamble import (
    DONE,
    LEAKS,
    STOPPED,
    Inches,
    Json,
    MoldFile,
    Scheduler,
    Voice,
    Workers,
    progress,
    stoppable,
)

if TYPE_CHECKING:
    from squeeze.design import DesignAnswer

STORE = "search.sqlite"


def design(
    mold: MoldFile,
    out: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="Write there; NAME-design beside the file by default."),
    ] = None,
    workers: Workers = None,
    scheduler: Scheduler = None,
    json: Json = None,
    strict: Annotated[
        bool,
        typer.Option("--strict", metavar="", help="Exit with status 1 when no block will do."),
    ] = False,
    inches: Inches = False,
) -> int:
    """Find blocks to pour about the models: outline, cut, cradle and bands.

    The file may leave [block] out. Writes each block as a whole mold file, a picture of all of
    them, and a table as CSV.
    """
    from squeeze.design import design_blocks, load_models
    from squeeze.show.write import check_places
    from squeeze.study import open_store

    read = load_models(mold)
    folder = out or mold.with_name(f"{mold.stem}-design")
    check_places([json] if json is not None else [], mold, folder)
    folder.mkdir(parents=True, exist_ok=True)
    with open_store(folder / STORE) as store, progress("Designing") as report, stoppable():
        answer = design_blocks(
            read, workers=workers, scheduler=scheduler, store=store, progress=report
        )
    voice = Voice(json, inches=inches)
    _print_answer(answer, voice, inches)
    _write(answer, folder, json, voice, inches)
    if not answer.is_complete:
        voice.say("Stopped. What was finished is kept; the same command goes on from here.")
        return STOPPED
    return LEAKS if strict and not answer.designs else DONE


def _print_answer(answer: DesignAnswer, voice: Voice, inches: bool) -> None:
    from squeeze.show.design.words import design_table, head_lines, lines
    from squeeze.show.start import CAUTION

    first, *rest = head_lines(answer)
    voice.say(first, style="bold")
    voice.say_all(rest)
    if answer.designs:
        voice.show(design_table(answer, inches), gap=True)
    voice.say_all((*lines(answer), CAUTION))


def _write(
    answer: DesignAnswer, folder: Path, json: Path | None, voice: Voice, inches: bool
) -> None:
    from squeeze.show.design.files import design_writers, put_aside
    from squeeze.show.write import write_all

    made = design_writers(answer, folder, inches)
    for before, after in put_aside(folder, made):
        voice.say(f"{before.name} is not as this command wrote it: it is now {after.name}.")
    if json is not None:
        import json as as_json

        text = as_json.dumps(answer.as_data(), indent=1)
        made[json] = lambda part: part.write_text(text, encoding="utf-8")
    write_all(made, folder)
    voice.say_all(f"Wrote {path}." for path in made if not path.name.startswith("."))
