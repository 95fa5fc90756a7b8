"""Write files: all of them or none, no half a file, and nothing replaced that is not a file."""

from __future__ import annotations

import errno
import os
import re
import shutil
import stat
import sys
import tempfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path

from squeeze.mold.errors import SqueezeError

Write = Callable[[Path], object]
"""Writes a file at the path it is called with."""

Writers = dict[Path, Write]

STDOUT = Path("-")
"""Stands for standard output."""

_parts: set[Path] = set()


class CannotWrite(SqueezeError, OSError):
    """A file cannot be written where it was asked for."""


def file_stems(names: Sequence[str]) -> list[str]:
    """Return a file name without its ending for each of `names`, no two alike.

    Examples
    --------
    >>> file_stems(["top", "Top!", "\N{ROCKET}", "rule"])
    ['top', 'top-2', 'piece', 'rule']
    """
    stems: list[str] = []
    for name in names:
        stem = re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-").lower() or "piece"
        known = [stem, *(f"{stem}-{k}" for k in range(2, len(names) + 2))]
        stems.append(next(each for each in known if each not in stems))
    return stems


def check_places(
    paths: Sequence[Path], source: Path | None = None, folder: Path | None = None
) -> None:
    """Check before a long computation that its files can be written.

    Parameters
    ----------
    paths : sequence of Path
        Where files are to be written.
    source : Path, optional
        The file that is read; it is never written over.
    folder : Path, optional
        A folder to write more files into; it is made when it is not there.

    Raises
    ------
    CannotWrite
        For the first path that cannot be written, with the reason.
    """
    seen = {os.path.realpath(source): "it is the file that is read"} if source else {}
    for path in paths:
        place = str(path) if path == STDOUT else os.path.realpath(path)
        fault = seen.get(place) or _fault(path)
        if fault:
            raise CannotWrite(f"{path}: cannot be written: {fault}")
        if not is_stream(path) or path == STDOUT:
            seen[place] = "two things were asked for in this one file"
    if folder is not None and os.path.lexists(folder) and not folder.is_dir():
        raise CannotWrite(f"{folder}: cannot be written: it is a file; templates need a folder")


def is_stream(path: Path) -> bool:
    """Return whether a path is written to as a stream: ``-``, a pipe, or a device such as a screen.

    So is the file that standard output or standard error goes into already.
    """
    if _number(path) is not None:
        return True
    try:
        mode = os.stat(path).st_mode
    except (OSError, ValueError):
        return False
    return stat.S_ISFIFO(mode) or stat.S_ISCHR(mode)


def is_stdout(path: Path) -> bool:
    """Return whether a path leads to where standard output goes, so that no words may go there."""
    return _number(path) == 1


def _number(path: Path) -> int | None:
    """Return 1 or 2 when a path is the pipe or file behind that stream of this program."""
    if path == STDOUT:
        return 1
    try:
        there = os.stat(path)
    except (OSError, ValueError):
        return None
    if not stat.S_ISREG(there.st_mode) and not stat.S_ISFIFO(there.st_mode):
        return None
    return next((number for number in (1, 2) if _is_behind(number, there)), None)


def _is_behind(number: int, there: os.stat_result) -> bool:
    try:
        return os.path.samestat(os.fstat(number), there)
    except OSError:
        return False


def _fault(path: Path) -> str | None:
    """Return why a path cannot be written, as far as that shows without writing."""
    if path == STDOUT:
        return None
    try:
        there = os.stat(path)
    except FileNotFoundError:
        return _fault_of_folder(Path(os.path.realpath(path)))
    except (OSError, ValueError) as error:
        return _why(error)
    if stat.S_ISDIR(there.st_mode):
        return "it is a folder"
    if not stat.S_ISREG(there.st_mode) and not is_stream(path):
        return "it is neither a file nor a stream"
    if not os.access(path, os.W_OK):
        return "it is write-protected"
    return None if is_stream(path) else _fault_of_folder(Path(os.path.realpath(path)))


def _fault_of_folder(path: Path) -> str | None:
    if not path.parent.is_dir():
        return f"there is no folder {path.parent}"
    if not os.access(path.parent, os.W_OK | os.X_OK):
        return f"the folder {path.parent} is write-protected"
    return None


def _why(error: Exception) -> str:
    """Return what the system's words for a fault mean at the bench."""
    known = {
        errno.ENOSPC: "the disk is full",
        errno.EDQUOT: "the disk space allowed to you is used up",
        errno.ENAMETOOLONG: "the name is too long for this system",
        errno.EACCES: "it is write-protected",
        errno.EPERM: "it is write-protected",
        errno.EROFS: "the disk is write-protected",
        errno.ELOOP: "it is a link that leads back to itself",
        errno.EPIPE: "whoever reads from it has stopped reading",
        errno.ENOTDIR: "a part of its path is no folder",
    }
    code = error.errno if isinstance(error, OSError) else None
    text = error.strerror if isinstance(error, OSError) else None
    return known.get(code or 0) or text or str(error)


def write_all(writers: Mapping[Path, Write], folder: Path | None = None) -> None:
    """Write each path with its writer beside the place first, then put all in place.

    A symlink is followed. Only a regular file is replaced; streams are written to.

    Parameters
    ----------
    writers : mapping of Path to callable
    folder : Path, optional
        Made first when it is not there.

    Raises
    ------
    CannotWrite
        When a file cannot be written; then no file is there.
    """
    parts: dict[Path, Path] = {}
    path = folder or Path()
    try:
        if folder is not None:
            folder.mkdir(parents=True, exist_ok=True)
        check_places(list(writers))
        for path, write in writers.items():
            parts[path] = _begin(path)
            write(parts[path])
        for path in sorted(parts, key=is_stream, reverse=True):  # a stream may still refuse
            _put_in_place(parts[path], path)
    except CannotWrite:
        raise
    except (OSError, ValueError) as error:
        if isinstance(error, ValueError) and "null byte" not in str(error):
            raise
        raise CannotWrite(f"{path}: cannot be written: {_why(error)}") from error
    finally:
        discard_parts(parts.values())


def _begin(path: Path) -> Path:
    """Return an empty file of a short name, beside the place or, for a stream, aside."""
    beside = None if is_stream(path) else os.path.dirname(os.path.realpath(path))
    handle, name = tempfile.mkstemp(".part", ".squeeze-", beside)
    part = Path(name)
    _parts.add(part)
    os.close(handle)
    return part


def _put_in_place(part: Path, path: Path) -> None:
    if is_stream(path):
        _pour(part, path)
        return
    place = os.path.realpath(path)
    if os.path.exists(place):
        shutil.copymode(place, part)
    else:
        part.chmod(0o666 & ~_umask())
    os.replace(part, place)


def _pour(part: Path, path: Path) -> None:
    """Write what a part holds to a stream."""
    stream = {1: sys.stdout, 2: sys.stderr}.get(_number(path) or 0)
    with open(part, "rb") as made:
        if stream is None:
            with open(path, "ab") as opened:
                shutil.copyfileobj(made, opened)
        else:
            stream.flush()
            shutil.copyfileobj(made, stream.buffer)
            stream.flush()


def _umask() -> int:
    """Return what the system takes from the permissions of new files; it can only be swapped."""
    mask = os.umask(0o077)
    os.umask(mask)
    return mask


def discard_parts(parts: Iterable[Path] | None = None) -> None:
    """Remove files that were begun and not put in place; all of them unless some are named."""
    for part in list(_parts if parts is None else parts):
        part.unlink(missing_ok=True)
        _parts.discard(part)
