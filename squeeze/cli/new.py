"""The command `squeeze new`: a mold file to start from."""

from __future__ import annotations

import os
import shlex
from pathlib import Path
from typing import Annotated

import typer

from squeeze.cli.preamble import DONE


def new(
    name: Annotated[str, typer.Argument(help="Name of the file, with or without .toml.")],
    kind: Annotated[
        str | None,
        typer.Option(metavar="KIND", help="Kind of mold: bars, knobs, egg, figurine, round."),
    ] = None,
) -> int:
    """Write a mold file to start from; remarks in it explain each line."""
    from squeeze.mold import BadInput, Fault
    from squeeze.show.start import start
    from squeeze.show.start_kinds import KINDS
    from squeeze.show.write import CannotWrite, check_places, write_all

    if kind is not None and kind not in KINDS:
        known = "; ".join(f"{word}: {what}" for word, what in KINDS.items())
        raise BadInput([Fault("--kind", f'"{kind}" came; there are {known}')])
    path = Path(name if name.endswith(".toml") else f"{name}.toml")
    check_places([path])
    if os.path.lexists(path):
        raise CannotWrite(f"{path}: this file is there already; squeeze new leaves it as it is")
    write_all({path: lambda part: part.write_text(start(path.stem, kind), encoding="utf-8")})
    said, figure = (shlex.quote(str(each)) for each in (path, f"{path.stem}.png"))
    typer.echo(f"Wrote {path}. Next: squeeze close {said} --figure {figure}")
    return DONE
