"""What every command shares: options, progress, how it speaks, and how it leaves."""

from __future__ import annotations

import errno
import inspect
import signal
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

    from squeeze.mold.progress import Progress

WIDTH = 100
"""Letters in a line."""

FORMS = (".png", ".pdf", ".svg")

DONE, BAD_INPUT, DEFECT, STOPPED = 0, 2, 70, 130
LEAKS = SOME_FAILED = 1
ANSWERS_LOST = 3
"""Exit statuses. 70 is that of BSD's sysexits.h for an error inside a program, 130 what shells give
after Ctrl-C. Leaks count only with --strict."""


NO_ROOM = (errno.ENOSPC, errno.EDQUOT)
"""A full disk is no defect of squeeze."""


def _known_form(path: Path | None) -> Path | None:
    from squeeze.show.write import is_stream

    if path is not None and path.suffix.lower() not in FORMS and not is_stream(path):
        raise typer.BadParameter(f"{path}: the name has to end in {', '.join(FORMS)}")
    return path


MoldFile = Annotated[Path, typer.Argument(metavar="MOLD.toml", help="The mold file.")]
FigureFile = Annotated[
    Path | None,
    typer.Option(metavar="FILE", callback=_known_form, help="Draw a figure: .png, .pdf or .svg."),
]
Json = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="Write every number as JSON; - writes to standard output."),
]
Inches = Annotated[
    bool,
    typer.Option("--inches", metavar="", help="Give lengths in inches. Files stay in mm."),
]
Workers = Annotated[
    int | None,
    typer.Option(
        metavar="N", min=1, max=1024, help="Number of processes; by default one for each core."
    ),
]
Scheduler = Annotated[
    str | None,
    typer.Option(metavar="ADDRESS", help="Compute on the Dask cluster at this address."),
]
Debug = Annotated[
    bool,
    typer.Option("--debug", metavar="", help="Show the full report when squeeze itself fails."),
]


def form_of(path: Path | None) -> str:
    """Return the form that a figure's name asks for; png where a stream has no such name."""
    ending = path.suffix.lower() if path is not None else ""
    return ending[1:] if ending in FORMS else "png"


def command(app: typer.Typer, body: Callable[..., int], doing: str, example: str) -> None:
    """Add a command to the program.

    Parameters
    ----------
    app : typer.Typer
    body : callable
        Takes the options, returns the exit status.
    doing : str
        What the command does, for reports; names of options in braces are filled in.
    example : str
        Shown below the command's help.
    """

    @wraps(body)
    def run(debug: bool = False, **given: Any) -> None:
        raise typer.Exit(attempt(lambda: body(**given), doing.format_map(given), debug))

    asked = list(inspect.signature(body, eval_str=True).parameters.values())
    kind = inspect.Parameter.POSITIONAL_OR_KEYWORD
    asked.append(inspect.Parameter("debug", kind, default=False, annotation=Debug))
    run.__dict__["__signature__"] = inspect.Signature(asked)
    run.__annotations__ = {each.name: each.annotation for each in asked}
    app.command(epilog=f"Example: squeeze {example}")(run)


def attempt(work: Callable[[], int], doing: str, debug: bool = False) -> int:
    """Do the work and return its status; say in words what ends it.

    Errors that squeeze reports itself give status 2. Anything else is a defect of squeeze: a report
    is written and the status is 70.
    """
    try:
        return work()
    except (typer.Exit, typer.Abort, typer.BadParameter):
        raise
    except Exception as error:
        from squeeze.mold.errors import SqueezeError
        from squeeze.show.report import report_defect

        if isinstance(error, SqueezeError):
            typer.echo(str(error), err=True)
            return BAD_INPUT
        if isinstance(error, OSError) and error.errno in NO_ROOM:
            typer.echo(f"squeeze stopped while {doing}: {error.strerror}.", err=True)
            return BAD_INPUT
        if isinstance(error, BrokenPipeError):
            raise  # whoever reads the answer has read enough

        report = report_defect(error, doing, _given())
        typer.echo(report.text if debug else report.say, err=True)
        return DEFECT


def _given() -> Mapping[str, str]:
    """Return what the person gave: the command line, and the text of each file named in it."""
    found = {"Command": " ".join(["squeeze", *sys.argv[1:]])}
    for name in sys.argv[1:]:
        path = Path(name)
        try:
            if path.suffix == ".toml" and path.is_file():
                found[name] = path.read_text(encoding="utf-8", errors="replace")
        except (OSError, ValueError):
            continue
    return found


