"""Reading a TOML file: its text, its tables, and the line of each fault."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.file.lines import key_lines

LARGEST_BYTES = 4_000_000


def text_of(file: str, kind: str) -> str:
    """Return the text of a file; `kind` is what it is called in faults, e.g. "mold file".

    Raises
    ------
    BadInput
        When it cannot be read, is far too large or is not text in UTF-8.
    """
    try:
        with open(file, "rb") as stream:
            raw = stream.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name is not allowed"
        raise BadInput([Fault("file", f"cannot be read: {reason.lower()}")], file) from None
    if len(raw) > LARGEST_BYTES:
        text = f"is larger than {LARGEST_BYTES // 1_000_000} MB; that is not a {kind}"
        raise BadInput([Fault("file", text)], file)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        text = f"is not text in UTF-8; a {kind} is a plain text file"
        raise BadInput([Fault("file", text, line)], file) from None


def tables_of(text: str, file: str | None, kind: str) -> dict[str, Any]:
    """Return the tables of a TOML text.

    Parameters
    ----------
    text : str
    file : str, optional
        Name of the file, for the fault.
    kind : str
        What the file is to be, for the fault.

    Raises
    ------
    BadInput
        With the line at which it is not TOML.
    """
    text = text.replace("\r\n", "\n")
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise BadInput([_syntax_fault(error, text, kind)], file) from None


def with_lines(faults: Sequence[Fault], text: str, data: dict[str, Any]) -> list[Fault]:
    """Return the faults with the line of their key, or of the table that holds it, sorted.

    Parameters
    ----------
    faults : sequence of Fault
    text : str
        Of the file.
    data : dict
        The tables that were read from it.
    """
    found = key_lines(text.replace("\r\n", "\n"))
    lines = {dotted(path, data): line for path, line in found.items()}
    keys = [_as_written(fault.key, lines) for fault in faults]
    placed = [
        replace(fault, key=key, line=_line(key, lines))
        for fault, key in zip(faults, keys, strict=True)
    ]
    return sorted(placed, key=lambda fault: fault.line or 0)


def _as_written(key: str, lines: dict[str, int]) -> str:
    """Return the key that the file has: where points come from a drawing, that of the drawing."""
    table, _, last = key.rpartition(".")
    drawn = last in ("points_mm", "path_mm", "bulges") and f"{table}.drawing" in lines
    return f"{table}.drawing" if drawn and key not in lines else key


def _line(key: str, lines: dict[str, int]) -> int:
    while key and key not in lines:
        key = key.rpartition(".")[0]
    return lines.get(key, 1)


def dotted(loc: tuple[int | str, ...], data: Any) -> str:
    """Return ``cut.across the barrels.path_mm`` for ``("cut", 0, "path_mm")``.

    `loc` is a path of keys, and of numbers from 0 in lists; `data` holds the tables that it leads
    through, with their names.
    """
    parts = []
    for step in loc:
        data = _inner(data, step)
        named = data.get("name") if isinstance(data, dict) and isinstance(step, int) else None
        number = str(step + 1) if isinstance(step, int) else str(step)
        parts.append(named if isinstance(named, str) and named.isprintable() else number)
    return ".".join(re.sub(r"[^ -~\xa0-\uffff]", "?", part)[:60] for part in parts)


def _inner(data: Any, step: int | str) -> Any:
    try:
        return data[step]
    except (KeyError, IndexError, TypeError):
        return None


_SYNTAX = {
    "Cannot overwrite a value": "this key appears twice",
    "Cannot declare": "this table appears twice",
    "Cannot mutate": "this table or key appears twice",
    "Invalid value": "the value is not one that TOML knows; text needs quotes, numbers a decimal"
    " point and not a comma",
    "Expected '=' after a key": "there is no = after the key",
    "Unclosed array": "a [ is not closed",
    "Unclosed inline table": "a { is not closed",
    "Unterminated string": "a quote is not closed",
    "Illegal character": "a character is not allowed here, or a quote is not closed",
    "Expected newline or end of document": "something follows that does not belong on"
    " this line; decimals are written with a point, units are left out",
}


def _syntax_fault(error: Exception, text: str, kind: str) -> Fault:
    said = str(error)
    if isinstance(error, RecursionError):
        return Fault("file", f"is nested too deeply; that is not a {kind}", 1)
    plain = next((say for start, say in _SYNTAX.items() if start in said), "this is not valid TOML")
    place = re.search(r"at line (\d+)", said)
    line = int(place.group(1)) if place else text.rstrip().count("\n") + 1
    return Fault("file", plain, line)
