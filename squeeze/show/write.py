"""Write several files all or nothing: a reader never sees half a file."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from pathlib import Path

from squeeze.mold.errors import SqueezeError

Writers = Mapping[Path, Callable[[Path], None]]


class CannotWrite(SqueezeError, OSError):
    """A file cannot be written where it was asked for."""


def check_places(paths: list[Path], source: Path | None = None) -> None:
    """Check before a long computation that its files can be written.

    Parameters
    ----------
    paths : list of Path
        Where files are to be written.
    source : Path, optional
        The file that is read; it is never written over.

    Raises
    ------
    CannotWrite
        For the first path that cannot be written, with the reason.
    """
    seen = {source.resolve(): "is the mold file itself"} if source else {}
    for path in paths:
        fault = seen.get(path.resolve()) or _fault(path)
        if fault:
            raise CannotWrite(f"{path}: cannot be written: {fault}")
        seen[path.resolve()] = "was asked for twice"


def _fault(path: Path) -> str | None:
    if path.is_dir():
        return "is a folder"
    if not path.parent.is_dir():
        return f"there is no folder {path.parent}"
    if path.exists() and not os.access(path, os.W_OK):
        return "is write-protected"
    if not os.access(path.parent, os.W_OK | os.X_OK):
        return f"the folder {path.parent} is write-protected"
    return None


def write_all(writers: Writers) -> None:
    """Write each path with its writer beside the place first, then put all in place.

    Raises
    ------
    CannotWrite
        When a file cannot be written; then none of them is there.
    """
    parts = {path: path.with_name(f".{path.name}.{os.getpid()}.part") for path in writers}
    path = Path()
    try:
        for path, write in writers.items():
            write(parts[path])
        for path in writers:
            os.replace(parts[path], path)
    except OSError as error:
        raise CannotWrite(f"{path}: cannot be written: {error.strerror or error}") from error
    finally:
        for part in parts.values():
            part.unlink(missing_ok=True)
