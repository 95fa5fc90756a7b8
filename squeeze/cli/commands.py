"""All commands, in the order of ``squeeze --help``. Nothing heavy is imported before one runs."""

from __future__ import annotations

import errno
import os
import sys
import warnings
from typing import Annotated

import typer

from squeeze.cli.bands import bands
from squeeze.cli.close import close
from squeeze.cli.cradle import cradle
from squeeze.cli.design import design
from squeeze.cli.new import new
from squeeze.cli.page import page
from squeeze.cli.preamble import BAD_INPUT, attempt, command
from squeeze.cli.sheet import sheet
from squeeze.cli.slice import slice
from squeeze.cli.study import study
from squeeze.cli.why import why

ABOUT = "Computes how hard and how evenly the cut faces of a rubber mold press on each other."

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,  # plain help comes three times as fast, and names in it stay names
    help=ABOUT,
    epilog="Start with: squeeze new barrels, then: squeeze close barrels.toml",
)


def _version(asked: bool) -> None:
    if asked:
        from squeeze import __version__

        typer.echo(f"squeeze {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool,
        typer.Option(
            "--version", metavar="", callback=_version, is_eager=True, help="Print the version."
        ),
    ] = False,
) -> None:
    pass


for each, doing, example in (
    (close, "closing the cuts of {mold}", "close barrels.toml --figure barrels.png"),
    (design, "designing a block for {mold}", "design barrels.toml"),
    (bands, "counting the bands for {mold}", "bands barrels.toml --figure bands.png"),
    (cradle, "comparing cradles for {mold}", "cradle barrels.toml --templates saw/"),
    (sheet, "writing the bench sheet of {mold}", "sheet barrels.toml --paper letter"),
    (why, "looking for what made {mold} flash", "why barrels.toml --flash 0.2"),
    (slice, "slicing models", "slice bead.stl --units mm"),
    (study, "running the study {file}", "study bevels.toml --csv bevels.csv"),
    (page, "serving the page", "page barrels.toml"),
    (new, "writing a mold file to start from", "new barrels"),
):
    command(app, each, doing, example)


def run() -> None:
    """Run the command that was typed; leave with its status."""
    if not sys.warnoptions:
        warnings.simplefilter("ignore")  # they speak to programmers
    for stream in (sys.stdout, sys.stderr):
        if stream is not None:  # a name that the terminal's letters lack must not end the program
            getattr(stream, "reconfigure", lambda **_: None)(errors="backslashreplace")
    sys.exit(attempt(_run, "reading the command line"))


def _run() -> int:
    """Run the command and return its status, once all it printed has been taken."""
    status = 0
    try:
        app()
    except SystemExit as left:
        status = left.code if isinstance(left.code, int) else 0
    try:
        if sys.stdout is not None:
            sys.stdout.flush()
    except OSError as error:
        _drop_stdout()
        if not status and error.errno != errno.EPIPE:  # who reads a pipe may have read enough
            typer.echo(f"The answer cannot be printed: {error.strerror}.", err=True)
        return status or (1 if error.errno == errno.EPIPE else BAD_INPUT)
    return status


def _drop_stdout() -> None:
    """Let what is still to be printed go nowhere, or Python complains when it leaves."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
