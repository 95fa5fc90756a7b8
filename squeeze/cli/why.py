"""The command `squeeze why`: what may have caused the flash on a casting."""

from __future__ import annotations

import json as json_text
from typing import Annotated

import typer

from squeeze.cli.preamble import (
    BAD_INPUT,
    DONE,
    Inches,
    Json,
    MoldFile,
    Voice,
    progress,
    writable,
)


def why(
    mold: MoldFile,
    flash: Annotated[
        str,
        typer.Option(
            metavar="MM",
            help='How thick it was: mm (inches with --inches), "fine line", "can feel it" or'
            ' "thick as card".',
        ),
    ],
    at: Annotated[str, typer.Option(metavar="NAME", help="The cavity whose casting has it.")] = "",
    json: Json = None,
    inches: Inches = False,
) -> int:
    """Say what may have caused the flash on a casting, and how to find out at the bench."""
    can_write = writable([json], mold)
    from squeeze.mold import load
    from squeeze.show.start import CAUTION
    from squeeze.show.text.why import why_data, why_table
    from squeeze.show.write import write_all
    from squeeze.verdict.why import thickness_of, why

    thick = thickness_of(flash, inches)
    with progress("Trying what may be off") as report:
        found = why(load(mold), thick, at, report, inches)
    voice = Voice(json, inches=inches)
    voice.say(found.say, style="bold")
    if found.found:
        voice.show(why_table(found))
    voice.say(CAUTION)
    if not can_write:
        return BAD_INPUT
    if json is not None:
        text = json_text.dumps(why_data(found), indent=1) + "\n"
        write_all({json: lambda part: part.write_text(text, encoding="utf-8")})
    return DONE
