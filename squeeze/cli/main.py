"""The command line. Nothing heavy is imported before a command runs."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from rich.console import Console

    from squeeze.mold import Mold
    from squeeze.solve import Block, Closing
    from squeeze.verdict import Verdict

WIDTH = 100
FORMS = (".png", ".pdf", ".svg")

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    help="How hard and how evenly the cut faces of a rubber mold press on each other.",
    epilog="Start with: squeeze new barrels, then: squeeze close barrels.toml",
)


def main() -> None:
    """Run the command line."""
    app()


@contextmanager
def _errors_told() -> Iterator[None]:
    """Tell squeeze's own errors on stderr, without a traceback, and leave with status 2."""
    from squeeze.mold.errors import SqueezeError

    try:
        yield
    except SqueezeError as error:
        typer.echo(str(error), err=True)
        raise typer.Exit(2) from error


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
            "--version", metavar="", callback=_version, is_eager=True, help="Tell the version."
        ),
    ] = False,
) -> None:
    """How hard and how evenly the cut faces of a rubber mold press on each other."""


def _known_form(path: Path | None) -> Path | None:
    if path is not None and path.suffix.lower() not in FORMS:
        raise typer.BadParameter(f"{path}: the name has to end in {', '.join(FORMS)}")
    return path


@app.command(epilog="Example: squeeze close barrels.toml --figure barrels.png --json barrels.json")
def close(
    mold: Annotated[Path, typer.Argument(metavar="MOLD.toml", help="The mold file.")],
    figure: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", callback=_known_form, help="Draw a figure: .png, .pdf or .svg."
        ),
    ] = None,
    deformed: Annotated[
        bool,
        typer.Option("--deformed", metavar="", help="Draw the figure's section as it deforms."),
    ] = False,
    json: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write every number as JSON.")
    ] = None,
    vtu: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write the finite-element field as VTU."),
    ] = None,
    strict: Annotated[
        bool,
        typer.Option("--strict", metavar="", help="Leave with status 1 when it does not seal."),
    ] = False,
    inches: Annotated[
        bool,
        typer.Option(
            "--inches", metavar="", help="Tell lengths in inches (JSON and VTU stay in mm)."
        ),
    ] = False,
    follow: Annotated[
        bool,
        typer.Option(
            "--follow", metavar="", help="Let the bands' way and pull follow the deformed block."
        ),
    ] = False,
    check_mesh: Annotated[
        bool,
        typer.Option(
            "--check-mesh", metavar="", help="Solve again on a finer mesh and tell the difference."
        ),
    ] = False,
    advise: Annotated[
        bool,
        typer.Option(
            "--advise", metavar="", help="Try changes, tell what each does; takes some seconds."
        ),
    ] = False,
    changed: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write the mold with the first change advised."),
    ] = None,
    least_wall: Annotated[
        float | None,
        typer.Option(
            metavar="MM", min=0.5, help="Least rubber that changes leave round a cavity; 10 mm."
        ),
    ] = None,
) -> None:
    """Tell how the cuts of a mold close: the verdict, a table of lands, flash, castings."""
    with _errors_told():
        outputs = [p for p in (figure, json, vtu, changed) if p]
        block, closing, read = _closed(mold, outputs, follow)
        from squeeze.cli import close as closing_command
        from squeeze.show.write import write_all
        from squeeze.verdict import judge

        verdict = judge(closing, inches, read)
        varied = closing_command.varied(block, closing)
        advice = closing_command.advised(read, least_wall) if advise or changed else None
        price = closing_command.rubber(read, advice)
        mesh = closing_command.finer(read, closing, follow) if check_mesh else None
        bulged = closing_command.followed(block, closing, follow)
        writers = {
            figure: lambda part: _draw(part, figure, closing, verdict, deformed, inches),
            json: lambda part: closing_command.put_json(part, closing, read, varied, advice, price),
            vtu: lambda part: _put_vtu(part, closing),
            changed: lambda part: closing_command.put_changed(part, advice),
        }
        write_all({path: write for path, write in writers.items() if path is not None})
    more = closing_command.followed_lines(closing, bulged, inches)
    tell = partial(closing_command.tell_decision, verdict, varied, advice, price, more)
    _tell(closing, verdict, read, inches, tell)
    if mesh is not None:
        typer.echo(closing_command.mesh_line(mesh))
    if strict and not verdict.seals:
        raise typer.Exit(1)