def writable(paths: list[Path | None], source: Path, folder: Path | None = None) -> bool:
    """Say on stderr, before the computation, which file cannot be written.

    The answer is worth having without its files, so the command goes on either way.
    """
    from squeeze.show.write import CannotWrite, check_places

    try:
        check_places([path for path in paths if path is not None], source, folder)
    except CannotWrite as error:
        typer.echo(str(error), err=True)
        return False
    return True


def length_given(
    text: str | None, option: str, least_mm: float, most_mm: float, inches: bool
) -> float | None:
    """Return a length that an option was given [mm]; None where it was not given.

    Parameters
    ----------
    text : str or None
        A number of mm, or with `inches` of inches, also as a fraction: ``3/4``.
    option : str
        What the option is called.
    least_mm, most_mm : float
        What is allowed [mm].
    inches : bool

    Raises
    ------
    BadInput
        When it is no length, or not one that is allowed.
    """
    if text is None:
        return None
    from squeeze.mold import BadInput, Fault
    from squeeze.verdict.words import MM_PER_INCH, read_length

    value = read_length(text, inches)
    if least_mm <= value <= most_mm:
        return value
    scale, unit = (MM_PER_INCH, "inches") if inches else (1.0, "mm")
    allowed = f"{least_mm / scale:.3g} to {most_mm / scale:.3g} {unit}"
    raise BadInput([Fault(option, f'"{text}" given; give {allowed}')])


class Voice:
    """How a command speaks: plain lines and tables, 100 letters wide where there is no screen.

    Parameters
    ----------
    *outputs : Path or None
        The files asked for. When one of them goes to standard output, it has that for itself and
        the words go to stderr.
    width : int
        Letters in a line where there is no screen.
    widest : bool
        Whether to use all of a wider screen.
    inches : bool
        Whether to say lengths in inches and pressures in psi.
    """

    def __init__(
        self,
        *outputs: Path | None,
        width: int = WIDTH,
        widest: bool = False,
        inches: bool = False,
    ) -> None:
        self.inches = inches
        from rich.console import Console

        from squeeze.show.write import is_stdout

        aside = any(is_stdout(path) for path in outputs if path is not None)
        self.screen: Console = Console(highlight=False, markup=False, emoji=False, stderr=aside)
        terminal = self.screen.width if self.screen.is_terminal else width
        self.screen.width = terminal if widest else min(terminal, width)

    def say(self, line: str, style: str | None = None) -> None:
        """Print a line; names in it are text, whatever signs they hold."""
        if self.inches:
            from squeeze.verdict.words import in_inches

            line = in_inches(line)
        self.screen.print(line, style=style, soft_wrap=not self.screen.is_terminal)

    def say_all(self, lines: Iterable[str]) -> None:
        """Print several lines."""
        for line in lines:
            self.say(line)

    def show(self, table: RenderableType, gap: bool = False) -> None:
        """Print a table, after an empty line when asked."""
        if gap:
            self.gap()
        self.screen.print(table)

    def gap(self) -> None:
        """Print an empty line."""
        self.screen.print()


@contextmanager
def progress(doing: str) -> Iterator[Progress]:
    """Show on stderr what is being done, for as long as it is; nothing where there is no screen.

    Yields the callback that the computation reports its progress to.
    """
    from rich.console import Console

    console = Console(stderr=True, highlight=False, markup=False, emoji=False)
    if not console.is_terminal:
        from squeeze.mold.progress import silent

        yield silent
        return
    from rich.progress import BarColumn, SpinnerColumn, TextColumn
    from rich.progress import Progress as Bar

    columns = (SpinnerColumn(), TextColumn("{task.description}", markup=False), BarColumn(30))
    with Bar(*columns, console=console, transient=True) as bar:
        task = bar.add_task(doing, total=None)

        def report(what: str, share: float | None = None) -> None:
            text = f"{doing}: {what}" if what else doing
            total = None if share is None else 1.0
            bar.update(task, description=text, total=total, completed=share or 0.0)

        yield report


@contextmanager
def stoppable() -> Iterator[None]:
    """Let Ctrl-C and a request to end (SIGTERM) stop the work, which then prints what it has."""

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    before = {number: signal.signal(number, stop) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
