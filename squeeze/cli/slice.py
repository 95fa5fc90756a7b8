"""The command `squeeze slice`: a mold file from models on disk."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from squeeze.cli.preamble import BAD_INPUT, DONE, Voice, writable

AXES = ("x", "y", "z", "own")
UNITS = ("mm", "cm", "in", "m")


def _known_axis(name: str | None) -> str | None:
    if name is not None and name not in AXES:
        raise typer.BadParameter(f"{name}: allowed are {', '.join(AXES)}")
    return name


def _known_unit(name: str | None) -> str | None:
    if name is not None and name not in UNITS:
        raise typer.BadParameter(f"{name}: allowed are {', '.join(UNITS)}")
    return name


def slice(
    models: Annotated[
        list[Path], typer.Argument(metavar="MODEL...", help="Models: stl, obj, ply, 3mf.")
    ],
    units: Annotated[
        str | None,
        typer.Option(
            metavar="UNIT", callback=_known_unit, help="Unit of the models: mm, cm, in, m."
        ),
    ] = None,
    axis: Annotated[
        str | None,
        typer.Option(
            metavar="AXIS",
            callback=_known_axis,
            help="Axis along the block: x, y, z, or own (the model's); by default the longest.",
        ),
    ] = None,
    turn: Annotated[
        float,
        typer.Option(metavar="DEG", min=-360, max=360, help="Turn about the block's axis."),
    ] = 0.0,
    stations: Annotated[int, typer.Option(metavar="N", min=1, max=48, help="Sections.")] = 9,
    wall: Annotated[
        float, typer.Option(metavar="MM", min=2, max=200, help="Rubber round each model.")
    ] = 12.0,
    shore_a: Annotated[
        float, typer.Option(metavar="A", min=5, max=80, help="Hardness of the rubber.")
    ] = 20.0,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE", help="The mold file; by default NAME.toml.")
    ] = None,
) -> int:
    """Cut models into sections along a block, and write the mold file with a parting line."""
    path = out or Path(f"{models[0].stem}.toml")
    if not writable([path], models[0]):
        return BAD_INPUT
    from squeeze.mold import dump
    from squeeze.mold.model.mesh import read_model
    from squeeze.mold.model.orientation import say_orientation
    from squeeze.mold.model.slices import slice_models
    from squeeze.show.text.air import say_air
    from squeeze.show.write import CannotWrite, write_all
    from squeeze.verdict.air.pockets import Filling, air_in
    from squeeze.verdict.air.void import void_of_models

    if out is None and path.exists():
        raise CannotWrite(f"{path}: this file is there already; name another with --out")
    read = [read_model(model, axis, units, turn) for model in models]
    title = ", ".join(dict.fromkeys(model.name for model in read))[:200]
    sliced = slice_models(read, stations, wall, shore_a, title, path.parent)
    text = dump(sliced.mold)
    write_all({path: lambda part: part.write_text(text, encoding="utf-8")})
    filling = Filling(partial(void_of_models, sliced.placed), "models", "")
    voice = Voice(path)
    voice.say(f"Wrote {path}. Add bands, then: squeeze close {path}", style="bold")
    voice.say_all(sliced.say)
    voice.say_all(say_orientation(model) for model in read)
    voice.say_all(say_air(air_in(sliced.mold, filling)))
    return DONE