def _closed(path: Path, outputs: list[Path], follow: bool) -> tuple[Block, Closing, Mold]:
    from rich.console import Console

    from squeeze.show.write import check_places

    check_places(outputs, path)
    with Console(stderr=True).status("Closing the cuts ..."):
        from squeeze.mold import load

        read = load(path)
        from squeeze.solve import Block

        block = Block(read)
        return block, block.close(follow=follow), read


def _draw(
    part: Path, path: Path | None, closing: Closing, verdict: Verdict, deformed: bool, inches: bool
) -> None:
    from squeeze.show.figure.closing import figure, save

    form = path.suffix[1:].lower() if path else None
    save(figure(closing, verdict, deformed, inches), part, form)


def _put_vtu(part: Path, closing: Closing) -> None:
    from squeeze.show.export import write_vtu

    write_vtu(closing, part)


def _put(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")


def _tell(
    closing: Closing,
    verdict: Verdict,
    mold: Mold,
    inches: bool,
    tell_decision: Callable[[Console, bool], None],
) -> None:
    from rich.console import Console

    from squeeze.cli.close import tell_seal
    from squeeze.mold.notes import notes_of
    from squeeze.show.start import CAUTION
    from squeeze.show.text.lands import notes, seats, table

    screen = Console(highlight=False)
    screen.width = min(screen.width, WIDTH) if screen.is_terminal else WIDTH
    say = partial(screen.print, markup=False, soft_wrap=not screen.is_terminal)
    say(verdict.say, style="bold")
    for line in verdict.advice:
        say(line)
    if closing.lands:
        screen.print()
        screen.print(table(closing, verdict, inches))
    if closing.seats and closing.trust.outcome == "converged":
        screen.print(seats(closing, inches))
    tell_seal(screen, closing, verdict, inches)
    tell_decision(screen, inches)
    remarks = [*notes_of(mold, closing.section), *notes(closing, inches, castings=False)]
    for line in (verdict.yardstick, *remarks, CAUTION):
        say(line)


@app.command(epilog="Example: squeeze study bevels.toml --csv bevels.csv")
def study(
    file: Annotated[
        Path,
        typer.Argument(metavar="STUDY.toml", help="The study file, or a folder with study.toml."),
    ],
    status: Annotated[
        bool, typer.Option("--status", metavar="", help="Tell how it stands; compute nothing.")
    ] = False,
    workers: Annotated[
        int | None,
        typer.Option(metavar="N", min=1, max=1024, help="Processes; one a core unless given."),
    ] = None,
    scheduler: Annotated[
        str | None,
        typer.Option(metavar="ADDRESS", help="Compute on the Dask cluster at this address."),
    ] = None,
    retry_failed: Annotated[
        bool, typer.Option("--retry-failed", metavar="", help="Try failed cases again.")
    ] = False,
    csv: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the table as CSV.")
    ] = None,
    parquet: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the table as Parquet.")
    ] = None,
    figures: Annotated[
        bool, typer.Option("--figures/--no-figures", help="Draw the figures of the study file.")
    ] = True,
) -> None:
    """Run a sweep over molds: what is missing or has changed, and nothing twice."""
    with _errors_told():
        from squeeze.cli.study import Wish, run_study, show_status

        wish = Wish(file, workers, scheduler, retry_failed, csv, parquet, figures)
        done = show_status(file) if status else run_study(wish)
    raise typer.Exit(done)


