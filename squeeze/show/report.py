"""The report on a defect of squeeze itself: what a person reads, and the file with all of it."""

from __future__ import annotations

import os
import platform
import sys
import tempfile
import traceback
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from squeeze import __version__

KEPT = 50
"""So many reports are kept; older ones are removed."""

LONGEST = 200_000
"""So many characters of an input go into the report."""

LIBRARIES = ("numpy", "scipy", "scikit-fem", "shapely", "pydantic", "matplotlib", "starlette")


@dataclass(frozen=True)
class Report:
    """What a person reads of a defect.

    Attributes
    ----------
    say : str
        One sentence for the person at the bench.
    text : str
        The whole report: version, machine, input, traceback.
    path : Path or None
        Where it was written; None when it could not be written anywhere.
    """

    say: str
    text: str
    path: Path | None


def report_defect(
    error: BaseException,
    doing: str,
    given: Mapping[str, str],
    folder: Path | None = None,
) -> Report:
    """Write a report on an error that squeeze did not foresee.

    Parameters
    ----------
    error : BaseException
    doing : str
        What was being done, such as "closing the cuts of barrels.toml".
    given : mapping of str to str
        What the person gave, by its heading: the command, the text of the mold file.
    folder : Path, optional
        Where to write it; ``.squeeze/reports`` in the home folder unless given, else the folder
        for temporary files.
    """
    text = _text(error, doing, given)
    folders = [folder] if folder else [*_home(), Path(tempfile.gettempdir())]
    path = next((put for each in folders if (put := _put(each, text))), None)
    where = f"the full report is in {path}" if path else "no report could be written (see --debug)"
    if isinstance(error, MemoryError):
        say = (
            f"The computer's memory ran out while squeeze was {doing}; {where}; try a plainer mold."
        )
    else:
        say = (
            f"squeeze failed while {doing}: this is a defect of squeeze, not of your file; {where};"
            " undo your last change, or move it by 0.1 mm, and try again."
        )
    return Report(say, text, path)


def _home() -> list[Path]:
    try:
        return [Path.home() / ".squeeze" / "reports"]
    except RuntimeError:  # no home folder is known
        return []


def _text(error: BaseException, doing: str, given: Mapping[str, str]) -> str:
    parts = {
        "What happened": f"squeeze failed while {doing}.",
        "Version": f"squeeze {__version__}\n{_libraries()}",
        "Machine": _machine(),
        **{name: text[:LONGEST] for name, text in given.items()},
        "Traceback": "".join(traceback.format_exception(error)),
    }
    return "\n".join(f"== {name}\n{text.rstrip()}\n" for name, text in parts.items())


def _libraries() -> str:
    found = []
    for name in LIBRARIES:
        try:
            from importlib.metadata import version

            found.append(f"{name} {version(name)}")
        except Exception:  # whatever is broken, the report must be written
            found.append(f"{name} is not there")
    return "\n".join(found)


def _machine() -> str:
    settings = {name: os.environ.get(name) for name in ("OPENBLAS_CORETYPE", "OMP_NUM_THREADS")}
    lines = [platform.platform(), f"Python {sys.version}", f"{os.cpu_count()} cores"]
    return "\n".join([*lines, *(f"{name}={value}" for name, value in settings.items() if value)])


def _put(folder: Path, text: str) -> Path | None:
    """Write the report and remove the oldest ones; None when the folder takes none."""
    name = f"squeeze-{datetime.now():%Y-%m-%d-%H%M%S}-{os.getpid()}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handle, path = tempfile.mkstemp(".txt", f"{name}-", folder)
        with open(handle, "w", encoding="utf-8", errors="backslashreplace") as file:
            file.write(text)
        for old in sorted(folder.glob("squeeze-*.txt"))[:-KEPT]:
            old.unlink(missing_ok=True)
    except OSError:
        return None
    return Path(path)
