"""The command `squeeze new`: a mold file to start from, or a copy of a study."""

from __future__ import annotations

import os
import shlex
from functools import partial
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
    study: Annotated[
        str | None,
        typer.Option(metavar="STUDY", help="Copy a study of the gallery into the folder NAME."),
    ] = None,
) -> int:
    """Write a mold file to start from; remarks in it explain each line."""
    from squeeze.mold import BadInput, Fault
    from squeeze.show.start import start
    from squeeze.show.start_kinds import KINDS
    from squeeze.show.write import CannotWrite, check_places, write_all

    if study is not None:
        if kind is not None:
            raise BadInput([Fault("--kind", "a study has its own molds; leave --kind away")])
        return _copy(study, Path(name))
    if kind is not None and kind not in KINDS:
        known = "; ".join(f"{word}: {what}" for word, what in KINDS.items())
        raise BadInput([Fault("--kind", f'"{kind}" given; there are {known}')])
    path = Path(name if name.endswith(".toml") else f"{name}.toml")
    check_places([path])
    if os.path.lexists(path):
        raise CannotWrite(f"{path}: this file is there already; squeeze new leaves it as it is")
    write_all({path: lambda part: part.write_text(start(path.stem, kind), encoding="utf-8")})
    said, figure = (shlex.quote(str(each)) for each in (path, f"{path.stem}.png"))
    typer.echo(f"Wrote {path}. Next: squeeze close {said} --figure {figure}")
    return DONE


def _copy(study: str, folder: Path) -> int:
    """Copy a study of the gallery into a folder that is not there yet."""
    import shutil

    from squeeze.mold import BadInput, Fault
    from squeeze.show.write import CannotWrite, write_all
    from squeeze.study.gallery import files_of, gallery

    known = gallery()
    if study not in known:
        raise BadInput([Fault("--study", f'"{study}" given; there are {", ".join(known)}')])
    if os.path.lexists(folder):
        raise CannotWrite(f"{folder}: this is there already; squeeze new leaves it as it is")
    try:
        folder.mkdir()
    except OSError as error:
        raise CannotWrite(f"{folder}: cannot be made: {error.strerror}") from error
    files = files_of(known[study])
    write_all({folder / path.name: partial(shutil.copyfile, path) for path in files})
    molds = [path.name for path in files if path.suffix == ".toml"]
    run = f"study {shlex.quote(str(folder))}"
    if "study.toml" not in molds:
        run = f"close {shlex.quote(str(folder / molds[0]))}"
    typer.echo(f"Wrote {len(files)} files into {folder}. Next: squeeze {run}")
    return DONE