@app.command(epilog="Example: squeeze bands barrels.toml --figure bands.png")
def bands(
    mold: Annotated[Path, typer.Argument(metavar="MOLD.toml", help="The mold file.")],
    stock: Annotated[
        bool,
        typer.Option(
            "--stock", metavar="", help="Try all trade sizes, not the bands that the file names."
        ),
    ] = False,
    figure: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            callback=_known_form,
            help="Draw the pressure along the block: .png, .pdf or .svg.",
        ),
    ] = None,
    json: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write every number as JSON.")
    ] = None,
    strict: Annotated[
        bool,
        typer.Option("--strict", metavar="", help="Leave with status 1 when no number suffices."),
    ] = False,
    inches: Annotated[
        bool,
        typer.Option("--inches", metavar="", help="Tell lengths in inches (JSON stays in mm)."),
    ] = False,
) -> None:
    """Tell how many bands the cuts need along the block, and where."""
    with _errors_told():
        from squeeze.cli.bands import Wish, run_bands

        done = run_bands(Wish(mold, figure, json, stock, strict, inches))
    raise typer.Exit(done)


@app.command(epilog="Example: squeeze cradle barrels.toml --figure cradles.png --templates saw/")
def cradle(
    mold: Annotated[Path, typer.Argument(metavar="MOLD.toml", help="The mold file.")],
    tension: Annotated[
        str | None,
        typer.Option(
            metavar="N/MM", help="Tension of all bands, or several: 0.3,0.6. The file's otherwise."
        ),
    ] = None,
    material: Annotated[
        str, typer.Option(metavar="NAME", help="What the pieces are made of.")
    ] = "plywood",
    thickness: Annotated[
        float, typer.Option(metavar="MM", min=2, max=200, help="Of flat boards.")
    ] = 18.0,
    rise: Annotated[
        float | None,
        typer.Option(metavar="MM", min=0.5, max=200, help="Of round backs; a tenth of the block."),
    ] = None,
    friction: Annotated[
        float, typer.Option(metavar="MU", min=0, max=3, help="Of the pieces on the rubber.")
    ] = 0.3,
    even: Annotated[
        bool,
        typer.Option("--even", metavar="", help="Search the seat that closes most evenly."),
    ] = False,
    templates: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="Write sawing templates 1:1: SVG, DXF, PDF."),
    ] = None,
    figure: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", callback=_known_form, help="Draw all of them: .png, .pdf or .svg."
        ),
    ] = None,
    json: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write every number as JSON.")
    ] = None,
    take: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the mold with the cradle found.")
    ] = None,
    inches: Annotated[
        bool,
        typer.Option("--inches", metavar="", help="Tell lengths in inches (files stay in mm)."),
    ] = False,
) -> None:
    """Compare cradles on the cuts of a mold, and write templates to saw them."""
    with _errors_told():
        from squeeze.cli.cradle import Wish, run_cradle, tensions_of

        pulls = tensions_of(tension)
        sizes = (material, thickness, rise, friction)
        done = run_cradle(Wish(mold, pulls, *sizes, even, templates, figure, json, take, inches))
    raise typer.Exit(done)


@app.command(epilog="Example: squeeze new barrels")
def new(
    name: Annotated[str, typer.Argument(help="Name of the file, with or without .toml.")],
) -> None:
    """Write a commented mold file to start from."""
    path = Path(name if name.endswith(".toml") else f"{name}.toml")
    with _errors_told():
        from squeeze.show.start import start
        from squeeze.show.write import check_places, write_all

        if path.exists():
            typer.echo(f"{path}: is there already and is not written over", err=True)
            raise typer.Exit(2)
        check_places([path])
        write_all({path: lambda part: _put(part, start(path.stem))})
    typer.echo(f"Wrote {path}. Next: squeeze close {path} --figure {path.stem}.png")


@app.command(epilog="Example: squeeze page barrels.toml")
def page(
    mold: Annotated[
        Path | None, typer.Argument(metavar="[MOLD.toml]", help="A mold file to begin with.")
    ] = None,
    port: Annotated[int, typer.Option(metavar="NUMBER", min=0, max=65535)] = 7433,
    browser: Annotated[
        bool, typer.Option("--browser/--no-browser", help="Open the page in the browser.")
    ] = True,
) -> None:
    """See a mold close in the browser while you change it; nothing leaves this machine."""
    with _errors_told():
        from squeeze.page import serve

        serve(mold, port, browser)
