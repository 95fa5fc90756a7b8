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
) -> int:
    """Write a mold file to start from; remarks in it explain each line."""
    from squeeze.show.start import start
    from squeeze.show.write import CannotWrite, check_places, write_all

    path = Path(name if name.endswith(".toml") else f"{name}.toml")
    check_places([path])
    if os.path.lexists(path):
        raise CannotWrite(f"{path}: this file is there already; squeeze new leaves it as it is")
    write_all({path: lambda part: part.write_text(start(path.stem), encoding="utf-8")})
    said, figure = (shlex.quote(str(each)) for each in (path, f"{path.stem}.png"))
    typer.echo(f"Wrote {path}. Next: squeeze close {said} --figure {figure}")
    return DONE
