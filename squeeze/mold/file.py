"""Mold files: reading with every fault told at once, and writing."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from squeeze.mold.errors import BadInput, Fault
from squeeze.mold.geometry import section_of
from squeeze.mold.lines import lines_of
from squeeze.mold.model import Mold

LARGEST_BYTES = 4_000_000


def load(path: str | Path) -> Mold:
    """Return the mold in the TOML file at `path`, its geometry checked.

    Raises
    ------
    BadInput
        With every fault that was found, each with its line.
    """
    file = str(path)
    try:
        with open(file, "rb") as stream:
            raw = stream.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name is not allowed"
        raise BadInput([Fault("file", f"cannot be read: {reason.lower()}")], file) from None
    if len(raw) > LARGEST_BYTES:
        text = f"is larger than {LARGEST_BYTES // 1_000_000} MB; that is not a mold file"
        raise BadInput([Fault("file", text)], file)
    try:
        return loads(raw.decode("utf-8-sig"), file)
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        text = "is not text in UTF-8; a mold file is a plain text file"
        raise BadInput([Fault("file", text, line)], file) from None


def loads(text: str, file: str | None = None) -> Mold:
    """Return the mold in a TOML text, its geometry checked; `file` is the name in faults.

    Raises
    ------
    BadInput
        With every fault that was found, each with its line.
    """
    text = text.replace("\r\n", "\n")
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise BadInput([_syntax_fault(error, text)], file) from None
    try:
        mold = mold_of(data)
        section_of(mold)
    except BadInput as error:
        raise BadInput(_with_lines(error.faults, text, data), file) from None
    return mold


def _with_lines(faults: Sequence[Fault], text: str, data: dict[str, Any]) -> list[Fault]:
    """Return the faults with the line of their key, or of the table that holds it, sorted."""
    prepared = Mold.prepare(data)
    lines = {_dotted(path, prepared): line for path, line in lines_of(text).items()}
    placed = [replace(fault, line=_line(fault.key, lines)) for fault in faults]
    return sorted(placed, key=lambda fault: fault.line or 0)


def _line(key: str, lines: dict[str, int]) -> int:
    while key and key not in lines:
        key = key.rpartition(".")[0]
    return lines.get(key, 1)


def mold_of(data: dict[str, Any]) -> Mold:
    """Return the mold that a dict with the keys of a mold file describes.

    Its geometry is checked by `section_of`, not here.

    NumPy numbers and arrays are taken as well; a key that holds None counts as not given.

    Raises
    ------
    BadInput
        With every fault that was found.

    Examples
    --------
    >>> block = {"shape": "square", "width_mm": 120}
    >>> mold_of({"length_mm": 140, "rubber": {"shore_a": 20}, "block": block}).block.width_mm
    120.0
    """
    given = _bare(data, depth=8)
    try:
        return Mold.model_validate(given)
    except ValidationError as error:
        named = Mold.prepare(given) if isinstance(given, dict) else {}
        raise BadInput([_fault(entry, named) for entry in error.errors()]) from None


def dict_of(mold: Mold) -> dict[str, Any]:
    """Return the dict of which `mold_of` makes the same mold: what was given, no defaults."""
    return mold.model_dump(exclude_unset=True)


def dump(mold: Mold) -> str:
    """Return a TOML text from which `loads` makes the same mold, with exact values."""
    data = dict_of(mold)
    parts = [_keys({k: v for k, v in data.items() if not _is_table(v)})]
    for key, value in data.items():
        if isinstance(value, dict):
            parts.append(f"[{key}]\n{_keys(value)}")
        elif _is_table(value):
            parts += [f"[[{key}]]\n{_keys(entry)}" for entry in value]
    return "\n".join(part for part in parts if part)


def _is_table(value: object) -> bool:
    return isinstance(value, dict) or (
        isinstance(value, list | tuple) and bool(value) and isinstance(value[0], dict)
    )


def _keys(table: dict[str, Any]) -> str:
    return "".join(f"{key} = {_written(value)}\n" for key, value in table.items())


def _written(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, list | tuple):
        return f"[{', '.join(_written(entry) for entry in value)}]"
    return repr(value)


def _bare(value: Any, depth: int) -> Any:
    """Return `value` with NumPy numbers and arrays turned into Python's own, None left out.

    What is nested more deeply than `depth` stands in no mold and is left as it is.
    """
    if depth == 0:
        return value
    if isinstance(value, dict):
        return {key: _bare(entry, depth - 1) for key, entry in value.items() if entry is not None}
    if isinstance(value, list | tuple):
        return [_bare(entry, depth - 1) for entry in value]
    return value.tolist() if hasattr(value, "tolist") else value


def _fault(entry: Any, data: dict[str, Any]) -> Fault:
    return Fault(_dotted(entry["loc"], data) or "mold", entry["msg"])


def _dotted(loc: tuple[int | str, ...], data: Any) -> str:
    """Return ``cut.across the barrels.path_mm`` for ``("cut", 0, "path_mm")``."""
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
    "Cannot overwrite a value": "this key stands twice",
    "Cannot declare": "this table stands twice",
    "Cannot mutate": "this table or key stands twice",
    "Invalid value": "the value is not one that TOML knows; text needs quotes, numbers a decimal"
    " point and not a comma",
    "Expected '=' after a key": "there is no = after the key",
    "Unclosed array": "a [ is not closed",
    "Unclosed inline table": "a { is not closed",
    "Unterminated string": "a quote is not closed",
    "Illegal character": "there is a character that may not stand here, or a quote is not closed",
    "Expected newline or end of document": "something follows that does not belong on this line",
}


def _syntax_fault(error: Exception, text: str) -> Fault:
    said = str(error)
    if isinstance(error, RecursionError):
        return Fault("file", "is nested too deeply; that is not a mold file", 1)
    plain = next((say for start, say in _SYNTAX.items() if start in said), "this is not valid TOML")
    place = re.search(r"at line (\d+)", said)
    line = int(place.group(1)) if place else text.rstrip().count("\n") + 1
    return Fault("file", plain, line)
